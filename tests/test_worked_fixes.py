"""Settling, the law, weighing and the amount of a change, with invented materials (tests/shelf.py), against numbers worked by hand."""

from __future__ import annotations

import pytest
from shelf import formula, shelf

from advisor.batch.model import Batch, Line
from advisor.fixes.amend import Portion, portions
from advisor.fixes.amounts import apply, pair_amounts
from advisor.fixes.weighing import Weighed, over_law, scale_step, settle, weigh, within_law
from advisor.knowledge.load import Knowledge
from advisor.knowledge.records import Change
from advisor.quantities.measure import measure


def part(name: str, percent: float, *holds: str) -> Portion:
    return Portion(Line(name), percent, frozenset(holds or {name}))


def water(percent: float) -> Portion:
    return part("Aqua", percent, "Aqua", "water-like")


def amounts(parts: list[Portion] | None) -> dict[str, float] | None:
    return {p.line.name: p.percent for p in parts} if parts is not None else None


# the scale

@pytest.mark.parametrize(("size", "step", "percent"), [
    (200.0, 1.0, 0.5), (100.0, 0.1, 0.1), (2000.0, 1.0, 0.05), (500.0, 0.1, 0.05), (100.0, 1.0, 1.0), (50.0, 1.0, 1.0), (None, 1.0, 0.1), (200.0, None, 0.1), (None, None, 0.1),
])
def test_what_a_scale_can_tell(size: float | None, step: float | None, percent: float) -> None:
    """1 g on 200 g is 0.5 %; never taken finer than 0.05 % nor coarser than 1 %, and 0.1 % where it is not known."""
    assert scale_step(Batch(batch_size=size, scale_step=step)) == pytest.approx(percent)


# settling to 100 %

def test_water_takes_what_rounding_leaves() -> None:
    """20.006 to 20.01, 0.05126 to 0.0513, 0.09996 to 0.1, 0.104 to 0.10: 100 - 20.01 - 0.0513 - 0.1 - 0.1 = 79.7387."""
    made = settle([part("oil", 20.006), water(79.73), part("gum", 0.05126), part("trace", 0.09996), part("keeper", 0.104)])
    assert amounts(made) == {"oil": 20.01, "Aqua": 79.7387, "gum": 0.0513, "trace": 0.1, "keeper": 0.1}


def test_the_larger_of_two_waters_takes_it() -> None:
    made = settle([part("rose water", 30.004, "water-like"), water(50.0), part("oil", 19.996)])
    assert amounts(made) == {"rose water": 30.0, "Aqua": 50.0, "oil": 20.0}
    assert amounts(settle([part("rose water", 30.0, "water-like"), water(50.0), part("oil", 20.3)])) == {"rose water": 30.0, "Aqua": 49.7, "oil": 20.3}


def test_without_water_the_largest_takes_it() -> None:
    """33.333 + 33.334 + 33.333 are 33.33 three times, so the middle one ends at 33.34."""
    assert amounts(settle([part("a", 33.333), part("b", 33.334), part("c", 33.333)])) == {"a": 33.33, "b": 33.34, "c": 33.33}


@pytest.mark.parametrize(("amount", "rest"), [(59.5, 60.0), (60.5, 60.0), (59.49, None), (60.51, None)])
def test_half_a_percent_off_is_still_a_formula(amount: float, rest: float | None) -> None:
    assert amounts(settle([water(amount), part("oil", 40.0)])) == ({"Aqua": rest, "oil": 40.0} if rest else None)


def test_a_line_that_comes_to_nothing_is_left_out_and_none_goes_below() -> None:
    assert amounts(settle([water(80.0), part("oil", 20.0), part("whiff", 0.00004)])) == {"Aqua": 80.0, "oil": 20.0}
    assert amounts(settle([water(80.0), part("oil", 19.9999), part("whiff", 0.0001)])) == {"Aqua": 79.9999, "oil": 20.0, "whiff": 0.0001}
    assert amounts(settle([water(0.2), part("oil", 100.0)])) == {"oil": 100.0}
    assert settle([water(0.2), part("oil", 100.1)]) is None
    assert settle([]) is None


