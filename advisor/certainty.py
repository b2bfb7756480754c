"""Adding up evidence as log-odds: the strongest in each observation group counts, groups add up, order never matters."""

import math
from collections.abc import Iterable
from typing import NamedTuple


class Weight(NamedTuple):
    """One piece of evidence: the observation it rests on and its log-odds (negative: against)."""

    group: str
    value: float


def total(weights: Iterable[Weight]) -> float:
    """The sum over groups of the strongest for and the strongest against in each."""
    best: dict[tuple[str, bool], float] = {}
    for group, value in weights:
        key = (group, value > 0)
        if abs(value) > abs(best.get(key, 0.0)):
            best[key] = value
    return math.fsum(best.values())


def certainty(log_odds: float) -> float:
    """The logistic of log-odds, in 0..1."""
    if log_odds >= 0:
        return 1.0 / (1.0 + math.exp(-log_odds))
    return math.exp(log_odds) / (1.0 + math.exp(log_odds))
