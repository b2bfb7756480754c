"""No card can rot unseen: its form, its words, and its own examples."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from advisor.batch.reading import record_batch
from advisor.contrasts import contrasts_of, failing, worked_out
from advisor.diagnosis import LIKELY, SETTLED, examine
from advisor.errors import InputError
from advisor.knowledge.audit import audit
from advisor.knowledge.files import data_folder, read_documents, read_files, snapshot_text
from advisor.knowledge.load import Knowledge, load_knowledge
from advisor.knowledge.records import Example
from advisor.knowledge.snapshot import from_text

EXAMPLES = [(c.id, n, e) for c in load_knowledge().causes.values() for n, e in enumerate(c.examples)]


def test_the_rules_are_clean() -> None:
    cards, problems = audit()
    assert cards > 20
    assert [str(p) for p in problems] == []


@pytest.mark.parametrize(("cause", "number", "example"), EXAMPLES, ids=[f"{c}-{n}" for c, n, _ in EXAMPLES])
def test_example(cause: str, number: int, example: Example, knowledge: Knowledge) -> None:
    """Where it must lead, it does; where it must not, it is neither likely nor settled."""
    examination = examine(record_batch({"format": 1, **example.batch}), knowledge)
    shown = [(r.id, round(r.certainty, 2)) for r in examination.ranked[:4]]
    if example.leads:
        assert examination.leader is not None and examination.leader.id == cause, shown
    else:
        standing = next(r.standing for r in examination.ranked if r.id == cause)
        assert standing not in (SETTLED, LIKELY), shown


def test_the_snapshot_equals_a_fresh_load(tmp_path: Path) -> None:
    folder = data_folder("rules")
    _, text = snapshot_text(folder)
    fresh = {path: document.data for path, document in read_documents(folder).items()}
    assert from_text(text) == json.loads(json.dumps(fresh))
    assert {f.path: f.data for f in read_files(folder)[0]} == fresh
    for cut in (text[: len(text) // 2], text[:-1], "", "[]\nend", text.replace("\n", "", 1)):
        with pytest.raises((LookupError, ValueError, TypeError, AttributeError)):
            from_text(cut)


def test_no_card_moves_much_with_a_thousandth(knowledge: Knowledge) -> None:
    """Ramps, not cliffs: a change of any amount by a thousandth of itself moves no certainty by more than 0.02."""
    for cause in knowledge.causes.values():
        for example in cause.examples:
            batch = record_batch({"format": 1, **example.batch})
            before = {r.id: r.certainty for r in examine(batch, knowledge).ranked}
            for index, line in enumerate(batch.formula.lines):
                if line.amount is None:
                    continue
                lines = list(batch.formula.lines)
                lines[index] = replace(line, amount=(line.amount[0] * 1.001, line.amount[1] * 1.001))
                after = examine(batch._replace(formula=batch.formula._replace(lines=tuple(lines))), knowledge)
                assert max(abs(r.certainty - before[r.id]) for r in after.ranked) <= 0.02, (cause.id, example.says, line.name)


def test_every_contrast_holds_and_names_an_example(knowledge: Knowledge) -> None:
    contrasts = contrasts_of(knowledge)
    assert len(contrasts) > 500
    assert failing(worked_out(contrasts, knowledge), knowledge) == []


def test_a_contrast_that_does_not_hold_or_names_nothing_is_found(tmp_path: Path, knowledge: Knowledge) -> None:
    text = "format: 1\ncontrasts:\n  - {cause: insufficient-shear, example: 1, change: {answers: {lens-test: even}}, makes: surer}\n"
    (tmp_path / "a.yaml").write_text(text, encoding="utf-8")
    [problem] = failing(worked_out(contrasts_of(knowledge, tmp_path), knowledge), knowledge)
    assert problem.check == "contrast" and problem.place.line == 3
    for good, bad in (("example: 1", "example: 9"), ("insufficient-shear", "no-such-card"), ("makes: surer", "makes: certain"), ("answers:", "answer:")):
        (tmp_path / "a.yaml").write_text(text.replace(good, bad), encoding="utf-8")
        with pytest.raises(InputError) as raised:
            contrasts_of(knowledge, tmp_path)
        assert all(p.place.line == 3 and p.mend for p in raised.value.problems)