# the law: 1 % of the keeper, of which the mixture is four fifths

def parts_of(made: Batch, knowledge: Knowledge) -> list[Portion]:
    found = portions(measure(made, knowledge))
    assert found is not None
    return found


def test_the_law_counts_what_is_in_a_mixture(knowledge: Knowledge) -> None:
    """0.5 + 0.8 x 1.0 = 1.3 % against 1 %.  0.5 / 1.3 is 0.3846 and 1 / 1.3 is 0.7692, cut to the thousandth; the water gets 1.5 - 1.153 = 0.347."""
    known = shelf(knowledge)
    parts = parts_of(formula({"Aqua": 78.5, "Harbour oil": 20, "Keeper": 0.5, "Keeper mixture": 1.0}), known)
    assert over_law(parts, known) == {"Keeper": (pytest.approx(1.3), 1)}
    made, names = within_law(parts, known)
    assert amounts(made) == pytest.approx({"Aqua": 78.847, "Harbour oil": 20, "Keeper": 0.384, "Keeper mixture": 0.769})
    assert names == ("Keeper", "Keeper mixture")
    assert over_law(made, known) == {}


@pytest.mark.parametrize(("percent", "over"), [(1.0, False), (1.000001, False), (1.00001, True), (1.2, True)])
def test_the_maximum_itself_is_lawful(percent: float, over: bool, knowledge: Knowledge) -> None:
    known = shelf(knowledge)
    parts = parts_of(formula({"Aqua": 100 - percent, "Keeper": percent}), known)
    assert bool(over_law(parts, known)) is over
    made, names = within_law(parts, known)
    assert amounts(made) == (pytest.approx({"Aqua": 99.0, "Keeper": 1.0}, abs=1e-9) if over else amounts(parts)) and names == (("Keeper",) if over else ())


def test_two_lines_of_one_material_are_named_once_and_both_brought_down(knowledge: Knowledge) -> None:
    """0.9 + 0.9 against 1: each to 0.5; a list that holds it in shares unknown is halved no less than the rest is: 1 / 1.8 of 0.9."""
    known = shelf(knowledge)
    parts = [water(97.3), part("Keeper", 0.9), part("Keeper", 0.9), part("Keeper and Harbour glycerin", 0.9, "Keeper", "Harbour glycerin")]
    made, names = within_law(parts, known)
    assert [p.percent for p in made] == pytest.approx([98.5, 0.5, 0.5, 0.5])
    assert names == ("Keeper", "Keeper and Harbour glycerin")


def test_each_material_has_its_own_maximum(knowledge: Knowledge) -> None:
    """0.97 of 1.5 on the line of the strict keeper, of which 0.97 is 0.97; the water gets 0.53."""
    known = shelf(knowledge)
    made, names = within_law(parts_of(formula({"Aqua": 97.5, "Keeper": 1.0, "Strict keeper": 1.5}), known), known)
    assert amounts(made) == pytest.approx({"Aqua": 98.03, "Keeper": 1.0, "Strict keeper": 0.97}, abs=0.00101)
    assert names == ("Strict keeper",)


def test_without_water_nothing_is_brought_down(knowledge: Knowledge) -> None:
    known = shelf(knowledge)
    parts = parts_of(formula({"Harbour oil": 98, "Keeper": 2}), known)
    assert within_law(parts, known) == (parts, ())


# grams

def test_a_batch_of_200_g_on_a_scale_that_reads_to_1_g() -> None:
    """79.3 % is 158.6, read as 159; 20 % is 40; 0.7 % of a keeper is 1.4 g and half a gram is far more than a twentieth of it, so a scale of
    0.1 g is asked for (0.05 is less than 0.07).  159 + 40 + 1.4 is 0.4 too much, which the largest gives back."""
    rows = weigh([water(79.3), part("oil", 20.0), part("keeper", 0.7, "preservative")], ["water", "oil", "cool-down"], 200.0, 1.0)
    assert rows == [
        Weighed("Aqua", "water", 79.3, 158.6, 1.0, 15.86, False, False),
        Weighed("oil", "oil", 20.0, 40.0, 1.0, 4.0, False, False),
        Weighed("keeper", "cool-down", 0.7, 1.4, 0.1, 0.07, True, True),
    ]


