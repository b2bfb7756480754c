"""Natural speech: how many invented texts are heard as they were meant, nothing missed and nothing heard besides.

The texts were written by people who had not seen the wordings.  On the fresh ones, which nobody looked at when wordings were written, 142 of 200 are right (of the first 120, 79, and 66 before words that stand apart counted less and the everyday uses were told apart; of the 80 added last, 63, and 62 before the texts written with them were mended: words carry little to others);
the others are a fit and guard against falling back.
"""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from advisor.batch.reading import record_batch
from advisor.knowledge.load import Knowledge
from advisor.situation import assess

TALK, AROUND = (yaml.safe_load((Path(__file__).parent / "data" / f"{name}.yaml").read_text(encoding="utf-8")) for name in ("talk", "around"))


def kin(symptom: str, knowledge: Knowledge) -> set[str]:
    return {symptom, knowledge.symptoms[symptom].under or symptom}


def is_right(text: str, means: list[str], may: list[str], knowledge: Knowledge) -> bool:
    heard = {s.symptom for s in assess(record_batch({"format": 1, "complaint": text}), knowledge).signs if not s.denied}
    allowed = set().union(*(kin(m, knowledge) for m in (*means, *may)), set())
    return all(kin(h, knowledge) & allowed for h in heard) and all(any(kin(m, knowledge) & kin(h, knowledge) for h in heard) for m in means if not knowledge.symptoms[m].fine)


@pytest.mark.parametrize(("part", "least"), [("known", 434), ("fresh", 141)])
def test_talk_is_heard_as_meant(part: str, least: int, knowledge: Knowledge) -> None:
    wrong = [t["text"] for t in TALK[part] if not is_right(t["text"], t["means"], t.get("may", []), knowledge)]
    assert len(TALK[part]) - len(wrong) >= least, wrong


def test_what_is_said_around_a_complaint_changes_nothing(knowledge: Knowledge) -> None:
    texts = [(text, symptom) for symptom, said in AROUND["said"].items() for core in said
             for text in (core, *(f"{b}{core}" for b in AROUND["before"]), *(f"{core}{a}" for a in AROUND["behind"]))]
    wrong = [text for text, symptom in texts if not is_right(text, [symptom], [], knowledge)]
    assert len(texts) > 2500
    assert len(wrong) <= 0.01 * len(texts), wrong


def test_the_plainest_ways_to_say_it_are_heard(knowledge: Knowledge) -> None:
    said = [(text, symptom) for symptom, texts in AROUND["ways"].items() for text in texts]
    wrong = [text for text, symptom in said if not is_right(text, [symptom], [], knowledge)]
    assert len(said) > 150
    assert len(wrong) <= 0.05 * len(said), wrong
