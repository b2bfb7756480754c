"""Answers given by the way, in a maker's own words, anywhere in a record."""

from __future__ import annotations

import pytest

from advisor.batch.reading import record_batch
from advisor.diagnosis import examine
from advisor.knowledge.load import Knowledge
from advisor.overhearing import heard_in, overheard
from advisor.phrases import said, tokens
from advisor.situation import assess


@pytest.mark.parametrize(("phrase", "text", "heard"), [
    ("cold water into", "I poured the cold tap water into the melted wax", True),
    ("cold water into", "into cold water", False),                                   # another order
    ("cold water into", "cold and clear and very soft spring water went into", False),   # too much between
    ("blended when cold", "I never blended it when cold", False),
    ("blended when cold", "not whisked; blended when cold", True),
    ("not melted", "the wax was not fully melted", True),                            # a denial of the phrase itself
])
def test_a_phrase_is_said(phrase: str, text: str, heard: bool) -> None:
    clause = tokens(text.split("; ")[-1])
    assert said(tokens(phrase), clause, ("not", "nev")) is heard


def test_every_phrase_is_heard_by_itself(knowledge: Knowledge) -> None:
    lost = [(q.id, p) for q in knowledge.questions.values() for c in q.choices for p in c.overheard if c.id not in heard_in(p, q, knowledge)]
    assert lost == []
    assert sum(len(c.overheard) for q in knowledge.questions.values() for c in q.choices) > 400


def test_no_phrase_means_two_choices_of_one_question(knowledge: Knowledge) -> None:
    twice = [(q.id, p) for q in knowledge.questions.values() for c in q.choices for p in c.overheard if len(heard_in(p, q, knowledge)) > 1]
    assert twice == []


@pytest.mark.parametrize(("record", "question", "choice"), [
    ({"process": {"order": "juice straight from the fridge poured into the hot fats"}}, "phases-alike", "one-cool"),
    ({"complaint": "It split. The oil phase was not quite melted when I began."}, "oil-phase-clear", "no"),
    ({"notes": "Next morning the cold cream was stick blended to work the perfume in."}, "blended-after-thickening", "yes"),
    ({"observed": [{"what": "went thin as soon as the preservative was in"}]}, "gave-way-with", "preservative"),
    ({"history": {"worked_before": True, "changed": ["sea salt in place of distilled water"]}}, "water-kind", ""),      # what was replaced was not used
    ({"complaint": "Should I have used a wooden spoon?"}, "mixer", ""),
    ({"notes": "no thermometer, but I measured both with a thermometer later"}, "temperatures-known", ""),      # two choices: none
    ({"tried": [{"what": "blended again when cold", "changed": False}]}, "blended-after-thickening", ""),
    ({"tried": [{"what": "held it under the hot tap: the grains melted", "changed": True}]}, "grain-melts", "melts"),      # what was tried tells how a test went
    ({"process": {"order": "cold water into the hot fat"}, "answers": {"phases-alike": "alike"}}, "phases-alike", "alike"),      # a given answer counts
    ({"observed": [{"what": "turned to cottage cheese when I stirred in the mandelic acid"}]}, "gave-way-with", "acid"),      # by the class of what is named
    ({"observed": [{"what": "turned watery after the sodium ascorbyl phosphate was added"}]}, "gave-way-with", "salt"),
    ({"observed": [{"what": "split when I added the lactic acid and the lavender essential oil"}]}, "gave-way-with", ""),      # two suspects: none
    ({"observed": [{"what": "held, also when I did not add the mandelic acid"}]}, "gave-way-with", ""),
    ({"complaint": "It went thin. I ran out of the usual and took wax from a new bag."}, "what-changed", "new-lot"),
])
def test_what_is_said_by_the_way(record: dict[str, object], question: str, choice: str, knowledge: Knowledge) -> None:
    batch = record_batch({"format": 1, "formula": {"lines": [{"name": "Aqua"}]}, **record})
    assert assess(batch, knowledge).answers.get(question, ()) == ((choice,) if choice else ())


def test_a_forecast_hears_no_complaint(knowledge: Knowledge) -> None:
    batch = record_batch({"format": 1, "formula": {"lines": [{"name": "Aqua"}]}, "complaint": "the wax was not quite melted", "process": {"order": "cold water into the hot fat"}})
    assert set(overheard(batch, knowledge, with_signs=False)) == {"phases-alike"}