@pytest.mark.parametrize(("percent", "kind", "own", "grams", "step", "tolerance"), [
    (0.56, "preservative", 0.1, 0.56, 0.01, 0.028),      # a twentieth is 0.028 g, less than half of 0.1
    (0.56, "humectant", 0.1, 0.6, 0.1, 0.056),           # a tenth is 0.056 g, more than half of 0.1
    (1.0, "preservative", 1.0, 1.0, 1.0, 0.5),           # just one step: it can be weighed as it is
    (2.0, "active", 1.0, 2.0, 1.0, 0.5),
    (0.5, "preservative", 1.0, 0.5, 0.01, 0.025),        # half a step is no step
    (0.5, "humectant", 1.0, 0.5, 0.1, 0.05),             # 0.05 is just a tenth
    (1.0, "emulsifier", 0.1, 1.0, 0.1, 0.05),            # and just a twentieth
    (1.04, "emulsifier", 0.1, 1.0, 0.1, 0.052),
    (0.96, "emulsifier", 0.1, 0.96, 0.01, 0.048),
    (0.02, "humectant", 1.0, 0.02, 0.01, 0.005),         # finer than any: the finest there is
    (0.0104, "polymer", 0.001, 0.01, 0.001, 0.001),      # a finer scale than those is kept
    (0.0004, "polymer", 0.001, 0.0, 0.001, 0.001),
    (0.7, "fragrance", None, 0.7, 0.1, 0.05),            # no scale is told: 0.1 g
    (0.777, "fragrance", None, 0.78, 0.01, 0.039),       # a twentieth is 0.03885 g, told to the milligram
    (0.83, "preservative", 1.0, 0.83, 0.01, 0.042),      # 0.0415 is less than half of 0.1
])
def test_the_scale_of_a_small_line_of_100_g(percent: float, kind: str, own: float | None, grams: float, step: float, tolerance: float) -> None:
    row = weigh([water(100 - percent), part("line", percent, kind)], ["water", "water"], 100.0, own)[1]
    assert (row.grams, row.step, row.tolerance) == pytest.approx((grams, step, tolerance), abs=1e-9)
    assert row.finer == (step < (own or 0.1))


@pytest.mark.parametrize("kind", ["preservative", "ph-adjuster", "active", "polymer", "fragrance", "emulsifier"])
def test_lines_whose_dose_matters(kind: str) -> None:
    assert [w.matters for w in weigh([part("a", 50, kind), part("b", 50, "humectant")], ["water", "oil"], 100.0, 1.0)] == [True, False]
    assert [w.matters for w in weigh([part("a", 50, kind), part("b", 50, "humectant")], ["water", "oil"], None, 1.0)] == [True, False]


def test_without_a_size_there_are_no_grams() -> None:
    assert weigh([water(60), part("oil", 40)], ["water", "oil"], None, 0.1) == [
        Weighed("Aqua", "water", 60, None, None, None, False, False), Weighed("oil", "oil", 40, None, None, None, False, False)]


def test_what_rounding_leaves_goes_to_the_heaviest_line() -> None:
    """Three thirds of 100 g are 33 g each: 1 g is left, and the heaviest by its grams takes it."""
    rows = weigh([part("a", 32.6), part("b", 33.4), part("c", 34.0)], ["oil"] * 3, 100.0, 1.0)
    assert [w.grams for w in rows] == [33.0, 33.0, 34.0]
    rows = weigh([part("a", 20.3), part("b", 49.4), part("c", 30.3)], ["oil"] * 3, 100.0, 1.0)
    assert [w.grams for w in rows] == [20.0, 50.0, 30.0]
    rows = weigh([part("a", 33.3), part("b", 33.3), part("c", 33.4)], ["oil"] * 3, 100.0, 1.0)
    assert sum(w.grams or 0 for w in rows) == 100 and sorted(w.grams or 0 for w in rows) == [33.0, 33.0, 34.0]


