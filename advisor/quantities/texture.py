"""The rung to expect from a formula: log-viscosity added up from what gives body, by the coefficients of rules/textures.yaml.

The dispersed phase goes by Krieger and Dougherty, Trans. Soc. Rheol. 3 (1959) 137-152.  An estimate, give or take a rung.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from advisor.knowledge.records import Rung


def log_viscosity(shares: Iterable[tuple[frozenset[str], float]], fraction: float, model: Mapping[str, Any]) -> tuple[float, dict[str, float]]:
    """log10 of mPa.s at 20 to 25 C, and what each class adds; `shares` are (classes, percent) of lines."""
    table = model["per_percent"]
    amounts: dict[str, float] = {}
    for classes, percent in shares:
        kind = next((k for k in table if k in classes), None)
        if kind:
            amounts[kind] = amounts.get(kind, 0.0) + percent
    adds = {k: table[k]["adds"] * table[k]["level"] * (1 - math.exp(-a / table[k]["level"])) * 1.25 for k, a in amounts.items()}
    packed = min(fraction, 0.98 * model["packing"])
    adds["dispersed drops"] = -model["exponent"] * math.log10(1 - packed / model["packing"])
    return model["base"] + sum(adds.values()), adds


def rung_of(log_mpas: float, rungs: Sequence[Rung]) -> float:
    """The rung as a number, straight between the middles of the rungs' bands."""
    middles = [(math.log10(r.viscosity.low * r.viscosity.high) / 2, float(r.rank)) for r in rungs]
    if log_mpas <= middles[0][0]:
        return middles[0][1]
    for (x0, y0), (x1, y1) in zip(middles, middles[1:], strict=False):
        if log_mpas <= x1:
            return y0 + (y1 - y0) * (log_mpas - x0) / (x1 - x0)
    return middles[-1][1]


def rung_in_words(text: str, rungs: Sequence[Rung]) -> Rung | None:
    """The rung a maker's words name; the longest wording wins."""
    low = f" {re.sub(r'[^a-z ]+', ' ', text.lower())} "
    found = [(len(w), -r.rank, r) for r in rungs for w in (*r.words, r.id.replace("-", " ")) if f" {w} " in low]
    return max(found, key=lambda f: f[:2])[2] if found else None