def test_what_was_heard_is_named_as_the_record_s(knowledge: Knowledge) -> None:
    from advisor.explain import explain

    batch = record_batch({"format": 1, "kind": "oil-in-water", "observed": [{"what": "white lumps", "when": "immediately"}], "process": {"order": "cold water into the hot fats"},
                          "formula": {"unit": "percent", "complete": False, "lines": [{"name": "Aqua"}, {"name": "Emulsifying wax"}, {"name": "Cetyl Alcohol"}, {"name": "Olive oil"}]}})
    leader = examine(batch, knowledge).leader
    assert leader is not None and leader.id == "phase-temperature-mismatch"
    assert "Your record says: Were both phases equally hot" in str(explain(batch, knowledge))


@pytest.mark.parametrize(("what", "changed", "result"), [
    ("more emulsifier", True, "helped"),
    ("more emulsifier (it became less stable)", True, "no-change"),
    ("more emulsifier, no worse", True, "helped"),
    ("more emulsifier", False, "no-change"),
])
def test_what_made_it_worse_did_not_help(knowledge: Knowledge, what: str, changed: bool, result: str) -> None:
    batch = record_batch({"format": 1, "observed": [{"what": "separated"}], "tried": [{"what": what, "changed": changed}]})
    assert assess(batch, knowledge).tried == {"more-emulsifier": result}


def test_a_material_named_in_what_was_tried_counts_as_its_kind(knowledge: Knowledge) -> None:
    batch = record_batch({"format": 1, "observed": [{"what": "separated"}], "tried": [{"what": "more polyglyceryl-4 laurate", "changed": True}]})
    assert assess(batch, knowledge).tried == {"more-emulsifier": "helped"}


def test_what_stayed_the_same_was_not_changed(knowledge: Knowledge) -> None:
    for what, told in (("ten times the batch, same small stick blender", ("batch-size",)), ("another mixer, the same pot", ("other-mixer",)), ("the same stick blender", None), ("magnesium chloride from 5 to 20 percent", ("more-salt", "amounts")),
                       ("salt 5 -> 20 %", ("more-salt", "amounts")), ("emulsifying wax: 6 g → 3 g", ("less-emulsifier",)), ("almond oil -> sunflower oil", ("other-ingredient",)),
                       ("shea from the farmers' market this time", ("other-supplier",)), ("a borrowed scale", ("other-scale",))):
        batch = record_batch({"format": 1, "observed": [{"what": "separated"}], "history": {"worked_before": True, "changed": [what]}})
        assert assess(batch, knowledge).answers.get("what-changed") == told, what


def test_each_change_is_read_by_itself(knowledge: Knowledge) -> None:
    """A swap is one although a scent was changed too."""
    batch = record_batch({"format": 1, "observed": [{"what": "separated"}], "history": {"worked_before": True, "changed": ["soy wax flakes in place of rapeseed wax", "a different fragrance"]}})
    assert assess(batch, knowledge).answers.get("what-changed") == ("other-ingredient", "other-scent")


def test_what_is_told_of_the_lot_of_a_line_is_a_change(knowledge: Knowledge) -> None:
    for lot, told in (("new supplier", ("other-supplier",)), ("A 1234", None)):
        line = {"name": "Sunflower oil", "amount": 14, "lot": lot}
        batch = record_batch({"format": 1, "formula": {"unit": "percent", "lines": [line]}, "observed": [{"what": "separated"}]})
        assert assess(batch, knowledge).answers.get("what-changed") == told, lot


@pytest.mark.parametrize(("later", "seen"), [
    ("bubbles gone, clear and smooth", set()),
    ("the bubbles were gone after a day", set()),
    ("the bubbles have not gone", {"air-bubbles"}),
    ("the bubbles were gone after I warmed it", {"air-bubbles"}),
    ("the bubbles were gone, then they came back", {"air-bubbles"}),
])
def test_what_went_by_itself_is_no_complaint(knowledge: Knowledge, later: str, seen: set[str]) -> None:
    batch = record_batch({"format": 1, "observed": [{"what": "some air bubbles", "when": "immediately"}, {"what": later, "when": "next day"}]})
    assert {s.symptom for s in assess(batch, knowledge).complaints} == seen
