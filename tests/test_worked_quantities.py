"""Sums, volumes, solids and heat of invented materials (tests/shelf.py) against numbers worked by hand, at and beside every edge."""

from __future__ import annotations

import math
from typing import Any

import pytest
from shelf import formula, shelf

from advisor.batch.model import Batch, Formula, Line
from advisor.knowledge.load import Knowledge
from advisor.quantities.board import Quantity
from advisor.quantities.measure import measure

CREAM = {"Aqua": 65.0, "Harbour glycerin": 3.0, "Harbour oil": 20.0, "Harbour butter": 8.0, "Harbour alcohol": 2.0, "Harbour ester": 1.0, "Harbour scent": 1.0}


def found(batch: Batch, knowledge: Knowledge) -> dict[str, Quantity]:
    return dict(measure(batch, shelf(knowledge)).quantities)


def value(name: str, batch: Batch, knowledge: Knowledge) -> float | None:
    put = found(batch, knowledge).get(name)
    return put.value if put else None


# loads

def test_sums_by_hand(knowledge: Knowledge) -> None:
    """Oils 20 + 8, and the scent with them; the oil phase is 20 + 8 + 2 + 1; half the butter is solid at 22 C, between 60 % at 20 and 40 % at 24."""
    put = found(formula(CREAM), knowledge)
    assert {k: put[k].value for k in ("total", "water-share", "oil-share", "oil-phase-share", "solid-fat-share", "structure-share")} == pytest.approx(
        {"total": 100, "water-share": 65, "oil-share": 29, "oil-phase-share": 31, "solid-fat-share": 4, "structure-share": 7})
    assert (put["water-share"].origin, put["solid-fat-share"].origin) == (("Aqua",), ("Harbour butter",))
    assert put["oil-phase-share"].origin == ("Harbour oil", "Harbour butter", "Harbour alcohol", "Harbour ester")
    assert all(put[k].high == put[k].value for k in ("total", "oil-share", "water-share", "oil-phase-share", "solid-fat-share", "structure-share"))


def test_what_is_listed_of_more_is_at_least(knowledge: Knowledge) -> None:
    put = found(formula(CREAM, complete=False), knowledge)
    assert all(put[k].high == math.inf for k in ("total", "oil-share", "water-share", "oil-phase-share", "solid-fat-share", "structure-share"))
    assert "dispersed-volume-fraction" not in put


def test_oil_by_volume(knowledge: Knowledge) -> None:
    """28 g of oil at 0.92 g/mL are 30.43478 mL beside 72 mL: 30.43478 / 102.43478."""
    batch = formula({"Aqua": 72, "Harbour oil": 28}, kind="oil-in-water")
    assert value("dispersed-volume-fraction", batch, knowledge) == pytest.approx(0.297114, abs=1e-6)
    assert "inner-water-share" not in found(batch, knowledge)


def test_water_by_volume_where_it_is_inside(knowledge: Knowledge) -> None:
    """69 mL of water beside 31 g of oil at 0.92 g/mL, 33.69565 mL: 69 / 102.69565 (the glycerin counts with what is around, as if oil); 3 % of it are in the water phase too."""
    batch = formula({"Aqua": 69, "Harbour glycerin": 3, "Harbour oil": 28}, kind="water-in-oil")
    put = found(batch, knowledge)
    assert put["dispersed-volume-fraction"].value == pytest.approx(0.671888, abs=1e-6)
    assert put["inner-water-share"].value == pytest.approx(72)


def test_no_oil_and_no_water_have_no_volume(knowledge: Knowledge) -> None:
    assert "dispersed-volume-fraction" not in found(formula({"Harbour glycerin": 100}), knowledge)
    assert value("dispersed-volume-fraction", formula({"Harbour oil": 0.4, "Harbour glycerin": 99.6}), knowledge) == pytest.approx(0.00434631, abs=1e-8)
    assert value("dispersed-volume-fraction", formula({"Harbour oil": 100}), knowledge) == 1.0


def test_a_little_solid_counts(knowledge: Knowledge) -> None:
    """0.1 % of wax is solid to the last bit; oil is not, and is not named."""
    put = found(formula({"Aqua": 79.9, "Harbour oil": 20, "Harbour wax": 0.1}), knowledge)["solid-fat-share"]
    assert (put.value, put.origin) == (pytest.approx(0.1), ("Harbour wax",))
    hazy = found(formula({"Aqua": 80, "Hazy oil": 20}), knowledge)["solid-fat-share"]       # half a percent of it, between 1 and 0
    assert (hazy.value, hazy.origin) == (pytest.approx(0.1), ("Hazy oil",))


