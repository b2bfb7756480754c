"""The fix list: for the leading causes, each card's fixes with amounts solved for and proved by running the road again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from advisor.batch.model import Batch
from advisor.diagnosis import LIKELY, POSSIBLE, RULED_OUT, SETTLED, Examination, Ranked, examine
from advisor.facts import judge_condition
from advisor.fixes.amend import Portion, amended, as_batch, matching, portions, solve
from advisor.knowledge.conditions import atoms
from advisor.knowledge.load import Knowledge
from advisor.knowledge.records import Change, Fix
from advisor.quantities.hlb import split_pair
from advisor.quantities.measure import measure
from advisor.situation import write_field

MAX_RUNS = 40
LEADING = 3
RUNG_TOLERANCE = 0.75
_RANK = {RULED_OUT: 0, POSSIBLE: 1, LIKELY: 2, SETTLED: 3}
_NEEDS_TARGET = ("raise", "lower", "remove", "replace")
_EFFORT = {"step": 1.0, "weighing": 1.5, "buying": 2.5, "remaking": 3.0}


@dataclass(frozen=True, slots=True)
class LineChange:
    """One weight that changes; percent of the product and grams at the maker's batch size (None without one)."""

    ingredient: str
    from_percent: float | None
    to_percent: float | None
    from_g: float | None
    to_g: float | None


@dataclass(frozen=True, slots=True)
class PlannedFix:
    id: str
    causes: tuple[str, ...]
    title: str
    effort: str
    proved: bool
    leaves: tuple[str, ...]
    brings: tuple[str, ...]
    changes: tuple[LineChange, ...]
    steps: tuple[str, ...]
    feel: str
    record: Batch | None                   # the amended batch, where the amounts are known


def plan(examination: Examination, knowledge: Knowledge) -> tuple[PlannedFix, ...]:
    """Fixes for the leading causes, best first (proved, then chance over effort); none for a spoiled batch's rescue."""
    standing = [r for r in examination.ranked if r.standing != RULED_OUT][:LEADING]
    if not standing:
        return ()
    least = min(_RANK[LIKELY], _RANK[standing[0].standing])
    leading = [r for r in standing if _RANK[r.standing] >= least]
    batch = examination.situation.batch
    parts = portions(examination.situation.measures) if batch.formula.complete else None
    forward = examine(replace(batch, measured={}, tried=()), knowledge, with_signs=False)
    base = {r.id: r for r in forward.ranked}
    out: list[tuple[float, PlannedFix]] = []
    runs = 0
    for ranked in leading:
        for fix in ranked.cause.fixes:
            if fix.when is not None and judge_condition(fix.when, examination.situation, knowledge,
                                                        examination.consultation.findings).yes == 0:
                continue
            if any(c.do in _NEEDS_TARGET and examination.situation.measures.listed_state(c.target) == "no" for c in fix.changes):
                continue
            if runs >= MAX_RUNS:
                break
            runs += 1
            planned = _planned(ranked, fix, batch, parts, base, knowledge)
            value = ranked.certainty / _EFFORT[fix.effort] * (1.6 if planned.proved else 1.0) * (0.7 if planned.brings else 1.0)
            out.append((value, planned))
    return tuple(p for _, p in sorted(out, key=lambda x: -x[0]))     # a stable sort: the card's own order decides ties


def _planned(ranked: Ranked, fix: Fix, batch: Batch, parts: list[Portion] | None, base: Mapping[str, Ranked],
             knowledge: Knowledge) -> PlannedFix:
    new, changed = parts, False
    for change in fix.changes:
        after = _apply(change, new, batch, knowledge) if new is not None else None
        if after is None:
            new, changed = None, False
            break
        new, changed = after, True
    amended_batch: Batch | None = None
    changes: tuple[LineChange, ...] = tuple(_unsolved(c, parts, knowledge) for c in fix.changes)
    if new is not None and parts is not None and (changed or fix.process):
        amended_batch = _with_process(as_batch(new, batch), fix.process)
        if changed:
            changes = _differences(parts, new, batch.batch_size)
    elif not fix.changes and fix.process:
        amended_batch = _with_process(replace(batch, observed=(), complaint=None, measured={}, tried=()), fix.process)
    leaves: tuple[str, ...] = (ranked.id,)
    brings: tuple[str, ...] = ()
    proved = False
    if amended_batch is not None:
        after_run = examine(amended_batch, knowledge, with_signs=False)
        now = {r.id: r for r in after_run.ranked}
        leaves = tuple(i for i in (ranked.id,) if now[i].standing != RULED_OUT)
        brings = tuple(sorted(i for i, r in now.items() if _RANK[r.standing] > max(_RANK[base[i].standing], 0) and i != ranked.id))
        moved = now[ranked.id].log_odds < base[ranked.id].log_odds - 1e-9
        gap = after_run.situation.measures.quantities.get("rung-gap")
        reached = gap is None or abs(gap.value) <= RUNG_TOLERANCE or not _about_texture(ranked)
        proved = not leaves and not brings and moved and reached
    return PlannedFix(f"{ranked.id}/{fix.id}", (ranked.id,), fix.title, fix.effort, proved, leaves, brings, changes, fix.steps,
                      fix.feel, amended_batch)


def _about_texture(ranked: Ranked) -> bool:
    """Whether the cause is judged by the texture wanted: then a fix is proved only if it reaches it."""
    return any(a.name == "rung-gap" for piece in ranked.cause.evidence if not piece.against for a in atoms(piece.when))


