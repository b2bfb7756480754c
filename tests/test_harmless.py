"""What tells nothing wrong is heard as nothing: praise, questions, ingredients, tools, plans, fears and other batches.

The texts were written before any rule was looked at; each is heard in its own field, and all of them as something that was observed.
Before the words were mended 142 of the 174 known ones were heard as nothing in their own field (95 as observed), now 163 and 148; of the 86 fresh ones, which nobody
looked at, 71 before and after (50 as observed, now 53): what they taught is mostly theirs alone.
"""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from advisor.batch.reading import record_batch
from advisor.knowledge.load import Knowledge
from advisor.situation import assess

TEXTS = yaml.safe_load((Path(__file__).parent / "data" / "harmless.yaml").read_text(encoding="utf-8"))
WATER = {"complete": False, "lines": [{"name": "Aqua"}]}


def placed(text: str, field: str) -> dict[str, object]:
    return {"complaint": {"complaint": text}, "observed": {"observed": [{"what": text}]}, "notes": {"notes": text}, "process.order": {"process": {"order": text}},
            "storage": {"storage": {"container": text}}, "tried": {"tried": [{"what": text}]}, "changed": {"history": {"changed": [text]}}}[field]


def is_silent(text: str, field: str, knowledge: Knowledge) -> bool:
    signs = assess(record_batch({"format": 1, "formula": WATER, **placed(text, field)}), knowledge).signs
    return all(s.denied or knowledge.symptoms[s.symptom].fine for s in signs)


@pytest.mark.parametrize(("part", "own", "anywhere"), [("known", 163, 148), ("fresh", 71, 53)])
def test_what_is_well_is_no_complaint(part: str, own: int, anywhere: int, knowledge: Knowledge) -> None:
    loud = [t["text"] for t in TEXTS[part] if not is_silent(t["text"], t["field"], knowledge)]
    assert len(TEXTS[part]) - len(loud) >= own, loud if part == "known" else "not shown, so that they stay fresh"
    seen = [t["text"] for t in TEXTS[part] if not is_silent(t["text"], "observed", knowledge)]
    assert len(TEXTS[part]) - len(seen) >= anywhere, seen if part == "known" else "not shown, so that they stay fresh"


@pytest.mark.parametrize(("text", "symptom"), [
    ("Quick question: my cream split overnight. What did I do?", "separated"),
    ("All fine. Mould on the surface since Monday.", "mould"),
    ("No problem so far. Oil on top", "oil-on-top"),
    ("Just curious. It smells sour now.", "off-smell"),
])
@pytest.mark.parametrize("field", ["complaint", "observed"])
def test_a_fault_is_heard_behind_an_opening_that_denies_one(text: str, symptom: str, field: str, knowledge: Knowledge) -> None:
    signs = assess(record_batch({"format": 1, "formula": WATER, **placed(text, field)}), knowledge).signs
    assert [s.symptom for s in signs if not s.denied] == [symptom]
