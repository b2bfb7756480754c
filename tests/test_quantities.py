"""What is computed of a batch: names, composition, the emulsifier system, soap, heat, preservation, texture, and their laws."""

from __future__ import annotations

import math
import random
from collections.abc import Mapping
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.batch.model import Batch, Formula, Line
from advisor.knowledge.load import Knowledge
from advisor.quantities.measure import Measures, Quantity, measure
from advisor.quantities.names import resolve, with_kinds

OIL = ("Helianthus Annuus Seed Oil", 20)
Row = tuple[Any, ...]      # name, amount ("rest", number, None), and further fields of the line


def batch(*rows: Row, unit: str | None = "percent", complete: bool = True, **more: Any) -> Batch:
    lines = []
    for name, amount, *rest in rows:
        number = None if amount in (None, "rest") else (float(amount), float(amount))
        lines.append(Line(name, number, rest=amount == "rest", **(rest[0] if rest else {})))
    return Batch(formula=Formula(tuple(lines), unit, complete), **more)


def value(measures: Measures, name: str) -> float:
    return measures.quantities[name].value


# names

@pytest.mark.parametrize(("written", "inci"), [
    ("Glycerin (clear)", "Glycerin"), ("Stearic-Acid", "Stearic Acid"), ("shea butters", "Butyrospermum Parkii Butter"),
    ("PEG-100 Stearate (and) Glyceryl Stearate", "Glyceryl Stearate (and) PEG-100 Stearate"), ("Phenoxyethanol, Ethylhexylglycerin", "Phenoxyethanol (and) Ethylhexylglycerin"),
    ("Emulsifying wax NF (Cetearyl Alcohol (and) Polysorbate 60)", "Cetearyl Alcohol (and) Polysorbate 60"), ("My wax (Cetearyl Alcohol (and) Ceteareth-20)", "Cetearyl Alcohol (and) Ceteareth-20"),
    ("emulsifying wax (Foo (and) Bar)", "Emulsifying wax (composition not stated)"),
])
def test_spelling_does_not_matter(written: str, inci: str, knowledge: Knowledge) -> None:
    assert [i.inci for i in resolve(written, knowledge).ingredients] == [inci]


def test_a_near_miss_is_suggested_and_never_used(knowledge: Knowledge) -> None:
    match = resolve("cetaryl alcohol", knowledge)
    assert (match.kind, match.ingredients, match.suggestion) == ("unknown", (), "Cetearyl Alcohol")


@pytest.mark.parametrize("written", ["Mystery extract (water)", "cucumber juice powder"])
def test_neither_a_carrier_nor_a_juice_is_taken_for_something_else(written: str, knowledge: Knowledge) -> None:
    assert resolve(written, knowledge).kind == "unknown"


@pytest.mark.parametrize(("written", "inci"), [
    ("Calendula Officinalis Flower Water", "Hydrosol (not stated)"), ("Perilla Frutescens Seed Oil", "Vegetable oil (not stated)"),
    ("Agave Leaf Juice", "Plant juice (not stated)"), ("Strong nettle decoction in water (horsetail)", "Infusion (herbal tea)"),
    ("Water infused with mallow root and linden", "Infusion (herbal tea)"), ("Loess clay (from a river)", "Clay (not stated)"),
])
def test_an_unknown_plant_is_read_by_its_ending_and_that_is_said(written: str, inci: str, knowledge: Knowledge) -> None:
    match = resolve(written, knowledge)
    assert (match.kind, [i.inci for i in match.ingredients]) == ("class", [inci])
    assert "by its words" in match.doubt


@pytest.mark.parametrize("written", ["Simondsia Chinensis Seed Oil", "Mystery seed wax", "blue oil"])
def test_a_slip_of_the_pen_or_a_lone_word_is_not_read_by_its_ending(written: str, knowledge: Knowledge) -> None:
    assert resolve(written, knowledge).kind == "unknown"