def test_a_list_of_unknown_shares_leaves_the_solids_open(knowledge: Knowledge) -> None:
    put = found(formula({"Aqua": 80, "Harbour oil and Harbour butter": 20}), knowledge)
    assert "solid-fat-share" not in put and "structure-share" not in put
    put = found(formula({"Aqua": 80, "Harbour oil": 15, "Harbour alcohol and Harbour ester": 5}), knowledge)
    assert "solid-fat-share" in put and "structure-share" not in put


def test_a_line_without_an_amount_is_no_part_of_a_sum(knowledge: Knowledge) -> None:
    lines = (Line("Aqua", (60.0, 60.0)), Line("Harbour oil", (20.0, 20.0)), Line("Harbour butter"), Line("Harbour glycerin"))
    put = found(Batch(formula=Formula(lines, "percent", False)), knowledge)
    assert (put["oil-phase-share"].value, put["oil-phase-share"].high, put["total"].value) == (20, math.inf, 80)


# heat

def heat(knowledge: Knowledge, amounts: dict[str, float], **process: Any) -> dict[str, float]:
    return {k: q.value for k, q in found(formula(amounts, process=process), knowledge).items()}


WAXED = {"Aqua": 70.0, "Harbour oil": 19.0, "Harbour wax": 10.0, "Keeper": 1.0}


def test_heat_balance_with_a_figure_of_its_own_and_without_the_cool_down(knowledge: Knowledge) -> None:
    """(70 x 4.18 x 50 + 19 x 2 x 80 + 10 x 3 x 80) / (70 x 4.18 + 38 + 30) = 20070 / 360.6 = 55.657; the wax wants 60, so 4.343 are missing."""
    put = heat(knowledge, WAXED, oil_phase_temperature=80.0, water_phase_temperature=50.0)
    assert put["mixing-temperature"] == pytest.approx(55.657, abs=1e-3)
    assert put["melt-shortfall"] == pytest.approx(4.343, abs=1e-3)
    assert put["unmelted-share"] == 10
    assert found(formula(WAXED | {"Aqua": 66.0, "Harbour alcohol": 4.0}, process={"oil_phase_temperature": 40.0}), knowledge)["oil-phase-shortfall"].origin == ("Harbour wax",)
    assert put["phase-temperature-gap"] == 30
    assert (put["oil-temperature"], put["water-temperature"]) == (80, 50)
    assert put["oil-phase-shortfall"] == 0


def test_a_mixed_line_has_the_heat_of_its_phase(knowledge: Knowledge) -> None:
    """Wax (3) and alcohol (2.5) on one line of unknown shares count 2.0, as oil does: (80 x 4.18 x 40 + 20 x 2 x 80) / (80 x 4.18 + 40) = 16576 / 374.4."""
    put = heat(knowledge, {"Aqua": 80, "Harbour wax and Harbour alcohol": 20}, oil_phase_temperature=80.0, water_phase_temperature=40.0)
    assert put["mixing-temperature"] == pytest.approx(16576 / 374.4, abs=1e-3)


@pytest.mark.parametrize(("amount", "unmelted"), [(0.5, 0.5), (0.49, 0.0), (0.51, 0.51)])
def test_from_half_a_percent_on_an_unmelted_material_is_seen(amount: float, unmelted: float, knowledge: Knowledge) -> None:
    put = heat(knowledge, {"Aqua": 95, "Harbour oil": 5 - amount, "Harbour wax": amount}, oil_phase_temperature=50.0, water_phase_temperature=50.0)
    assert (put["unmelted-share"], put["melt-shortfall"]) == pytest.approx((unmelted, 10.0 if unmelted else 0.0))
    assert put.get("oil-phase-shortfall") == (pytest.approx(10.0) if unmelted else None)


@pytest.mark.parametrize(("amount", "unmelted"), [(1.5, 0.0), (1.7, 1.7)])
def test_a_little_dissolves_in_the_melt_of_the_others(amount: float, unmelted: float, knowledge: Knowledge) -> None:
    """Ten degrees short, ideal solubility at 60 kJ/mol is exp(-60000/8.314 x (1/323.15 - 1/333.15)) = 0.51 of the melt; a twelfth of it is in no doubt."""
    put = heat(knowledge, {"Aqua": 80, "Harbour oil": 20 - amount, "Harbour wax": amount}, oil_phase_temperature=50.0, water_phase_temperature=50.0)
    assert (put["unmelted-share"], put["melt-shortfall"]) == pytest.approx((unmelted, 10.0 if unmelted else 0.0))


