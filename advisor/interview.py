"""The conversation as a state: what to ask next, taking an answer, going back, and what must be written down.  Prints nothing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from advisor.batch.model import Batch, Seen
from advisor.batch.pasted import read_pasted
from advisor.knowledge.load import Knowledge
from advisor.knowledge.records import Question
from advisor.outcome import Outcome, diagnose
from advisor.situation import NOT_SURE

MOST_QUESTIONS = 12


@dataclass(frozen=True, slots=True)
class Ask:
    """One thing to ask.  `kind` is complaint | formula | question."""

    kind: str
    text: str
    why: str
    question: Question | None = None


@dataclass(slots=True)
class Interview:
    """The record as it grows; every change is a new batch, so that going back is taking the last one off."""

    knowledge: Knowledge
    batch: Batch
    past: list[tuple[Ask, Batch]] = field(default_factory=list)
    skipped: set[str] = field(default_factory=set)

    def outcome(self) -> Outcome:
        """The whole road, run on what is known now."""
        return diagnose(self.batch, self.knowledge)

    def next(self) -> Ask | None:
        """What to ask now; None when no answer could change the advice."""
        if not self.batch.observed and not self.batch.complaint and "complaint" not in self.skipped:
            return Ask("complaint", "What went wrong, and when did you see it?",
                       "Oil on top within the hour and water under the cream after weeks point to different things.")
        history = self._history()
        if history is not None:
            return Ask("question", history.text, history.why, history)
        if not self.batch.formula.lines and "formula" not in self.skipped:
            return Ask("formula", "What was in it? Paste or type one ingredient a line with its amount; an empty line ends it.",
                       "Most causes can be computed from the formula.")
        if sum(a.kind == "question" for a, _ in self.past) >= MOST_QUESTIONS:
            return None
        for open_question in self.outcome().questions:
            if open_question.question.id not in self.skipped:
                return Ask("question", open_question.question.text, open_question.question.why, open_question.question)
        return None

    def _history(self) -> Question | None:
        """Whether it has worked before, then what changed: asked first, since it sends one to process or to formula."""
        known = {q.reads: q for q in self.knowledge.questions.values() if q.reads.startswith("history.")}
        worked, changed = known.get("history.worked_before"), known.get("history.changed")
        if worked and self.batch.worked_before is None and worked.id not in self.batch.answers:
            return worked
        said = self.batch.worked_before or (worked is not None and self.batch.answers.get(worked.id) == "yes")
        return changed if changed and said and not self.batch.changed and changed.id not in self.batch.answers else None

    def answer(self, ask: Ask, said: Any) -> None:
        """Take an answer: text for complaint and formula, choice ids for a question (`not-sure` among them)."""
        before = self.batch
        if ask.kind == "complaint":
            self.batch = replace(before, observed=(*before.observed, Seen(str(said))))
        elif ask.kind == "formula":
            self.batch = replace(before, formula=read_pasted(str(said), "what you typed").formula)
        elif ask.question is not None:
            self.batch = replace(before, answers={**before.answers, ask.question.id: said})
        self.past.append((ask, before))

    def skip(self, ask: Ask) -> None:
        """Leave a thing out; a question is noted as not sure."""
        if ask.question is not None:
            self.answer(ask, NOT_SURE)
        else:
            self.skipped.add(ask.kind)

    def back(self) -> Ask | None:
        """Undo the last answer; the thing that was asked, or None at the start."""
        if not self.past:
            return None
        ask, self.batch = self.past.pop()
        self.skipped.discard(ask.kind)
        return ask

    def owned_blocks(self) -> Mapping[str, Any]:
        """The blocks of the record that the interview writes."""
        blocks: dict[str, Any] = {"answers": dict(self.batch.answers)}
        if any(a.kind == "complaint" for a, _ in self.past):
            blocks["observed"] = [{"what": s.what, **({"when": s.when} if s.when else {})} for s in self.batch.observed]
        return blocks