@pytest.mark.parametrize("written", ["Glycerin or propylene glycol", "gel base (xanthan gum)"])
def test_what_was_assumed_of_a_name_is_said(written: str, knowledge: Knowledge) -> None:
    assert written in [r.about for r in measure(batch(("Water", "rest"), (written, 2)), knowledge).remarks]


@pytest.mark.parametrize(("written", "inci"), [
    ("Calendula infused sunflower oil", "Helianthus Annuus Seed Oil"), ("Cucumber extract in glycerin", "Glycerin"), ("Arnica Montana Extract (in sunflower oil)", "Helianthus Annuus Seed Oil"),
    ("Arnica tincture 60 % vol", "Tincture (not stated)"), ("Sodium Laureth Sulfate (28%)", "Sodium Laureth Sulfate"),
])
def test_a_name_that_says_what_it_is_made_up_in(written: str, inci: str, knowledge: Knowledge) -> None:
    assert [i.inci for i in resolve(written, knowledge).ingredients] == [inci]


@pytest.mark.parametrize("written", ["Niacinamide 10 % in water", "10 % niacinamide solution", "Niacinamide solution (10 %)", "Niacinamide 10 %"])
def test_a_solution_counts_as_its_parts(written: str, knowledge: Knowledge) -> None:
    made = measure(batch(("Aqua", 80), (written, 20)), knowledge)
    assert {m.item.inci: m.percent for m in made.materials if m.via.line.name == written} == {"Niacinamide": 2.0, "Aqua": 18.0}


@pytest.mark.parametrize("written", ["Mystery 10 % in water", "Niacinamide in water", "Niacinamide 150 % in water", "infused"])
def test_what_is_no_solution_is_not_read_as_one(written: str, knowledge: Knowledge) -> None:
    assert resolve(written, knowledge).kind == "unknown"


def test_materials_named_in_a_text_become_their_kind(knowledge: Knowledge) -> None:
    assert with_kinds("took the Polysorbate 60 out, beeswax for the cetyl alcohol", knowledge) == "took the emulsifier out wax for the fatty alcohol"


# composition

def test_grams_and_percent_tell_the_same(knowledge: Knowledge) -> None:
    rows = [("Water", 70), OIL, ("Cetearyl Alcohol", 10)]
    percent = measure(batch(*rows), knowledge)
    grams = measure(batch(*((n, 3.7 * a) for n, a in rows), unit="g"), knowledge)
    assert values(percent) == pytest.approx(values(grams))


@given(seed=st.integers(0, 10_000), factor=st.floats(0.01, 1000))
def test_neither_order_nor_scale_matters(seed: int, factor: float, knowledge: Knowledge) -> None:
    rng = random.Random(seed)
    rows = [(name, rng.uniform(0.05, 20)) for name in rng.sample(sorted(knowledge.ingredients), 12)]
    shuffled = [(n, a * factor) for n, a in rng.sample(rows, len(rows))]
    assert values(measure(batch(*rows, unit="part"), knowledge)) == pytest.approx(values(measure(batch(*shuffled, unit="part"), knowledge)), abs=1e-6)


def values(measures: Measures) -> Mapping[str, float]:
    return {k: q.value for k, q in sorted(measures.quantities.items())}


def test_rest_is_what_is_left(knowledge: Knowledge) -> None:
    assert value(measure(batch(("Water", "rest"), OIL), knowledge), "water-share") == pytest.approx(80)


def test_lines_above_100_are_scaled_and_said(knowledge: Knowledge) -> None:
    found = measure(batch(("Water", "rest"), ("Glycerin", 60), ("Helianthus Annuus Seed Oil", 60)), knowledge)
    assert value(found, "total") == pytest.approx(100)
    assert any("120" in r.says for r in found.remarks)


def test_rest_is_unknown_where_lines_are_missing(knowledge: Knowledge) -> None:
    assert "water-share" not in measure(batch(("Water", "rest"), OIL, complete=False), knowledge).quantities


def test_an_incomplete_sum_is_at_least(knowledge: Knowledge) -> None:
    oil = measure(batch(("Water", 50), OIL, complete=False), knowledge).quantities["oil-share"]
    assert (oil.low, oil.high) == (20, math.inf)


