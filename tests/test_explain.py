"""Every conclusion can be questioned, and every explanation, replayed, gives what it claims."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from advisor.batch.reading import read_batch, record_batch
from advisor.cli import main
from advisor.diagnosis import examine
from advisor.errors import InputError
from advisor.explain import Step, explain
from advisor.knowledge.load import Knowledge
from advisor.screens.explaining import explanation_blocks, explanation_data
from advisor.supposing import applied, read_suppose

CASES = sorted((Path(__file__).parent.parent / "cases").glob("*.yaml"))


def leaves(step: Step) -> list[Step]:
    return [x for s in step.rests_on for x in leaves(s)] if step.rests_on else [step]


@pytest.mark.parametrize("path", CASES, ids=lambda p: p.stem)
def test_the_chain_goes_down_to_what_the_maker_gave(path: Path, knowledge: Knowledge) -> None:
    found = explain(read_batch(str(path)), knowledge, quick=True)
    assert found.how and all(s.kind == "evidence" and s.sources for s in found.how)
    kinds = {x.kind for s in found.how for x in leaves(s)}
    assert kinds <= {"said", "formula", "number", "evidence", "finding"} and kinds & {"said", "formula", "number"}
    assert found.verdict.title.rstrip(".") in found.sentence


@pytest.mark.parametrize("path", CASES, ids=lambda p: p.stem)
def test_what_would_change_it_does_change_it(path: Path, knowledge: Knowledge) -> None:
    batch = read_batch(str(path))
    before = examine(batch, knowledge)
    for ranked in [r for r in before.ranked if r.explains][:3]:
        found = explain(batch, knowledge, ranked.id)
        if found.change is None:
            continue
        after = examine(applied(batch, found.change.changes, knowledge), knowledge)
        assert after.ranked[0].id == found.change.verdict.cause != before.ranked[0].id
        if ranked.id != before.ranked[0].id:
            assert found.change.verdict.cause == ranked.id


def test_some_case_can_be_turned(knowledge: Knowledge) -> None:
    """The search itself finds something: not every verdict is beyond change."""
    assert any(explain(read_batch(str(p)), knowledge).change for p in CASES)


def test_why_not_tells_met_failed_and_unknown(knowledge: Knowledge) -> None:
    every = [w for p in CASES for w in explain(read_batch(str(p)), knowledge, quick=True).why_not]
    assert len(every) >= len(CASES) and all(w.sentence and w.conditions for w in every)
    states = {c.state for w in every for c in w.conditions}
    assert states == {"met", "failed", "unknown"}
    assert all(c.lacks for w in every for c in w.conditions if c.state == "unknown")


def test_every_cause_answers(knowledge: Knowledge) -> None:
    batch = read_batch(str(CASES[0]))
    for name in knowledge.causes:
        blocks = explanation_blocks(explain(batch, knowledge, name, quick=True), knowledge)
        assert all(line.strip() for b in blocks for line in b.lines)


def test_what_if_shows_both(knowledge: Knowledge) -> None:
    batch = read_batch(str(next(p for p in CASES if "heel" in p.stem)))
    wax = read_suppose("Cetearyl Alcohol (and) Polysorbate 60=6", batch, knowledge)
    found = explain(batch, knowledge, what_if=[wax], quick=True)
    assert found.then and found.then.cause != found.verdict.cause
    after = applied(batch, [wax], knowledge)
    assert examine(after, knowledge).ranked[0].id == found.then.cause
    assert examine(batch, knowledge).ranked[0].id == found.verdict.cause, "the record itself is untouched"


@pytest.mark.parametrize("text", ["mixer", "mixer=hammer", "mixr=spoon", "oil-temperature=999", "oil-temperature=warm", "water=-3", "=3"])
def test_a_wrong_supposition_is_told(text: str, knowledge: Knowledge) -> None:
    with pytest.raises(InputError):
        read_suppose(text, read_batch(str(CASES[0])), knowledge)


def test_the_command(knowledge: Knowledge) -> None:
    case = str(CASES[0])
    done = CliRunner().invoke(main, ["explain", case, "--json", "--what-if", "mixer=spoon"], standalone_mode=False)
    data: dict[str, Any] = json.loads(done.output)
    assert {"format", "batch", "verdict", "sentence", "how", "why_not", "change", "what_if"} <= data.keys() and data["what_if"]["after"]["id"]
    assert data == json.loads(json.dumps(explanation_data(explain(read_batch(case), knowledge, what_if=[read_suppose("mixer=spoon", read_batch(case), knowledge)]))))
    wrong = CliRunner().invoke(main, ["explain", case, "--cause", "no-emulsifer"])
    assert wrong.exit_code == 2


def test_what_a_verdict_rests_on_is_counted(knowledge: Knowledge) -> None:
    batch = read_batch(str(CASES[0]))
    found = explain(batch, knowledge, quick=True).grounds
    leader = examine(batch, knowledge).leader
    assert found and leader
    spoken = {"common practice", "from memory", "derived"}
    published = sum(bool(set(r.source) - spoken) for r in (*leader.reasons, *leader.doubts))
    assert found.rules.total >= len(leader.reasons) + len(leader.doubts) > 0
    assert 0 < published <= found.rules.published <= found.rules.total
    assert found.figures.total > found.figures.memory >= 0


def test_a_number_that_was_not_told_is_told_as_such(knowledge: Knowledge) -> None:
    record: dict[str, Any] = {"kind": "oil-in-water", "observed": [{"what": "it separated", "when": "next day"}],
                              "formula": {"lines": [{"name": n} for n in ("Water", "Sunflower Oil", "Glyceryl Stearate Citrate")]}}
    silent, told = (explain(record_batch({**record, **more}), knowledge, "ph-breaks-emulsifier") for more in ({}, {"measured": {"ph": 5.5}}))
    says = "Against it: Neither an acid nor an alkali for the pH was listed."
    below = [leaf.says for s in silent.how if s.says == says for leaf in leaves(s)]
    assert f"Not told: {knowledge.quantities['ph'].title}" in below
    assert says not in [s.says for s in told.how]


def test_what_is_left_out_of_other_causes_is_told_by_their_own_page(knowledge: Knowledge) -> None:
    record = {"format": 1, "observed": ["it separated"], "formula": {"lines": [{"name": n} for n in ("water", "olive oil", "beeswax", "lavender essential oil")]}}
    batch = record_batch(record)
    found = explain(batch, knowledge, quick=True)
    short, long = ([b for b in explanation_blocks(found, knowledge, whole=whole) if b.heading.startswith("Why not")] for whole in (False, True))
    assert sum(len(b.lines) for b in short) < sum(len(b.lines) for b in long) / 2
    for brief, full, other in zip(short, long, found.why_not, strict=True):
        assert [x for x in full.lines if ", met: " in x] == [x for x in brief.lines if ", met: " in x], "all that is met stays"
        if len(brief.lines) < len(full.lines):
            assert f"add --cause {other.cause} " in brief.lines[-1]
        alone = explain(batch, knowledge, other.cause, quick=True).why_not
        assert [c.says for c in alone[0].conditions] == [c.says for c in other.conditions]


def test_what_a_number_came_from_is_told_in_words(knowledge: Knowledge) -> None:
    record = {"format": 1, "scale_reads_to": "3 g", "batch_size": "500 g", "observed": ["it is too thin"], "wanted": "lotion", "answers": {"each-time-different": "yes"}, "formula": {"unit": "g", "lines": [
        {"name": n, "amount": a} for n, a in (("Water", 435), ("Behentrimonium methosulfate and cetearyl alcohol", 15), ("Cetyl alcohol", 10), ("Argan oil", 15), ("Glycerin", 15), ("Lemon juice", 5), ("Preservative", 5))]}}
    found = explain(record_batch(record), knowledge, "measured-by-volume-or-scale-error", quick=True)
    told = "\n".join(line for b in explanation_blocks(found, knowledge) for line in b.lines if ", from " in line)
    assert "scale reads to" in told and "scale_reads_to" not in told and "-rung" not in told


def test_a_finding_is_unfolded_once(knowledge: Knowledge) -> None:
    record = {"format": 1, "observed": ["it separated"], "formula": {"lines": [{"name": n} for n in ("water", "olive oil", "beeswax", "lavender essential oil")]}}
    how = next(b for b in explanation_blocks(explain(record_batch(record), knowledge, quick=True), knowledge) if b.heading == "How this was concluded")
    deep = [x for x in how.lines if x.startswith("and that from")]
    assert deep and len(deep) == len(set(deep))