# how much: a lotion of 200 g on a scale of 1 g (0.5 %) or of 0.2 g (0.1 %)

LOTION = {"Aqua": 73.0, "Harbour oil": 20.0, "Harbour wax": 2.0, "Harbour alcohol": 2.0, "Low pair": 3.0}


def changed(change: Change, knowledge: Knowledge, made: dict[str, float] = LOTION, step: float = 0.2) -> dict[str, float] | None:
    known = shelf(knowledge)
    batch = formula(made, batch_size=200.0, scale_step=step, kind="oil-in-water")
    return amounts(apply(change, parts_of(batch, known), batch, known))


@pytest.mark.parametrize(("change", "expected"), [
    (Change("add", "Harbour gum", level=0.3), {"Aqua": 72.7, "Harbour gum": 0.3}),
    (Change("add", "Harbour gum", reaches="usual-level"), {"Aqua": 72.6, "Harbour gum": 0.4}),                 # the middle of 0.2 and 0.6
    (Change("add", "Keeper", level=2.0), {"Aqua": 72.0, "Keeper": 1.0}),                                       # its legal maximum
    (Change("raise", "Harbour wax", level=3.0, balance="Harbour oil"), {"Harbour wax": 3.0, "Harbour oil": 19.0}),
    (Change("lower", "Harbour wax", level=0.5), {"Harbour wax": 0.5, "Aqua": 74.5}),
    (Change("remove", "Harbour wax"), {"Harbour wax": None, "Aqua": 75.0}),
    (Change("replace", "Harbour oil", ("Harbour butter",), level=6.0), {"Harbour oil": 14.0, "Harbour butter": 6.0}),
    (Change("replace", "Harbour wax", ("Harbour butter",), level=6.0), {"Harbour wax": None, "Harbour butter": 2.0}),      # no more than there is
    (Change("replace", "Low pair", ("Harbour ester",), level=6.0), {"Low pair": None, "Harbour ester": 3.0}),
    (Change("replace", "Harbour oil", ("Harbour alcohol",), reaches="usual-level"), {"Harbour oil": 17.5, "Harbour alcohol": 4.5}),
])
def test_a_level_that_the_card_gives(change: Change, expected: dict[str, float | None], knowledge: Knowledge) -> None:
    whole = {k: v for k, v in (LOTION | expected).items() if v is not None}
    assert changed(change, knowledge) == pytest.approx(whole)


