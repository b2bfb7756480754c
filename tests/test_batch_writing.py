"""Writing batch records: what is written reads back the same, only named blocks change, files are replaced whole."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.batch.reading import read_text_batch, record_batch
from advisor.batch.writing import batch_record, batch_text, replace_blocks, save
from advisor.knowledge.strict_yaml import load

RECORD = {
    "name": "trial 2", "kind": "oil-in-water", "batch_size": "200 g", "measured": {"ph": 5.6}, "water": "tap",
    "formula": {"unit": "percent", "complete": False, "lines": [
        {"name": "Water", "amount": "rest", "phase": "water"}, {"name": "Glycerin", "amount": "0.5-1"}, {"name": "Lye", "amount": 0.4, "strength": "20 %"},
        {"name": "Ester", "is": "emollient oil", "hlb": 9}]},
    "process": {"held": "10 min", "oil_phase_temperature": "165 F", "topped_up": False, "mixer": "no: a 1:1 thing # here"},
    "observed": [{"what": "oil on top", "when": "next day"}, "no"], "history": {"worked_before": False, "changed": ["yes"]},
    "tried": [{"what": "more mixing", "changed": False}], "known": {"cause": "over-shear", "also": []}}
WORDS = st.text(alphabet=st.characters(codec="utf-8"), max_size=30)


def test_a_record_goes_round() -> None:
    batch = record_batch(RECORD, "a.yaml")
    assert record_batch(batch_record(batch), "a.yaml") == batch
    written = read_text_batch(batch_text(batch), "a.yaml")
    assert written.process["oil_phase_temperature"] == pytest.approx(batch.process["oil_phase_temperature"])
    assert (written.formula, written.observed, written.tried, written.changed) == (batch.formula, batch.observed, batch.tried, batch.changed)


@settings(max_examples=100, deadline=None)
@given(st.dictionaries(WORDS, st.one_of(WORDS, st.booleans(), st.integers(-10**12, 10**12)), min_size=1, max_size=4))
def test_any_answer_is_quoted_so_that_it_reads_back(answers: dict[str, object]) -> None:
    assert load(replace_blocks("name: a\n", {"answers": answers}), "x").data == {"name": "a", "answers": answers}


@pytest.mark.parametrize(("text", "wanted"), [
    ("name: a # mine\nanswers: # old\n  # inside\n  m: x\n\n# keep\nnotes: y\n", 'name: a # mine\n{new}\n# keep\nnotes: y\n'),
    ("notes: |\n  answers:\n  observed: x\nanswers: {}\n", "notes: |\n  answers:\n  observed: x\n{new}"),
    ('notes: "x\nanswers: y"\nname: b\n', 'notes: "x\nanswers: y"\nname: b\n{new}'),
    ("answers: {a: 1,\nb: 2}\nname: x\n", "{new}name: x\n"),
    ('"answers": {a: 1}\nname: x', "{new}name: x"),
    ("name: a\n...\n", "name: a\n{new}...\n"),
    ("name: a", "name: a\n{new}"),
    ("# only a comment\n", "# only a comment\n{new}"),
    ("", "{new}")])
def test_only_the_named_block_changes(text: str, wanted: str) -> None:
    assert replace_blocks(text, {"answers": {"mixer": "spoon"}}) == wanted.replace("{new}", "answers:\n  mixer: spoon\n")


def test_line_ends_stay_and_an_empty_block_goes() -> None:
    assert replace_blocks("name: a\r\ntried:\r\n- x\r\nnotes: b\r\n", {"tried": ["new thing"]}) == "name: a\r\ntried:\r\n  - new thing\r\nnotes: b\r\n"
    assert replace_blocks("name: a\ntried:\n- x\n# c\n- y\n# kept\nnotes: b\n", {"tried": []}) == "name: a\n# kept\nnotes: b\n"


def test_a_record_in_braces_is_written_anew() -> None:
    assert load(replace_blocks("{name: aa, answers: {}}\n", {"answers": {"mixer": "spoon"}}), "x").data == {"name": "aa", "answers": {"mixer": "spoon"}}


def test_saving_keeps_rights_and_links_and_leaves_nothing_behind(tmp_path: Path) -> None:
    real, link = tmp_path / "real.yaml", tmp_path / "link.yaml"
    real.write_text("old")
    real.chmod(0o640)
    link.symlink_to(real)
    save(link, "new\r\n")
    assert real.read_bytes() == b"new\r\n" and link.is_symlink()
    assert stat.S_IMODE(real.stat().st_mode) == 0o640
    assert sorted(p.name for p in tmp_path.iterdir()) == ["link.yaml", "real.yaml"]


def test_a_failed_save_keeps_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.yaml"
    path.write_text("old")

    def fail(*_: object) -> None:
        raise OSError("disk full")

    monkeypatch.setattr(os, "replace", fail)
    with pytest.raises(OSError, match="disk full"):
        save(path, "new")
    assert path.read_text() == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["a.yaml"]
