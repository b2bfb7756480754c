"""Small arithmetic against numbers worked by hand, at and beside every edge."""

from __future__ import annotations

from typing import Any

import pytest

from advisor.batch.model import Batch, Formula, Line
from advisor.batch.reading import record_batch
from advisor.knowledge.load import Knowledge
from advisor.quantities import weighing
from advisor.quantities.acids import undissociated
from advisor.quantities.heat import mixing_temperature
from advisor.quantities.hlb import blend, gap, split_pair
from advisor.quantities.measure import measure
from advisor.quantities.soap import neutralise

SIZE, STEP = "batch_size", "scale_reads_to"


def batch(lines: dict[str, float], **more: Any) -> Batch:
    return Batch(formula=Formula(tuple(Line(n, (a, a)) for n, a in lines.items()), "percent", True), **more)


def test_half_a_step_of_the_scale_against_the_smallest_line_that_matters(knowledge: Knowledge) -> None:
    """200 g: 0.5 % is 1 g, and half of 1 g on it is 50 %.  The glycerin is less but no harm if it is a little off."""
    found = measure(batch({"Water": 98.4, "Phenoxyethanol": 0.5, "Carbomer": 1.0, "Glycerin": 0.1}, batch_size=200.0, scale_step=1.0), knowledge).quantities
    assert {k: found[k].value for k in ("batch-grams", "scale-step", "smallest-line-grams")} == {"batch-grams": 200, "scale-step": 1, "smallest-line-grams": pytest.approx(1.0)}
    assert found["scale-error"].value == pytest.approx(50.0)
    assert found["scale-error"].note == "half a step of the scale, against the line"
    assert (found["batch-grams"].origin, found["scale-step"].origin) == ((SIZE,), (STEP,))
    assert (found["smallest-line-grams"].origin, found["scale-error"].origin) == (("Phenoxyethanol",), (STEP, "Phenoxyethanol"))


def test_without_a_scale_or_a_size_nothing_is_said_of_its_error(knowledge: Knowledge) -> None:
    lines = {"Water": 99.0, "Phenoxyethanol": 1.0}
    no_scale = measure(batch(lines, batch_size=200.0), knowledge).quantities
    assert "smallest-line-grams" in no_scale and "scale-error" not in no_scale and "scale-step" not in no_scale
    assert not {"batch-grams", "smallest-line-grams", "scale-error"} & set(measure(batch(lines, scale_step=1.0), knowledge).quantities)
    assert "scale-error" not in measure(batch({"Water": 95.0, "Glycerin": 5.0}, batch_size=200.0, scale_step=1.0), knowledge).quantities


@pytest.mark.parametrize("kind", ["emulsifier", "preservative", "polymer", "ph-adjuster", "active"])
def test_every_class_whose_dose_matters_counts(kind: str, knowledge: Knowledge) -> None:
    others = set(weighing.MATTERS) - {kind}
    inci = next(i.inci for i in knowledge.ingredients.values() if kind in i.classes and not others & i.classes and not i.stands_for and not i.parts)
    found = measure(batch({"Water": 98.0, inci: 2.0}, batch_size=100.0, scale_step=0.1), knowledge).quantities
    assert found["smallest-line-grams"].value == pytest.approx(2.0)
    assert found["scale-error"].value == pytest.approx(2.5)


@pytest.mark.parametrize(("before", "after", "lost"), [(205.0, 196.0, 4.390244), (200.0, 210.0, 0.0), (0.5, 0.25, 50.0), (100.0, 99.5, 0.5), (0.0, 5.0, None)])
def test_water_lost(before: float, after: float, lost: float | None, knowledge: Knowledge) -> None:
    found = measure(Batch(process={"weight_before": before, "weight_after": after}), knowledge).quantities.get("water-lost")
    assert (found.value if found else None) == (pytest.approx(lost, abs=1e-5) if lost is not None else None)
    assert found is None or found.origin == ("process.weight_before", "process.weight_after")


def test_one_weight_alone_tells_nothing_of_the_loss(knowledge: Knowledge) -> None:
    assert "water-lost" not in measure(Batch(process={"weight_before": 100.0}), knowledge).quantities
    assert "water-lost" not in measure(Batch(process={"weight_after": 100.0, "weight_before": "much"}), knowledge).quantities


def test_blend_of_small_parts_of_one_and_of_none() -> None:
    assert blend([(0.3, 15.0), (0.2, 5.0)]) == pytest.approx(11.0)
    assert blend([(1.0, 8.6)]) == pytest.approx(8.6)
    assert blend([]) is None and blend([(0.0, 8.6)]) is None


@pytest.mark.parametrize(("offered", "off"), [(9.5, -0.5), (10.0, 0.0), (11.0, 0.0), (12.0, 0.0), (12.75, 0.75)])
def test_how_far_outside_a_range(offered: float, off: float) -> None:
    assert gap(offered, 10.0, 12.0) == pytest.approx(off)


def test_alligation_at_and_beyond_its_ends() -> None:
    assert split_pair(4.0, 16.0, 7.0) == (0.75, 0.25)
    assert split_pair(4.0, 16.0, 4.0) == (1.0, 0.0)
    assert split_pair(4.0, 16.0, 16.0) == (0.0, 1.0)
    assert split_pair(4.0, 16.0, 16.01) is None and split_pair(4.0, 16.0, 3.99) is None
    assert split_pair(8.0, 8.0, 8.0) is None and split_pair(16.0, 4.0, 8.0) is None