@pytest.mark.parametrize(("change", "step", "expected"), [
    (Change("raise", "Harbour wax", quantity="wax-share", reaches=5.03), 0.2, {"Harbour wax": 5.1, "Aqua": 69.9}),        # up to the next 0.1 %
    (Change("raise", "Harbour wax", quantity="wax-share", reaches=5.03), 1.0, {"Harbour wax": 5.5, "Aqua": 69.5}),        # up to the next 0.5 %
    (Change("raise", "Harbour wax", quantity="wax-share", reaches=2.0), 0.2, {}),                                          # it stands there already
    (Change("raise", "Harbour wax", quantity="wax-share", reaches=1.0), 0.2, {}),
    (Change("lower", "Harbour oil", quantity="liquid-oil-share", reaches=15.06), 0.2, {"Harbour oil": 15.0, "Aqua": 78.0}),     # down to the next 0.1 %
    (Change("lower", "Harbour oil", quantity="liquid-oil-share", reaches=15.06), 1.0, {"Harbour oil": 15.0, "Aqua": 78.0}),
    (Change("lower", "Harbour oil", quantity="liquid-oil-share", reaches=15.97), 1.0, {"Harbour oil": 15.5, "Aqua": 77.5}),
    (Change("lower", "Harbour oil", quantity="liquid-oil-share", reaches=15.0), 0.2, {"Harbour oil": 15.0, "Aqua": 78.0}),
    (Change("lower", "Harbour wax", quantity="wax-share", reaches=0.56), 0.2, {"Harbour wax": 0.5, "Aqua": 74.5}),
    (Change("raise", "Harbour wax", quantity="structure-share", reaches=12.0), 0.2, {"Harbour wax": 10.0, "Aqua": 65.0}),       # 10 of wax and 2 of alcohol
    (Change("add", "Harbour alcohol", quantity="structure-share", reaches=6.0), 0.2, {"Harbour alcohol": 4.0, "Aqua": 71.0}),
    (Change("add", "Acrylic gum", quantity="gum-share", reaches=0.0146), 0.2, {"Acrylic gum": 0.02, "Aqua": 72.98}),
    (Change("add", "Acrylic gum", quantity="gum-share", reaches=0.146), 0.2, {"Acrylic gum": 0.15, "Aqua": 72.85}),       # a small dose goes to a scale of 0.01 %
    (Change("add", "Harbour gum", quantity="gum-share", reaches=0.0146), 0.2, {"Harbour gum": 0.2, "Aqua": 72.8}),        # what is new goes in at its usual 0.2 at least
    (Change("add", "Harbour gum", quantity="gum-share", reaches=0.246), 0.2, {"Harbour gum": 0.3, "Aqua": 72.7}),
    (Change("replace", "Harbour oil", ("Harbour wax",), quantity="wax-share", reaches=7.0), 0.2, {"Harbour wax": 7.0, "Harbour oil": 15.0}),
    (Change("replace", "Harbour oil", ("Harbour wax",), quantity="wax-share", reaches=2.5), 0.2, {"Harbour wax": 2.5, "Harbour oil": 19.5}),
    (Change("add", "Harbour alcohol", quantity="fatty-alcohol-share", reaches=9.0), 0.2, {"Harbour alcohol": 9.0, "Aqua": 66.0}),     # more than usual: its card asks for it
])
def test_an_amount_that_is_solved(change: Change, step: float, expected: dict[str, float], knowledge: Knowledge) -> None:
    assert changed(change, knowledge, step=step) == pytest.approx(LOTION | expected, abs=1e-6)


def test_a_small_line_replaced_by_level_and_a_full_one_by_half_a_percent_more(knowledge: Knowledge) -> None:
    made = LOTION | {"Aqua": 74.5, "Harbour wax": 0.5}
    assert changed(Change("replace", "Harbour wax", ("Harbour butter",), level=6.0), knowledge, made) == pytest.approx(
        {k: v for k, v in made.items() if k != "Harbour wax"} | {"Harbour butter": 0.5})
    made = LOTION | {"Aqua": 70.0, "Harbour alcohol": 5.0}             # beyond its usual 4 % already
    assert changed(Change("add", "Harbour alcohol", quantity="structure-share", reaches=7.5), knowledge, made) == pytest.approx(made | {"Aqua": 69.5, "Harbour alcohol": 5.5})
    assert changed(Change("add", "Harbour alcohol", quantity="structure-share", reaches=7.6), knowledge, made) is None


@pytest.mark.parametrize(("oil", "reaches", "left"), [(20.0, 50.0, 6.0), (40.0, 100.0, 3.0)])
def test_less_oil_until_there_is_emulsifier_enough(oil: float, reaches: float, left: float, knowledge: Knowledge) -> None:
    """3 % beside 6 % of oil are 50 in 100, beside 3 % are 100; without any oil, or with a trace, there is no such number.  At most a step of 0.1 % past."""
    made = {"Aqua": 97.0 - oil, "Harbour oil": oil, "Low pair": 3.0}
    got = changed(Change("lower", "Harbour oil", quantity="emulsifier-to-oil", reaches=reaches), knowledge, made)
    assert got is not None and left - 0.1001 <= got["Harbour oil"] <= left + 1e-6
    assert sum(got.values()) == pytest.approx(100) and got["Low pair"] == 3.0


def test_no_more_than_the_water_can_give(knowledge: Knowledge) -> None:
    """3.2 % of water let the wax rise to 5.2 % at most; 5.0 is within it, 5.3 is not."""
    made = {"Aqua": 3.2, "Harbour oil": 94.8, "Harbour wax": 2.0}
    assert changed(Change("raise", "Harbour wax", quantity="structure-share", reaches=5.0), knowledge, made) == pytest.approx(made | {"Aqua": 0.2, "Harbour wax": 5.0})
    assert changed(Change("raise", "Harbour wax", quantity="structure-share", reaches=5.3), knowledge, made) is None


