"""Invented batches with the cause that their writer had in mind, and invented formulas that are sound.

The cards were mended after their first run (right first then: 18 of 20, 18 of 20, 17 of 20, 17 of 24, 10 of 20, 20 of 25; of the last three sets three of fifteen sound ones were accused; 79 of 160 of records from which fourteen were taken that nothing else stands for), so they guard against falling back; they measure nothing.
With strengths further apart three more were right; unread accounts did not bear it out, and what leads hung more on one word of a card.
"""

from __future__ import annotations

from pathlib import Path

from advisor.knowledge.load import Knowledge
from advisor.scoring import score


def test_what_was_right_stays_right(knowledge: Knowledge) -> None:
    found = score(Path(__file__).parent / "cases", knowledge)
    assert found["faults"] == 143 and found["controls"] == 39
    assert found["first"]["n"] >= 136, found["misses"]
    assert found["accused_controls"] == []