def test_heat_balance_of_a_cream_by_hand(knowledge: Knowledge) -> None:
    """80 g water at 30 C (4.18 J/(g K)) and 20 g oil at 70 C (2.0): (80 x 4.18 x 30 + 20 x 2 x 70) / (80 x 4.18 + 20 x 2) = 12832 / 374.4."""
    lines = (Line("harbour water", (80.0, 80.0), phase="water"), Line("harbour oil", (20.0, 20.0), phase="oil"))     # neither has a figure of its own
    found = measure(Batch(formula=Formula(lines, "percent", True), process={"oil_phase_temperature": 70.0, "water_phase_temperature": 30.0}), knowledge).quantities
    assert found["mixing-temperature"].value == pytest.approx(12832 / 374.4, abs=1e-3)
    assert "about 3 C more" in found["mixing-temperature"].note


def test_heat_balance_of_little_and_of_nothing() -> None:
    assert mixing_temperature([(0.1, 2.0, 60.0), (0.1, 2.0, 40.0)]) == pytest.approx(50.0)
    assert mixing_temperature([]) is None and mixing_temperature([(0.0, 4.18, 20.0)]) is None


def test_half_of_an_acid_at_its_pka_and_a_tenth_a_unit_away() -> None:
    assert undissociated(4.2, 4.2) == pytest.approx(50.0)
    assert undissociated(5.2, 4.2) == pytest.approx(100 / 11)
    assert undissociated(3.2, 4.2) == pytest.approx(1000 / 11)


def test_soap_by_hand() -> None:
    """2.845 % of an acid of 284.5 g/eq is 10 meq; 0.2 % of an alkali of 40 g/eq is 5 meq: half is soap, 1.4225 %."""
    found = neutralise([(2.845, 284.5)], [], [(0.2, 40.0)])
    assert found is not None
    assert (found.degree, found.soap, found.excess) == pytest.approx((50.0, 1.4225, 0.0), rel=1e-6)


def test_more_alkali_than_acid_is_left_over() -> None:
    """5 meq acid, 10 meq alkali: all soap, 5 meq left."""
    found = neutralise([(1.4225, 284.5)], [], [(0.4, 40.0)])
    assert found is not None
    assert (found.degree, found.soap, found.excess) == pytest.approx((100.0, 1.4225, 5.0), rel=1e-6)


@pytest.mark.parametrize(("pka", "degree"), [(3.86, 70.0), (5.99, 70.0), (6.0, 100.0), (6.5, 100.0)])
def test_only_a_stronger_acid_takes_alkali_first(pka: float, degree: float) -> None:
    """10 meq fatty acid, 10 meq alkali, 3 meq (0.27024 % of 90.08) of another acid."""
    found = neutralise([(2.845, 284.5)], [(0.27024, 90.08, pka)], [(0.4, 40.0)])
    assert found is not None
    assert (found.degree, found.excess) == pytest.approx((degree, 0.0), rel=1e-6)


def test_no_fatty_acid_no_soap_and_a_trace_is_enough() -> None:
    assert neutralise([], [], [(0.4, 40.0)]) is None
    assert neutralise([(0.0, 284.5)], [], [(0.4, 40.0)]) is None
    trace = neutralise([(0.0001, 284.5)], [], [])
    assert trace is not None
    assert (trace.degree, trace.soap, trace.excess) == (0.0, 0.0, 0.0)


@pytest.mark.parametrize(("alkali", "acid", "share"), [((), (), 0.0), (("Sodium Hydroxide", 0.16), (), 74.0), (("Sodium Hydroxide", 0.16), ("Lactic Acid", 0.18), 37.0), (("Triethanolamine", 0.6), (), 74.4)])
def test_alkali_of_a_carbomer_by_equivalents(knowledge: Knowledge, alkali: tuple[str, float] | tuple[()], acid: tuple[str, float] | tuple[()], share: float) -> None:
    """0.4 g carbomer of 74 g an equivalent (from memory) is 5.4 meq; 0.16 g NaOH 4.0, 0.6 g triethanolamine (149.2) 4.02, 0.18 g lactic acid (90.08) 2.0 taken first."""
    lines = [("Aqua", 99.0), ("Carbomer", 0.4), *((alkali,) if alkali else ()), *((acid,) if acid else ())]
    batch = record_batch({"format": 1, "kind": "gel", "formula": {"unit": "percent", "complete": True, "lines": [{"name": n, "amount": a} for n, a in lines]}})
    assert measure(batch, knowledge).quantities["polymer-neutralised"].value == pytest.approx(share, abs=1.0)


def test_a_carbomer_of_no_amount_is_no_acid(knowledge: Knowledge) -> None:
    batch = record_batch({"format": 1, "formula": {"unit": "percent", "complete": True, "lines": [{"name": "Aqua", "amount": 100}, {"name": "Carbomer", "amount": 0}]}})
    assert "polymer-neutralised" not in measure(batch, knowledge).quantities
