"""Reading batch records, tables and pasted lists: what is understood, what is remarked on, what is refused."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.batch import units
from advisor.batch.model import Batch
from advisor.batch.reading import read_batch, read_text_batch, record_batch
from advisor.errors import InputError


def amounts(batch: Batch) -> list[tuple[str, tuple[float, float] | None]]:
    return [(line.name, line.amount) for line in batch.formula.lines]


def refused(text: str, file: str = "a.yaml") -> str:
    with pytest.raises(InputError) as caught:
        read_text_batch(text, file)
    assert all(p.says and p.mend for p in caught.value.problems)
    return str(caught.value)


def test_a_ph_told_as_a_range() -> None:
    read = read_text_batch("observed: it split\nmeasured: {ph: 4.5-5}\n", "a.yaml")
    assert read.measured["ph"] == pytest.approx(4.75)
    assert any(r.about == "measured.ph" for r in read.remarks)
    for wrong in ("sour", "4-19", "4-5 C"):
        assert "measured.ph" in refused(f"observed: it split\nmeasured: {{ph: {wrong}}}\n")


@pytest.mark.parametrize(("reader", "text", "wanted"), [
    (units.celsius, "74 C", 74.0), (units.celsius, "165 F", 73.8889), (units.celsius, 71, 71.0), (units.celsius, "warm", None),
    (units.grams, "200 g", 200.0), (units.grams, "8 oz", 8 * 28.349523125), (units.grams, "1 cup", None),
    (units.minutes, "10 min", 10.0), (units.minutes, "1 h", 60.0), (units.minutes, "90 s", 1.5), (units.minutes, "1 h 30 min", 90.0),
    (units.minutes, "1 h 30 parsecs", None), (units.percent, "20 %", 20.0), (units.percent, "20 g", None)])
def test_units(reader: object, text: object, wanted: float | None) -> None:
    assert callable(reader)
    assert reader(text) == (None if wanted is None else pytest.approx(wanted, abs=1e-3))


def test_a_whole_record() -> None:
    batch = read_text_batch("""\
batch_size: 8 oz
formula:
  lines:
    - {name: Water, amount: rest, phase: water}
    - {name: Glycerin, amount: 0.5-1}
    - {name: New ester, is: emollient oil, required_hlb: 9, level: 3 %}