@pytest.mark.parametrize(("at", "short"), [(59.0, 1.0), (60.0, 0.0), (61.0, 0.0)])
def test_melting_begins_at_its_lowest(at: float, short: float, knowledge: Knowledge) -> None:
    put = heat(knowledge, {"Aqua": 70, "Harbour oil": 16, "Harbour alcohol": 4, "Harbour wax": 10}, oil_phase_temperature=at, water_phase_temperature=at)
    assert (put["melt-shortfall"], put["oil-phase-shortfall"]) == pytest.approx((short, short), abs=1e-6)
    assert put["unmelted-share"] == (10 if short else 0)


def test_the_hardest_counts_and_what_is_of_unknown_amount_does_not(knowledge: Knowledge) -> None:
    """At 40 C the wax (60) is 20 short and the alcohol (50) 10; 14 % is not melted."""
    put = heat(knowledge, {"Aqua": 70, "Harbour oil": 16, "Harbour alcohol": 4, "Harbour wax": 10}, oil_phase_temperature=40.0, water_phase_temperature=40.0)
    assert (put["melt-shortfall"], put["unmelted-share"], put["oil-phase-shortfall"]) == (20, 14, 20)
    put = heat(knowledge, {"Aqua": 80, "Harbour wax and Harbour alcohol": 20}, oil_phase_temperature=40.0, water_phase_temperature=40.0)
    assert (put["melt-shortfall"], put["unmelted-share"]) == (0, 0) and "oil-phase-shortfall" not in put


def test_solids_of_the_water_phase_are_left_alone_and_an_open_formula_may_hold_harder_ones(knowledge: Knowledge) -> None:
    lines = (Line("Aqua", (80.0, 80.0)), Line("Harbour wax", (20.0, 20.0), phase="water"))
    cold = {"oil_phase_temperature": 30.0, "water_phase_temperature": 30.0}
    put = found(Batch(formula=Formula(lines, "percent", True), process=cold), knowledge)
    assert put["unmelted-share"].value == 0 and "oil-phase-shortfall" not in put
    put = found(Batch(formula=Formula((Line("Aqua", (70.0, 70.0)), Line("Harbour wax", (20.0, 20.0))), "percent", False), process=cold), knowledge)
    assert "mixing-temperature" not in put and (put["oil-phase-shortfall"].low, put["oil-phase-shortfall"].high) == (30, math.inf)


def test_only_numbers_are_temperatures_and_times(knowledge: Knowledge) -> None:
    put = heat(knowledge, WAXED, oil_phase_temperature=True, water_phase_temperature="warm", cool_down_added_at=38, mixed=5, held=True)
    assert put["cool-down-temperature"] == 38 and put["mixing-time"] == 5
    assert not {"oil-temperature", "water-temperature", "held-time", "phase-temperature-gap", "mixing-temperature"} & set(put)
    one = heat(knowledge, WAXED, oil_phase_temperature=75.0)
    assert one["oil-temperature"] == 75 and not {"phase-temperature-gap", "mixing-temperature", "mixing-time"} & set(one)


@pytest.mark.parametrize(("cool", "water", "excess", "line"), [(50.0, 60.0, 5.0, "Keeper"), (50.0, 67.0, 7.0, "Tender"), (45.0, 40.0, 0.0, "Keeper"), (40.0, 20.0, 0.0, "Keeper")])
def test_heat_beyond_what_a_material_bears(cool: float, water: float, excess: float, line: str, knowledge: Knowledge) -> None:
    """The keeper bears 45 C in the cool-down, the tender one 60 C in the water; the worse counts."""
    put = found(formula({"Aqua": 97, "Keeper": 1, "Tender": 2}, process={"cool_down_added_at": cool, "water_phase_temperature": water}), knowledge)["heat-excess"]
    assert (put.value, put.origin) == (pytest.approx(excess), (line,))
    mixed = found(formula({"Aqua": 97, "Tender and Keeper": 3}, process={"water_phase_temperature": water}), knowledge)["heat-excess"]       # the more tender of the two
    assert (mixed.value, mixed.origin) == (pytest.approx(max(0.0, water - 45.0)), ("Tender and Keeper",))
    both = found(formula({"Aqua": 95, "Tender": 2, "Tender and Keeper": 3}, process={"water_phase_temperature": 67.0}), knowledge)["heat-excess"]
    assert (both.value, both.origin) == (22, ("Tender and Keeper",))
    assert "heat-excess" not in found(formula({"Aqua": 99, "Keeper": 1}, process={"water_phase_temperature": water}), knowledge)


