"""One batch told in other ways gives the same verdict: other units, another batch size, other order of lines and keys."""

from __future__ import annotations

import copy
import random
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from advisor.batch.reading import read_text_batch, record_batch
from advisor.batch.units import GRAMS
from advisor.consultation import rule_base
from advisor.diagnosis import Examination, examine
from advisor.knowledge.load import Knowledge, load_knowledge
from advisor.knowledge.strict_yaml import load
from advisor.outcome import diagnose

KNOWN = load_knowledge()
CASES = sorted((Path(__file__).parent.parent / "cases").glob("*.yaml"))
SLOW = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
NAMES = sorted(KNOWN.ingredients)
SIGNS = sorted({s.wordings[0] for s in KNOWN.symptoms.values()})
# Quantities that tell how much was made and how finely it was weighed: another batch size is allowed to change them.
BY_SIZE = {"batch-grams", "smallest-line-grams", "scale-error"}


@st.composite
def records(draw: st.DrawFn) -> dict[str, Any]:
    names = draw(st.lists(st.sampled_from(NAMES), min_size=1, max_size=8, unique=True))
    parts = draw(st.lists(st.integers(1, 60), min_size=len(names), max_size=len(names)))
    whole = sum(parts) + draw(st.integers(10, 90))
    amounts = [round(100 * p / whole, 2) for p in parts]
    lines = [{"name": n, "amount": a} for n, a in zip(names, amounts, strict=True)] + [{"name": "Water", "amount": round(100 - sum(amounts), 2)}]
    return {"name": "x", "wanted": draw(st.sampled_from(["lotion", "firm cream"])), "batch_size": "200 g", "scale_reads_to": "0.1 g",
            "formula": {"unit": "percent", "lines": lines}, "observed": [{"what": draw(st.sampled_from(SIGNS)), "when": draw(st.sampled_from(["next day", "2 weeks"]))}],
            "process": {"oil_phase_temperature": f"{draw(st.integers(30, 85))} C", "water_phase_temperature": f"{draw(st.integers(30, 85))} C", "mixed": "90 min", "mixer": "stick blender"}}


def demos() -> list[dict[str, Any]]:
    return [load(p.read_text(encoding="utf-8"), p.name).data for p in CASES]


def verdict(found: Examination, without: frozenset[str] = frozenset()) -> dict[str, float]:
    return {r.id: r.log_odds for r in found.ranked if r.id not in without}


def same(one: dict[str, Any], other: dict[str, Any], without: frozenset[str] = frozenset()) -> None:
    first, second = examine(record_batch(one), KNOWN), examine(record_batch(other), KNOWN)
    if without:      # a cause steps back before others, and these may be among those left out
        without |= {r.id for found in (first, second) for r in found.ranked if r.stepped_back}
    assert verdict(second, without) == pytest.approx(verdict(first, without), abs=1e-6)
    if not without:
        assert [r.standing for r in second.ranked] == [r.standing for r in first.ranked]


def in_unit(record: dict[str, Any], unit: str) -> dict[str, Any]:
    """The same amounts of a 200 g batch (300 and 150 g in the demos) in another unit."""
    out = copy.deepcopy(record)
    size = record_batch(record).batch_size or 100.0
    given = [x["amount"] for x in record["formula"]["lines"] if x["amount"] != "rest"]
    factor = 1.0 if unit == "part" else size / 100 / GRAMS[unit]
    for row in out["formula"]["lines"]:
        amount = 100 - sum(given) if row["amount"] == "rest" else row["amount"]
        row["amount"] = amount * factor
    out["formula"]["unit"] = unit
    return out


@pytest.mark.parametrize("unit", ["g", "kg", "oz", "lb", "part"])
@pytest.mark.parametrize("record", demos(), ids=lambda r: r["name"])
def test_other_units_of_weight(record: dict[str, Any], unit: str) -> None:
    same(record, in_unit(record, unit))


@SLOW
@given(records(), st.sampled_from(["g", "kg", "oz", "lb", "part"]))
def test_other_units_of_weight_on_any_formula(record: dict[str, Any], unit: str) -> None:
    same(record, in_unit(record, unit))