def _apply(change: Change, parts: list[Portion], batch: Batch, knowledge: Knowledge) -> list[Portion] | None:
    """The lines with one change made, its amount solved for; None where it cannot be."""
    if change.do == "pair":
        return _pair(change, parts, batch, knowledge)
    if change.do == "remove":
        return amended(parts, change, 0.0, knowledge)
    targets = matching(parts, change.target)
    now = sum(parts[i].percent for i in targets)
    incoming = (change.new[0] if change.new else change.target) if change.do in ("add", "replace") else ""
    item = knowledge.ingredients.get(incoming)
    amount = change.level
    if amount is None and change.reaches == "usual-level":
        amount = item.level.best if item and item.level else None
    if amount is None:
        low, high = _bounds(change, now, item.level.high if item and item.level else None)
        aim = _aim(change)
        if aim is None:
            return None
        quantity, target = aim

        def reach(x: float) -> float | None:
            trial = amended(parts, change, x, knowledge)
            if trial is None:
                return None
            found = measure(as_batch(trial, batch), knowledge).quantities.get(quantity)
            return found.value if found else None

        while change.do != "lower" and high > low and amended(parts, change, high, knowledge) is None:
            high -= 0.5
        amount = solve(reach, target, low, high) if high > low else None
        if amount is None and change.reaches == "wanted-rung" and high > low:
            amount = high     # as far as the usual level goes; the proof then says whether that is enough
        if change.do == "lower" and amount is None:
            amount = _solve_down(reach, target, now)
    if amount is None:
        return None
    step = _step(batch)
    amount = round(amount / step) * step if change.do == "lower" else -(-round(amount / step, 6) // 1) * step
    if item and item.maximum and amount > item.maximum.high:
        return None
    return amended(parts, change, round(amount, 6), knowledge)


def _solve_down(reach: Any, target: float, now: float) -> float | None:
    found = solve(lambda cut: reach(max(0.0, now - cut)), target, 0.0, now)
    return None if found is None else max(0.0, now - found)


def _bounds(change: Change, now: float, usual_high: float | None) -> tuple[float, float]:
    if change.do == "replace":
        return 0.0, now
    if change.do == "lower":
        return now, now
    return now, max(now + 0.5, (usual_high or 10.0) * 1.0)


def _aim(change: Change) -> tuple[str, float] | None:
    if change.reaches == "wanted-rung":
        return "rung-gap", -0.25
    if isinstance(change.reaches, (int, float)) and change.quantity:
        return change.quantity, float(change.reaches)
    return None


def _pair(change: Change, parts: list[Portion], batch: Batch, knowledge: Knowledge) -> list[Portion] | None:
    """The pair that meets the required HLB, at the present emulsifier level or a fifth of the oil, in place of the lone one."""
    quantities = measure(as_batch(parts, batch), knowledge).quantities
    needed, oil = quantities.get("hlb-required"), quantities.get("oil-share")
    figures = [knowledge.ingredients[n].emulsifier for n in change.new if n in knowledge.ingredients]
    if needed is None or oil is None or len(figures) != 2 or any(e is None or e.hlb is None for e in figures):
        return None
    low, high = (e.hlb.best for e in figures if e and e.hlb)
    shares = split_pair(low, high, needed.value)
    if shares is None:
        return None
    old = [i for i, p in enumerate(parts) if change.target and (change.target in p.holds)]
    had = sum(parts[i].percent for i in old)
    whole = max(had, 0.2 * oil.value)
    kept = [p for i, p in enumerate(parts) if i not in old]
    sources = matching(kept, "water-like")
    if not sources or kept[sources[0]].percent < whole - had:
        return None
    kept[sources[0]] = replace(kept[sources[0]], percent=kept[sources[0]].percent - (whole - had))
    step = _step(batch)
    first = round(whole * shares[0] / step) * step
    for name, amount in zip(change.new, (first, whole - first), strict=True):
        added = amended(kept, Change("add", name, balance="water"), 0.0, knowledge)
        if added is None:
            return None
        from advisor.fixes.amend import _put
        _put(kept, name, amount, knowledge)
    return kept


def _step(batch: Batch) -> float:
    """What the scale can tell, in percent of the batch; 0.1 % where size or scale are not known."""
    if batch.batch_size and batch.scale_step:
        return max(0.05, min(1.0, 100.0 * batch.scale_step / batch.batch_size))
    return 0.1


def _differences(before: list[Portion], after: list[Portion], size: float | None) -> tuple[LineChange, ...]:
    old: dict[str, float] = {}
    new: dict[str, float] = {}
    for parts, into in ((before, old), (after, new)):
        for p in parts:
            into[p.line.name] = into.get(p.line.name, 0.0) + p.percent
    out = []
    for name in [*old, *(n for n in new if n not in old)]:
        a, b = old.get(name, 0.0), new.get(name, 0.0)
        if abs(a - b) > 0.004:
            out.append(LineChange(name, round(a, 2), round(b, 2), _grams(a, size), _grams(b, size)))
    return tuple(out)


def _unsolved(change: Change, parts: list[Portion] | None, knowledge: Knowledge) -> LineChange:
    """The change where the amount could not be solved for: the usual level is given where one is known."""
    name = change.new[0] if change.new else change.target
    item = knowledge.ingredients.get(name)
    usual = change.level if change.level is not None else item.level.best if item and item.level else None
    have = sum(parts[i].percent for i in matching(parts, change.target)) if parts else None
    return LineChange(name, have, 0.0 if change.do == "remove" else usual, None, None)


def _grams(percent: float, size: float | None) -> float | None:
    return None if size is None else round(percent * size / 100, 2)


def _with_process(batch: Batch, process: Mapping[str, Any]) -> Batch:
    from advisor.batch.units import process_value

    for path, value in process.items():
        batch = write_field(batch, path, process_value(path, value))
    return batch