def test_texture_a_quarter_of_a_rung_past_the_wanted_or_as_far_as_usual(knowledge: Knowledge) -> None:
    """Judged by the texture model itself: 0.1 % less would not be enough; where nothing is, a raised line stops at its usual 4 % and a lowered one at nothing."""
    known = shelf(knowledge)

    def with_wanted(change: Change, wanted: str) -> tuple[dict[str, float], list[float]]:
        batch = formula(LOTION | {"Aqua": 74.0, "Harbour alcohol": 1.0}, batch_size=200.0, scale_step=0.2, kind="oil-in-water", wanted=wanted)
        made = amounts(apply(change, parts_of(batch, known), batch, known))
        assert made is not None
        less = made | {"Harbour alcohol": made["Harbour alcohol"] - 0.1, "Aqua": made["Aqua"] + 0.1}
        return made, [measure(formula(x, kind="oil-in-water", wanted=wanted), known).quantities["rung-gap"].value for x in (less, made)]

    raised = Change("add", "Harbour alcohol", reaches="wanted-rung")
    made, gaps = with_wanted(raised, "milk")
    assert 1.0 < made["Harbour alcohol"] < 4.0 and gaps[0] < 0.25 <= gaps[1]
    made, gaps = with_wanted(raised, "stiff cream")
    assert made["Harbour alcohol"] == 4.0 and gaps[1] < 0
    made, _ = with_wanted(Change("lower", "Harbour wax", reaches="wanted-rung"), "mist")
    assert "Harbour wax" not in made


def test_what_stands_where_it_should_is_not_moved_to_the_scale(knowledge: Knowledge) -> None:
    made = LOTION | {"Aqua": 72.97, "Harbour wax": 2.03}
    assert changed(Change("raise", "Harbour wax", quantity="wax-share", reaches=2.0), knowledge, made) == pytest.approx(made)
    assert changed(Change("lower", "Harbour wax", quantity="wax-share", reaches=2.03), knowledge, made) == pytest.approx(made)
    assert changed(Change("replace", "Harbour wax", ("Harbour butter",), quantity="butter-share", reaches=2.0), knowledge) == pytest.approx(
        {k: v for k, v in LOTION.items() if k != "Harbour wax"} | {"Harbour butter": 2.0})


def test_an_amount_that_no_scale_step_hits_stays_lawful(knowledge: Knowledge) -> None:
    """1 % is the keeper's limit and 0.97 % the strict one's, which 1.0, the next step from 0.956, would pass; more than the limit is not reached."""
    assert changed(Change("add", "Keeper", quantity="preservative-share", reaches=0.956), knowledge) == pytest.approx(LOTION | {"Keeper": 1.0, "Aqua": 72.0})
    assert changed(Change("add", "Strict keeper", quantity="preservative-share", reaches=0.956), knowledge) == pytest.approx(LOTION | {"Strict keeper": 0.956, "Aqua": 72.044}, abs=0.005)
    assert changed(Change("add", "Strict keeper", quantity="preservative-share", reaches=0.856), knowledge) == pytest.approx(LOTION | {"Strict keeper": 0.9, "Aqua": 72.1})
    assert changed(Change("add", "Keeper", quantity="preservative-share", reaches=1.3), knowledge) is None


