"""Formulas side by side: the JSON, the bars, emulsifiers tried, and what seen against expected does to a diagnosis."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest
from test_cli import ROOT, advisor

from advisor.batch.reading import record_batch
from advisor.comparison import compare, tried
from advisor.diagnosis import examine
from advisor.errors import InputError
from advisor.forecast import forecast
from advisor.knowledge.load import Knowledge
from advisor.quantities.body import viscosity
from advisor.quantities.rungs import rung_seen
from advisor.screens.ahead import comparison_blocks

THIN = str(ROOT / "cases" / "demo-thin-hand-cream.yaml")
HEEL = str(ROOT / "cases" / "demo-heel-cream.yaml")


def batch(*lines: tuple[str, Any], **more: Any) -> Any:
    return record_batch({"formula": {"unit": "percent", "lines": [{"name": n, "amount": a} for n, a in lines]}, **more})


WAX = batch(("Aqua", "rest"), ("Cetearyl Alcohol (and) Ceteareth-20", 6), ("Cetyl Alcohol", 2), ("Helianthus Annuus Seed Oil", 18),
            ("Phenoxyethanol (and) Ethylhexylglycerin", 1), name="wax", kind="oil-in-water")


def test_two_batches_as_json_keep_the_contract() -> None:
    done = advisor("compare", THIN, HEEL, "--json")
    assert done.returncode == 0, done.stderr
    data = json.loads(done.stdout)
    assert data["format"] == 1 and len(data["batches"]) == 2
    for one in data["batches"]:
        assert set(one) >= {"batch", "go", "kind", "texture", "viscosity", "contributions", "risks", "fixes", "cautions", "windows", "feel", "course"}
        assert 1 <= one["texture"]["rank"] <= 7
        assert one["viscosity"]["low"] <= one["viscosity"]["mid"] <= one["viscosity"]["high"]
        assert sum(c["share"] for c in one["contributions"]) == pytest.approx(1, abs=0.01)
    assert data["batches"][0] == {**json.loads(advisor("check", THIN, "--json").stdout), "batch": data["batches"][0]["batch"]}


def test_bars_read_without_colour_and_plain_has_none() -> None:
    drawn = advisor("compare", THIN, "--try", "emulsifying wax").stdout
    bars = re.findall(r"\[(#+)(\.*)\] (\d) of 7", drawn)
    assert len(bars) == 2
    assert all(len(a) == int(n) and len(a) + len(b) == 7 for a, b, n in bars)
    plain = advisor("compare", THIN, "--try", "emulsifying wax", "--plain").stdout
    assert "#" not in plain and "of 7" in plain and "\x1b" not in drawn + plain


@pytest.mark.parametrize(("args", "word"), [((THIN,), "--try"), ((THIN, HEEL, "--try", "emulsifying wax"), "one formula at a time"), ((THIN, "--try", "sugar"), "no emulsifier")])
def test_what_cannot_be_compared_is_said(args: tuple[str, ...], word: str) -> None:
    done = advisor("compare", *args, "--json")
    assert (done.returncode, done.stdout) == (2, "")
    assert word in done.stderr


def test_a_tried_emulsifier_takes_the_place_at_the_same_level(knowledge: Knowledge) -> None:
    new = tried(WAX, "Behentrimonium Methosulfate (and) Cetearyl Alcohol", knowledge)
    names = [x.name for x in new.formula.lines]
    assert names[1].startswith("Behentrimonium") and names[2:] == [x.name for x in WAX.formula.lines][2:]
    assert new.formula.lines[1].amount == (6, 6)


def test_the_tried_ones_stand_in_the_order_of_the_trade(knowledge: Knowledge) -> None:
    found = compare([WAX], ["Behentrimonium Methosulfate (and) Cetearyl Alcohol", "Glyceryl Stearate (and) PEG-100 Stearate"], knowledge)
    mids = [f.texture.mid for f in found if f.texture]
    assert len(mids) == 3 and mids == sorted(mids, reverse=True)
    heads = [b.heading for b in comparison_blocks(found, knowledge, drawing=True)]
    assert heads[1] == "1. wax" and "Behentrimonium" in heads[2]
    with pytest.raises(InputError):
        compare([WAX], [], knowledge)


def test_windows_follow_from_the_ingredients(knowledge: Knowledge) -> None:
    made = batch(("Aqua", "rest"), ("Cetearyl Alcohol (and) Ceteareth-20", 6), ("Theobroma Cacao Seed Butter", 5), ("Helianthus Annuus Seed Oil", 10),
                 ("Sodium Benzoate", 0.5), kind="oil-in-water")
    found = {w.id: w for w in forecast(made, knowledge).windows}
    melting = knowledge.ingredients["Cetearyl Alcohol"].melting
    benzoate = knowledge.ingredients["Sodium Benzoate"].ph
    assert melting and benzoate
    assert found["oil-phase"].low is not None and found["oil-phase"].low >= melting.high
    assert found["ph"].high == benzoate.high and found["ph"].origin[-1] == "Sodium Benzoate"


def test_emulsifiers_for_the_other_kind_are_pointed_out(knowledge: Knowledge) -> None:
    wrong = forecast(batch(("Aqua", 75), ("Polyglyceryl-3 Diisostearate", 4), ("Helianthus Annuus Seed Oil", 20), ("Phenoxyethanol", 1), kind="oil-in-water"), knowledge)
    assert (wrong.kind, wrong.forms) == ("oil-in-water", "water-in-oil")
    assert wrong.go != "go"
    assert forecast(WAX, knowledge).forms == "oil-in-water"


def test_it_thins_in_summer_and_sets_overnight(knowledge: Knowledge) -> None:
    texture = forecast(WAX, knowledge).texture
    assert texture is not None
    warm, cool, day, days, summer = (s.mid for s in texture.course)
    assert warm < cool < day < days
    assert summer < days


@pytest.mark.parametrize(("text", "value"), [("25000 mPa.s", 25000), ("14.9 Pa.s", 14900), ("12,000 cP", 12000), (800, 800), ("thick", None), (True, None), (-3, None)])
def test_a_measured_viscosity_is_read(text: Any, value: float | None) -> None:
    assert viscosity(text) == (pytest.approx(value) if value is not None else None)


@pytest.mark.parametrize(("text", "rung"), [("it runs like milk", "milk"), ("came out as a lotion", "lotion"), ("a thick cream, not like a lotion", None),
                                            ("looks like foam in the jar", None), ("it should have come out as a firm cream", None)])
def test_what_it_is_said_to_be_like(text: str, rung: str | None, knowledge: Knowledge) -> None:
    found = rung_seen(text, knowledge.rungs)
    assert (found.id if found else None) == rung


def test_thin_though_thick_on_paper_is_not_the_formula(knowledge: Knowledge) -> None:
    """The same complaint: of a thin formula the formula leads; of a thick one the making, the weighing or a wrong jar."""
    seen = {"observed": [{"what": "too thin", "when": "next day"}], "wanted": "cream", "kind": "oil-in-water"}
    thin = batch(("Aqua", "rest"), ("Cetearyl Alcohol (and) Polysorbate 60", 3), ("Helianthus Annuus Seed Oil", 18), ("Phenoxyethanol", 1), **seen)
    thick = batch(("Aqua", "rest"), ("Cetearyl Alcohol (and) Polysorbate 60", 7), ("Cetyl Alcohol", 3), ("Helianthus Annuus Seed Oil", 18), ("Phenoxyethanol", 1), **seen)
    first = examine(thin, knowledge).leader
    assert first is not None and first.cause.family == "thin"
    other = examine(thick, knowledge)
    assert other.leader is not None and other.leader.cause.family != "thin"
    assert any(r.rule.endswith("/thick-on-paper") for r in other.leader.reasons)
