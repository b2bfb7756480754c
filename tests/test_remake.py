"""The sheet for the remake: contract, files, page, trials; and swapping one ingredient for another."""

from __future__ import annotations

import csv
import json
import re
import subprocess
import sys
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from advisor.batch.model import Batch
from advisor.batch.reading import read_batch, read_text_batch, record_batch
from advisor.batch.writing import batch_text
from advisor.diagnosis import SETTLED, examine
from advisor.errors import InputError
from advisor.fixes.remake import PHASES, remake
from advisor.fixes.swap import swap
from advisor.forecast import forecast
from advisor.knowledge.load import Knowledge
from advisor.knowledge.sheet import sheet_of
from advisor.outcome import diagnose
from advisor.screens.page import page

ROOT = Path(__file__).parent.parent
HEEL = ROOT / "cases" / "demo-heel-cream.yaml"
BRACKETS = {"oil-temperature", "water-temperature", "hold", "mix", "cool-down", "before-cool-down", "hardest", "tender", "ph", "ph-clash", "apart", "no-melting", "not-known"}


def advisor(*args: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", "advisor", *args], capture_output=True, text=True, cwd=ROOT, timeout=60, check=False)


def data(*args: str) -> Any:
    done = advisor(*args, "--json")
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_json_holds_the_contract(knowledge: Knowledge) -> None:
    found = data("remake", str(HEEL), "--size", "500g")
    assert set(found) >= {"format", "record", "fixes", "proved", "leaves", "brings", "procedure", "fate", "trials"}
    assert found["proved"] is True and found["leaves"] == [] and found["brings"] == []
    assert all(isinstance(s, str) for s in found["procedure"])
    again = record_batch(found["record"])
    assert again.batch_size == 500
    assert sum(line["amount"] for line in found["record"]["formula"]["lines"]) == pytest.approx(100, abs=1e-9)
    assert sum(w["grams"] for w in found["weights"]) == pytest.approx(500)
    assert "lone-fatty-acid" not in [r.cause.id for r in forecast(again, knowledge).risks]
    assert [PHASES.index(w["phase"]) for w in found["weights"]] == sorted(PHASES.index(w["phase"]) for w in found["weights"])


OUNCES = "name: lotion\nobserved: [it separated]\nformula:\n  unit: oz\n  lines:\n" + "".join(f"    - {{name: {n}, amount: {a}}}\n" for n, a in (
    ("Water", 5.6), ("Olive oil", 1.6), ("Beeswax", 0.64), ("Phenoxyethanol", 0.08), ("Lavender essential oil", 0.08)))


def test_a_batch_made_in_ounces_is_weighed_in_ounces_and_grams(tmp_path: Path, knowledge: Knowledge) -> None:
    path = tmp_path / "oz.yaml"
    path.write_text(OUNCES, encoding="utf-8")
    done = advisor("remake", str(path), "--plain")
    assert "Olive oil: 20 % = 45.4 g (1.6 oz)" in done.stdout and "Phenoxyethanol: 1 % = 2.3 g (0.08 oz), give or take" in done.stdout
    assert "100.00 % = 226.8 g (8 oz)" in done.stdout and "; 5.6 oz to " in done.stdout
    assert "5.6 oz to " in advisor("diagnose", str(path), "--plain", "--no-ask").stdout
    found = remake(read_text_batch(OUNCES, "oz.yaml"), knowledge)
    assert 'batch_size: "8 oz"' in batch_text(found.record)
    again = read_text_batch(batch_text(found.record), "next.yaml")
    assert again.in_ounces and again.batch_size == pytest.approx(226.796185)
    assert '<th class="n">oz</th>' in page(found, knowledge) and '<td class="n g">1.6</td>' in page(found, knowledge)
    assert sum(w["ounces"] for w in data("remake", str(path))["weights"]) == pytest.approx(8, abs=0.001)


def test_ounces_are_told_only_to_those_who_weigh_in_them() -> None:
    assert " oz" not in advisor("remake", str(HEEL), "--size", "500g", "--plain").stdout
    assert "= 453.6 g (16 oz)" in advisor("remake", str(HEEL), "--size", "1 lb", "--plain").stdout


def test_a_fix_can_be_chosen_and_a_wrong_name_is_told() -> None:
    every = data("diagnose", str(HEEL))["fixes"]
    assert data("remake", str(HEEL), "--fix", every[1]["id"])["fixes"][0]["id"] == every[1]["id"]
    done = advisor("remake", str(HEEL), "--fix", "no-such-fix")
    assert done.returncode == 2 and "no-such-fix" in done.stderr and done.stdout == ""


@pytest.mark.parametrize("size", ["-5 g", "0 g", "much", "nan"])
def test_a_size_that_is_none(size: str) -> None:
    done = advisor("remake", str(HEEL), f"--size={size}")
    assert done.returncode == 2 and "batch size" in done.stderr


def test_files_are_written_read_back_and_never_overwritten(tmp_path: Path, knowledge: Knowledge) -> None:
    names = {"--page": tmp_path / "sheet.html", "--csv": tmp_path / "sheet.csv", "--record": tmp_path / "next.yaml"}
    args = [a for k, v in names.items() for a in (k, str(v))]
    assert advisor("remake", str(HEEL), *args).returncode == 0
    kept = {k: v.read_text(encoding="utf-8") for k, v in names.items()}
    again = advisor("remake", str(HEEL), "--size", "1 kg", *args)
    assert again.returncode == 2 and "there already" in again.stderr
    assert {k: v.read_text(encoding="utf-8") for k, v in names.items()} == kept
    assert advisor("remake", str(HEEL), "--size", "1 kg", "--force", *args).returncode == 0
    assert names["--record"].read_text(encoding="utf-8") != kept["--record"]
    record = read_batch(names["--record"])
    assert record.batch_size == 1000
    assert remake(record, knowledge).weights
    rows = list(csv.DictReader(names["--csv"].open(encoding="utf-8")))
    assert sum(float(r["percent"]) for r in rows) == pytest.approx(100)
    table = read_batch(names["--csv"])
    assert [line.name for line in table.formula.lines] == [r["name"] for r in rows]
    own = advisor("remake", str(HEEL), "--record", str(HEEL), "--force")
    assert own.returncode == 2


class Page(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.wrong: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in ("meta", "br", "link", "img"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.wrong.append(tag)


def test_the_page_is_self_contained_and_escaped(knowledge: Knowledge) -> None:
    nasty = '<script>alert("x")</script>&\u0007'
    batch = record_batch({"name": nasty, "wanted": "<b>cream</b>", "batch_size": "200 g", "formula": {"unit": "percent", "lines": [
        {"name": "Water", "amount": 75}, {"name": f"{nasty} oil", "amount": 20}, {"name": "stearic acid", "amount": 5}]},
        "observed": [{"what": "oil layer on top", "when": "next day"}]})
    text = page(remake(batch, knowledge), knowledge)
    reader = Page()
    reader.feed(text)
    assert reader.wrong == [] and reader.open == []
    names = {t for t, _ in reader.tags}
    assert not names & {"script", "link", "img", "iframe"}
    assert not re.search(r"https?:|url\(|@import", text)
    assert "&lt;script&gt;" in text and "\u0007" not in text
    assert any(t == "meta" and a.get("name") == "viewport" for t, a in reader.tags)


def test_temperatures_follow_from_the_ingredients(knowledge: Knowledge) -> None:
    def sheet(extra: str, amount: float) -> tuple[Batch, str]:
        lines = [{"name": "Aqua", "amount": 74 - amount}, {"name": "Cetearyl Alcohol (and) Polysorbate 60", "amount": 6},
                 {"name": "Helianthus Annuus Seed Oil", "amount": 19}, {"name": "Phenoxyethanol", "amount": 1}, {"name": extra, "amount": amount}]
        found = remake(record_batch({"kind": "oil-in-water", "batch_size": "100 g", "formula": {"unit": "percent", "lines": lines}}), knowledge)
        return found.record, " ".join(s.text for s in found.procedure)

    plain, _ = sheet("Glycerin", 3)
    waxy, text = sheet("Copernicia Cerifera Cera", 3)
    wax = knowledge.ingredients["Copernicia Cerifera Cera"].melting
    assert wax is not None
    assert waxy.process["oil_phase_temperature"] > plain.process["oil_phase_temperature"]
    assert waxy.process["oil_phase_temperature"] >= wax.high
    assert "Copernicia Cerifera Cera (up to" in text


def test_every_bracket_of_the_procedure_is_known(knowledge: Knowledge) -> None:
    for step in sheet_of(knowledge).steps:
        for word, of in re.findall(r"\{([a-z-]+)(?: ([^}]+))?\}", step.says):
            of, _, without = of.partition(" but ")
            assert not without or without in knowledge.classes, (step.id, without)
            assert (word == "lines" and of in knowledge.classes) or (word == "phase" and of in PHASES) or word in BRACKETS, (step.id, word, of)


def test_jars_of_a_trial_change_one_thing_each(knowledge: Knowledge) -> None:
    from test_fixes import BATCHES

    seen = 0
    for name, batch in BATCHES:
        found = remake(batch, knowledge)
        leader = examine(batch, knowledge).leader
        if leader is None or leader.standing == SETTLED:
            assert found.trials == (), name
            continue
        if not found.trials:
            continue
        seen += 1
        assert 2 <= len(found.trials) <= 3, name
        assert len({t.record.batch_size for t in found.trials}) == 1
        assert len({t.title for t in found.trials}) == len(found.trials)
        for trial in found.trials:
            assert trial.tells
            assert trial.fix is None or "+" not in trial.fix.id
            again = read_text_batch(batch_text(trial.record), "jar.yaml")
            assert sum(x.amount[0] for x in again.formula.lines if x.amount) == pytest.approx(100)
    assert seen >= 5


def test_a_spoiled_batch_is_not_mended(knowledge: Knowledge) -> None:
    batch = record_batch({"kind": "oil-in-water", "formula": {"unit": "percent", "lines": [
        {"name": "Aqua", "amount": 74}, {"name": "Cetearyl Alcohol (and) Polysorbate 60", "amount": 6}, {"name": "Olea Europaea Fruit Oil", "amount": 20}]},
        "observed": [{"what": "mould", "when": "weeks"}]})
    found = remake(batch, knowledge)
    assert found.fate.verdict == "discard" and found.fixes == () and not found.proved and found.trials == ()
    assert found.procedure[0].says == found.fate.because


def test_swap_rebalances_and_warns(knowledge: Knowledge) -> None:
    batch = read_batch(HEEL)
    found = swap(batch, "Prunus Amygdalus Dulcis Oil", "Helianthus Annuus Seed Oil", knowledge)
    assert found.same_job and found.level == 22
    assert sum(x.amount[0] for x in found.record.formula.lines if x.amount) == pytest.approx(100)
    wax = swap(record_batch({"formula": {"unit": "percent", "lines": [
        {"name": "Aqua", "amount": 74}, {"name": "Cetearyl Alcohol (and) Polysorbate 60", "amount": 6}, {"name": "Olea Europaea Fruit Oil", "amount": 20}]}}),
        "Cetearyl Alcohol (and) Polysorbate 60", "stearic acid", knowledge)
    assert not wax.same_job
    assert wax.brings
    assert {d.what for d in wax.differences} >= {"by itself"}


def test_swap_keeps_to_the_legal_maximum(knowledge: Knowledge) -> None:
    batch = record_batch({"formula": {"unit": "percent", "lines": [
        {"name": "Aqua", "amount": 98}, {"name": "Benzyl Alcohol", "amount": 1}, {"name": "Xanthan Gum", "amount": 1}]}})
    for name, item in knowledge.ingredients.items():
        if "preservative" in item.classes and item.maximum and not item.stands_for and not item.parts and name != "Benzyl Alcohol":
            assert swap(batch, "Benzyl Alcohol", name, knowledge).level <= item.maximum.high + 1e-9, name


@pytest.mark.parametrize(("old", "new", "word"), [("Shea butter", "Olive oil", "not in this formula"), ("Glycerin", "zzzz", "not known")])
def test_swap_says_what_is_wrong(old: str, new: str, word: str, knowledge: Knowledge) -> None:
    with pytest.raises(InputError) as caught:
        swap(read_batch(HEEL), old, new, knowledge)
    assert any(word in str(p) for p in caught.value.problems)


@pytest.mark.parametrize(("lines", "more", "old", "new", "word"), [
    ([("Aqua", 70), ("Olive oil", None), ("Glycerin", 5)], {}, "Olive oil", "Sunflower oil", "not every line has an amount"),
    ([("Aqua", 70), ("Olive oil", 25), ("Glycerin", 5)], {"name": "Baby sunscreen"}, "Olive oil", "Sunflower oil", "not reformulated here"),
    ([("Shea butter", 95), ("Pentylene Glycol", 5)], {}, "Pentylene Glycol", "Phenoxyethanol", "take up the difference"),
])
def test_swap_where_nothing_can_be_rebalanced(lines: list[tuple[str, float | None]], more: dict[str, str], old: str, new: str, word: str, knowledge: Knowledge) -> None:
    rows = [{"name": n, **({"amount": a} if a is not None else {})} for n, a in lines]
    with pytest.raises(InputError) as caught:
        swap(record_batch({"format": 1, **more, "formula": {"unit": "percent", "lines": rows}}), old, new, knowledge)
    assert any(word in str(p) for p in caught.value.problems) and all(p.mend for p in caught.value.problems)


def test_swap_json() -> None:
    found = data("swap", str(HEEL), "sweet almond oil", "cocoa butter")
    assert {"format", "old", "new", "level", "differences", "changes", "record", "brings", "removes", "cautions"} <= set(found)
    assert found["record"]["formula"]["lines"]


def test_a_hard_scrub_is_softened_and_its_sugar_stirred_in_last(knowledge: Knowledge) -> None:
    """No liquid oil is there to take the balance, and no water for the sugar."""
    made = remake(record_batch({"observed": ["went hard as a rock in the jar"], "formula": {"unit": "percent", "lines": [
        {"name": "Sugar", "amount": 60}, {"name": "Coconut oil", "amount": 25}, {"name": "Stearic acid", "amount": 8}, {"name": "Emulsifying wax", "amount": 7}]}}), knowledge)
    assert made.proved
    assert {x.name: (sum(x.amount or ()) / 2, x.phase) for x in made.record.formula.lines}["Coconut oil"] == (33.0, "oil")
    assert [x.phase for x in made.record.formula.lines if x.name == "Sugar"] == ["cool-down"]
    assert "Stearic acid" not in {x.name for x in made.record.formula.lines}


@pytest.mark.parametrize("phase", ["water", "cool-down"])
def test_the_alkali_of_a_carbomer_is_dissolved_apart_and_comes_last(phase: str, knowledge: Knowledge) -> None:
    """Dry lye must not go into a cream, nor the alkali before the emulsion stands; the pH is measured when it is in."""
    made = remake(record_batch({"kind": "oil-in-water", "batch_size": "100 g", "formula": {"unit": "percent", "lines": [
        {"name": "Aqua", "amount": 83.3}, {"name": "Carbomer", "amount": 0.4}, {"name": "Sodium Hydroxide", "amount": 0.15, "phase": phase},
        {"name": "Squalane", "amount": 15.15}, {"name": "Phenoxyethanol", "amount": 1}]}}), knowledge)
    says = [s.says for s in made.procedure]
    assert not any("stir in, one after the other" in s and "Sodium Hydroxide" in s for s in says)
    assert not any(s.startswith(("Weigh the water phase", "Weigh what goes in last")) and "Sodium Hydroxide" in s for s in says)
    apart, full, last, ph = (next(i for i, s in enumerate(says) if word in s) for word in (
        "in 1.5 g of cold water", "should weigh 97.3 g", "Neutralise Carbomer now", "Measure the pH"))      # 100 - 1 - 0.15 - 10 x 0.15 = 97.35
    assert apart < full < last < ph


def test_a_cold_oil_phase_is_warmed_too_whatever_is_unknown_in_it(knowledge: Knowledge) -> None:
    made = remake(record_batch({"kind": "oil-in-water", "formula": {"unit": "percent", "lines": [
        {"name": "Water", "amount": 80}, {"name": "Squalane", "amount": 15}, {"name": "Zzz oil thing", "amount": 5, "phase": "oil"}]}}), knowledge)
    assert any("Warm the oil phase to 70 C as well" in s.says for s in made.procedure)


def test_a_balm_has_one_beaker_and_no_second(knowledge: Knowledge) -> None:
    made = remake(record_batch({"formula": {"unit": "percent", "lines": [
        {"name": "Beeswax", "amount": 20}, {"name": "Shea butter", "amount": 40}, {"name": "Jojoba oil", "amount": 40}]}}), knowledge)
    text = " ".join(s.says for s in made.procedure)
    assert "dry beaker" in text and "second beaker" not in text


@pytest.mark.parametrize(("extra", "cold"), [({}, True), ({"Cetyl Alcohol": 2}, False), ({"Zzz something": 2}, False)])
def test_what_works_cold_is_not_heated(extra: dict[str, float], cold: bool, knowledge: Knowledge) -> None:
    amounts = {"Aqua": 86.5 - sum(extra.values()), "Glycerin": 4, "Acrylates/C10-30 Alkyl Acrylate Crosspolymer": 0.4, "Helianthus Annuus Seed Oil": 8, "Sodium Hydroxide": 0.1,
               "Phenoxyethanol (and) Ethylhexylglycerin": 1, **extra}
    made = remake(record_batch({"kind": "oil-in-water", "formula": {"unit": "percent", "complete": True, "lines": [{"name": n, "amount": a} for n, a in amounts.items()]}}), knowledge)
    text = " ".join(s.says for s in made.procedure)
    assert ("cold, in a thin stream" in text) is cold
    assert (not any(word in text for word in ("Warm the", "Blend hot", "Let it cool", "evaporated"))) is cold


def test_an_unknown_jar_loses_no_step_and_is_named_before_it_is_heated(knowledge: Knowledge) -> None:
    amounts = {"Water": 73, "Glycerin": 3, "Emulsifying wax": 3, "Sweet almond oil": 19, "Keepsafe blue": 1}
    lines = [{"name": name, "amount": amount} for name, amount in amounts.items()] + [{"name": "Lavender essential oil", "amount": 1, "phase": "cool-down"}]
    batch = record_batch({"format": 1, "kind": "oil-in-water", "complaint": "it separated overnight", "formula": {"unit": "percent", "lines": lines}})
    said = [step.says for step in remake(batch, knowledge).procedure]
    assert any("stir in, one after the other: Lavender essential oil" in s for s in said)
    assert any("Not known here: Keepsafe blue" in s and "below 40 C" in s for s in said)


@pytest.mark.parametrize("seen", ["it is thin", "oil on top"])
def test_what_smells_rancid_is_neither_used_nor_rescued(seen: str, knowledge: Knowledge) -> None:
    lines = [{"name": "Sugar", "amount": 55}, {"name": "Sunflower oil", "amount": 45}]
    record = {"format": 1, "kind": "anhydrous", "formula": {"unit": "percent", "lines": lines}, "observed": [{"what": seen, "when": "weeks"}, {"what": "smells rancid", "when": "weeks"}]}
    assert diagnose(record_batch(record), knowledge).fate.verdict == "discard"


GLUTAMATE = {"kind": "surfactant", "formula": {"unit": "percent", "complete": False, "lines": [
    {"name": "Aqua"}, {"name": "Disodium Cocoyl Glutamate", "amount": 15}, {"name": "Decyl Glucoside", "amount": 8}, {"name": "Citric Acid", "amount": 1}, {"name": "Phenoxyethanol", "amount": 1}]},
    "measured": {"ph": 4}, "observed": [{"what": "turns cloudy", "when": "next day"}, {"what": "white particles float in it", "when": "next day"}]}
STEAMED = {"kind": "oil-in-water", "complaint": "much too thick", "formula": {"unit": "percent", "complete": True, "lines": [
    {"name": "Aqua", "amount": 56}, {"name": "Helianthus Annuus Seed Oil", "amount": 21}, {"name": "Cetearyl Alcohol (and) Polysorbate 60", "amount": 12}, {"name": "Cetyl Alcohol", "amount": 10},
    {"name": "Phenoxyethanol", "amount": 1}]}}
BAR = {"kind": "anhydrous", "formula": {"unit": "percent", "complete": True, "lines": [
    {"name": "Theobroma Cacao Seed Butter", "amount": 45}, {"name": "Cera Alba", "amount": 20}, {"name": "Prunus Amygdalus Dulcis Oil", "amount": 35}]}, "observed": [{"what": "white specks in it", "when": "weeks"}]}


@pytest.mark.parametrize(("record", "told", "lost"), [
    (GLUTAMATE, {}, False), (GLUTAMATE, {"observed": [{"what": "the bottle bulges with gas", "when": "weeks"}]}, True), (GLUTAMATE, {"answers": {"gas-smell": "sour-or-yeast"}}, True),
    (STEAMED, {}, False), (STEAMED, {"observed": [{"what": "the jar swells with gas", "when": "days"}]}, True), (STEAMED, {"observed": [{"what": "the tube swells"}]}, True),
    (STEAMED, {"answers": {"look-test": "slime"}}, True), (STEAMED, {"answers": {"look-test": "spots-or-fur"}}, True), (STEAMED, {"answers": {"smell-test": "sour-or-musty"}}, True),
    (STEAMED, {"answers": {"foam-stand-test": "rises"}}, True), (STEAMED, {"observed": [{"what": "mould", "when": "weeks"}]}, True), (STEAMED, {"answers": {"smell-test": "as-made", "look-test": "clean"}}, False),
    (STEAMED, {"observed": [{"what": "the bottle bulges", "when": "days"}], "answers": {"storage-place": "frost-and-thaw"}}, False),
    (BAR, {"answers": {"look-test": "spots-or-fur"}}, False), (BAR, {"answers": {"look-test": "spots-or-fur", "used-with": "wet-fingers"}}, True),
])
def test_what_makes_gas_or_shows_growth_is_neither_used_nor_rescued(record: dict[str, Any], told: dict[str, Any], lost: bool, knowledge: Knowledge) -> None:
    """Common practice, whichever cause leads; frost alone can lift a lid, and cocoa butter can bloom in spots."""
    batch = record_batch({"format": 1, **record, **told, "observed": [*record.get("observed", ()), *told.get("observed", ())]})
    verdict = diagnose(batch, knowledge).fate.verdict
    assert (verdict == "discard") is lost, verdict
