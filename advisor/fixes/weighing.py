"""What goes on the scale: a formula in percent that adds up to exactly 100, and the grams of each line on the scale's steps."""

from collections.abc import Sequence
from typing import NamedTuple

from advisor.batch.model import Batch
from advisor.fixes.amend import DOSED, Portion, matching
from advisor.knowledge.load import Knowledge
from advisor.quantities.law import legal_maximum
from advisor.quantities.names import resolve

FINE = 10_000            # parts of one percent that are told apart: 0.0001 %
COARSEST, FINEST, USUAL = 1.0, 0.05, 0.1      # % that a step may be taken for; 0.1 % where size or scale are not known (common practice)
FINER = (0.1, 0.01)      # g: the scales that most makers can get for a small line (common practice)
ERROR = 0.05             # a line is weighed on a finer scale where half a step would be more than this part of it (common practice)


def scale_step(batch: Batch) -> float:
    """What the scale can tell, in percent of the batch."""
    if batch.batch_size and batch.scale_step:
        return max(FINEST, min(COARSEST, 100.0 * batch.scale_step / batch.batch_size))
    return USUAL


def settle(parts: list[Portion]) -> list[Portion] | None:
    """The same formula to a hundredth of a percent (small lines finer), adding up to exactly 100; water takes what rounding leaves.

    None where the amounts are nowhere near a whole formula.
    """
    if not parts or abs(sum(p.percent for p in parts) - 100) > 0.5:
        return None
    whole = [round(_rounded(p.percent) * FINE) for p in parts]
    water = matching(parts, "water-like")
    takes = water[0] if water else max(range(len(parts)), key=lambda i: parts[i].percent)
    whole[takes] += 100 * FINE - sum(whole)
    if whole[takes] < 0:
        return None
    return [p._replace(percent=n / FINE) for p, n in zip(parts, whole, strict=True) if n > 0]


def _rounded(percent: float) -> float:
    return round(percent, 2 if percent >= 0.1 else 4)


def within_law(parts: list[Portion], knowledge: Knowledge, rinsed: bool = False) -> tuple[list[Portion], tuple[str, ...]]:
    """Lines brought down to the legal maximum of what they hold, water taking the rest; and the names of those lines."""
    new, names = list(parts), []
    for inci, (held, maximum) in over_law(parts, knowledge, rinsed).items():
        for i, p in enumerate(new):
            if inci in p.holds or inci in _pieces(p, knowledge):
                new[i] = p._replace(percent=int(p.percent * maximum / held * 1000) / 1000)
                names.append(p.line.name)
    spare = sum(p.percent for p in parts) - sum(p.percent for p in new)
    water = matching(new, "water-like")
    if names and water:
        new[water[0]] = new[water[0]]._replace(percent=new[water[0]].percent + spare)
        return new, tuple(dict.fromkeys(names))
    return list(parts), ()


def over_law(parts: Sequence[Portion], knowledge: Knowledge, rinsed: bool = False) -> dict[str, tuple[float, float]]:
    """INCI name: (% held, legal maximum) of everything above its maximum in a product that stays on or is `rinsed` off, parts of blends counted."""
    held: dict[str, float] = {}
    for p in parts:
        for inci, share in _pieces(p, knowledge).items():
            held[inci] = held.get(inci, 0.0) + p.percent * share
    limits = {inci: most.high for inci in held if (item := knowledge.ingredients.get(inci)) and (most := legal_maximum(item, rinsed))}
    return {inci: (held[inci], limits[inci]) for inci in limits if held[inci] > limits[inci] + 1e-6}


def _pieces(p: Portion, knowledge: Knowledge) -> dict[str, float]:
    """The materials of one line with the share (0..1) each has; a line that is a list of unknown shares is told by its whole record only."""
    items = resolve(p.line.name, knowledge).ingredients
    if len(items) != 1:
        return {}
    item = items[0]
    return {item.inci: 1.0, **{part.inci: part.share.best / 100 for part in item.parts}}


class Weighed(NamedTuple):
    """One line on the sheet.  `step` is the scale it wants (g), finer than the maker's own where `finer`; `tolerance` in g."""

    name: str
    phase: str
    percent: float
    grams: float | None
    step: float | None
    tolerance: float | None
    finer: bool
    matters: bool


def weigh(parts: Sequence[Portion], phases: Sequence[str], size: float | None, step: float | None) -> list[Weighed]:
    """Grams on the scale's steps that add up to the batch size; small lines are given for a finer scale."""
    if size is None:
        return [Weighed(p.line.name, phase, p.percent, None, None, None, False, _matters(p)) for p, phase in zip(parts, phases, strict=True)]
    own = step or 0.1
    out = []
    for p, phase in zip(parts, phases, strict=True):
        exact = p.percent * size / 100
        allowed = exact * (ERROR if _matters(p) else 2 * ERROR)
        used = own if own / 2 <= allowed + 1e-9 or _on(exact, own) else next((s for s in FINER if s < own and s / 2 <= allowed), min(FINER[-1], own))
        grams = round(round(exact / used) * used, 4)
        out.append(Weighed(p.line.name, phase, p.percent, grams, used, round(max(used / 2, allowed), 3), used < own, _matters(p)))
    takes = max(range(len(out)), key=lambda i: out[i].grams or 0.0)
    left = round(size - sum(w.grams or 0.0 for w in out), 4)
    out[takes] = out[takes]._replace(grams=round((out[takes].grams or 0.0) + left, 4))
    return out


def _on(exact: float, step: float) -> bool:
    return exact >= step and abs(exact / step - round(exact / step)) < 1e-6


def _matters(p: Portion) -> bool:
    return any(c in p.holds for c in DOSED)
