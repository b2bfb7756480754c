"""How much: the amount of each change solved for, so that a quantity reaches its target within the usual and legal limits."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

from advisor.batch.model import Batch
from advisor.fixes.amend import FINE, Portion, amended, as_batch, matching, put, solve
from advisor.fixes.weighing import scale_step
from advisor.knowledge.load import Knowledge
from advisor.knowledge.materials import Ingredient
from advisor.knowledge.records import Change
from advisor.quantities.hlb import split_pair
from advisor.quantities.law import legal_maximum, rinsed_off
from advisor.quantities.measure import measure

RUNG_AIM = 0.25          # a texture change goes a quarter of a rung past the one wanted, so that the estimate itself no longer speaks of too little
PAIR_OF_OIL = 0.2        # a pair of emulsifiers at a fifth of the oil (common practice)
MOST = 10.0              # % that is tried where no usual level is known


def apply(change: Change, parts: list[Portion], batch: Batch, knowledge: Knowledge) -> list[Portion] | None:
    """The lines with one change made, its amount solved for; None where it cannot be."""
    if change.do == "pair":
        return _pair(change, parts, batch, knowledge)
    if change.do == "remove":
        return amended(parts, change, 0.0, knowledge)
    now = sum(parts[i].percent for i in matching(parts, change.target))
    incoming = (change.new[0] if change.new else change.target) if change.do in ("add", "replace") else ""
    item = knowledge.ingredients.get(incoming)
    lawful = legal_maximum(item, rinsed_off(batch, knowledge)) if item else None
    most = lawful.high if lawful else None
    amount = _outright(change, item, now)
    if amount is not None and change.do == "add" and amount <= now:
        return list(parts)                     # there is as much already
    if amount is None:
        amount = _solved(change, parts, batch, knowledge, item, most, now)
        if amount is None:
            return None
        if change.do != "replace" and abs(amount - now) < FINE:
            return list(parts)                 # it stands where it should be already
        if item and item.level and now == 0:
            amount = max(amount, item.level.low)     # what is new goes in at its usual level at least: a trace of it would not do its work
        amount = _on_scale(amount, change, scale_step(batch), most)
    if most is not None:
        amount = min(amount, most)
    if change.do == "lower":
        amount = max(amount, _least(change, parts, now, knowledge))
        if now - amount < FINE:
            return list(parts)                 # there is none to spare
    return amended(parts, change, round(amount, 6), knowledge)


def _least(change: Change, parts: list[Portion], now: float, knowledge: Knowledge) -> float:
    """How much of what is lowered must stay so that the emulsifiers that do their work alone keep, among them, their usual least."""
    targets = matching(parts, change.target)
    kept = {i: p.percent / low for i, p in enumerate(parts) if (low := _usual_least(p, knowledge))}
    mine, others = sum(kept.get(i, 0.0) for i in targets), sum(v for i, v in kept.items() if i not in targets)
    return 0.0 if mine <= 0 else min(now, now * (1.0 - others) / mine) if others < 1.0 else 0.0


def _usual_least(part: Portion, knowledge: Knowledge) -> float:
    """The lowest usual level of an emulsifier that needs no partner, in percent; 0 where the line is none."""
    items = (knowledge.ingredients[name] for name in part.holds if name in knowledge.ingredients)
    return max((i.level.low for i in items if i.level and i.emulsifier and i.emulsifier.alone == "complete"), default=0.0)


def _outright(change: Change, item: Ingredient | None, now: float) -> float | None:
    """The level that the card gives itself; a change that would go the wrong way is none."""
    level = change.level
    if level is None and change.reaches == "usual-level":
        level = item.level.best if item and item.level else None
    if level is not None and change.do == "replace":
        return min(level, now) if now > 0 else level
    return level


def _on_scale(amount: float, change: Change, step: float, most: float | None) -> float:
    """The next amount that the scale can weigh, away from where it was; a small dose goes to a finer scale rather than far off."""
    while step > 0.01 and step > 0.5 * amount > 0:
        step /= 10
    if change.do == "lower":
        return max(0.0, (amount + 1e-6) // step * step)
    up = -(-round(amount / step, 6) // 1) * step
    return amount if most is not None and up > most >= amount else up


def _solved(change: Change, parts: list[Portion], batch: Batch, knowledge: Knowledge, item: Ingredient | None,
            most: float | None, now: float) -> float | None:
    aim = _aim(change)
    if aim is None:
        return None
    quantity, target = aim

    @cache      # the ends are looked at more than once
    def reach(x: float) -> float | None:
        trial = amended(parts, change, x, knowledge)
        found = measure(as_batch(trial, batch), knowledge).quantities.get(quantity) if trial is not None else None
        return found.value if found else None

    if change.do == "lower":
        found = _solve_down(reach, target, now)
        return 0.0 if found is None and change.reaches == "wanted-rung" and reach(now) is not None else found     # all of it; the proof says whether that is enough
    low, high = (0.0, now) if change.do == "replace" else (now, max(now + 0.5, (item.level.high if item and item.level else MOST)))
    card = knowledge.quantities.get(quantity)
    if change.do != "replace" and card and card.share_of:
        high = max(high, target + 1.0)         # a share that a card asks for outright is usual in that kind of product
    if most is not None:
        high = min(high, most)
    while high > low and amended(parts, change, high, knowledge) is None:
        high -= 0.5
    if high <= low:
        return None
    found = solve(reach, target, low, high)
    if found is None and change.reaches == "wanted-rung" and (change.do != "replace" or reach(low) is not None):
        return high                            # as far as usual; the proof says whether that is enough
    return found


def _solve_down(reach: Callable[[float], float | None], target: float, now: float) -> float | None:
    most = next((cut for cut in (now, 0.98 * now, 0.9 * now) if reach(now - cut) is not None), 0.0)     # without the line some quantities have no meaning
    found = solve(lambda cut: reach(max(0.0, now - cut)), target, 0.0, most)
    return None if found is None else max(0.0, now - found)


def _aim(change: Change) -> tuple[str, float] | None:
    if change.reaches == "wanted-rung":
        return "rung-gap", RUNG_AIM
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
    old = [i for i, p in enumerate(parts) if change.target and change.target in p.holds]
    had = sum(parts[i].percent for i in old)
    low, high = (e.hlb.best for e in figures if e and e.hlb)
    amounts = pair_amounts(max(had, PAIR_OF_OIL * oil.value), low, high, needed.value, scale_step(batch))
    kept = [p._replace(percent=0.0) if i in old else p for i, p in enumerate(parts) if i not in old or p.holds & set(change.new)]     # a line that is one of the pair stays itself
    sources = matching(kept, "water-like")
    if amounts is None or not sources or kept[sources[0]].percent < sum(amounts) - had:
        return None
    kept[sources[0]] = kept[sources[0]]._replace(percent=kept[sources[0]].percent - (sum(amounts) - had))
    for name, amount in zip(change.new, amounts, strict=True):
        put(kept, name, amount, knowledge)
    return [p for p in kept if p.percent > 1e-9]


def pair_amounts(whole: float, low: float, high: float, wanted: float, step: float = 0.0) -> tuple[float, float] | None:
    """How much of the low- and of the high-HLB emulsifier make `whole` at the wanted HLB; on the scale's step where one is given."""
    shares = split_pair(low, high, wanted)
    if shares is None:
        return None
    if step <= 0:
        return whole * shares[0], whole * shares[1]
    whole = -(-round(whole / step, 6) // 1) * step
    first = round(whole * shares[0] / step) * step
    return round(first, 6), round(whole - first, 6)
