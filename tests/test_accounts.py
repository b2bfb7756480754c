"""Published accounts of batches that failed or held, with what experienced people concluded; in our own words, each with its source.

The cards were mended after reading them (right first before that: 4 of 25, 20 of 32, 18 of 32, 12 of 28, 8 of 27, 16 of 36, 13 of 31, 7 of 22, 8 of 22, 7 of 18, 7 of 25, 4 of 26 and 9 of 29,
and 8 of 17, 6 of 19 and 10 of 17 after the hearing was mended; then 18 of 42; then 28 of 61, 15 of 33 and 20 of 42, and 12 of 24, 14 of 28
13 of 28 and 17 of 30, then 23 of 38 and 34 of 65, 16 of 30 that are not here, and 10 of 27, each read once after mends that knew nothing of it).  Of the last sixteen sets here those are kept whose cause a second reader, who saw
the record alone, had among his first three; the last set of all is whole but for two.  They guard against falling back; they measure nothing.
With strengths further apart 378 were right first and 462 in any of three; on 200 accounts read before any mend for them it made no difference (89 and 127; 90 and 130 nearer).
"""

from __future__ import annotations

from pathlib import Path

from advisor.knowledge.load import Knowledge
from advisor.scoring import labelled, score
from tests.bench.base_rates import ACCOUNTS, counted


def test_what_was_right_stays_right(knowledge: Knowledge) -> None:
    found = score(Path(__file__).parent / "accounts", knowledge)
    assert found["faults"] == 775 and found["controls"] == 114
    assert found["first"]["n"] >= 612 and found["any_listed_in_three"]["n"] >= 722, found["misses"]
    # The scrub grew firm in days, which its maker was told is usual; the cream was found too thick for the pump it was meant for;
    # the bars soak in slowly, which is heard as greasy; a cream called fluid was meant to be.
    assert found["accused_controls"] == ["209-sound-first-emulsified-salt-scrub", "381-sound-goat-s-milk-cream-with-almond-oil-shea-and-st", "662-sound-lotion-bars-equal-parts",
                                         "740-sound-fluid-cream-for-him"]


def test_the_base_rates_are_counted_from_them(knowledge: Knowledge) -> None:
    """After accounts were added, or the hearing was mended: python -m tests.bench.base_rates"""
    assert knowledge.base_rates.counts == counted((b for _, b in labelled(ACCOUNTS)), knowledge)
