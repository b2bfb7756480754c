"""HLB arithmetic: the weighted mean of a blend, the required HLB of the oils, and the pair that meets it.

Griffin W.C., J. Soc. Cosmet. Chem. 1 (1949) 311-326: the HLB of a blend is the mean by weight.  Only for nonionic surfactants.
"""

from __future__ import annotations

from collections.abc import Sequence


def blend(parts: Sequence[tuple[float, float]]) -> float | None:
    """The HLB of a blend from (amount, HLB) pairs; None for nothing."""
    whole = sum(a for a, _ in parts)
    return sum(a * h for a, h in parts) / whole if whole > 0 else None


def split_pair(low: float, high: float, wanted: float) -> tuple[float, float] | None:
    """The shares (0..1) of the low- and the high-HLB emulsifier whose blend has the wanted HLB (alligation); None outside."""
    if not low < high or not low <= wanted <= high:
        return None
    share = (wanted - low) / (high - low)
    return 1.0 - share, share


def gap(offered: float, low: float, high: float) -> float:
    """How far an HLB is outside a range: negative below, positive above, 0 inside."""
    return min(0.0, offered - low) or max(0.0, offered - high)
