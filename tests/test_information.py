"""Entropy and information gain against worked figures, and the chance that asking makes the advice right.

The figures are those of the reference collection diagnosis-methods (entropy_and_information_gain, choosing_the_next_question):
the first from the published fourteen rows on playing outdoors (Quinlan 1986), recomputed; the others constructed and checked by brute force.
"""

from __future__ import annotations

import math
from collections import Counter
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.information import advice_gain, entropy, information_gain
from advisor.questions import _chances

# outlook, temperature, humidity, windy, play
ROWS = [r.split() for r in """sunny hot high no n; sunny hot high yes n; overcast hot high no y; rainy mild high no y; rainy cool normal no y;
rainy cool normal yes n; overcast cool normal yes y; sunny mild high no n; sunny cool normal no y; rainy mild normal no y; sunny mild normal yes y;
overcast mild high yes y; overcast hot normal no y; rainy mild high yes n""".replace("\n", " ").split("; ")]
PRIOR = {"c1": 0.4, "c2": 0.3, "c3": 0.2, "c4": 0.1}
P_YES = {"q1": (0.9, 0.1, 0.5, 0.5), "q2": (0.5, 0.5, 0.95, 0.05), "q3": (0.95, 0.9, 0.1, 0.05)}
GAINS = {"q1": (0.36708152330772914, 0.2569570663154104), "q2": (0.20823008434610624, 0.14576105904227435), "q3": (0.5320398471785477, 0.37242789302498336)}


def column(index: int) -> tuple[dict[str, float], dict[str, dict[object, float]]]:
    whole = Counter(r[4] for r in ROWS)
    both = Counter((r[4], r[index]) for r in ROWS)
    return dict(whole), {c: {a: n / whole[c] for (k, a), n in both.items() if k == c} for c in whole}


def noisy(question: str) -> dict[str, dict[object, float]]:
    return {c: {"yes": p, "no": 1 - p} for c, p in zip(PRIOR, P_YES[question], strict=True)}


@pytest.mark.outside
def test_the_published_rows() -> None:
    assert entropy(Counter(r[4] for r in ROWS).values()) == pytest.approx(0.9402859586706311, abs=1e-12)
    gains = {name: information_gain(*column(i)) for i, name in enumerate(("outlook", "temperature", "humidity", "windy"))}
    for name, wanted in {"outlook": 0.24674981977443933, "humidity": 0.15183550136234164, "windy": 0.048127030408269544, "temperature": 0.02922256565895487}.items():
        assert gains[name] == pytest.approx(wanted, abs=1e-12)
    assert sorted(gains, key=lambda n: -gains[n]) == ["outlook", "humidity", "windy", "temperature"]


def test_noisy_answers_and_people_who_do_not_know() -> None:
    assert entropy(PRIOR.values()) == pytest.approx(1.8464393446710157, abs=1e-12)
    for question, (sure, unsure) in GAINS.items():
        assert information_gain(PRIOR, noisy(question)) == pytest.approx(sure, abs=1e-12)
        assert information_gain(PRIOR, noisy(question), 0.3) == pytest.approx(unsure, abs=1e-12)


def test_greedy_choice_is_near_the_best_tree() -> None:
    """Six equal causes and four tests: greedy needs 2.8333 questions on average, the best tree 2.6667."""
    tests = [{1, 3}, {3, 5}, {0, 3, 4, 5}, {0, 1, 2, 5}]

    def asked(left: frozenset[int], best: bool) -> float:
        if len(left) == 1:
            return 0.0
        useful = [t for t in tests if 0 < len(left & t) < len(left)]
        if not best:
            gains = [information_gain({str(c): 1.0 for c in left}, {str(c): {c in t: 1.0} for c in left}) for t in useful]
            useful = [useful[max(range(len(gains)), key=lambda i: (round(gains[i], 12), -i))]]
        return min(1 + sum(len(part) / len(left) * asked(part, best) for part in (left & t, left - t)) for t in useful)

    everything = frozenset(range(6))
    assert asked(everything, best=False) == pytest.approx(2.8333333333333335)
    assert asked(everything, best=True) == pytest.approx(2.6666666666666665)


def test_bounds() -> None:
    for count, bits in {10: 3.321928, 20: 4.321928, 40: 5.321928, 80: 6.321928}.items():
        assert entropy([1.0] * count) == pytest.approx(bits, abs=1e-5)
    for answers in (2, 3, 5):
        causes = {str(i): 1.0 for i in range(30)}
        assert information_gain(causes, {c: {int(c) % answers: 1.0} for c in causes}) <= math.log2(answers) + 1e-12
    assert information_gain(PRIOR, {c: {"same": 1.0} for c in PRIOR}) == 0.0
    assert entropy([]) == 0.0 and all(a < b for a, b in pairwise(entropy([1.0] * n) for n in range(1, 6)))


def test_advice_gains_only_where_it_changes() -> None:
    stays = [(0.5, {"a": 0.9, "b": 0.2}), (0.5, {"a": 0.5, "b": 0.4})]
    turns = [(0.5, {"a": 0.9, "b": 0.2}), (0.5, {"a": 0.2, "b": 0.6})]
    assert advice_gain(stays, "a") == 0.0
    assert advice_gain(turns, "a") == pytest.approx(0.5 * 0.4 / 0.8)


@given(st.lists(st.floats(0.0, 6.0), min_size=2, max_size=6))
def test_what_speaks_strongly_for_one_cause_is_rarely_seen_in_the_others(rises: list[float]) -> None:
    """An answer of e^d times the weight for one cause comes at most once in e^d of the batches that failed from another; the ratio of both is no more than e^d."""
    after = [{"guilty": rise} for rise in rises]
    rarity = [math.exp(-rise) for rise in rises]
    guilty, other = (_chances(name, 0.0, after, rarity) for name in ("guilty", "other"))
    assert sum(guilty) == pytest.approx(1) and sum(other) == pytest.approx(1)
    least = min(rises)
    for rise, of_guilty, of_other in zip(rises, guilty, other, strict=True):
        assert of_other <= math.exp(least - rise) + 1e-12 and of_guilty / of_other <= math.exp(rise) + 1e-9