def test_an_ingredient_may_say_what_it_is(knowledge: Knowledge) -> None:
    found = measure(batch(("Water", "rest"), ("Zorb", 10, {"own": {"is": "butter"}})), knowledge)
    assert value(found, "oil-share") == pytest.approx(10)
    assert found.lines[1].phase == "oil"


# unknown is not no

def test_an_unknown_line_takes_little_of_an_absence_but_for_kinds_with_trade_names(knowledge: Knowledge) -> None:
    one = measure(batch(("Aqua", 70), OIL, ("Zorbex", 10)), knowledge)
    two = measure(batch(("Aqua", 70), OIL, ("Zorbex", 5), ("Zarbix", 5)), knowledge)
    assert 0.5 < two.unlisted("urea") < one.unlisted("urea") < 1.0
    assert one.unlisted("complete-emulsifier") == one.unlisted("Polysorbate 80") == 0.0
    little = measure(batch(("Aqua", 79.5), OIL, ("Zorbex", 0.5)), knowledge)      # ten percent of it is no preservative, half a percent may be
    assert (one.unlisted("organic-acid-preservative"), little.unlisted("organic-acid-preservative")) == (1.0, 0.0)
    assert one.unlisted("oil") == 0.0 and measure(batch(("Aqua", 80), OIL), knowledge).unlisted("urea") == 1.0
    assert measure(Batch(), knowledge).unlisted("urea") == 0.0


def test_each_part_of_a_list_is_read_by_its_ending_and_that_is_said(knowledge: Knowledge) -> None:
    found = resolve("Cocos Nucifera Oil (and) Zorbica Alba Leaf Extract", knowledge)
    assert (found.kind, [i.inci for i in found.ingredients]) == ("parts", ["Cocos Nucifera Oil", "Plant extracts (not stated)"])
    assert "Zorbica" in found.doubt


def test_salt_made_in_the_pot_counts_with_the_salts(knowledge: Knowledge) -> None:
    """An equivalent of lactic acid (90.08 g) and of sodium hydroxide (40.00 g) give one of sodium lactate (112.06 g); standard atomic weights."""
    made = measure(batch(("Aqua", 90), ("Lactic Acid", 9.008), ("Sodium Hydroxide", 0.4)), knowledge)
    assert value(made, "electrolyte-share") == pytest.approx(1.1206, rel=0.15)     # lactic acid of the trade holds some water
    assert value(measure(batch(("Aqua", 90), ("Lactic Acid", 9.008), ("Carbomer", 0.2), ("Sodium Hydroxide", 0.4)), knowledge), "electrolyte-share") == 0.0


def test_salt_that_the_water_cannot_hold_is_not_dissolved(knowledge: Knowledge) -> None:
    scrub, brine = (measure(batch(("Sodium Chloride", salt), ("Aqua", water), ("Olive oil", 100 - salt - water)), knowledge) for salt, water in ((50, 5), (10, 60)))
    assert value(scrub, "electrolyte-share") == pytest.approx(1.8, abs=0.05)     # 36 g in 100 g of water
    assert value(brine, "electrolyte-share") == pytest.approx(10)


def test_an_unrecognised_line_may_be_the_emulsifier(knowledge: Knowledge) -> None:
    found = measure(batch(("Water", "rest"), OIL, ("Zzyx 3000", 6)), knowledge)
    assert (found.quantities["emulsifier-share"].low, found.quantities["emulsifier-share"].high) == (0, 6)
    assert found.quantities["emulsifier-of-usual"].high == math.inf
    assert found.class_state("emulsifier") == "unknown"


def test_a_partly_understood_list_gives_no_amount(knowledge: Knowledge) -> None:
    found = measure(batch(("Water", "rest"), ("Zzyx (and) Glycerin", 10)), knowledge)
    assert "humectant-share" not in found.quantities
    assert found.class_state("Glycerin") == "yes"


