"""Changing a formula on paper: the line changed, the balance taken elsewhere, the whole still 100 %."""

from collections.abc import Callable
from dataclasses import replace
from typing import NamedTuple

from advisor.batch.model import Batch, Formula, Line
from advisor.knowledge.load import Knowledge
from advisor.knowledge.records import Change
from advisor.quantities.measure import Measures

MINOR = 0.1      # of the largest line that gives or takes the balance; smaller ones stay as they are
FAR = 2.0        # times the top of a usual level, which is given for emulsions and may be passed in fats alone
KEPT = 0.25      # of an oil or other line that gives the balance: what comes in is in place of part of it
DOSED = ("preservative", "ph-adjuster", "active", "oil-soluble-active", "polymer", "fragrance", "emulsifier")     # schema: classes whose dose matters
FINE = 0.01      # % of the product; finer than any kitchen scale tells in a small batch


class Portion(NamedTuple):
    """One line in percent, with the classes and INCI names it holds."""

    line: Line
    percent: float
    holds: frozenset[str]


def portions(measures: Measures) -> list[Portion] | None:
    """The formula in percent; None where a line has no known amount."""
    out = []
    for resolved in measures.lines:
        if resolved.percent is None:
            return None
        holds = frozenset(i.inci for i in resolved.ingredients).union(*(i.classes for i in resolved.ingredients))
        out.append(Portion(resolved.line, resolved.percent.best, holds))
    return out


def matching(parts: list[Portion], name: str) -> list[int]:
    """Positions of the lines that are this INCI name or of this class; the largest first."""
    found = [i for i, p in enumerate(parts) if name in p.holds or p.line.name.lower() == name.lower()]
    return sorted(found, key=lambda i: -parts[i].percent)


def amended(parts: list[Portion], change: Change, amount: float, knowledge: Knowledge) -> list[Portion] | None:
    """The lines with the target at `amount` % and the balance moved; None if the balance does not suffice."""
    new = list(parts)
    if change.do == "pair":
        return None
    targets = matching(parts, change.target)
    before = sum(parts[i].percent for i in targets)
    if change.do == "lower" and change.target not in DOSED:      # less oil is not less of the sun filter in it
        kept = [i for i in targets if parts[i].holds & set(DOSED)]
        dosed = sum(parts[i].percent for i in kept)
        if len(kept) < len(targets) and dosed < amount:
            targets, amount, before = [i for i in targets if i not in kept], amount - dosed, before - dosed
    if change.do == "replace":
        if not targets or not change.new or amount > before + 1e-9:
            return None
        _scale(new, targets, before - amount, before)
        put(new, change.new[0], amount, knowledge)
        return [p for p in new if p.percent > 1e-9]
    if change.do in ("lower", "remove", "raise") and not targets:
        return None
    if change.do == "raise" and amount < before - 1e-9 or change.do == "lower" and amount > before + 1e-9:
        return None                            # a card's outright level that would go the wrong way
    if targets:
        _scale(new, targets, amount, before)
    else:
        put(new, change.target, amount, knowledge)
        before = 0.0
    sources = _givers(parts, change.balance, targets, knowledge)
    if amount < before and not sources:
        sources = [i for i, p in enumerate(parts) if i not in targets and p.holds and not p.holds & set(DOSED)]      # what is freed goes to the rest, but not to what is dosed
    if amount < before and not set(sources) & set(matching(parts, change.balance)):
        sources = _roomy(parts, sources, before - amount, knowledge)
    if not sources:
        return None
    have = sum(parts[i].percent for i in sources)
    left = have - (amount - before)
    if left < (KEPT * have if amount > before and not all("water-like" in parts[i].holds for i in sources) else 0.0):
        return None
    _scale(new, sources, left, have)
    return [p for p in new if p.percent > 1e-9]


def _givers(parts: list[Portion], balance: str, targets: list[int], knowledge: Knowledge) -> list[int]:
    """The lines that give or take the balance: those named, else of a broader class, else the water; never one whose dose matters, unless it is named."""
    broader = sorted(knowledge.classes[balance].ancestors - {balance}) if balance in knowledge.classes else []
    found = next((found for name in (balance, *broader, "water-like") if (found := [i for i in matching(parts, name) if i not in targets and (balance in DOSED or not parts[i].holds & set(DOSED))])), [])
    return [i for i in found if parts[i].percent >= MINOR * parts[found[0]].percent]


def _roomy(parts: list[Portion], sources: list[int], freed: float, knowledge: Knowledge) -> list[int]:
    """Those of the lines that can share in what is freed without going far above their usual level."""
    while sources:
        have = sum(parts[i].percent for i in sources)
        full = [i for i in sources if parts[i].percent * (1 + freed / have) > max(FAR * _usual_top(parts[i], knowledge), parts[i].percent)] if have > 0 else []
        if not full:
            break
        sources = [i for i in sources if i not in full]
    return sources


def _usual_top(part: Portion, knowledge: Knowledge) -> float:
    """The most that is usual of what the line holds, in percent; 100 where nothing is known."""
    return max((item.level.high for inci in part.holds if (item := knowledge.ingredients.get(inci)) and item.level), default=100.0)


def as_batch(parts: list[Portion], batch: Batch) -> Batch:
    """The batch with these lines in percent, judged forward: what was seen, measured and tried is left out."""
    lines = tuple(replace(p.line, amount=(p.percent, p.percent), rest=False) for p in parts)
    return batch._replace(formula=Formula(lines, "percent", True), observed=(), complaint=None, measured={}, tried=(), remarks=())


def solve(reach: Callable[[float], float | None], target: float, low: float, high: float) -> float | None:
    """The smallest change of amount between low and high at which `reach` comes to the target, to FINE.

    Straight lines first, as most quantities nearly are, halving where that does not close in.
    """
    at_low, at_high = reach(low), reach(high)
    if at_low is None or at_high is None or at_low == at_high:
        return None
    rising = at_high > at_low

    def short(value: float | None) -> bool:
        return value is None or (value < target if rising else value > target)

    if short(at_high):
        return None
    if not short(at_low):
        return low
    straight = True
    while high - low > FINE:
        middle = (low + high) / 2
        if straight and at_low is not None and at_high is not None and at_high != at_low:
            middle = low + (high - low) * (target - at_low) / (at_high - at_low)
            middle = min(max(middle, low + FINE / 4), high - FINE / 4)
        at_middle = reach(middle)
        near = middle + (FINE / 2 if short(at_middle) else -FINE / 2)      # the other side of the target, if it is as near as it should be
        for x, value in ((middle, at_middle), *(((near, reach(near)),) if straight and low < near < high else ())):
            if short(value) and x > low:
                low, at_low = x, value
            elif not short(value) and x < high:
                high, at_high = x, value
        straight = not straight
    return high


def _scale(parts: list[Portion], indices: list[int], to: float, before: float) -> None:
    for i in indices:
        share = parts[i].percent / before if before else 1 / len(indices)
        parts[i] = parts[i]._replace(percent=max(0.0, to * share))


def put(parts: list[Portion], inci: str, amount: float, knowledge: Knowledge) -> None:
    item = knowledge.ingredients.get(inci)
    phase = item.phase if item else None
    here = matching(parts, inci)
    if here:
        parts[here[0]] = parts[here[0]]._replace(percent=parts[here[0]].percent + amount)
        return
    holds = frozenset({inci}) | (item.classes if item else frozenset())
    parts.append(Portion(Line(inci, (amount, amount), phase=phase), amount, holds))
