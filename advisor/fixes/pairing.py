"""The pair of emulsifiers split anew after a swap, so that its HLB is the one the oils require; only where HLB applies."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from advisor.batch.model import Batch
from advisor.fixes.amend import Portion, as_batch, matching
from advisor.fixes.amounts import pair_amounts
from advisor.knowledge.load import Knowledge
from advisor.knowledge.materials import Ingredient
from advisor.quantities.hlb import blend
from advisor.quantities.measure import measure

_NO_PAIR = ("water-in-oil", "anhydrous", "gel", "surfactant")     # schema: kinds that the required HLB of oil-in-water says nothing of


@dataclass(frozen=True, slots=True)
class Pairing:
    """What the oils require, what the emulsifiers offered after the plain swap and offer now; `split` is empty where none meets it."""

    required: float
    low: float
    high: float
    plain: float
    offered: float
    split: tuple[tuple[str, float], ...]
    says: str


def hlb_applies(item: Ingredient) -> bool:
    """Whether this is an emulsifier that is chosen by its HLB."""
    return item.emulsifier is not None and item.emulsifier.judged_by == "hlb" and item.emulsifier.hlb is not None


def resplit(parts: list[Portion], batch: Batch, whole: float | None, step: float, knowledge: Knowledge) -> tuple[list[Portion], Pairing] | None:
    """The same formula with its emulsifiers split to the required HLB; `whole` % in all (as they stand, if None).

    None where HLB does not apply or the requirement is not known; unchanged, with the reason, where no split can meet it.
    """
    measures = measure(as_batch(parts, batch), knowledge)
    found = [measures.quantities.get(f"hlb-{n}") for n in ("required", "required-low", "required-high", "offered")]
    if measures.kind in _NO_PAIR or any(q is None for q in found):
        return None
    required, low, high, plain = (q.value for q in found if q is not None)
    values = {i: e.hlb.best for i, x in enumerate(measures.lines) if len(x.ingredients) == 1 and not x.ingredients[0].parts
              and hlb_applies(x.ingredients[0]) and (e := x.ingredients[0].emulsifier) and e.hlb}
    below, above = ([i for i in values if (values[i] <= required) is side] for side in (True, False))
    if not below or not above:
        side = ("all above", "a more oil-loving") if above else ("all below", "a more water-loving")
        says = f"The oils want an HLB of {required:.1f}, and the emulsifiers are {side[0]} it: no split meets it; put {side[1]} partner beside them."
        return parts, Pairing(required, low, high, plain, plain, (), says)
    in_all = sum(parts[i].percent for i in values) if whole is None else whole
    amounts = pair_amounts(in_all, _mean(below, parts, values), _mean(above, parts, values), required, step)
    if amounts is None:
        return None
    new = list(parts)
    for group, amount in zip((below, above), amounts, strict=True):
        held = sum(parts[i].percent for i in group)
        for i in group:
            new[i] = new[i]._replace(percent=amount * parts[i].percent / held)
    takes = [i for i in (*matching(new, "water-like"), *matching(new, "liquid-oil")) if i not in values]
    spare = sum(p.percent for p in parts) - sum(p.percent for p in new)
    if not takes or new[takes[0]].percent + spare < 0:
        return None
    new[takes[0]] = new[takes[0]]._replace(percent=new[takes[0]].percent + spare)
    split = tuple((new[i].line.name, round(new[i].percent, 4)) for i in (*below, *above))
    offered = blend([(new[i].percent, values[i]) for i in values]) or plain
    says = f"The oils want an HLB of {required:.1f} ({low:.1f} to {high:.1f}); one for the other at its plain level offers {plain:.1f}. Split anew they offer {offered:.1f}: " + \
        ", ".join(f"{name} {percent:g} %" for name, percent in split) + "."
    return [p for p in new if p.percent > 1e-9], Pairing(required, low, high, plain, offered, split, says)


def _mean(group: Sequence[int], parts: list[Portion], values: dict[int, float]) -> float:
    return blend([(parts[i].percent, values[i]) for i in group]) or 0.0
