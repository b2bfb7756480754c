"""What must be set right: each doubt with its choices, and what the record becomes by each of them."""

from __future__ import annotations

from typing import Any

import pytest

from advisor.batch.model import Batch, Seen
from advisor.batch.reading import record_batch
from advisor.diagnosis import examine
from advisor.doubts import KEEP, Doubt, doubts
from advisor.interview import Interview
from advisor.knowledge.load import Knowledge

LINES: tuple[tuple[str, Any], ...] = (("Water", 70), ("Cetil Alcohol", 10), ("Olive oil", 10))


def found(knowledge: Knowledge, lines: tuple[tuple[str, Any], ...] = LINES, **more: Any) -> tuple[Batch, dict[str, Doubt]]:
    batch = record_batch({"format": 1, "formula": {"unit": "percent", "lines": [{"name": n, "amount": a} for n, a in lines]}, **more})
    return batch, {d.key.split()[0]: d for d in doubts(batch, examine(batch, knowledge), knowledge)}


def test_a_name_nearly_spelled_right_is_taken_or_kept(knowledge: Knowledge) -> None:
    batch, asked = found(knowledge)
    assert [k for k, _ in asked["name"].choices] == ["yes", KEEP]
    assert [x.name for x in asked["name"].settled(batch, "yes")[0].formula.lines] == ["Water", "Cetyl Alcohol", "Olive oil"]
    assert asked["name"].settled(batch, KEEP) == (batch, "")


def test_a_total_that_is_not_100_is_kept_left_open_or_typed_again(knowledge: Knowledge) -> None:
    batch, asked = found(knowledge)
    assert "90" in asked["total"].says
    assert asked["total"].settled(batch, KEEP) == (batch, "")
    assert asked["total"].settled(batch, "again") == (batch, "formula")
    assert asked["total"].settled(batch, "missing")[0].formula.complete is False


@pytest.mark.parametrize("lines", [(("Water", 72), ("Olive oil", 30)), (("Water", 68), ("Olive oil", 30)), (("Water", "rest"), ("Olive oil", 30))])
def test_a_total_within_two_percent_or_with_a_rest_is_no_doubt(lines: tuple[tuple[str, Any], ...], knowledge: Knowledge) -> None:
    assert "total" not in found(knowledge, lines)[1]


def test_words_not_understood_become_what_is_chosen_with_their_time(knowledge: Knowledge) -> None:
    batch, asked = found(knowledge, observed=[{"what": "zzyx qwrt", "when": "next day"}])
    first = asked["said"].choices[0][0]
    seen = asked["said"].settled(batch, first)[0].observed[0]
    assert (seen.what, seen.when) == (first, "next day")
    assert asked["said"].settled(batch, KEEP) == (batch, "")
    assert "said" not in found(knowledge, observed=[{"what": first, "when": "next day"}])[1]


def test_words_not_understood_are_said_anew_and_stand_until_then(knowledge: Knowledge) -> None:
    batch, _ = found(knowledge, observed=[{"what": "zzyx qwrt"}])
    talk = Interview(knowledge, batch)
    ask = next(a for a in iter(talk.next, None) if a.key.startswith("said"))
    talk.answer(ask, "again")
    again = talk.next()
    assert again is not None and again.key == "complaint" and talk.batch.observed == batch.observed
    talk.answer(again, "oil on top")
    assert [s.what for s in talk.batch.observed] == ["oil on top"] and (after := talk.next()) and not after.key.startswith(("said", "complaint"))
    two = {k for k, _ in found(knowledge, observed=[{"what": "zzyx qwrt"}, {"what": "oil on top"}])[1]["said"].choices}
    assert "again" not in two                                     # what else was said would be lost


def test_an_answer_beside_what_the_record_says(knowledge: Knowledge) -> None:
    batch, _ = found(knowledge, measured={"ph": 5.0})
    other = batch._replace(answers={"ph-reading": 7.5, "no-such-question": "yes"})
    examination = examine(batch, knowledge)
    clash = next(d for d in doubts(other, examination, knowledge) if d.key.startswith("clash"))
    assert "5" in clash.says and "7.5" in clash.says
    assert clash.settled(other, "ph-reading") == (other, "ph-reading") and clash.settled(other, KEEP) == (other, "")
    same = batch._replace(answers={"ph-reading": 5.0})
    assert not [d for d in doubts(same, examination, knowledge) if d.key.startswith("clash")]


def test_two_certain_things_that_cannot_both_be(knowledge: Knowledge) -> None:
    """No card of today has certain evidence both ways; one of a maker's own may."""
    batch, _ = found(knowledge, observed=[{"what": "oil layer on top", "when": "next day"}])
    examination = examine(batch, knowledge)
    first = next(r for r in examination.ranked if r.explains and r.reasons)
    one = first.reasons[0]._replace(says="It was whisked.", strength="certain", facts=("+answer mixer is hand-whisk", "+symptom oil-on-top seen"))
    two = one._replace(rule=f"{first.id}/other", says="It was poured.", facts=("+answer mixing-time is 0", "+answer mixer is hand-whisk"))
    clashing = examination._replace(ranked=(first._replace(contradiction=True, reasons=(one,), doubts=(two,)), *examination.ranked[1:]))
    asked = next(d for d in doubts(batch, clashing, knowledge) if d.key.startswith("both"))
    assert "It was whisked." in asked.says and "It was poured." in asked.says
    assert [k for k, _ in asked.choices] == [KEEP, "mixer", "mixing-time", "complaint", "formula"]
    assert asked.settled(batch, "mixer") == (batch, "mixer") and asked.settled(batch, KEEP) == (batch, "")


def test_a_name_that_is_not_known_is_asked_for_as_on_its_label(knowledge: Knowledge) -> None:
    lines = (("Water", 80), ("Zyx Wax 40", 10), ("Olive oil", 9.5), ("Qwv speck", 0.5))
    batch, asked = found(knowledge, lines)
    doubt = asked["label"]
    assert doubt.key == "label Zyx Wax 40" and doubt.settled(batch, KEEP) == (batch, "")
    interview = Interview(knowledge, batch._replace(observed=(Seen("too-thin"),)))
    first = interview.next()
    assert first is not None and first.doubt is not None and first.key == doubt.key      # half a percent of something is not asked about
    interview.answer(first, "label")
    ask = interview.next()
    assert ask is not None and "'Zyx Wax 40'" in ask.text
    interview.answer(ask, "Behentrimonium Methosulfate, Cetyl Alcohol, Butylene Glycol")
    assert "cationic-wax" in interview.outcome().examination.situation.measures.lines[1].ingredients[0].classes
    following = interview.next()
    assert following is not None and following.doubt is None
    interview.back()
    again = interview.next()
    assert again is not None and again.kind == ask.kind and interview.batch.formula.lines[1].name == "Zyx Wax 40"


def test_a_label_that_cannot_be_read_is_gone_on_without(knowledge: Knowledge) -> None:
    batch, _ = found(knowledge, (("Water", 80), ("Zyx Wax 40", 20)))
    interview = Interview(knowledge, batch._replace(observed=(Seen("too-thin"),)))
    ask = interview.next()
    assert ask is not None
    interview.answer(ask, "label")
    label = interview.next()
    assert label is not None
    interview.skip(label)
    following = interview.next()
    assert following is not None and following.doubt is None and interview.batch.formula.lines[1].name == "Zyx Wax 40"