@pytest.mark.parametrize(("line", "hidden"), [("preservative", "Phenoxyethanol"), ("preservative", "paraben"), ("Rest of the formula (not stated)", "emulsifier")])
def test_a_class_word_never_proves_an_absence(line: str, hidden: str, knowledge: Knowledge) -> None:
    assert measure(batch(("Water", "rest"), OIL, (line, 5)), knowledge).class_state(hidden) == "unknown"


def test_what_is_not_in_a_complete_formula_is_not_there(knowledge: Knowledge) -> None:
    found = measure(batch(("Water", "rest"), OIL), knowledge)
    assert (found.class_state("emulsifier"), found.class_state("oil")) == ("no", "yes")


# emulsifier system and soap

def test_soap_made_in_the_pot_is_an_emulsifier(knowledge: Knowledge) -> None:
    rows: list[Row] = [("Water", "rest"), ("Helianthus Annuus Seed Oil", 10), ("Stearic Acid", 10), ("Cetyl Alcohol", 2)]
    assert value(measure(batch(*rows), knowledge), "emulsifier-of-usual") == 0
    soaped = measure(batch(*rows, ("Sodium Hydroxide", 0.35)), knowledge)
    assert value(soaped, "soap-degree") == pytest.approx(24.9, abs=0.1)
    assert value(soaped, "emulsifier-of-usual") > 1


def test_an_open_list_tells_its_emulsifier_against_its_oil(knowledge: Knowledge) -> None:
    """The same figure as of the whole formula, under another name, where every emulsifier and oil has its amount."""
    rows: list[Row] = [("Emulsifying Wax NF", 2), OIL, ("Cetyl Alcohol", 1)]
    whole, listed = measure(batch(("Water", "rest"), *rows), knowledge), measure(batch(("Water", None), *rows, complete=False), knowledge)
    assert "emulsifier-of-usual" not in listed.quantities and "listed-emulsifier-of-usual" not in whole.quantities
    assert value(listed, "listed-emulsifier-of-usual") == value(whole, "emulsifier-of-usual") < 1
    for open_line in (("Olive oil", None), ("Glyceryl Stearate", None), ("Stearyl Alcohol", None), ("Zzyx 3000", None)):
        assert "listed-emulsifier-of-usual" not in measure(batch(*rows, open_line, complete=False), knowledge).quantities, open_line


def test_a_solution_counts_by_its_strength(knowledge: Knowledge) -> None:
    rest = [("Stearic Acid", 10), ("Helianthus Annuus Seed Oil", 10)]
    solution = measure(batch(("Water", 60), ("Sodium Hydroxide", 20, {"strength": 5.0}), *rest), knowledge)
    pure = measure(batch(("Water", 79), ("Sodium Hydroxide", 1), *rest), knowledge)
    assert value(solution, "soap-degree") == pytest.approx(value(pure, "soap-degree"))
    assert value(solution, "water-share") == pytest.approx(value(pure, "water-share"))


def test_a_line_called_a_solution_counts_by_the_strength_it_says(knowledge: Knowledge) -> None:
    rest = [("Carbomer", 0.5), ("Water", 97.5)]
    pure, called, ammonia = (measure(batch((name, 2, {"strength": 10.0}), *rest), knowledge)
                             for name in ("Sodium Hydroxide", "sodium hydroxide solution", "ammonia solution"))
    assert value(called, "polymer-neutralised") == pytest.approx(value(pure, "polymer-neutralised")) == pytest.approx(74)     # 5 meq of 6.76
    assert value(called, "water-share") == pytest.approx(value(pure, "water-share"))
    assert value(ammonia, "excess-alkali") == pytest.approx(2 * 10 / 1.703 - 500 / 74, rel=0.01)


@pytest.mark.parametrize("taker", ["Lactic Acid", "Carbomer"])
def test_stronger_acids_and_polymers_take_alkali_first(taker: str, knowledge: Knowledge) -> None:
    rows: list[Row] = [("Water", "rest"), ("Stearic Acid", 5), ("Sodium Hydroxide", 0.3)]
    assert value(measure(batch(*rows, (taker, 0.4)), knowledge), "soap-degree") < 0.8 * value(measure(batch(*rows), knowledge), "soap-degree")


