"""The conversation as a state: what to ask next, taking an answer, going back, changing, and what must be written down.  Prints nothing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from advisor.batch.model import Batch, Seen, Tried
from advisor.batch.pasted import read_pasted
from advisor.doubts import LABEL, Doubt, doubts, relabelled
from advisor.facts import judge_condition
from advisor.knowledge.load import Knowledge
from advisor.knowledge.records import Question
from advisor.merging import merged
from advisor.outcome import Outcome, diagnose
from advisor.questions import WORTH_ASKING
from advisor.situation import NOT_SURE, WANTED, with_answer

MOST_QUESTIONS = 12
PATIENCE = 11        # questions after which the next must be worth more
COMPLAINT, FORMULA, QUESTION, DOUBT = "complaint", "formula", "question", "doubt"


@dataclass(frozen=True, slots=True)
class Ask:
    """One thing to ask.  `kind` is complaint | formula | question | doubt (something to be confirmed or set right) | label of NAME."""

    kind: str
    text: str
    why: str
    question: Question | None = None
    doubt: Doubt | None = None

    @property
    def key(self) -> str:
        """What it is known by when it is skipped or changed."""
        return self.question.id if self.question else self.doubt.key if self.doubt else self.kind


@dataclass(frozen=True, slots=True)
class Given:
    """One answer as it can be listed and changed."""

    key: str
    text: str
    answer: str


@dataclass(slots=True)
class Interview:
    """The record as it grows.  Every step keeps the record before and after it, so that going back undoes that step and no other."""

    knowledge: Knowledge
    batch: Batch
    past: list[tuple[Ask, Batch, Batch]] = field(default_factory=list)
    skipped: set[str] = field(default_factory=set)
    wanted: str = ""                     # what the maker chose to answer anew
    _outcome: tuple[Batch, Outcome] | None = None

    def outcome(self) -> Outcome:
        """The whole road, run on what is known now."""
        if self._outcome is None or self._outcome[0] is not self.batch:
            self._outcome = (self.batch, diagnose(self.batch, self.knowledge))
        return self._outcome[1]

    def next(self) -> Ask | None:
        """What to ask now; None when no answer could change the advice."""
        if self.wanted:
            return self._ask(self.wanted)
        if not self.batch.observed and not self.batch.complaint and COMPLAINT not in self.skipped:
            return self._ask(COMPLAINT)
        for doubt in self._doubts():
            if doubt.key not in self.skipped:
                return Ask(DOUBT, doubt.says, doubt.why, None, doubt)
        history = self._history()
        if history is not None:
            return Ask(QUESTION, history.text, history.why, history)
        if not self.batch.formula.lines and FORMULA not in self.skipped:
            return self._ask(FORMULA)
        texture = self._texture()
        return Ask(QUESTION, texture.text, texture.why, texture) if texture else self._worth_now()

    @property
    def tired(self) -> bool:
        """Whether questions are left that might help a little, but so much was asked in this sitting that it is kinder to tell."""
        return self._worth_now() is None and next(self._open(), None) is not None

    def _worth_now(self) -> Ask | None:
        count = sum(a.kind == QUESTION for a, _, _ in self.past)
        best = next(self._open(), None)
        if best is None or count >= MOST_QUESTIONS:
            return None
        gain = next(q.gain for q in self.outcome().questions if q.question is best.question)
        return best if gain >= WORTH_ASKING * max(1.0, float(count - PATIENCE)) else None

    def _open(self) -> Iterator[Ask]:
        for item in self.outcome().questions:
            if item.question.id not in self.skipped and not self._long(item.question):
                yield Ask(QUESTION, item.question.text, item.question.why, item.question)

    def _long(self, question: Question) -> bool:
        """Whether finding out takes so long that it is told at the end and not waited for."""
        effort = self.knowledge.weights.effort
        return effort[question.effort] >= effort["hour"]

    def later(self) -> tuple[Question, ...]:
        """Long bench tests that could still change the advice, the best first."""
        return tuple(q.question for q in self.outcome().questions if self._long(q.question))[:2]

    def left_open(self) -> tuple[Question, ...]:
        """Questions that would still help: those not reached, then those left as not sure."""
        unsure = [q for k, v in self.batch.answers.items() if v == NOT_SURE and (q := self.knowledge.questions.get(k))]
        return tuple([a.question for a in self._open() if a.question][:3] + unsure)

    def _ask(self, key: str) -> Ask | None:
        if key == COMPLAINT:
            return Ask(COMPLAINT, "What went wrong, and when did you see it? Say all you noticed.",
                       "Oil on top within the hour and water under the cream after weeks point to different things.")
        if key == FORMULA:
            return Ask(FORMULA, "What was in it? Paste or type one ingredient a line with its amount; an empty line ends it.",
                       "Most causes can be computed from the formula.")
        if key.startswith(LABEL):
            return Ask(key, f"What does the label of {key.removeprefix(LABEL)!r} say? Type the names, with commas between.",
                       "Many things are sold under a trade name; the names on the label tell what they do.")
        question = self.knowledge.questions.get(key)
        return Ask(QUESTION, question.text, question.why, question) if question else None

    def _doubts(self) -> tuple[Doubt, ...]:
        return doubts(self.batch, self.outcome().examination, self.knowledge)

    def _history(self) -> Question | None:
        """Whether it has worked before, then what changed: asked first, since it sends one to process or to formula."""
        known: dict[str, Question] = {}
        for question in self.knowledge.questions.values():
            if question.reads.startswith("history."):
                known.setdefault(question.reads, question)       # the first that reads a field asks for all of it
        worked, changed = known.get("history.worked_before"), known.get("history.changed")
        if worked and self.batch.worked_before is None and worked.id not in self.batch.answers:
            return worked
        said = self.batch.worked_before or (worked is not None and self.batch.answers.get(worked.id) == "yes")
        return changed if changed and said and not self.batch.changed and changed.id not in self.batch.answers else None

    def _texture(self) -> Question | None:
        """Which texture was wanted, where that is the complaint: no card weighs it, but the amounts of the fixes hang on it."""
        found = next((q for q in self.knowledge.questions.values() if q.reads == WANTED), None)
        if found is None or self.batch.wanted or found.id in self.batch.answers or found.when is None:
            return None
        examination = self.outcome().examination
        return found if judge_condition(found.when, examination.situation, self.knowledge, examination.consultation.findings).yes > 0 else None

    def moves(self, question: Question) -> tuple[str, ...]:
        """The titles of the causes that answers to this question would move most, for `why`."""
        from advisor.moves import options, shifted
        from advisor.questions import live_causes

        examination = self.outcome().examination
        live = live_causes(examination)
        far: dict[str, float] = {}
        for option in options(question):
            for name, odds in shifted(live, question, option, examination, self.knowledge).items():
                was = next(r.log_odds for r in live if r.id == name)
                far[name] = max(far.get(name, 0.0), abs(odds - was))
        return tuple(self.knowledge.causes[n].title for n, v in sorted(far.items(), key=lambda x: -x[1]) if v > 0.1)[:3]

    def answer(self, ask: Ask, said: Any, helped: bool | None = None) -> None:
        """Take an answer: text for complaint and formula, a choice id or a number for a question (`not-sure` among them)."""
        before = self.batch
        if ask.kind == COMPLAINT:
            kept = () if self.wanted == COMPLAINT else before.observed
            self.batch = before._replace(observed=(*kept, Seen(str(said))), complaint=None if self.wanted else before.complaint)
        elif ask.kind == FORMULA:
            self.batch = before._replace(formula=read_pasted(str(said), "what you typed").formula)
        elif ask.kind.startswith(LABEL):
            self.batch = relabelled(before, ask.kind.removeprefix(LABEL), str(said))
        elif ask.doubt is not None:
            self.batch, self.wanted = ask.doubt.settled(before, str(said))
            self.skipped.add(ask.key)
        elif ask.question is not None:
            self.batch = with_answer(before, ask.question, said)
            if helped is not None:
                label = next((c.label for c in ask.question.choices if c.id == said), str(said))
                self.batch = self.batch._replace(tried=(*before.tried, Tried(label, helped)))
        if ask.doubt is None and ask.key == self.wanted:
            self.wanted = ""
        self.past.append((ask, before, self.batch))

    def skip(self, ask: Ask) -> None:
        """Leave a thing out; a question is noted as not sure."""
        if ask.question is not None:
            self.answer(ask, NOT_SURE)
        else:
            self.skipped.add(ask.key)
            self.wanted = ""

    def back(self) -> Ask | None:
        """Undo the last answer; the thing that was asked, or None at the start."""
        if self.wanted:
            self.wanted = ""
            if not self.past or self.past[-1][0].doubt is None:
                return self.next()
        if not self.past:
            return None
        ask, before, after = self.past.pop()
        self.batch = merged(after, before, self.batch)
        self.skipped.discard(ask.key)
        if ask.kind.startswith(LABEL):
            self.wanted = ask.kind
        return ask

    def given(self) -> tuple[Given, ...]:
        """Everything that was told, to be listed and changed."""
        out = [Given(COMPLAINT, "What went wrong", "; ".join(s.what for s in self.batch.observed) or self.batch.complaint or "nothing said yet")]
        out.append(Given(FORMULA, "What was in it", f"{len(self.batch.formula.lines)} ingredients" if self.batch.formula.lines else "nothing said yet"))
        answers = self.outcome().examination.situation.answers
        for question in self.knowledge.questions.values():
            values = answers.get(question.id)
            if values:
                labels = {c.id: c.label for c in question.choices} | {NOT_SURE: "not sure"}
                out.append(Given(question.id, question.text, ", ".join(labels.get(v, f"{v} {question.unit}".strip()) for v in values)))
        return tuple(out)

    def change(self, key: str) -> None:
        """Have one thing asked anew; what was said before stands until a new answer is given."""
        self.wanted = key

    def rebased(self, fresh: Batch, base: Batch) -> None:
        """Take over a record that another run has changed since `base`, keeping what was answered here."""
        self.batch = merged(base, self.batch, fresh)

    def owned_blocks(self) -> Mapping[str, Any]:
        """The blocks of the record that the interview writes."""
        from advisor.batch.writing import batch_record

        record = batch_record(self.batch)
        changed = {key for _, a, b in self.past for key in ("observed", "complaint", "tried", "formula") if getattr(a, key) != getattr(b, key)}
        if any((a.worked_before, a.changed) != (b.worked_before, b.changed) for _, a, b in self.past):
            changed.add("history")
        return {"answers": dict(self.batch.answers), **{key: record.get(key, {}) for key in sorted(changed)}}
