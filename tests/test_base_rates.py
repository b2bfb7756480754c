"""What accounts told of a kind of trouble: a shift of the prior that is a proper share, small, and none where nothing was seen."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from advisor.base_rates import leaning, shift, telling, told, words_told
from advisor.batch.model import Batch, Formula, Line, Seen
from advisor.diagnosis import examine
from advisor.knowledge.load import Knowledge
from advisor.knowledge.records import BaseRates, WordRates


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


def with_words(knowledge: Knowledge, counts: dict[str, dict[str, int]], pull: float = 1e-9, weight: float = 1.0) -> Knowledge:
    """Two causes that accounts told of alike often, and words counted in them."""
    two = {key: knowledge.causes[key] for key in ("over-shear", "no-emulsifier")}
    rates = BaseRates(0.0, 1.0, {"thin": {"over-shear": 5.0, "no-emulsifier": 5.0}}, WordRates(weight, pull, counts))
    return replace(knowledge, base_rates=rates, causes=two, index={})


def test_words_worked_by_hand(knowledge: Knowledge) -> None:
    """Shares of a half each: 3 of 4 and 4 of 5 accounts where 2 and 2.5 are due are ln(1.5) and ln(1.6); with two added to both, ln(5/4)."""
    k = with_words(knowledge, {"grain": {"over-shear": 3, "no-emulsifier": 1}, "whip": {"over-shear": 4, "no-emulsifier": 1}})
    assert leaning(["grain"], k)["over-shear"] == pytest.approx(math.log(1.5))
    assert leaning(["grain", "whip"], k)["over-shear"] == pytest.approx(math.log(1.5 * 1.6))
    assert leaning(["grain"], k)["no-emulsifier"] == 0.0          # a word speaks for a cause or says nothing
    assert leaning([], k) == {"over-shear": 0.0, "no-emulsifier": 0.0}
    assert telling(k.causes["over-shear"], ["grain", "whip"], k) == {"whip": (4, 5), "grain": (3, 4)}
    assert telling(k.causes["no-emulsifier"], ["grain", "whip"], k) == {}
    assert leaning(["grain"], with_words(knowledge, k.base_rates.words.counts, pull=2.0))["over-shear"] == pytest.approx(math.log(1.25))
    assert leaning(["grain"], with_words(knowledge, k.base_rates.words.counts, weight=0.5))["over-shear"] == pytest.approx(math.log(1.5) / 2)


def test_a_finer_cause_has_what_the_one_it_is_part_of_has(knowledge: Knowledge) -> None:
    assert set(leaning(["anhydrou"], knowledge)) == {c.part_of or c.id for c in knowledge.causes.values()}


def test_words_of_what_was_told_not_of_the_formula(knowledge: Knowledge) -> None:
    batch = Batch(complaint="It set with grains.", observed=(Seen("gritty and Grainy", "weeks"),), formula=Formula((Line("Whipped Butter"),)))
    k = replace(knowledge, base_rates=BaseRates(words=WordRates(counts={"grain": {}, "week": {}, "whip": {}, "butter": {}, "jar": {}})))
    assert words_told(batch, k) == {"grain": "grainy", "week": "weeks"}


def test_words_order_causes_and_make_none_surer(knowledge: Knowledge) -> None:
    """Whatever words are counted for a cause, its certainty stays, and none comes before one of a better standing."""
    batch = Batch(complaint="It is grainy.", kind="anhydrous", formula=Formula((Line("Shea Butter"), Line("Sodium Bicarbonate"))))
    plain = examine(batch, replace(knowledge, base_rates=knowledge.base_rates._replace(words=WordRates()), index={}))
    standings = [r.standing for r in plain.ranked]
    assert standings.count("likely") > 1 and standings.count("possible") > 1
    for at in (standings.count("likely") - 1, standings.index("ruled out") - 1):       # the last of each standing
        key = plain.ranked[at].cause.part_of or plain.ranked[at].id
        words = WordRates(1.0, 1.0, {"grain": {key: 1000}})
        found = examine(batch, replace(knowledge, base_rates=knowledge.base_rates._replace(words=words), index={}))
        assert {r.id: r.certainty for r in found.ranked} == {r.id: r.certainty for r in plain.ranked}
        assert [r.standing for r in found.ranked] == standings
        first = found.ranked[standings.index(standings[at])].cause
        assert (first.part_of or first.id) == key


def test_where_nothing_was_wrong_no_word_is_counted(knowledge: Knowledge) -> None:
    assert examine(Batch(complaint="Smooth and stable after three months, no grains.", kind="anhydrous"), knowledge).situation.words == {}
