"""Heat: the temperature after two phases meet, and what is then below its melting range."""

from __future__ import annotations

from collections.abc import Sequence

WATER_HEAT = 4.18    # J/(g K), water at 20 to 80 C (common reference value)
OIL_HEAT = 2.0       # J/(g K), vegetable oils about 1.7 to 2.2 (ask_cp_oil, amesweb_cp)
VESSEL_LOSS = 3.0    # C that vessel and air usually take in a small batch (common practice: warm the vessel)


def mixing_temperature(parts: Sequence[tuple[float, float, float]]) -> float | None:
    """The temperature of a mixture from (mass, heat capacity, C): the heat balance, an upper bound without any loss."""
    capacity = sum(m * c for m, c, _ in parts)
    return sum(m * c * t for m, c, t in parts) / capacity if capacity > 0 else None
