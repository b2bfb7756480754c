"""What accounts told of a kind of trouble: a shift of the prior that is a proper share, small, and none where nothing was seen."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from advisor.base_rates import shift, told
from advisor.knowledge.load import Knowledge
from advisor.knowledge.records import BaseRates


def having(knowledge: Knowledge, counts: dict[str, dict[str, float]], pull: float = 10.0) -> Knowledge:
    return replace(knowledge, base_rates=BaseRates(1.0, pull, counts), index={})


def test_the_shares_of_all_cards_sum_to_one(knowledge: Knowledge) -> None:
    """With weight 1 the shift is the logarithm of the share against an even one, so the shares come back out of it."""
    k = having(knowledge, {"thin": {"no-emulsifier": 3.0, "air-entrained": 1.5}, "gas": {"microbial-growth": 2.0}})
    for families in (["thin"], ["gas"], ["thin", "gas"], ["whitening"]):
        assert math.fsum(math.exp(shift(c, families, k)) / len(k.causes) for c in k.causes.values()) == pytest.approx(1.0)


def test_worked_by_hand(knowledge: Knowledge) -> None:
    """Two causes of one card each, six and two accounts, nothing pulled: (6 of 8) and (2 of 8) where two cards are even at a half."""
    two = {key: knowledge.causes[key] for key in ("over-shear", "no-emulsifier")}
    k = replace(having(knowledge, {"thin": {"over-shear": 6.0, "no-emulsifier": 2.0}}, pull=1e-9), causes=two)
    assert shift(two["over-shear"], ["thin"], k) == pytest.approx(math.log(1.5))
    assert shift(two["no-emulsifier"], ["thin"], k) == pytest.approx(math.log(0.5))
    assert told(two["over-shear"], ["thin"], k) == (6.0, 8.0)


def test_nothing_seen_or_nothing_counted_shifts_nothing(knowledge: Knowledge) -> None:
    cause = knowledge.causes["no-emulsifier"]
    assert shift(cause, [], knowledge) == 0.0
    assert shift(cause, ["separated"], having(knowledge, {})) == 0.0


def test_it_is_less_than_strong_evidence(knowledge: Knowledge) -> None:
    families = {s.family for s in knowledge.symptoms.values()}
    most = max(abs(shift(c, [f], knowledge)) for c in knowledge.causes.values() for f in families)
    assert 0.3 < most < knowledge.weights.evidence["strong"]
