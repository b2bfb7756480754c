"""No card can rot unseen: its form, its words, and its own examples."""

from __future__ import annotations

import pytest

from advisor.batch.reading import record_batch
from advisor.diagnosis import LIKELY, SETTLED, examine
from advisor.knowledge.audit import audit
from advisor.knowledge.load import Knowledge, load_knowledge
from advisor.knowledge.records import Example

EXAMPLES = [(c.id, n, e) for c in load_knowledge().causes.values() for n, e in enumerate(c.examples)]


def test_the_rules_are_clean() -> None:
    cards, problems = audit()
    assert cards > 20
    assert [str(p) for p in problems] == []


@pytest.mark.parametrize(("cause", "number", "example"), EXAMPLES, ids=[f"{c}-{n}" for c, n, _ in EXAMPLES])
def test_example(cause: str, number: int, example: Example, knowledge: Knowledge) -> None:
    """Where it must lead, it does; where it must not, it is neither likely nor settled."""
    examination = examine(record_batch({"format": 1, **example.batch}), knowledge)
    shown = [(r.id, round(r.certainty, 2)) for r in examination.ranked[:4]]
    if example.leads:
        assert examination.leader is not None and examination.leader.id == cause, shown
    else:
        standing = next(r.standing for r in examination.ranked if r.id == cause)
        assert standing not in (SETTLED, LIKELY), shown
