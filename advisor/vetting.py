"""Checks that need the cards to be run: examples, contrasts, fixes that move what they aim at, and the knock-out of evidence."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace

from advisor.batch.model import Batch
from advisor.batch.reading import record_batch
from advisor.consultation import Consultation, rule_base
from advisor.contrasts import Contrast, Pair, failing, worked_out
from advisor.diagnosis import LIKELY, SETTLED, Examination, rank
from advisor.errors import Place, Problem
from advisor.fixes.amend import amended, as_batch, matching, portions
from advisor.knowledge.load import Knowledge
from advisor.knowledge.records import Cause, Example, Fix
from advisor.quantities.measure import measure
from advisor.scoring import judged
from advisor.situation import Situation, assess


@dataclass(frozen=True, slots=True)
class Trial:
    """One example of a card, assessed and consulted once."""

    cause: Cause
    example: Example
    situation: Situation
    consultation: Consultation


@dataclass(frozen=True, slots=True)
class KnockOut:
    """How much of the evidence no example, contrast or case misses: ids of the pieces, of `total` pieces."""

    idle: tuple[str, ...]
    total: int

    @property
    def share(self) -> float:
        return len(self.idle) / self.total if self.total else 0.0


def vet(knowledge: Knowledge, contrasts: Sequence[Contrast] = ()) -> list[Problem]:
    """Examples and contrasts that fail, and fixes that cannot change the quantity they aim at."""
    trials = all_trials(knowledge)
    return [*_failing(trials, knowledge), *failing(worked_out(contrasts, knowledge), knowledge), *_idle_fixes(knowledge)]


def all_trials(knowledge: Knowledge) -> list[Trial]:
    """Every example of every card, ready to be weighed."""
    rules = rule_base(knowledge)
    out = []
    for cause in knowledge.causes.values():
        for example in cause.examples:
            situation = assess(record_batch({"format": 1, **example.batch}), knowledge)
            out.append(Trial(cause, example, situation, rules.consult(situation)))
    return out


def holds(trial: Trial, examination: Examination) -> bool:
    """Whether the card leads where it must, and is neither likely nor settled where it must not."""
    if trial.example.leads:
        return examination.leader is not None and examination.leader.id == trial.cause.id
    mine = next(r for r in examination.ranked if r.id == trial.cause.id)
    return mine.standing not in (SETTLED, LIKELY)


def _failing(trials: list[Trial], knowledge: Knowledge) -> Iterator[Problem]:
    for trial in trials:
        examination = rank(trial.situation, trial.consultation, knowledge)
        if not holds(trial, examination):
            found = ", ".join(f"{r.id} {r.certainty:.2f}" for r in examination.ranked[:3])
            wanted = "does not lead" if trial.example.leads else "is likely where it must not be"
            yield Problem(trial.cause.place or Place(trial.cause.id), f"in the example {trial.example.says!r} the cause {wanted} ({found})",
                          "Strengthen or weaken the evidence, or correct the example.", "example")


def knock_out(knowledge: Knowledge, contrasts: Sequence[Contrast] = (), cases: Sequence[tuple[str, Batch]] = (), only: Collection[str] = ()) -> KnockOut:
    """Take each piece of evidence away in turn (`only`: of these causes); those that no example, no contrast and no case (by name, with its known answer) misses are idle."""
    looked = [(name, batch, s, rule_base(knowledge).consult(s, quick=True)) for name, batch in cases for s in (assess(batch, knowledge),)]
    right = [c for c in looked if judged(c[0], c[1], rank(c[2], c[3], knowledge)).right]
    trials = [t for t in all_trials(knowledge) if holds(t, rank(t.situation, t.consultation, knowledge))]
    pairs: dict[str, list[Pair]] = {}
    for pair in worked_out(contrasts, knowledge):
        pairs.setdefault(pair.contrast.cause, []).append(pair)
    idle, total = [], 0
    for cause in (c for c in knowledge.causes.values() if not only or c.id in only):
        for piece in cause.evidence:
            total += 1
            rule = f"{cause.id}/{piece.id}"
            without = cause._replace(pieces={key: e for key, e in cause.pieces.items() if e is not piece})
            less = replace(knowledge, causes={**knowledge.causes, cause.id: without})
            missed = any(p.fired(rule) and p.holds(cause, knowledge) and not p.holds(without, knowledge) for p in pairs.get(cause.id, ())) or \
                any(rule in t.consultation.fired and not holds(t, rank(t.situation, t.consultation, less)) for t in trials) or \
                any(rule in c.fired and not judged(name, batch, rank(s, c, less)).right for name, batch, s, c in right)
            if not missed:
                idle.append(rule)
    return KnockOut(tuple(sorted(idle)), total)


def _idle_fixes(knowledge: Knowledge) -> Iterator[Problem]:
    """A fix whose change moves its quantity in none of the card's complete examples cannot do what it says."""
    for cause in knowledge.causes.values():
        batches = [record_batch({"format": 1, **e.batch}) for e in cause.examples]
        for fix in cause.fixes:
            tried = [moved for b in batches if (moved := _moves(fix, b, knowledge)) is not None]
            if tried and not any(tried):
                yield Problem(cause.place or Place(cause.id), f"the fix {fix.id!r} moves its quantity in none of the card's examples",
                              "Aim at a quantity that the change moves, or change another line.", "idle-fix")


def _moves(fix: Fix, batch: Batch, knowledge: Knowledge) -> bool | None:
    """Whether the first solved change of a fix moves its quantity in this batch; None where it cannot be tried."""
    before = measure(batch, knowledge)
    parts = portions(before) if batch.formula.complete else None
    change = next((c for c in fix.changes if c.do != "pair" and (c.quantity or c.reaches == "wanted-rung")), None)
    if parts is None or change is None:
        return None
    now = sum(parts[i].percent for i in matching(parts, change.target))
    amounts = (0.0, now / 2) if change.do in ("lower", "replace") else (now, now + 2.0)
    values = []
    for amount in amounts:
        lines = amended(parts, change, amount, knowledge)
        found = measure(as_batch(lines, batch), knowledge).quantities.get(change.quantity or "rung-gap") if lines else None
        if found is None:
            return None
        values.append(found.value)
    return abs(values[0] - values[1]) > 1e-9
