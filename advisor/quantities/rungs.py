"""Between viscosity and the rungs from mist to stiff cream, and between a maker's words and a rung."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from advisor.knowledge.records import Rung

_AS = re.compile(r"\b(?:like|as thin as|as thick as|as runny as|come[s]? out as|came out as|turn(?:s|ed)? out)\s+(?:an?\s+)?(.+)")
_NOT = re.compile(r"\b(?:not|no|never|instead of|rather than|should|wanted|meant|hoped|supposed|expected)\b.*")


def _middles(rungs: Sequence[Rung]) -> list[tuple[float, float]]:
    return [(math.log10(r.viscosity.low * r.viscosity.high) / 2, float(r.rank)) for r in rungs]


def rung_of(log_mpas: float, rungs: Sequence[Rung]) -> float:
    """The rung as a number, straight between the middles of the rungs' bands."""
    middles = _middles(rungs)
    if log_mpas <= middles[0][0]:
        return middles[0][1]
    for (x0, y0), (x1, y1) in zip(middles, middles[1:], strict=False):
        if log_mpas <= x1:
            return y0 + (y1 - y0) * (log_mpas - x0) / (x1 - x0)
    return middles[-1][1]


def band_of(log_mpas: float, rungs: Sequence[Rung]) -> Rung:
    """The rung whose band a viscosity lies in."""
    return next((r for r in rungs if log_mpas < math.log10(r.viscosity.high)), rungs[-1])


def rung_in_words(text: str, rungs: Sequence[Rung]) -> Rung | None:
    """The rung a maker's words name; the longest wording wins."""
    low = f" {re.sub(r'[^a-z ]+', ' ', text.lower())} "
    found = [(len(w), -r.rank, r) for r in rungs for w in (*r.words, r.id.replace("-", " ")) if f" {w} " in low]
    return max(found, key=lambda f: f[:2])[2] if found else None


def rung_seen(text: str, rungs: Sequence[Rung]) -> Rung | None:
    """The rung that something is said to be like ("runs like milk"), leaving out what it was meant to be."""
    found = _AS.search(_NOT.sub("", text.lower()))
    return rung_in_words(" ".join(found[1].split()[:3]), rungs) if found else None
