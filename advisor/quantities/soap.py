"""Fatty acid against alkali in equivalents; what takes alkali more strongly takes it first."""

from collections.abc import Sequence
from typing import NamedTuple

FATTY_PKA = 6.0      # an acid or polymer stronger than this takes alkali before a fatty acid does (from memory: fatty acids in creams behave as pKa 6 to 8)
SODIUM_FOR_HYDROGEN = 21.98      # g a mole gains when sodium takes the place of hydrogen (22.990 - 1.008, standard atomic weights)


class Neutralised(NamedTuple):
    """`degree`: % of the fatty acid turned to soap; `soap`: % of the product; `excess`: meq alkali left per 100 g."""

    degree: float
    soap: float
    excess: float


def neutralise(fatty: Sequence[tuple[float, float]], others: Sequence[tuple[float, float, float]],
               alkali: Sequence[tuple[float, float]]) -> Neutralised | None:
    """Equivalents from (% , g per equivalent) pairs; `others` carry their pKa third.  None without a fatty acid."""
    acid = sum(1000 * p / e for p, e in fatty)
    if acid <= 0:
        return None
    base = sum(1000 * p / e for p, e in alkali)
    base -= min(base, sum(1000 * p / e for p, e, pka in others if pka < FATTY_PKA))
    used = min(base, acid)
    return Neutralised(100 * used / acid, used / acid * sum(p for p, _ in fatty), base - used)


def salt_formed(acids: Sequence[tuple[float, float]], alkali: Sequence[tuple[float, float]]) -> float:
    """Percent of the product that acids, as (%, g per equivalent), become as salts with this alkali, reckoned as sodium salts."""
    acid = sum(p / e for p, e in acids)
    used = min(acid, sum(p / e for p, e in alkali))
    return used / acid * sum(p * (e + SODIUM_FOR_HYDROGEN) / e for p, e in acids) if acid > 0 else 0.0