@pytest.mark.parametrize("change", [
    Change("raise", "Harbour butter", quantity="butter-share", reaches=3.0),                      # not there to be raised
    Change("raise", "Harbour wax", quantity="no-such-share", reaches=3.0),
    Change("raise", "Harbour wax"),                                                               # neither a level nor an aim
    Change("raise", "Harbour wax", reaches=3.0),
    Change("raise", "Harbour wax", reaches="usual-level"),                                        # which its card does not tell
    Change("raise", "Harbour wax", quantity="wax-share", reaches="usual-level"),
    Change("raise", "Harbour wax", quantity="structure-share", reaches=12.5),                     # more than 10 % of what has no usual level
    Change("add", "Harbour alcohol", quantity="structure-share", reaches=6.5),                    # more than is usual
    Change("replace", "Harbour oil", ("Harbour wax",), quantity="wax-share", reaches=25.0),       # 2 + 20 are all there is
    Change("lower", "Harbour oil", quantity="wax-share", reaches=1.0),                            # less oil makes no less wax
])
def test_what_cannot_be_reached_is_no_fix(change: Change, knowledge: Knowledge) -> None:
    assert changed(change, knowledge) is None


def test_a_pair_at_a_fifth_of_the_oil(knowledge: Knowledge) -> None:
    """20 % of oil that asks for HLB 10, from 4 and 16: half and half of 4 %, where the lone one had 1 %; the water gives 3."""
    made = {"Aqua": 79.0, "Harbour oil": 20.0, "Lone pair": 1.0}
    pair = Change("pair", "lone", ("Low pair", "High pair"))
    assert changed(pair, knowledge, made) == pytest.approx({"Aqua": 76.0, "Harbour oil": 20.0, "Low pair": 2.0, "High pair": 2.0})
    more = made | {"Aqua": 74.0, "Lone pair": 6.0}                           # 6 % is more than a fifth of the oil, and stays
    assert changed(pair, knowledge, more) == pytest.approx({"Aqua": 74.0, "Harbour oil": 20.0, "Low pair": 3.0, "High pair": 3.0})
    little = {"Aqua": 3.0, "Harbour glycerin": 76.0, "Harbour oil": 20.0, "Lone pair": 1.0}      # just what the pair needs more
    assert changed(pair, knowledge, little) == pytest.approx({"Harbour glycerin": 76.0, "Harbour oil": 20.0, "Low pair": 2.0, "High pair": 2.0})
    none = {"Aqua": 80.0, "Harbour oil": 20.0}
    assert changed(pair, knowledge, none) == pytest.approx({"Aqua": 76.0, "Harbour oil": 20.0, "Low pair": 2.0, "High pair": 2.0})


@pytest.mark.parametrize(("made", "new"), [
    ({"Harbour oil": 97.0, "Aqua": 2.0, "Lone pair": 1.0}, ("Low pair", "High pair")),      # a fifth of the oil is more than the water has
    ({"Harbour oil": 100.0}, ("Low pair", "High pair")),                                    # no water
    ({"Aqua": 99.0, "Lone pair": 1.0}, ("Low pair", "High pair")),                          # no oil that asks for an HLB
    ({"Aqua": 79.0, "Harbour oil": 20.0, "Lone pair": 1.0}, ("Low pair",)),
    ({"Aqua": 79.0, "Harbour oil": 20.0, "Lone pair": 1.0}, ("Low pair", "Harbour wax")),   # no emulsifier
    ({"Aqua": 79.0, "Harbour oil": 20.0, "Lone pair": 1.0}, ("Low pair", "Lone pair")),     # 4 and 8 make no 10
])
def test_where_there_is_no_pair(made: dict[str, float], new: tuple[str, ...], knowledge: Knowledge) -> None:
    assert changed(Change("pair", "lone", new), knowledge, made) is None


@pytest.mark.parametrize(("whole", "step", "pair"), [
    (4.97, 0.5, (1.5, 3.5)), (5.0, 0.5, (1.5, 3.5)), (5.01, 0.5, (1.5, 4.0)), (4.0, 0.1, (1.2, 2.8)), (0.7, 1.0, (0.0, 1.0)), (5.0, 0.0, (1.5, 3.5)), (4.97, -1.0, (1.491, 3.479)),
])
def test_a_pair_on_the_steps_of_the_scale(whole: float, step: float, pair: tuple[float, float]) -> None:
    """11 from 4 and 14 is three parts to seven; the whole goes up to the next step (5.01 to 5.5, of which 1.65 is nearest to 1.5)."""
    assert pair_amounts(whole, 4.0, 14.0, 11.0, step) == pytest.approx(pair, abs=1e-6)
