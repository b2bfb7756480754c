"""What must be set right before going on: names nearly known, complaints half understood, totals that are off, answers that disagree."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace

from advisor.batch.model import Batch, Seen
from advisor.diagnosis import Examination
from advisor.facts import judge_condition
from advisor.knowledge.load import Knowledge
from advisor.quantities.names import resolve
from advisor.situation import read_field
from advisor.wording import when_word

KEEP, AGAIN = "keep", "again"      # leave it as it stands; have it asked anew
LABEL = "label of "  # what is asked anew where the names on a label are wanted; behind it stands the name on the line
SMALL = 1.0          # % of the formula below which an unknown line is not asked about
OFF = 2.0            # % by which a formula's total may miss 100


@dataclass(frozen=True, slots=True)
class Doubt:
    """One thing to confirm.  `choices` are (id, label); `settle` gives the record after a choice and what is to be asked anew."""

    key: str
    says: str
    why: str
    choices: tuple[tuple[str, str], ...]
    settle: Callable[[Batch, str], tuple[Batch, str]]

    def settled(self, batch: Batch, choice: str) -> tuple[Batch, str]:
        return self.settle(batch, choice)


def doubts(batch: Batch, examination: Examination, knowledge: Knowledge) -> tuple[Doubt, ...]:
    """All there is to set right now, the first thing first."""
    return (*_complaints(examination, knowledge), *_names(examination, knowledge), *_total(examination),
            *_clashes(batch, examination, knowledge), *_contradictions(examination, knowledge))


def _complaints(examination: Examination, knowledge: Knowledge) -> list[Doubt]:
    """A line of the maker's that was half understood, or not at all."""
    situation = examination.situation
    out = []
    told = [*situation.batch.observed, *([Seen(situation.batch.complaint)] if situation.batch.complaint else [])]
    again = ((AGAIN, "none of these: let me say it in other words"),) if len(told) == 1 else ()      # a new answer stands for all that was said
    for seen in told:
        if seen.what in knowledge.symptoms or (seen not in situation.batch.observed and any(s.full and s.said != seen.what for s in situation.signs)):
            continue      # a title is not asked about where what was seen is clear
        here = [s for s in situation.signs if s.said == seen.what]
        if (here and all(s.full for s in here)) or (not here and seen.what not in situation.unread):
            continue
        half = [knowledge.symptoms[s.symptom] for s in here if not s.full]
        broad = [s for s in knowledge.symptoms.values() if s.under is None and not s.fine]
        offered = half or broad

        def settle(batch: Batch, choice: str, seen: Seen = seen) -> tuple[Batch, str]:
            if choice in (KEEP, AGAIN):
                return batch, "complaint" if choice == AGAIN else ""
            when = seen.when or (seen.what if when_word(seen.what, knowledge) else None)
            if seen not in batch.observed:
                return batch._replace(observed=(*batch.observed, Seen(choice, when))), ""
            return batch._replace(observed=tuple(Seen(choice, when) if s == seen else s for s in batch.observed)), ""

        says = f"By {seen.what!r}, did you mean this?" if half else f"{seen.what!r} was not understood as something that went wrong. Is it one of these?"
        out.append(Doubt(f"said {seen.what}", says, "What was seen decides which causes are looked at.",
                         (*((s.id, f"{s.title} ({s.look})" if s.look and half else s.title) for s in offered), (KEEP, "none of these"), *again), settle))
    return out


def _names(examination: Examination, knowledge: Knowledge) -> list[Doubt]:
    """Ingredients that are not known but nearly spelled like one that is."""
    out = []
    whole = sum(sum(line.amount) / 2 for line in examination.situation.batch.formula.lines if line.amount)
    for line in examination.situation.batch.formula.lines:
        found = resolve(line.name, knowledge)
        if found.kind != "unknown" or line.own:
            continue
        if not found.suggestion:
            if not found.ingredients and (line.amount is None or sum(line.amount) / 2 >= SMALL / 100 * whole):
                out.append(_label(line.name))
            continue
        item = knowledge.ingredients[found.suggestion]

        def settle(batch: Batch, choice: str, name: str = line.name, new: str = found.suggestion) -> tuple[Batch, str]:
            if choice == KEEP:
                return batch, ""
            lines = tuple(replace(x, name=new) if x.name == name else x for x in batch.formula.lines)
            return batch._replace(formula=batch.formula._replace(lines=lines)), ""

        what = f"{found.suggestion} ({item.purpose})" if item.purpose else found.suggestion
        out.append(Doubt(f"name {line.name}", f"{line.name!r} is not a name I know. Did you mean {found.suggestion}?",
                         "An ingredient that is not known tells nothing.", (("yes", f"yes, {what}"), (KEEP, "no, it is something else")), settle))
    return out


