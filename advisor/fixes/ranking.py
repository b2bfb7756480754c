"""Which fix to try first: with independent fixes and one true fault, falling chance over effort costs least on average.

The rule of Kadane and Simon, Annals of Statistics 5 (1977) 237-255 (from memory), as used for troubleshooting.
"""

from __future__ import annotations

from collections.abc import Sequence

EFFORT = {"step": 1.0, "weighing": 1.5, "buying": 2.5, "remaking": 3.0}
# What is left of the chance of a fix that could not be judged, that was judged and misses its aim (the cause stands or the texture is not reached), or that brings a new risk (from memory).
UNPROVED, FAILED, BRINGS = 0.6, 0.3, 0.7
ASIDE = 0.3     # what counts of the certainty of a cause that explains nothing of what was seen: a risk to mend, not what the maker asks about (from memory)


def order(chances: Sequence[float], efforts: Sequence[float]) -> list[int]:
    """Positions by falling chance over effort; ties keep the order given."""
    return sorted(range(len(chances)), key=lambda i: -chances[i] / efforts[i])


def expected_cost(chances: Sequence[float], efforts: Sequence[float], sequence: Sequence[int]) -> float:
    """The effort spent on average until the fault is found, trying fixes in this sequence."""
    left, cost = 1.0, 0.0
    for i in sequence:
        cost += left * efforts[i]
        left -= chances[i]
    return cost


def hardest(efforts: Sequence[str]) -> str:
    """The word for the greatest of these efforts."""
    return max(efforts, key=lambda word: EFFORT[word])
