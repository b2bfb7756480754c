"""A small trial where the causes are not settled: two or three jars, each with one thing changed, so that their outcomes tell the causes apart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from advisor.batch.model import Batch
from advisor.diagnosis import RULED_OUT, SETTLED, Examination
from advisor.fixes.amend import as_batch, portions
from advisor.fixes.planner import PlannedFix, plan
from advisor.fixes.proof import unseen
from advisor.fixes.weighing import settle, within_law
from advisor.knowledge.load import Knowledge
from advisor.knowledge.sheet import sheet_of
from advisor.quantities.law import rinsed_off

MOST = 3


@dataclass(frozen=True, slots=True)
class Trial:
    """One jar: its record with weights, what is changed, and what its outcome tells."""

    title: str
    record: Batch
    tells: str
    fix: PlannedFix | None                 # None: made again unchanged, to compare with
    together: str = ""                     # what it tells if all come right, or none


def trials_of(examination: Examination, knowledge: Knowledge) -> tuple[Trial, ...]:
    """The jars to make; none where the cause is settled or the formula is not wholly known."""
    leader = examination.leader
    known = portions(examination.situation.measures) if examination.situation.batch.formula.complete else None
    parts = settle(known) if known else None
    if leader is None or leader.standing == SETTLED or parts is None:
        return ()
    size = jar_size(examination, knowledge)
    fixes = [f for f in plan(examination, knowledge, rivals=True, size=size) if f.record is not None and f.record.formula.lines and f.record.batch_size == size]
    chosen: list[tuple[str, PlannedFix]] = []
    for cause in [r.id for r in examination.ranked if r.standing != RULED_OUT]:
        best = _best(cause, [f for f in fixes if all(f is not c for _, c in chosen)])
        if best is not None and len(chosen) < MOST:
            chosen.append((cause, best))
    if not chosen:
        return ()
    out = [_jar(letter, cause, fix, chosen, knowledge) for letter, (cause, fix) in zip("ABC", chosen, strict=False)]
    if len(out) == 1:
        lawful, capped = within_law(parts, knowledge, rinsed_off(examination.situation.batch, knowledge))
        same = as_batch(settle(lawful) or parts, unseen(examination.situation.batch, knowledge)._replace(batch_size=size))
        but = f" (but {', '.join(capped)}, brought down to the legal limit)" if capped else ""
        out.append(Trial(f"Jar B: unchanged, to compare{but}", same._replace(name=f"{same.name}, jar B".lstrip(", ")),
                         "If this one comes right too, it was the making of the first batch, not the formula; if only jar A does, its change was the cure.", None))
    return tuple(out)


def jar_size(examination: Examination, knowledge: Knowledge) -> float:
    """The least that the maker's mixer can blend properly (g)."""
    sheet = sheet_of(knowledge)
    words = [w for q in knowledge.questions.values() if q.reads == "process.mixer" for w in examination.situation.answers.get(q.id, ())]
    sizes = [sheet.jars[w] for w in words if w in sheet.jars]
    return max(sizes, default=sheet.jar)


def _best(cause: str, fixes: Sequence[PlannedFix]) -> PlannedFix | None:
    """The fix that changes one thing, cures this cause on paper and leaves the most rivals standing."""
    own = [f for f in fixes if f.causes[0] == cause and "+" not in f.id]
    return max(own, key=lambda f: (f.proved, len(f.leaves), -_moved(f)), default=None)


def _moved(fix: PlannedFix) -> float:
    """How many percent of the formula a fix moves: the smallest change tells most."""
    return sum(abs((c.to_percent or 0.0) - (c.from_percent or 0.0)) for c in fix.changes)


def _jar(letter: str, cause: str, fix: PlannedFix, chosen: Sequence[tuple[str, PlannedFix]], knowledge: Knowledge) -> Trial:
    assert fix.record is not None
    title = knowledge.causes[cause].title
    low = f"{title[0].lower()}{title[1:]}"
    also = [knowledge.causes[c].title for c, f in chosen if f is not fix and c in fix.causes]
    tells = f"If only this jar comes right, the cause was: {low}. If it fails like the first batch, that was not the cause, or not the only one."
    if also:
        tells += f" It also takes away: {'; '.join(also)}."
    together = ""
    if len(chosen) > 1:
        together = "If every jar comes right, either change is enough: keep the smaller one. If none does, make one jar with all the changes together."
    record = fix.record._replace(name=f"{fix.record.name}, jar {letter}".lstrip(", "))
    return Trial(f"Jar {letter}: {fix.title[0].lower()}{fix.title[1:]}", record, tells, fix, together)