@SLOW
@given(records())
def test_other_units_of_heat_time_and_size(record: dict[str, Any]) -> None:
    other = copy.deepcopy(record)
    for key in ("oil_phase_temperature", "water_phase_temperature"):
        other["process"][key] = f"{float(record['process'][key].split()[0]) * 9 / 5 + 32:.1f} \u00b0F"
    other["process"]["mixed"] = "1 h 30 min"
    other["batch_size"], other["scale_reads_to"] = "0,2 kg", "100 mg"
    same(record, other)


@SLOW
@given(records(), st.sampled_from([0.25, 2, 5, 10]))
def test_another_batch_size_with_a_scale_as_much_coarser(record: dict[str, Any], times: float) -> None:
    other = {**record, "batch_size": f"{200 * times:g} g", "scale_reads_to": f"{0.1 * times:g} g"}
    same(record, other, _tell_of_size())


def _tell_of_size() -> frozenset[str]:
    """The causes that rest on how much was made: by their own evidence or through findings."""
    touched = rule_base(KNOWN).touched
    return frozenset(cause for q in BY_SIZE if f"quantity {q}" in touched for cause in touched[f"quantity {q}"].pieces)


def test_few_cards_rest_on_the_size_of_the_batch() -> None:
    assert 1 <= len(_tell_of_size()) <= len(KNOWN.causes) // 8


def shuffled(value: Any, rng: random.Random) -> Any:
    """The same data with the keys of every map, and the lines of the formula, in another order."""
    if isinstance(value, dict):
        keys = list(value)
        rng.shuffle(keys)
        return {k: rng.sample(shuffled(value[k], rng), len(value[k])) if k in ("lines", "observed") else shuffled(value[k], rng) for k in keys}
    return [shuffled(v, rng) for v in value] if isinstance(value, list) else value


@SLOW
@given(records(), st.integers(0, 10**6))
def test_other_order_of_lines_and_keys(record: dict[str, Any], seed: int) -> None:
    other = shuffled(record, random.Random(seed))
    same(record, other)
    again = read_text_batch(yaml.safe_dump(other, sort_keys=False), "x.yaml")
    assert verdict(examine(again, KNOWN)) == pytest.approx(verdict(examine(record_batch(record), KNOWN)), abs=1e-6)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(records(), st.integers(0, 10**6))
def test_other_order_gives_the_same_fixes_and_fate(record: dict[str, Any], seed: int) -> None:
    one, two = diagnose(record_batch(record), KNOWN), diagnose(record_batch(shuffled(record, random.Random(seed))), KNOWN)
    assert two.fate == one.fate
    assert [(f.id, f.proved, f.leaves, f.brings) for f in two.fixes] == [(f.id, f.proved, f.leaves, f.brings) for f in one.fixes]
    assert [q.question.id for q in two.questions] == [q.question.id for q in one.questions]


def test_one_line_split_in_two_is_the_same_batch(knowledge: Knowledge) -> None:
    for record in demos():
        other = copy.deepcopy(record)
        row = next(r for r in other["formula"]["lines"] if r["amount"] != "rest" and r["amount"] > 3)
        row["amount"] /= 2
        other["formula"]["lines"].append(dict(row))
        first, second = verdict(examine(record_batch(record), knowledge)), verdict(examine(record_batch(other), knowledge))
        told = _tell_of_size()       # the smallest line is another one
        assert {k: v for k, v in second.items() if k not in told} == pytest.approx({k: v for k, v in first.items() if k not in told}, abs=1e-6)


def test_a_line_on_a_limit_stays_on_its_side_in_grams() -> None:
    """0.5 % of wax counts as oil; 1 g of 200 g is the same, whatever the division of the others leaves in the last digit."""
    amounts = {"1,2-Hexanediol": 0.5, "2-Bromo-2-Nitropropane-1,3-Diol": 5.03, "3-O-Ethyl Ascorbic Acid": 23.12, "5-Bromo-5-Nitro-1,3-Dioxane": 27.14, "7-Ethylbicyclooxazolidine": 13.07,
               "Acacia Senegal Gum": 21.11, "Acacia Decurrens Flower Cera": 0.5, "Water": 9.53}
    record = {"batch_size": "200 g", "formula": {"unit": "percent", "lines": [{"name": n, "amount": a} for n, a in amounts.items()]},
              "process": {"oil_phase_temperature": "30 C", "water_phase_temperature": "30 C"}}
    same(record, in_unit(record, "g"))
