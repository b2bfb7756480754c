"""The share of a weak acid in its active, undissociated form (Henderson-Hasselbalch)."""

from __future__ import annotations


def undissociated(ph: float, pka: float) -> float:
    """Percent of a monoprotic acid that is undissociated at this pH."""
    return float(100.0 / (1.0 + 10.0 ** (ph - pka)))
