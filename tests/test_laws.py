"""The laws of weighing and of the road: order, groups, monotone evidence, scale, small changes."""

from __future__ import annotations

import random
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.batch.model import Batch, Formula
from advisor.batch.reading import read_batch
from advisor.certainty import Weight, certainty, total
from advisor.consultation import RuleBase
from advisor.diagnosis import examine, rank
from advisor.facts import Degree, ramp
from advisor.knowledge.load import Knowledge
from advisor.knowledge.records import Atom
from advisor.situation import assess

CASES = sorted((Path(__file__).parent.parent / "cases").glob("*.yaml"))
weights = st.lists(st.builds(Weight, st.sampled_from("abcd"), st.floats(-4, 4)), max_size=12)


@given(weights, st.randoms())
def test_order_never_matters(items: list[Weight], rng: random.Random) -> None:
    shuffled = list(items)
    rng.shuffle(shuffled)
    assert total(items) == pytest.approx(total(shuffled), abs=1e-12)


@given(weights, st.floats(0, 4))
def test_more_evidence_for_never_lowers(items: list[Weight], value: float) -> None:
    assert total([*items, Weight("a", value)]) >= total(items) - 1e-12


@given(st.floats(0, 4), st.floats(0, 4))
def test_one_observation_counts_once(a: float, b: float) -> None:
    assert total([Weight("g", a), Weight("g", b)]) == pytest.approx(max(a, b))


@given(st.floats(-50, 50))
def test_certainty_is_a_probability(x: float) -> None:
    assert 0.0 <= certainty(x) <= 1.0
    assert certainty(x) + certainty(-x) == pytest.approx(1.0)


@given(st.floats(-100, 100), st.floats(0, 0.01))
def test_ramps_are_no_cliffs(x: float, step: float) -> None:
    atom = Atom("quantity", "q", (), (10.0, 20.0), "above")
    assert abs(ramp(atom, x + step) - ramp(atom, x)) <= step / 10 + 1e-9
    assert Degree(ramp(atom, x), 1 - ramp(atom, x)).yes <= 1


def certainties(batch: Batch, knowledge: Knowledge) -> dict[str, float]:
    return {r.id: r.certainty for r in examine(batch, knowledge).ranked}


@pytest.mark.parametrize("path", CASES, ids=lambda p: p.stem)
def test_order_of_lines_and_a_thousandth_change_nothing_much(path: Path, knowledge: Knowledge) -> None:
    batch = read_batch(path)
    before = certainties(batch, knowledge)
    turned = batch._replace(formula=batch.formula._replace(lines=tuple(reversed(batch.formula.lines))))
    assert certainties(turned, knowledge) == pytest.approx(before, abs=1e-9)
    for index, line in enumerate(batch.formula.lines):
        if line.amount is None:
            continue
        nudged = replace(line, amount=(line.amount[0] * 1.001, line.amount[1] * 1.001))
        lines = (*batch.formula.lines[:index], nudged, *batch.formula.lines[index + 1:])
        after = certainties(batch._replace(formula=batch.formula._replace(lines=lines)), knowledge)
        assert max(abs(after[c] - before[c]) for c in before) <= 0.02


@pytest.mark.parametrize("path", CASES, ids=lambda p: p.stem)
def test_both_engines_give_the_same_outcome(path: Path, knowledge: Knowledge) -> None:
    situation = assess(read_batch(path), knowledge)
    plain = rank(situation, RuleBase(knowledge, plain=True).consult(situation), knowledge)
    used = rank(situation, RuleBase(knowledge).consult(situation), knowledge)
    assert [(r.id, r.log_odds, r.reasons, r.doubts) for r in plain.ranked] == [(r.id, r.log_odds, r.reasons, r.doubts) for r in used.ranked]


def test_nothing_known_accuses_nothing(knowledge: Knowledge) -> None:
    examination = examine(Batch(formula=Formula()), knowledge)
    assert [r.id for r in examination.ranked if r.standing in ("settled", "likely")] == []
