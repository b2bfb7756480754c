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