def test_a_water_in_oil_emulsifier_is_judged_by_its_level(knowledge: Knowledge) -> None:
    levels = [value(measure(batch(("Water", "rest"), ("Helianthus Annuus Seed Oil", 36), ("Polyglyceryl-2 Dipolyhydroxystearate", x)), knowledge),
                    "emulsifier-of-usual") for x in (0.3, 3)]
    assert levels[0] < 1 < levels[1]


# heat

def test_the_mixing_temperature_lies_between_the_phases(knowledge: Knowledge) -> None:
    found = measure(batch(("Water", 70), ("Helianthus Annuus Seed Oil", 24), ("Cetearyl Alcohol", 6),
                          process={"oil_phase_temperature": 75.0, "water_phase_temperature": 28.0}), knowledge)
    assert 28 < value(found, "mixing-temperature") < 45
    assert value(found, "melt-shortfall") > 0
    assert value(found, "unmelted-share") == pytest.approx(6)


# preservation

def test_one_preservative_on_two_lines_counts_together(knowledge: Knowledge) -> None:
    found = measure(batch(("Water", "rest"), ("Phenoxyethanol", 0.6), ("2-phenoxyethanol", 0.6)), knowledge)
    assert [x.ingredients[0].inci for x in found.lines[1:]] == ["Phenoxyethanol"] * 2
    assert value(found, "preservative-over-maximum") == pytest.approx(1.2)


# texture

@pytest.mark.parametrize(("more", "ph"), [([("Sodium Chloride", 3)], 6.0), ([], 2.5)])
def test_a_polymer_outside_its_limits_does_not_thicken(more: list[Row], ph: float, knowledge: Knowledge) -> None:
    rows: list[Row] = [("Water", "rest"), OIL, ("Carbomer", 0.4)]
    sound = value(measure(batch(*rows, kind="oil-in-water", measured={"ph": 6.0}), knowledge), "expected-rung")
    assert value(measure(batch(*rows, *more, kind="oil-in-water", measured={"ph": ph}), knowledge), "expected-rung") < sound - 0.5


def test_where_a_line_is_unread_the_texture_is_at_least(knowledge: Knowledge) -> None:
    found = measure(batch(("Water", "rest"), OIL, ("Zzyx 3000", 6), kind="oil-in-water"), knowledge).quantities["expected-rung"]
    assert found.high == math.inf


def test_a_trace_without_an_amount_leaves_the_others_as_they_are(knowledge: Knowledge) -> None:
    told = batch(("Beeswax", 1), ("Olive oil", 3), ("Tocopherol", None), ("Lavender oil", None), unit="part", kind="anhydrous")
    assert value(measure(told, knowledge), "wax-share") == 25 and measure(told, knowledge).quantities["wax-share"].high == 25
    assert "wax-share" not in measure(batch(("Beeswax", 1), ("Olive oil", 3), ("Shea butter", None), unit="part", kind="anhydrous"), knowledge).quantities


def test_an_incomplete_formula_in_grams_counts_from_below(knowledge: Knowledge) -> None:
    """50 of 200 g that are listed is a quarter of these, and at least a fifth of a batch of which they are four fifths."""
    rows = (("Aqua", 150), ("Olive oil", 50))
    oil = measure(batch(*rows, unit="g", complete=False), knowledge).quantities["oil-share"]
    assert (oil.low, oil.high) == (pytest.approx(20), math.inf)
    assert "oil-share" not in measure(batch(("Cetyl alcohol", 10), ("Olive oil", 50), unit="g", complete=False), knowledge).quantities     # the water is not told


def test_an_acid_without_an_amount_leaves_open_how_much_soap_there_is(knowledge: Knowledge) -> None:
    rows = (("Aqua", 70), ("Olive oil", 20), ("Stearic Acid", 9), ("Sodium Hydroxide", 1))
    assert "emulsifier-of-usual" in measure(batch(*rows), knowledge).quantities
    assert "emulsifier-of-usual" not in measure(batch(*rows, ("Citric Acid", None)), knowledge).quantities


