"""The compiled conditions that are kept from run to run are those that would be worked out anew, or they are worked out anew."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from advisor.consultation import RuleBase
from advisor.engine.compiled import Compiled, compiled
from advisor.knowledge.load import Knowledge, load_knowledge


def kept(folder: Path) -> Path:
    return next((folder / "emulsion-advisor").glob("clauses-*"))


@pytest.fixture
def fresh(knowledge: Knowledge) -> Compiled:
    return compiled(knowledge.findings, knowledge.causes)


def test_kept_as_worked_out(knowledge: Knowledge, fresh: Compiled, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    assert compiled(knowledge.findings, knowledge.causes, "a") == fresh
    text = kept(tmp_path).read_text(encoding="utf-8")
    assert compiled({}, {}, "a") == fresh                                   # it is read: nothing was handed over
    assert compiled({}, {}, "b") == compiled({}, {}) != fresh                   # other files, other conditions
    assert compiled(knowledge.findings, knowledge.causes, "a") == fresh     # and back
    for damaged in ("", text[:-1], "[]", text[8:], text[:8], text.replace(text[9:40], "", 1), text.replace("+", "-", 1)):
        kept(tmp_path).write_text(damaged, encoding="utf-8")
        assert compiled(knowledge.findings, knowledge.causes, "a") == fresh
        kept(tmp_path).write_text(text, encoding="utf-8")
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "file"))            # no folder can be made there
    assert compiled(knowledge.findings, knowledge.causes, "a") == fresh


def test_changed_knowledge_is_compiled_anew(knowledge: Knowledge, fresh: Compiled, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    loaded = load_knowledge()
    assert (RuleBase(loaded).table, RuleBase(loaded).atoms) == (fresh.table, fresh.atoms)
    one = dict([next(iter(loaded.causes.items()))])
    assert len(RuleBase(replace(loaded, causes=one, index={})).table.literals) < len(fresh.table.literals)
    own = tmp_path / "own"
    own.mkdir()
    (own / "strengths.yaml").write_text("format: 1\nstrengths: {lone-fatty-acid/no-alkali: slight}\n", encoding="utf-8")
    assert "checksum" not in load_knowledge(own=own).index
