"""Run forward: go for sound formulas, no for a missing emulsifier, and textures in the order of the trade (common practice)."""

from __future__ import annotations

import pytest

from advisor.batch.reading import record_batch
from advisor.forecast import Forecast, forecast
from advisor.knowledge.load import Knowledge

LADDER = ["Cetearyl Alcohol (and) Ceteareth-20", "Behentrimonium Methosulfate (and) Cetearyl Alcohol", "Cetearyl Alcohol",
          "Glyceryl Stearate (and) PEG-100 Stearate"]


def run(knowledge: Knowledge, lines: list[tuple[str, float]]) -> Forecast:
    left = 100 - sum(a for _, a in lines)
    return forecast(record_batch({"kind": "oil-in-water", "formula": {"unit": "percent", "lines": [
        {"name": n, "amount": a} for n, a in [("Aqua", left), *lines]]}}), knowledge)


def test_sound_and_unsound(knowledge: Knowledge) -> None:
    sound = run(knowledge, [("Cetearyl Alcohol (and) Polysorbate 60", 6), ("Cetyl Alcohol", 3), ("Helianthus Annuus Seed Oil", 15),
                            ("Phenoxyethanol (and) Ethylhexylglycerin", 1)])
    assert sound.go in ("go", "care")
    bare = run(knowledge, [("Helianthus Annuus Seed Oil", 25), ("Cera Alba", 4)])
    assert bare.go in ("no", "care")
    assert bare.risks[0].id == "no-emulsifier"
    assert bare.texture is not None


@pytest.mark.parametrize("level", [5, 8])
def test_the_ladder_is_in_order(level: float, knowledge: Knowledge) -> None:
    found = [run(knowledge, [(name, level), ("Helianthus Annuus Seed Oil", 20)]).texture for name in LADDER]
    mids = [t.mid for t in found if t]
    assert len(mids) == len(LADDER)
    assert mids == sorted(mids, reverse=True)


def test_no_thickness_is_told_beside_much_that_is_unknown(knowledge: Knowledge) -> None:
    """A twentieth of an unknown material may be the emulsifier; a trace of one changes no rung."""
    lines = [("Water", 70.0), ("Sunflower oil", 18.0), ("Cetearyl Alcohol (and) Polysorbate 60", 6.0)]
    for amount, told in ((5.0, False), (0.3, True)):
        record = {"format": 1, "formula": {"unit": "percent", "complete": True, "lines": [{"name": n, "amount": a} for n, a in [*lines, ("Glycerin", 6.0 - amount), ("harbour stuff", amount)]]}}
        found = forecast(record_batch(record), knowledge)
        assert (found.texture is not None) is told and found.unread == ("harbour stuff",)
