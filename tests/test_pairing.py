"""The pair of emulsifiers solved for the required HLB: published calculations reproduced, and swaps that split the pair anew."""

from __future__ import annotations

from typing import Any

import pytest

from advisor.batch.model import Batch
from advisor.batch.reading import record_batch
from advisor.fixes.amounts import pair_amounts
from advisor.fixes.swap import Swap, swap
from advisor.knowledge.load import Knowledge
from advisor.quantities.hlb import blend
from advisor.quantities.measure import measure

# ocl2022_t4 (the oil phase: amount, required HLB; printed requirement) and ocl2022_t5 (3 % of sorbitan stearate 4.7 and polysorbate 80 15.0)
OCL = [(12.5, 10.33, (1.36, 1.64)), (8.5, 9.71, (1.54, 1.46)), (6.5, 9.33, (1.65, 1.35))]
# pmc3969497_t1: low HLB, high HLB, then (target HLB, % of the high one as printed)
TABLE = [
    (8.6, 16.7, ((9, 4.9), (10, 17.3), (11, 29.6), (12, 42.0), (13, 54.3), (14, 66.7), (15, 79.0))),
    (4.3, 16.7, ((8, 29.8), (9, 37.9), (10, 46.0), (11, 54.0), (12, 62.1), (13, 70.2), (14, 78.2), (15, 86.3))),
    (4.3, 15.0, ((8, 34.6), (9, 43.9), (10, 53.3), (11, 62.6), (12, 72.0), (13, 81.3), (14, 90.7), (15, 100))),
    (4.3, 13.0, ((8, 42.5), (9, 54.0), (10, 65.5), (11, 77.0), (12, 88.5), (13, 100))),
]


def batch(*lines: tuple[str, float], kind: str = "oil-in-water", own: dict[str, dict[str, Any]] | None = None) -> Batch:
    return record_batch({"kind": kind, "batch_size": "500 g", "scale_reads_to": "0.1 g", "formula": {"unit": "percent", "lines": [
        {"name": n, "amount": a, **(own or {}).get(n, {})} for n, a in lines]}})


def percent(found: Swap) -> dict[str, float]:
    return {x.name: x.amount[0] for x in found.record.formula.lines if x.amount}


@pytest.mark.outside
@pytest.mark.parametrize(("acid", "required", "printed"), OCL)
def test_a_published_oil_phase_and_its_pair(acid: float, required: float, printed: tuple[float, float], knowledge: Knowledge) -> None:
    """From the oils of the published formula to the two weights that its authors used."""
    assert {"ocl2022_t4", "ocl2022_t5"} <= set(knowledge.sources)
    wanted = blend([(1.5, 12), (7.5, 11.5), (7.5, 3.8), (acid, 15), (5, 6.2)])
    assert wanted == pytest.approx(required, abs=0.01)
    assert pair_amounts(3, 4.7, 15, wanted) == pytest.approx(printed, abs=0.005)


@pytest.mark.outside
@pytest.mark.parametrize(("low", "high", "rows"), TABLE)
def test_a_published_table_of_pairs(low: float, high: float, rows: tuple[tuple[float, float], ...], knowledge: Knowledge) -> None:
    assert "pmc3969497_t1" in knowledge.sources
    assert [pair[1] for wanted, _ in rows if (pair := pair_amounts(100, low, high, wanted))] == pytest.approx([p for _, p in rows], abs=0.06)


@pytest.mark.outside
def test_a_published_ratio(knowledge: Knowledge) -> None:
    """14.5 from 3.8 and 18.8: 28.67 and 71.33 % (scm_garnier2011)."""
    assert "scm_garnier2011" in knowledge.sources
    assert pair_amounts(100, 3.8, 18.8, 14.5) == pytest.approx((28.67, 71.33), abs=0.01)


@pytest.mark.outside
def test_a_published_cream_by_a_swap(knowledge: Knowledge) -> None:
    """lecture_2007: 30 g mineral oil (12), 1.5 g wool fat (10), 1 g cetyl alcohol (15), 5 g emulsifier: 3.6 g polysorbate 60 and 1.4 g sorbitan stearate."""
    own = {"oil of the exercise": {"is": "mineral-oil", "required_hlb": 12}, "fat of the exercise": {"is": "vegetable-oil", "required_hlb": 10},
           "alcohol of the exercise": {"is": "vegetable-oil", "required_hlb": 15}}
    made = batch(("oil of the exercise", 30), ("fat of the exercise", 1.5), ("alcohol of the exercise", 1), ("Polysorbate 60", 2.5), ("Sorbitan Oleate", 2.5), ("Aqua", 62.5), own=own)
    needed = measure(made, knowledge).quantities["hlb-required"].value
    assert needed == pytest.approx(12.0, abs=0.01)
    found = swap(made, "Sorbitan Oleate", "Sorbitan Stearate", knowledge)
    weights = percent(found)
    assert (weights["Polysorbate 60"], weights["Sorbitan Stearate"]) == pytest.approx((3.6, 1.4), abs=0.05)


CREAM = (("Aqua", 68.0), ("Paraffinum Liquidum", 20.0), ("Cetyl Alcohol", 3.0), ("Glycerin", 3.0), ("Polysorbate 60", 3.0), ("Sorbitan Stearate", 2.0), ("Phenoxyethanol", 1.0))


@pytest.mark.parametrize(("old", "new"), [("Sorbitan Stearate", "Sorbitan Oleate"), ("Sorbitan Stearate", "Sorbitan Laurate"), ("Polysorbate 60", "Polysorbate 20"),
                                          ("Polysorbate 60", "Polysorbate 80")])
def test_a_swap_of_one_of_a_pair_meets_the_required_hlb(old: str, new: str, knowledge: Knowledge) -> None:
    made = batch(*CREAM)
    found = swap(made, old, new, knowledge)
    assert found.pairing is not None and found.pairing.split
    after = measure(found.record, knowledge).quantities
    assert after["hlb-offered"].value == pytest.approx(after["hlb-required"].value, abs=0.1)
    assert after["hlb-gap"].value == pytest.approx(0, abs=0.1)
    assert after["emulsifier-share"].value == pytest.approx(5.0, abs=0.02)          # as much emulsifier as before
    assert sum(percent(found).values()) == pytest.approx(100)
    assert new in found.pairing.says and found.level == pytest.approx(dict(found.pairing.split)[new])


def test_where_no_split_can_meet_it_that_is_said(knowledge: Knowledge) -> None:
    found = swap(batch(*CREAM), "Sorbitan Stearate", "Polysorbate 20", knowledge)
    assert found.pairing is not None and not found.pairing.split
    assert "oil-loving" in found.pairing.says


def test_hlb_is_left_alone_where_it_does_not_apply(knowledge: Knowledge) -> None:
    wax = swap(batch(*CREAM), "Polysorbate 60", "Cetearyl Alcohol (and) Polysorbate 60", knowledge)
    assert wax.pairing is None
    assert any("HLB" in r.says for r in wax.remarks)
    assert swap(batch(*CREAM), "Glycerin", "Propanediol", knowledge).pairing is None
    soap = swap(batch(*CREAM[:-1], ("Sodium Stearoyl Lactylate", 1.0)), "Sorbitan Stearate", "Sorbitan Oleate", knowledge)
    assert soap.pairing is None