def _label(name: str) -> Doubt:
    """A line of which nothing is known: the label of the material may say in other names what it is."""
    def settle(batch: Batch, choice: str) -> tuple[Batch, str]:
        return batch, "" if choice == KEEP else f"{LABEL}{name}"

    return Doubt(f"label {name}", f"{name!r} is not a name I know. Does its label say what is in it, perhaps behind INCI or Ingredients?",
                 "An ingredient that is not known tells nothing, and it may be the one that matters.", (("label", "yes, I can type that"), (KEEP, "no, go on without it")), settle)


def relabelled(batch: Batch, name: str, said: str) -> Batch:
    """The batch with the names of the label in place of a name that is not known."""
    new = re.sub(r"\s*[,;]\s*", " (and) ", said.strip(" .,;"))
    return batch._replace(formula=batch.formula._replace(lines=tuple(replace(x, name=new) if x.name == name else x for x in batch.formula.lines)))


def _total(examination: Examination) -> list[Doubt]:
    """Percentages of a complete formula that do not come to 100."""
    formula = examination.situation.batch.formula
    amounts = [line.amount for line in formula.lines]
    if not formula.complete or any(line.rest for line in formula.lines) or formula.unit not in (None, "percent") or not amounts or None in amounts:
        return []
    total = sum((a[0] + a[1]) / 2 for a in amounts if a)
    if abs(total - 100) <= OFF or (formula.unit is None and not 80 <= total <= 120):
        return []

    def settle(batch: Batch, choice: str) -> tuple[Batch, str]:
        if choice == "missing":
            return batch._replace(formula=batch.formula._replace(complete=False)), ""
        return batch, "formula" if choice == AGAIN else ""

    return [Doubt("total", f"The lines come to {total:g}, not 100. Is something missing?", "Every share is reckoned from the whole.",
                  ((KEEP, "no, those are all: scale them to 100"), ("missing", "yes, some lines are missing"), (AGAIN, "let me type it again")), settle)]


def _clashes(batch: Batch, examination: Examination, knowledge: Knowledge) -> list[Doubt]:
    """An answer that cannot be true beside the formula or beside another answer, or that the record itself says otherwise."""
    situation = examination.situation
    out = []
    for key, value in batch.answers.items():
        question = knowledge.questions.get(key)
        if question is None:
            continue
        label = next((c.label for c in question.choices if c.id == value), f"{value}")
        for clash in question.clashes:
            if value in clash.choices and judge_condition(clash.when, situation, knowledge, examination.consultation.findings).yes >= 1:
                out.append(_anew(f"clash {key} {value}", f"You said {label!r} to: {question.text} But: {clash.says}", ((key, question.text),)))
        noted = read_field(batch, question.reads) if question.reads else None
        if question.kind == "number" and isinstance(value, (int, float)) and isinstance(noted, (int, float)) and abs(noted - value) > 1e-6:
            out.append(_anew(f"clash {key} {value}", f"{question.text} Your record says {noted:g} {question.unit}, your answer {value:g}.", ((key, question.text),)))
    return out


def _contradictions(examination: Examination, knowledge: Knowledge) -> list[Doubt]:
    """Evidence that is certain both ways for one cause: one of the facts under it must be a slip."""
    out = []
    for ranked in examination.ranked:
        if not ranked.contradiction or not ranked.explains:
            continue
        one = next(r for r in ranked.reasons if r.strength == "certain")
        two = next(r for r in ranked.doubts if r.strength == "certain")
        asked = [f.split()[1] for f in (*one.facts, *two.facts) if f[1:].startswith("answer ")]
        seen = any(f[1:].startswith("symptom ") for f in (*one.facts, *two.facts))
        anew = [(k, knowledge.questions[k].text) for k in dict.fromkeys(asked) if k in knowledge.questions]
        anew += [("complaint", "What went wrong?")] if seen else []
        anew += [("formula", "What was in it?")]
        out.append(_anew(f"both {one.rule} {two.rule}", f"Two things you told me cannot both be: {one.says} And: {two.says} Is one of them a slip?", tuple(anew)))
    return out


def _anew(key: str, says: str, anew: tuple[tuple[str, str], ...]) -> Doubt:
    def settle(batch: Batch, choice: str) -> tuple[Batch, str]:
        return batch, "" if choice == KEEP else choice

    return Doubt(key, says, "Where two things disagree, the advice rests on the wrong one as easily as on the right one.",
                 ((KEEP, "they are right as they stand"), *((k, f"answer this anew: {t}") for k, t in anew)), settle)
