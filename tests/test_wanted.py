"""The texture wanted: asked where thickness is the complaint, and what the weights of the fixes hang on."""

from __future__ import annotations

from typing import Any

import pytest

from advisor.batch.reading import record_batch
from advisor.interview import Interview
from advisor.knowledge.load import Knowledge

LINES = [("water", 80.0), ("Behentrimonium Methosulfate (and) Cetearyl Alcohol", 5.0), ("cetyl alcohol", 6.0), ("argan oil", 4.0), ("panthenol", 4.0), ("phenoxyethanol", 1.0)]


def start(knowledge: Knowledge, seen: str, **more: Any) -> Interview:
    formula = {"unit": "percent", "complete": True, "lines": [{"name": n, "amount": a} for n, a in LINES]}
    return Interview(knowledge, record_batch({"format": 1, "formula": formula, "observed": [{"what": seen, "when": "next day"}], "history": {"worked_before": False}, **more}))


def test_it_is_asked_and_the_weights_follow(knowledge: Knowledge) -> None:
    state = start(knowledge, "thick like paste")
    ask = state.next()
    assert ask is not None and ask.question is not None and ask.question.reads == "wanted"
    state.answer(ask, "lotion")
    again = state.next()
    assert again is None or again.question is None or again.question.reads != "wanted"
    lower = next(f for f in state.outcome().fixes if f.record is not None and any(c.ingredient == "cetyl alcohol" for c in f.changes))
    change = next(c for c in lower.changes if c.ingredient == "cetyl alcohol")
    assert change.from_percent == 6 and change.to_percent is not None and change.to_percent < 6


@pytest.mark.parametrize(("seen", "more"), [("thick like paste", {"wanted": "lotion"}), ("oil layer on top", {}), ("thick like paste", {"kind": "surfactant"})])
def test_it_is_not_asked_where_it_is_told_or_does_not_matter(seen: str, more: dict[str, Any], knowledge: Knowledge) -> None:
    state = start(knowledge, seen, **more)
    for _ in range(15):
        ask = state.next()
        if ask is None:
            break
        assert ask.question is None or ask.question.reads != "wanted"
        state.skip(ask)