def test_a_solid_against_what_the_water_holds(knowledge: Knowledge) -> None:
    def times(*rows: Row, **more: Any) -> Quantity:
        return measure(batch(*rows, **more), knowledge).quantities["solid-of-solubility"]

    plain = times(("Aqua", 99), ("Allantoin", 1))
    assert (plain.low, plain.high) == pytest.approx((100 / 99 / 0.57, 100 / 99 / 0.5)) and plain.origin == ("Allantoin",)
    assert times(("Aqua", 79), ("Propanediol", 20), ("Allantoin", 1)).value < plain.value
    assert times(("Aqua", 99), ("Azelaic Acid", 1), measured={"ph": 6.5}).value < times(("Aqua", 99), ("Azelaic Acid", 1), measured={"ph": 4}).value / 20
    assert times(("Aqua", 98.8), ("Azelaic Acid", 1), ("Sodium Hydroxide", 0.2)).low == 0      # the pH may be any
    assert times(("Aqua", 97), ("Caffeine", 2), ("Allantoin", 1)).origin == ("Allantoin",)      # the worst
    assert times(("Aqua", 98), ("Allantoin", 1), ("Quercetin", 1)).high == math.inf      # of which it is not known
    assert times(("Aqua", 9), ("Allantoin", 1), ("Something nobody knows", 90)).value == pytest.approx(plain.value)      # it may be water
    for rows in ([("Aqua", 9), ("Allantoin", 1), ("Aqueous cream", 90)], [("Cera Alba", 99), ("Allantoin", 1)], [("Aqua", 100)]):
        assert "solid-of-solubility" not in measure(batch(*rows), knowledge).quantities


# kind by names alone

@pytest.mark.parametrize(("names", "kind"), [
    (("coconut oil", "castor oil", "zorbleroot", "vitamin E"), "anhydrous"), (("coconut oil", "castor oil", "vitamin E"), "anhydrous"),
    (("olive oil", "coconut oil", "potassium hydroxide", "water", "zorbleroot"), "surfactant"),
    (("olive oil", "water", "zorbleroot"), None), (("olive oil", "emulsifying wax", "zorbleroot"), None), (("olive oil", "lye", "stearic acid", "water", "glycerin"), None),
    (("olive oil", "glycerin", "zorbleroot"), None), (("water", "olive oil", "polysorbate 60", "sodium hydroxide"), None), (("zorbleroot",), None), (("zinc oxide", "mica"), None)])
def test_what_is_not_known_makes_no_emulsion_of_oil_or_soap(names: tuple[str, ...], kind: str | None, knowledge: Knowledge) -> None:
    assert measure(batch(*((n, None) for n in names), unit=None), knowledge).kind == kind


def test_an_incomplete_list_of_oils_may_hold_water_too(knowledge: Knowledge) -> None:
    oils = (("coconut oil", None), ("castor oil", None), ("zorbleroot", None), ("jojoba oil", None))
    assert measure(batch(*oils[:3], unit=None, complete=False), knowledge).kind is None
    assert measure(batch(*oils, unit=None, complete=False), knowledge).kind == "anhydrous"      # three oils and nothing else: as typed in a talk
    assert measure(batch(*((n, 10) for n, _ in oils), complete=False), knowledge).kind is None


@pytest.mark.parametrize(("more", "kind"), [((), "oil-in-water"), (("sodium laureth sulfate",), None), (("castile soap",), None), (("polyglyceryl-2 dipolyhydroxystearate",), None)])
def test_water_oil_and_an_emulsifier_that_favours_water_outside_make_a_cream_of_an_open_list(more: tuple[str, ...], kind: str | None, knowledge: Knowledge) -> None:
    names = ("water", "olive oil", "polysorbate 20", *more)
    assert measure(batch(*((n, None) for n in names), unit=None, complete=False), knowledge).kind == kind
