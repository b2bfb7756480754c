"""Answers, readings and lines supposed otherwise, and the search for the smallest change that puts another cause first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from advisor.batch.model import Batch, Line, Tried
from advisor.batch.units import split
from advisor.diagnosis import Examination, Ranked, examine
from advisor.errors import InputError, Place, Problem
from advisor.knowledge.forms import nearest
from advisor.knowledge.load import Knowledge
from advisor.knowledge.naming import normal_name
from advisor.knowledge.records import Question
from advisor.moves import HELPED, Option, options, shifted, touches
from advisor.quantities.names import resolve
from advisor.questions import live_causes
from advisor.situation import NOTHING, with_answer, write_field

MAX_RUNS = 60
KEPT = 14            # of the single changes, those tried in pairs


@dataclass(frozen=True, slots=True)
class Suppose:
    """One thing supposed: a question with another answer, or a line of the formula with another amount (in its unit)."""

    what: str
    value: str | float
    helped: str = ""


def read_suppose(text: str, batch: Batch, knowledge: Knowledge) -> Suppose:
    """`mixer=spoon`, `oil-temperature=60`, `steps-tried=reheating:helped` or `Cetyl Alcohol=3`; raises InputError."""
    what, sign, value = (p.strip() for p in text.partition("="))
    place = Place("--what-if")
    if not sign or not value:
        raise InputError(Problem(place, f"{text!r} is not a change", "Write QUESTION=CHOICE, or INGREDIENT=AMOUNT."))
    question = knowledge.questions.get(what)
    if question is None:
        number = split(value)
        if number is None or number[0] < 0 or not any(normal_name(what) == normal_name(x.name) for x in batch.formula.lines) and not resolve(what, knowledge).ingredients:
            near = nearest(what, knowledge.questions)
            raise InputError(Problem(place, f"there is no question or ingredient {what!r} with such a value", f"Did you mean {near!r}?" if near else "Name a question, or a line of the formula with an amount."))
        return Suppose(what, number[0])
    if question.kind == "number":
        number = split(value)
        if number is None or (question.limits and not question.limits[0] <= number[0] <= question.limits[1]):
            raise InputError(Problem(place, f"{value!r} is no answer to {what}", f"Give a number{f' in {question.unit}' if question.unit else ''}."))
        return Suppose(what, number[0])
    choice, _, helped = value.partition(":")
    if choice not in {c.id for c in question.choices} or (helped and helped not in HELPED):
        raise InputError(Problem(place, f"{value!r} is no answer to {what}", "Its answers: " + ", ".join(c.id for c in question.choices) + "."))
    return Suppose(what, choice, helped or (HELPED[0] if question.reads == "tried" and choice != NOTHING else ""))


def applied(batch: Batch, changes: Sequence[Suppose], knowledge: Knowledge) -> Batch:
    """The record with these changes made in it."""
    for change in changes:
        question = knowledge.questions.get(change.what)
        if question is None:
            batch = _with_line(batch, change)
        elif change.helped:
            label = next((c.label for c in question.choices if c.id == change.value), str(change.value))
            batch = batch._replace(tried=(*(t for t in batch.tried if t.what != label), Tried(label, change.helped == HELPED[0])))
        else:
            batch = with_answer(batch, question, change.value)
            if question.kind == "number" and question.reads:
                batch = write_field(batch, question.reads, change.value)
    return batch


def _with_line(batch: Batch, change: Suppose) -> Batch:
    amount = float(change.value)
    lines = list(batch.formula.lines)
    at = next((i for i, x in enumerate(lines) if normal_name(x.name) == normal_name(change.what)), None)
    if at is None:
        lines.append(Line(change.what, (amount, amount)))
    elif amount == 0:
        del lines[at]
    else:
        lines[at] = replace(lines[at], amount=(amount, amount), rest=False)
    return batch._replace(formula=batch.formula._replace(lines=tuple(lines)))


def smallest_change(batch: Batch, examination: Examination, knowledge: Knowledge, goal: str | None) -> tuple[tuple[Suppose, ...], Examination] | None:
    """The fewest changes of answers or readings (then the least effort) that put `goal`, or any other cause, first.

    Likely changes are tried first by what they would do to the causes; each is replayed on the whole road before it is told.
    """
    first = examination.ranked[0].id
    scored = sorted(_singles(examination, knowledge, goal), key=lambda x: -x[0])
    runs = 0
    groups: list[list[tuple[Suppose, ...]]] = [[], []]
    groups[0] += [(s,) for v, s in scored if v > -3.0][: MAX_RUNS // 2]
    kept = [s for _, s in scored[:KEPT]]
    groups[1] += [(a, b) for i, a in enumerate(kept) for b in kept[i + 1:] if a.what != b.what]
    for group in groups:
        for changes in group:
            if runs >= MAX_RUNS:
                return None
            runs += 1
            after = examine(applied(batch, changes, knowledge), knowledge)
            new = after.leader
            if new is not None and new.id != first and goal in (None, new.id):
                return changes, after
    return None


def _singles(examination: Examination, knowledge: Knowledge, goal: str | None) -> Iterator[tuple[float, Suppose]]:
    """Every single change with the lead it is expected to give another cause over the first; less for more effort."""
    live = live_causes(examination)
    if goal and goal not in {r.id for r in live}:
        live += [r for r in examination.ranked if r.id == goal]
    for question in knowledge.questions.values():
        if not touches(question, knowledge):
            continue
        for option in options(question):
            told = (str(option.value),) if isinstance(option.value, str) else (f"{option.value:g}",)
            if examination.situation.answers.get(question.id) == told and not option.helped:
                continue
            lead = _lead(live, question, option, examination, knowledge, goal)
            if lead is not None:
                yield lead - 0.05 * knowledge.weights.effort[question.effort], Suppose(question.id, option.value, option.helped)


def _lead(live: list[Ranked], question: Question, option: Option, examination: Examination, knowledge: Knowledge, goal: str | None) -> float | None:
    moved = shifted(live, question, option, examination, knowledge)
    if not moved:
        return None
    first = examination.ranked[0]
    rivals = [moved.get(r.id, r.log_odds) for r in live if r.id != first.id and goal in (None, r.id)]
    return max(rivals) - moved.get(first.id, first.log_odds) if rivals else None
