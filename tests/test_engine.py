"""The engine concludes what the plain matcher defines, also far beyond today's number of rules."""

from __future__ import annotations

import random

import pytest

from advisor.engine import matcher
from advisor.engine.clauses import Clause, table_of

durable = pytest.importorskip("advisor.engine.durable", reason="durable_rules cannot be installed on Python 3.13 and later")


def random_clauses(rng: random.Random, count: int, words: int) -> list[Clause]:
    """Chained clauses: conclusions only of later levels, some literals shared by very many clauses."""
    out = []
    for index in range(count):
        level = index * 4 // count
        pool = [f"+w{rng.randrange(words)}" for _ in range(3)] + (["+common"] if rng.random() < 0.3 else [])
        pool += [f"+d{level - 1}.{rng.randrange(20)}"] if level and rng.random() < 0.5 else []
        literals = tuple(sorted(set(rng.sample(pool, rng.randint(1, min(3, len(pool)))))))
        concludes = f"+d{level}.{rng.randrange(20)}" if rng.random() < 0.5 else ""
        out.append(Clause(f"r{index}", literals, concludes))
    return out


@pytest.mark.parametrize("seed", range(60))
def test_engine_agrees_with_the_matcher(seed: int) -> None:
    agree(seed)


@pytest.mark.long
def test_engine_agrees_with_the_matcher_on_ten_thousand_rule_sets() -> None:
    """Some minutes: pytest -m long."""
    fired = sum(agree(seed) for seed in range(1000, 11_000))
    assert fired > 100_000, "the sets must be such that rules fire"


def agree(seed: int) -> int:
    """One random rule set on three sets of facts; the number of firings, on which both agree."""
    rng = random.Random(seed)
    clauses = random_clauses(rng, rng.randint(1, 120), rng.randint(2, 60))
    table, fired = table_of(clauses), 0
    for _ in range(3):
        facts = {f"+w{i}" for i in range(60) if rng.random() < 0.4} | ({"+common"} if rng.random() < 0.5 else set())
        wanted = matcher.run(clauses, facts)
        assert durable.run(clauses, facts) == wanted, f"seed {seed}"
        may = table.may_fire(facts)
        assert matcher.run(may, facts) == durable.run(may, facts) == wanted, f"seed {seed}: a clause is missing that could fire"
        fired += len(wanted)
    return fired


def test_ten_times_the_rules_with_one_fact_in_hundreds_of_conditions() -> None:
    rng = random.Random(7)
    clauses = random_clauses(rng, 12_000, 1500)
    facts = {f"+w{i}" for i in range(1500) if rng.random() < 0.5} | {"+common"}
    fired = matcher.run(clauses, facts)
    assert len(fired) > 1000
    assert durable.run(clauses, facts) == durable.run(table_of(clauses).may_fire(facts), facts) == fired
    assert durable.run(clauses, []) == frozenset()
