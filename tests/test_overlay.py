"""A maker's own folder: new cards, jar names with the supplier's figures, changed strengths; and clear errors."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.batch.reading import record_batch
from advisor.errors import InputError
from advisor.knowledge.audit import audit
from advisor.knowledge.load import load_knowledge
from advisor.outcome import diagnose
from advisor.screens.cards import EMPTY_CARD


def test_own_card_jar_and_strength(tmp_path: Path) -> None:
    (tmp_path / "causes").mkdir()
    (tmp_path / "causes" / "mine.yaml").write_text(EMPTY_CARD, encoding="utf-8")
    (tmp_path / "shelf.yaml").write_text(
        "format: 1\nshelf:\n  - {jar: Harbour wax no. 3, inci: Cetearyl Alcohol (and) Polysorbate 60, level: {from: 4, to: 6, source: from memory}}\n", encoding="utf-8")
    (tmp_path / "strengths.yaml").write_text("format: 1\nstrengths: {lone-fatty-acid/no-alkali: slight}\n", encoding="utf-8")
    knowledge = load_knowledge(own=tmp_path)
    assert "my-cause" in knowledge.causes
    level = knowledge.ingredients["Cetearyl Alcohol (and) Polysorbate 60"].level
    assert level is not None and level.low == 4
    assert {e.id: e.strength for e in knowledge.causes["lone-fatty-acid"].evidence}["no-alkali"] == "slight"
    batch = record_batch({"formula": {"lines": [{"name": "Water", "amount": 74}, {"name": "harbour wax no 3", "amount": 6}, {"name": "Olive oil", "amount": 20}]}})
    outcome = diagnose(batch, knowledge)
    assert outcome.examination.situation.measures.class_state("nonionic-wax") == "yes"
    assert any(r.about == "your own rules" for r in outcome.remarks)
    assert audit(None, tmp_path)[1] == []


@pytest.mark.parametrize(("file", "text", "word"), [
    ("shelf.yaml", "format: 1\nshelf:\n  - {jar: x, inci: Cetearyl Alcohol (and) Polysorbate 66}\n", "Did you mean"),
    ("strengths.yaml", "format: 1\nstrengths: {lone-fatty-acid/no-alkalli: slight}\n", "Did you mean"),
    ("strengths.yaml", "format: 1\nstrengths: {lone-fatty-acid/no-alkali: huge}\n", "not one of the words"),
    ("causes/x.yaml", "format: 1\nid: x\n", "missing"),
    ("weights.yaml", "format: 1\n", "missing"),
])
def test_what_one_can_get_wrong(tmp_path: Path, file: str, text: str, word: str) -> None:
    path = tmp_path / file
    path.parent.mkdir(exist_ok=True)
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load_knowledge(own=tmp_path)
    assert word in str(caught.value)
    assert all(p.place.line > 0 and p.mend for p in caught.value.problems)


def test_a_card_a_record_and_a_source_of_ones_own_stand_in_place_of_the_built_in(tmp_path: Path) -> None:
    built = load_knowledge()
    files = {
        "causes/mine.yaml": EMPTY_CARD.replace("id: my-cause", "id: lone-fatty-acid"),
        "ingredients/mine.yaml": "format: 1\ningredients:\n  - {inci: Glycerin, names: [harbour glycerin], is: [humectant], phase: water, state: liquid, purpose: mine, level: {from: 1, to: 2, source: my_book}, sources: [my_book]}\n",
        "sources.yaml": "format: 1\nsources:\n  my_book: {kind: book, title: A book of my own}\n",
        "shelf.yaml": "format: 1\nshelf:\n  - {jar: harbour pair, inci: Polysorbate 60, hlb: {is: 14.5, source: my_book}}\n",
    }
    for name, text in files.items():
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text(text, encoding="utf-8")
    own = load_knowledge(own=tmp_path)
    assert len(own.causes) == len(built.causes) and own.causes["lone-fatty-acid"].title != built.causes["lone-fatty-acid"].title
    assert len(own.ingredients) == len(built.ingredients) and own.ingredients["Glycerin"].purpose == "mine"
    assert own.sources["my_book"].title == "A book of my own" and set(own.sources) > set(built.sources)
    pair = own.ingredients[own.names["harbour pair"]].emulsifier
    assert pair is not None and pair.hlb is not None and pair.hlb.best == 14.5
    assert {"your card lone-fatty-acid stands in place of the built-in one", "your record Glycerin stands in place of the built-in one", "Polysorbate 60: your supplier's HLB is used"} <= set(own.overrides)


def test_a_folder_that_is_not_there() -> None:
    with pytest.raises(InputError, match="not there"):
        load_knowledge(own="/nowhere/at/all")
