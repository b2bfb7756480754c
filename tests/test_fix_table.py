"""The whole table of fixes and sheets has no fault; and the check itself finds faults where there are some."""

from __future__ import annotations

from advisor.batch.reading import record_batch
from advisor.fixes.remake import remake
from advisor.knowledge.load import Knowledge
from advisor.outcome import diagnose
from tests.bench.fix_table import _fix, _record, batches, check

LINES = [{"name": "Aqua", "amount": 72}, {"name": "Stearic Acid", "amount": 7}, {"name": "Olea Europaea Fruit Oil", "amount": 20}, {"name": "Phenoxyethanol", "amount": 1}]


def test_no_fault_in_the_whole_table(knowledge: Knowledge) -> None:
    """Over all card examples and cases: totals, grams, law, balance, refusals, and sheets as proved as their list."""
    table = check(batches(knowledge), knowledge)
    assert table.faults == []
    assert table.seen["fixes with weights"] > 200 and table.seen["sheets with weights"] > 100 and table.seen["jars"] > 100 and table.seen["refused"] >= 2
    assert table.seen["of them with a proved fix"] >= 0.92 * table.seen["causes with a formula remedy"] > 0.92 * 50


def test_the_check_finds_faults(knowledge: Knowledge) -> None:
    short = record_batch({"formula": {"unit": "percent", "complete": False, "lines": [{"name": "Aqua", "amount": 90}, {"name": "Olea Europaea Fruit Oil", "amount": 9}]}})
    assert any("total" in text for text in _record(short, knowledge))
    much = record_batch({"formula": {"unit": "percent", "lines": [{"name": "Aqua", "amount": 97}, {"name": "Phenoxyethanol", "amount": 3}]}})
    assert any("law" in text for text in _record(much, knowledge))
    batch = record_batch({"kind": "oil-in-water", "batch_size": "200 g", "formula": {"unit": "percent", "lines": LINES}, "observed": [{"what": "oil on top", "when": "next day"}]})
    fix = next(f for f in diagnose(batch, knowledge).fixes if f.changes)
    table = check([], knowledge)
    assert list(_fix(fix, batch, knowledge, table)) == []
    wrong = fix._replace(changes=(fix.changes[0]._replace(to_g=(fix.changes[0].to_g or 0) + 1), *fix.changes[1:]))
    assert any("is not" in text for text in _fix(wrong, batch, knowledge, table))
    assert any("balance" in text for text in _fix(fix._replace(changes=fix.changes[:1]), batch, knowledge, table))


def test_a_size_asked_for_is_not_overruled_by_a_fix(knowledge: Knowledge) -> None:
    """A fix that makes a larger batch is no answer to a size that was given."""
    example = next(e for e in knowledge.causes["blender-head-not-covered"].examples if e.leads)
    batch = record_batch({"format": 1, **example.batch})
    larger = next(f for f in diagnose(batch, knowledge).fixes if f.record is not None and f.record.batch_size != batch.batch_size)
    assert larger.proved
    sheet = remake(batch, knowledge, size=60)
    assert sheet.record.batch_size == 60 and larger.id not in [f.id for f in sheet.fixes]