# preservation

def test_preservative_against_its_lowest_usual_level(knowledge: Knowledge) -> None:
    """0.6 of 0.4 is 1.5 times, 0.15 of 0.3 half; the better of them counts, and one without a level, or no preservative, does not."""
    put = found(formula({"Aqua": 98.75, "Weak acid": 0.15, "Keeper": 0.6, "Strong acid": 0.3, "Harbour gum": 0.2}), knowledge)["preservative-of-usual"]
    assert (put.value, put.origin) == (pytest.approx(1.5), ("Keeper",))
    assert "preservative-of-usual" not in found(formula({"Aqua": 99.5, "Harbour gum": 0.5}), knowledge)
    assert not {"preservative-of-usual", "preservative-over-maximum"} & set(found(formula({"Aqua": 99, "Trace keeper": 1}), knowledge))       # nothing is a part of 0
    assert "preservative-of-usual" not in found(formula({"Aqua": 99, "Keeper and Weak acid": 1}), knowledge)


def test_preservative_against_the_law(knowledge: Knowledge) -> None:
    """0.5 and four fifths of 0.75 are 1.1 of 1; 0.485 of 0.97 is half of what the other may be."""
    put = found(formula({"Aqua": 98.265, "Strict keeper": 0.485, "Keeper": 0.5, "Keeper mixture": 0.75}), knowledge)["preservative-over-maximum"]
    assert (put.value, put.origin) == (pytest.approx(1.1), ("Keeper mixture",))
    assert value("preservative-over-maximum", formula({"Aqua": 99.515, "Strict keeper": 0.485}), knowledge) == pytest.approx(0.5)
    assert "preservative-over-maximum" not in found(formula({"Aqua": 99, "Weak acid": 1}), knowledge)


@pytest.mark.parametrize(("ph", "active"), [(4.2, 50.0), (5.2, 100 / 11), (3.2, 1000 / 11)])
def test_the_active_share_of_the_weaker_acid(ph: float, active: float, knowledge: Knowledge) -> None:
    """At its pKa half is active, a unit above a tenth of the rest; the acid that is ten times stronger has less."""
    put = found(formula({"Aqua": 99, "Strong acid": 0.5, "Weak acid": 0.5}, measured={"ph": ph}), knowledge)
    assert (put["acid-preservative-active"].value, put["acid-preservative-active"].origin) == (pytest.approx(active), ("measured.ph", "Weak acid"))
    assert put["ph"].value == ph


@pytest.mark.parametrize(("ph", "below", "above", "polymer", "kept"), [
    (3.5, 1.5, 0.0, 2.5, 0.0), (4.5, 0.5, 0.0, 1.5, 0.0), (6.0, 0.0, 0.0, 0.0, 0.0), (8.0, 0.0, 1.0, 0.0, 0.0), (9.5, 0.0, 2.5, 0.5, 1.5), (2.5, 2.5, 0.0, 3.5, 0.0), (1.5, 3.5, 0.0, 4.5, 0.5),
])
def test_windows_of_ph(ph: float, below: float, above: float, polymer: float, kept: float, knowledge: Knowledge) -> None:
    """The narrower emulsifier (5 to 7) and the narrower gum at each end (6, 9) count; one preservative in its window (2 to 5, 3 to 8) is enough."""
    put = found(formula({"Aqua": 88.6, "Harbour oil": 5, "Tender pair": 2, "Hardy pair": 2, "Tender helper": 1, "Harbour gum": 0.2, "Acrylic gum": 0.2, "Keeper": 0.5, "Weak acid": 0.5},
                        measured={"ph": ph}), knowledge)
    assert (put["ph-below-emulsifier"].value, put["ph-above-emulsifier"].value, put["ph-outside-polymer"].value, put["ph-outside-preservative"].value) == pytest.approx((below, above, polymer, kept))


def test_without_a_ph_nothing_is_said_of_windows(knowledge: Knowledge) -> None:
    for measured in ({}, {"ph": True}, {"ph": "sour"}):
        put = found(formula({"Aqua": 98, "Keeper": 1, "Weak acid": 0.5, "Harbour gum": 0.5}, measured=measured), knowledge)
        assert not [k for k in put if k.startswith("ph") or k == "acid-preservative-active"]
    assert not [k for k in found(formula({"Aqua": 80, "Harbour oil": 20}, measured={"ph": 5.0}), knowledge) if k.startswith("ph-")]