process: {held: a while, stirred_while_cooling: sometimes, topped_up: "no", water_phase_temperature: 160 F}
observed: [{what: oil on top, when: next day}]
""", "a.yaml")
    assert batch.batch_size == pytest.approx(226.796185)
    assert [line.rest for line in batch.formula.lines] == [True, False, False]
    assert batch.formula.lines[1].amount == (0.5, 1.0)
    assert batch.formula.lines[2].own == {"is": "emollient oil", "required_hlb": 9, "level": "3 %"}
    assert batch.process["held"] == "a while" and batch.process["topped_up"] is False
    assert batch.process["water_phase_temperature"] == pytest.approx(71.111, abs=1e-3)
    assert {r.about for r in batch.remarks} == {"process.held", "process.stirred_while_cooling"}


@pytest.mark.parametrize(("amount", "unit", "read"), [("5 g", "g", 5.0), ("5 %", "percent", 5.0), ("2 parts", "part", 2.0)])
def test_a_unit_said_on_the_line_is_the_formulas(amount: str, unit: str, read: float) -> None:
    formula = record_batch({"formula": {"lines": [{"name": "Water", "amount": amount}]}}).formula
    assert (formula.unit, formula.lines[0].amount) == (unit, (read, read))


def test_mixed_weights_become_grams() -> None:
    formula = record_batch({"formula": {"lines": [{"name": "a", "amount": "1 oz"}, {"name": "b", "amount": "20 g"}]}}).formula
    assert formula.unit == "g"
    assert [line.amount for line in formula.lines] == [(28.349523125, 28.349523125), (20.0, 20.0)]


@pytest.mark.parametrize(("amount", "says"), [
    ("1:1", "ratio"), ("-3", "outside"), (".nan", "not a number"), (".inf", "not a number"), ("2 thumbs", "not known"), ("'-2'", "below zero"),
    ("0", "add up to 0"), ("151 %", "151 %")])
def test_amounts_refused(amount: str, says: str) -> None:
    assert says in refused(f"formula:\n  lines:\n    - {{name: Water, amount: {amount}}}\n")


@pytest.mark.parametrize(("field", "says"), [
    ("water_phase_temperature: 101 C", "-30 to 100"), ("water_phase_temperature: -31 C", "-30 to 100"), ("oil_phase_temperature: 300 C", "300 C"),
    ("held: -3", "below zero"), ("helt: 3", "'held'")])
def test_process_refused(field: str, says: str) -> None:
    assert says in refused(f"observed: [split]\nprocess: {{{field}}}\n")


def test_every_mistake_is_named_at_once_with_its_line() -> None:
    with pytest.raises(InputError) as caught:
        read_text_batch('measured: {ph: 15}\nformula:\n  lines:\n    - {name: a, amount: "1:1"}\n    - {amount: 3}\n'
                        "process: {oil_phase_temperature: 300 C, helt: 3}\nbatch_size: heavy\n", "a.yaml")
    assert [p.place.line for p in caught.value.problems] == [1, 4, 5, 6, 6, 7]
    assert all(p.place.column and p.place.field for p in caught.value.problems)


def test_bounds_on_lines_and_names() -> None:
    assert "501 lines" in refused("formula:\n  lines:\n" + "    - {name: a}\n" * 501)
    assert "501 lines" in refused("a,1\n" * 501, "a.csv")
    assert "301 characters" in refused(f"formula: {{lines: [{{name: {'x' * 301}}}]}}\n")
    assert "301 characters" in refused("x" * 301 + " 50%\ny 50%\n", "pasted")


@pytest.mark.parametrize(("text", "file"), [('formula: {lines: [{name: "a\\e[31m"}]}', "a.yaml"), ("a\x1b[31m,50", "a.csv"), ("a\x1b[31m 50%", "p")])
def test_control_characters_are_made_visible(text: str, file: str) -> None:
    assert read_text_batch(text, file).formula.lines[0].name == "a\u241b[31m"


@pytest.mark.parametrize(("text", "wanted"), [
    ("name,amount,phase\nWater,80,water\nOil,20,oil\n", [("Water", (80, 80)), ("Oil", (20, 20))]),
    ("Water;80,5\r\nOil;19,5\r\n", [("Water", (80.5, 80.5)), ("Oil", (19.5, 19.5))]),
    ("Water\t80\nOil\t20\n", [("Water", (80, 80)), ("Oil", (20, 20))]),
    ('Water,"80,5"\nOil,"19,5"\n', [("Water", (80.5, 80.5)), ("Oil", (19.5, 19.5))]),
    ("Shea butter 12%\n10% olive oil\nWater - 70\n", [("Shea butter", (12, 12)), ("olive oil", (10, 10)), ("Water", (70, 70))]),
    ("Vitamin E 0,5 %\nWater 99,5 %\n", [("Vitamin E", (0.5, 0.5)), ("Water", (99.5, 99.5))]),
    ("5 g glycerin\n1 kg water\n", [("glycerin", (5, 5)), ("water", (1000, 1000))]),
    ("Polysorbate 80\nWater 70%\n", [("Polysorbate 80", None), ("Water", (70, 70))])])
def test_tables_and_pasted_lists(text: str, wanted: list[object]) -> None:
    assert amounts(read_text_batch(text, "pasted")) == wanted


@pytest.mark.parametrize(("text", "file", "says"), [
    ("Water,-5\nOil,20\n", "a.csv", "'-5'"), ("Water,nan\nOil,20\nb,3\n", "a.csv", "'nan'"), ("Water,100%\nOil,60%\n", "a.csv", "160 %"),
    ("Water,80 g\nOil,20%\n", "a.csv", "one unit"), ("Water,0\n", "a.csv", "add up to 0"), ("Water -5\nOil 20\n", "p", "below zero"),
    ("Oil 1:1\nWater 5\nb 3\n", "p", "ratio"), ("Water 80 g\nOil 20%\n", "p", "one unit")])
def test_tables_and_pasted_lists_refused(text: str, file: str, says: str) -> None:
    assert says in refused(text, file)


@pytest.mark.parametrize("raw", [b"", b"a" * 2_000_001, b"\x00\x01", bytes(range(256)), "complaint: a".encode("utf-16"), b"a: &a [x]\nb: *a\n",
                                 b"a: " + b"[" * 3000, b"complaint: a\ncomplaint: b\n", b"name: only a name\n", b"- a\n"])
def test_files_refused(raw: bytes, tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    path.write_bytes(raw)
    with pytest.raises(InputError):
        read_batch(path)


def test_a_folder_a_missing_file_and_standard_input(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for path in (tmp_path, tmp_path / "none.yaml"):
        with pytest.raises(InputError):
            read_batch(path)
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(b"complaint: it split\n")))
    assert read_batch("-").complaint == "it split"


@settings(max_examples=40, deadline=None)
@given(st.lists(st.integers(1, 999).map(lambda n: n / 10), min_size=2, max_size=8), st.sampled_from([";", "\t"]), st.booleans())
def test_a_decimal_comma_reads_as_a_point(values: list[float], mark: str, comma: bool) -> None:
    shown = [str(v).replace(".", ",") if comma else str(v) for v in values]
    table = read_text_batch("".join(f"oil {chr(97 + i)}{mark}{v}\n" for i, v in enumerate(shown)), "a.csv")
    pasted = read_text_batch("".join(f"oil {chr(97 + i)} {v} g\n" for i, v in enumerate(shown)), "pasted")
    assert amounts(table) == amounts(pasted) == [(f"oil {chr(97 + i)}", (v, v)) for i, v in enumerate(values)]


def test_a_pasted_list_has_headings_notes_and_a_limit_to_its_lines() -> None:
    batch = read_text_batch("# from the forum\nWater phase:\nWater 70%\nGlycerin 5%\nOil phase:\nOlive oil 25%\n", "list.txt")
    assert [(x.name, x.phase) for x in batch.formula.lines] == [("Water", "water"), ("Glycerin", "water"), ("Olive oil", "oil")]
    with pytest.raises(InputError) as caught:
        read_text_batch("Water 70%\n" + "x" * 5000 + " 30%\n", "list.txt")
    assert any("the limit is 1,000" in str(p) and p.place.line == 2 and p.mend for p in caught.value.problems)


@pytest.mark.parametrize(("amount", "read"), [
    ("20 drops", (0.4, 1.0)), ("a pinch", (0.2, 0.6)), ("1/2 cup", (90.0, 125.0)), ("half a cup", (90.0, 125.0)), ("1 1/2 tsp", (4.5, 8.25)),
    ("2 tbsp", (16.0, 32.0)), ("1 heaped teaspoonful", (3.0, 5.5)), ("\u00bd tsp", (1.5, 2.75)), ("50 ml", (45.0, 52.5)), ("some", None), ("?", None)])
def test_kitchen_measures_are_read_as_the_grams_they_may_be(amount: str, read: tuple[float, float] | None) -> None:
    """What is not weighed is a range, in a record as in a list; by hand: 20 drops of 0.02 to 0.05 g are 0.4 to 1 g."""
    formula = record_batch({"formula": {"lines": [{"name": "Water", "amount": "100 g"}, {"name": "honey", "amount": amount}]}}).formula
    pasted = read_text_batch(f"Water 100 g\nhoney {amount}\n", "p").formula
    for found in (formula, pasted):
        assert found.unit == "g" and [line.name for line in found.lines] == ["Water", "honey"]
        assert found.lines[1].amount == (read and pytest.approx(read))


def test_a_kitchen_measure_beside_percents_says_only_that_it_is_there() -> None:
    formula = record_batch({"formula": {"unit": "percent", "lines": [{"name": "Water", "amount": 99}, {"name": "Lavender oil", "amount": "20 drops"}]}}).formula
    assert formula.unit == "percent" and formula.lines[1].amount is None


@pytest.mark.parametrize(("line", "name", "amount"), [
    ("2 tbsp of honey", "honey", (16.0, 32.0)), ("a pinch of borax", "borax", (0.2, 0.6)), ("Lavender oil (10 drops)", "Lavender oil", (0.2, 0.5)),
    ("olive oil about 40 g", "olive oil", (40.0, 40.0)), ("oil 20ish", "oil", (20.0, 20.0)), ("a bit of honey", "honey", None), ("cupuacu butter 5 g", "cupuacu butter", (5.0, 5.0)),
    ("wax some", "wax", None)])
def test_how_a_maker_writes_a_line(line: str, name: str, amount: tuple[float, float] | None) -> None:
    found = read_text_batch(f"Water 50 g\n{line}\nShea butter 5 g\n", "p").formula.lines[1]
    assert (found.name, found.amount) == (name, amount and pytest.approx(amount))


def test_words_behind_a_number_leave_it_a_number() -> None:
    assert units.celsius("about 60, just melted") == 60 and units.celsius("70 C (by feel)") == 70 and units.celsius("60,5 C") == 60.5
    assert units.minutes("30 min at 80 C, lid on") == 30 and units.celsius("70 C at the start") == 70
    said = {"about an hour": 60, "half an hour": 30, "1 1/2 hours": 90, "20 minutes or so": 20, "a few minutes": 3, "two hours before it held": 120, "1 h 30 min": 90}
    assert {text: units.minutes(text) for text in said} == said
    assert [units.minutes(text) for text in ("not long", "2 x 30 s", "30 s bursts for 5 min", "until thick", "half a cup")] == [None] * 5
    assert units.celsius("hot, about 70") is None
