"""Invented batches with the cause that their writer had in mind, and invented formulas that are sound.

The cards were mended after their first run (right first then: 18 of 20, 18 of 20, 17 of 20, 17 of 24; of the last set two of six sound ones were accused), so they guard against falling back; they measure nothing.
"""

from __future__ import annotations

from pathlib import Path

from advisor.knowledge.load import Knowledge
from advisor.scoring import score


def test_what_was_right_stays_right(knowledge: Knowledge) -> None:
    found = score(Path(__file__).parent / "cases", knowledge)
    assert found["faults"] == 84 and found["controls"] == 30
    assert found["first"]["n"] >= 82, found["misses"]
    assert found["accused_controls"] == []
