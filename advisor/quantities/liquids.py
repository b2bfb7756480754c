"""The liquids a product is made of: water with glycols, oils, and drops packed into them; published relations, coefficients in rules/textures.yaml.

Glycerin in water: Cheng, Ind. Eng. Chem. Res. 47 (2008) 3285-3288.  Dispersed drops: Krieger and Dougherty, Trans. Soc. Rheol. 3 (1959) 137-152.
Creaming: Stokes' law for single drops.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import Any

GRAVITY = 9.81       # m/s2
DAY = 86_400.0       # s


def water_log(glycerin: float, at: float, model: Mapping[str, Any]) -> float:
    """log10 of mPa.s of water with this mass fraction (0 to 1) of glycerin, at C."""
    w, g = model["water"], model["glycerin"]
    water = math.log(w[0]) + (w[1] - at) * at / (w[2] + w[3] * at)
    pure = math.log(g[0]) + (g[1] + at) * at / (g[2] + g[3] * at)
    a = model["a"][0] + model["a"][1] * at
    b = (model["b"][0] + model["b"][1] * at) * a ** model["b"][2]
    share = 1 - glycerin + (a * b * glycerin * (1 - glycerin)) / (a * glycerin + b * (1 - glycerin)) if 0 < glycerin < 1 else 1 - glycerin
    return float(share * water + (1 - share) * pure) / math.log(10)


def oil_log(oils: Iterable[tuple[float, float]], at: float, model: Mapping[str, Any]) -> float:
    """log10 of mPa.s of mixed oils given as (percent, mPa.s at 20 C): logarithms mix by weight."""
    found = list(oils)
    whole = math.fsum(p for p, _ in found)
    mean = math.fsum(p * math.log10(v) for p, v in found) / whole if whole > 0 else math.log10(model["base"])
    return mean - float(model["falls"]) * (at - 20)


def drops_log(fraction: float, model: Mapping[str, Any]) -> float:
    """How many decades dispersed drops add, by their share of the volume; soft drops go on rising beyond the packing of hard ones."""
    below = min(fraction, model["soft_from"])
    adds = -model["exponent"] * math.log10(1 - below / model["packing"])
    return float(adds + model["soft_slope"] * max(0.0, min(fraction, 0.98) - below))


def stokes(diameter: float, difference: float, viscosity: float) -> float:
    """The speed (m/s) of one drop: diameter in m, density difference in kg/m3, viscosity around it in Pa.s."""
    return diameter**2 * difference * GRAVITY / (18 * viscosity)


def millimetres_a_day(diameter_um: float, difference: float, mpas: float) -> float:
    """The same for a drop in micrometres and a liquid in mPa.s."""
    return stokes(diameter_um * 1e-6, difference, mpas * 1e-3) * 1000 * DAY
