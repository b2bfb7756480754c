"""How much an answer tells: entropy, information gain, and the expected rise in the chance that the advice is right.  Pure arithmetic."""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterable, Mapping


def entropy(weights: Iterable[float]) -> float:
    """Bits of a distribution; weights need not add up to 1."""
    kept = [w for w in weights if w > 0]
    whole = math.fsum(kept)
    return -math.fsum(w / whole * math.log2(w / whole) for w in kept) if whole > 0 else 0.0


def information_gain(prior: Mapping[str, float], chance: Mapping[str, Mapping[Hashable, float]], unknown: float = 0.0) -> float:
    """Bits that one question carries: H(cause) - sum of P(answer) H(cause | answer).

    `chance` is P(answer | cause); `unknown` the share of people who cannot say, whatever the cause.
    """
    whole = math.fsum(prior.values())
    answers = {a for row in chance.values() for a in row}
    left = 0.0
    for answer in answers:
        joint = [p / whole * chance[c].get(answer, 0.0) for c, p in prior.items()]
        left += math.fsum(joint) * entropy(joint)
    return max(0.0, entropy(prior.values()) - left) * (1.0 - unknown)


def advice_gain(after: Iterable[tuple[float, Mapping[str, float]]], current: str) -> float:
    """Expected rise in the chance that the advice given is the right one: what asking is worth, before effort.

    Every `after` is the chance of an answer with the weights of the possible advice once it is given.  Nothing is
    gained where every answer leaves `current` the best; a tie counts as no change.
    """
    gained = 0.0
    for chance, weights in after:
        whole = math.fsum(weights.values())
        if whole > 0:
            gained += chance * max(0.0, max(weights.values()) - weights.get(current, 0.0)) / whole
    return gained
