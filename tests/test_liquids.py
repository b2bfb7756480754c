"""Stokes' law against printed and recomputed examples, and rising of drops only where nothing holds them."""

from __future__ import annotations

import pytest

from advisor.batch.reading import record_batch
from advisor.forecast import Forecast, forecast
from advisor.knowledge.load import Knowledge
from advisor.quantities.liquids import drops_log, millimetres_a_day, stokes


@pytest.mark.outside
def test_twice_the_diameter_is_four_times_the_speed() -> None:
    """dairy_stokes: printed answer 4."""
    assert stokes(2e-6, 80, 0.001) / stokes(1e-6, 80, 0.001) == pytest.approx(4)


@pytest.mark.outside
def test_an_oil_drop_in_air() -> None:
    """pf_millikan: radius 1 micrometre, 874 kg/m3, 1.832e-5 Pa.s, printed answer 1.04e-4 m/s."""
    assert stokes(2e-6, 874, 1.832e-5) == pytest.approx(1.04e-4, rel=0.01)


@pytest.mark.parametrize(("micrometres", "mpas", "expected"), [(1, 1.0016, 3.761), (5, 1.0016, 94.03), (10, 1000, 0.3767)])
def test_millimetres_a_day(micrometres: float, mpas: float, expected: float) -> None:
    """corp356_32 prints the formula; these values were computed from it, 80 kg/m3 lighter."""
    assert millimetres_a_day(micrometres, 80, mpas) == pytest.approx(expected, rel=0.01)


def test_packed_drops_go_on_rising(knowledge: Knowledge) -> None:
    table = knowledge.texture_model["drops"]
    found = [drops_log(x / 100, table) for x in range(0, 98, 2)]
    assert found[0] == 0
    assert all(b > a for a, b in zip(found, found[1:], strict=False))


def run(knowledge: Knowledge, *lines: tuple[str, float | str]) -> Forecast:
    return forecast(record_batch({"kind": "oil-in-water", "formula": {"unit": "percent", "lines": [{"name": n, "amount": a} for n, a in lines]}}), knowledge)


def test_only_what_is_fluid_creams_by_the_law(knowledge: Knowledge) -> None:
    fluid = run(knowledge, ("Aqua", "rest"), ("Polysorbate 80", 2), ("Sorbitan Oleate", 1), ("Helianthus Annuus Seed Oil", 10)).creaming
    assert fluid is not None
    assert 0 < fluid.slow < fluid.fast
    body = run(knowledge, ("Aqua", "rest"), ("Cetearyl Alcohol (and) Ceteareth-20", 8), ("Helianthus Annuus Seed Oil", 10))
    assert body.creaming is None
    gum = run(knowledge, ("Aqua", "rest"), ("Polysorbate 80", 2), ("Sorbitan Oleate", 1), ("Xanthan Gum", 0.1), ("Helianthus Annuus Seed Oil", 10)).creaming
    assert gum is not None and gum.fast < fluid.fast / 3
