"""How fast drops would rise in a fluid product, as an order of magnitude over an assumed range of sizes; nothing where the body holds them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from advisor.quantities.liquids import millimetres_a_day
from advisor.quantities.texture import Body, liquid_log, log_viscosity


@dataclass(frozen=True, slots=True)
class Creaming:
    """Millimetres a day for the smallest and the largest drops assumed (micrometres)."""

    slow: float
    fast: float
    smallest: float
    largest: float


def creaming(body: Body, model: Mapping[str, Any]) -> Creaming | None:
    """None for all but oil in water that flows like a milk or thinner."""
    table = model["creaming"]
    if body.kind != "oil-in-water" or body.drops <= 0 or log_viscosity(body, model) >= math.log10(table["fluid_below"]):
        return None
    oils = [(p.percent, p.item.density.best if p.item.density else table["oil_density"]) for p in body.parts if "oil" in p.item.classes]
    whole = math.fsum(p for p, _ in oils)
    lighter = 1000 * (1 - math.fsum(p * d for p, d in oils) / whole) if whole > 0 else table["lighter_by"]
    around = 10 ** liquid_log(body, model, model["room"])
    slow, fast = (abs(millimetres_a_day(d, lighter, around)) for d in (table["smallest"], table["largest"]))
    return Creaming(slow, fast, table["smallest"], table["largest"])
