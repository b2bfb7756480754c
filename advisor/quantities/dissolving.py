"""What the water holds of the solids that dissolve in it: each one's amount against its solubility.

An acid dissolves as itself and as its salt, S = S0 (1 + 10^(pH - pKa)), which follows from Henderson and Hasselbalch's law.
A solvent beside the water raises it: log10 S = log10 S(water) + slope x part of solvent, the log-linear model of Yalkowsky.
"""

import math
from typing import NamedTuple

from advisor.knowledge.materials import Ingredient
from advisor.quantities.acids import undissociated
from advisor.quantities.board import Board

SLOPES = (0.5, 1.5, 3.0)      # of the log-linear model, low, best and high, for what dissolves sparingly in water (wide on purpose; from memory)
SPARING = 5.0                 # g in 100 g of water, above which a solvent is taken not to raise it (from memory)


class Held(NamedTuple):
    """g that 100 g of water with its solvents hold of one solid at this pH; `high` is infinite where the pH may be any."""

    low: float
    best: float
    high: float


def measure(board: Board) -> None:
    """The solid that is furthest above what the water holds of it, in times; 1 is as much as it holds.

    Open above beside a solid of which that is not known.
    """
    water, solvent = board.sum_share("water"), board.value("solvent-share") or 0.0
    water = water and water + board.unread      # an unknown line may be water
    solids = board.members("crystallising")
    amounts: dict[str, float] = {}
    for m in solids:
        if m.item.solubility and m.percent:
            amounts[m.item.inci] = amounts.get(m.item.inci, 0.0) + m.percent
    if not water or not amounts or board.members("finished-product"):      # which brings water of its own
        return
    ph = board.value("ph")
    found: list[tuple[float, float, float, str]] = []
    for inci, percent in amounts.items():
        held = solubility(board.by_class[inci][0].item, solvent / (solvent + water), ph, ph is None and bool(board.members("alkali-adjuster")))
        if held:
            against = 100 * percent / water
            found.append((against / held.best, against / held.high, against / held.low, board.by_class[inci][0].via.line.name))
    if found:
        best, low, high, name = max(found)
        board.put("solid-of-solubility", best, (name,), any(m.item.solubility is None or m.percent is None for m in solids), slack=high - best)
        board.found["solid-of-solubility"] = board.found["solid-of-solubility"]._replace(low=low if board.whole else 0.0)


def solubility(item: Ingredient, solvent: float, ph: float | None, any_ph: bool = False) -> Held | None:
    """What water with this part of solvent (0 to 1) holds of a material at a pH; None where nothing is known of it."""
    if item.solubility is None:
        return None
    salt = 1.0
    if item.acid and ph is not None:
        salt = 100.0 / undissociated(ph, item.acid.pka.best)
    s = item.solubility
    slopes = SLOPES if s.best < SPARING else (0.0, 0.0, SLOPES[0])
    low, best, high = (of * salt * math.pow(10, slope * solvent) for of, slope in zip((s.low, s.best, s.high), slopes, strict=True))
    return Held(low, best, math.inf if any_ph and item.acid else high)
