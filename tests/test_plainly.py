"""Answers in a maker's own words: not known, two numbers for one, and whether what was tried helped."""

from __future__ import annotations

import pytest

from advisor.batch.model import Line
from advisor.batch.plainly import bare_number, helped, is_unsure
from advisor.batch.reading import read_text_batch
from advisor.batch.units import pair
from advisor.errors import InputError
from advisor.knowledge.load import Knowledge
from advisor.screens import asking, talk


@pytest.mark.parametrize("said", ["no idea", "Dunno.", "not a clue, sorry", "I can't remember", "can\u2019t say for sure", "I really don't know", "??"])
def test_not_knowing_is_heard_in_many_words(said: str, knowledge: Knowledge) -> None:
    assert is_unsure(said, knowledge.words)


@pytest.mark.parametrize("said", ["", "a stick blender", "by hand", "I know it was hot", "forgot to top it up", "never measured"])
def test_an_answer_is_not_taken_for_not_knowing(said: str, knowledge: Knowledge) -> None:
    assert not is_unsure(said, knowledge.words)


def test_what_was_not_measured_has_no_number(knowledge: Knowledge) -> None:
    assert is_unsure("never measured it", knowledge.words, number=True)


@pytest.mark.parametrize(("said", "bare"), [("I think about 70 C", "70 c"), ("70ish", "70"), ("at least 2,5 min, or so", "2,5 min"), ("around 70 degrees", "70"), ("warm to the hand", "warm to the hand")])
def test_words_round_a_number_fall_away(said: str, bare: str, knowledge: Knowledge) -> None:
    assert bare_number(said, knowledge.words) == bare


@pytest.mark.parametrize(("said", "read"), [
    ("3 or 4 min", ("3 min", "4 min", True)), ("between 70 and 75 C", ("70 C", "75 C", True)), ("70 and 75 C", ("70 C", "75 C", False)), ("65/70", ("65", "70", False)),
    ("30 s to 1 min", ("30 s", "1 min", True)), ("three to four minutes", ("3 minutes", "4 minutes", True)), ("70", None), ("70 oil, 75 water", ("70 oil", "75 water", False))])
def test_two_numbers_are_told_apart_from_a_range(said: str, read: tuple[str, str, bool] | None) -> None:
    assert pair(said) == read


@pytest.mark.parametrize(("question", "said", "taken"), [
    ("oil-temperature", "between 70 and 75", 72.5), ("oil-temperature", "70 C / 158 F", 70.0), ("oil-temperature", "about 158 F", 70.0), ("mixing-time", "About 3 to 4 min", 3.5),
    ("mixing-time", "2 and 3 minutes", 2.5), ("mixing-time", "30 s to 1 min", 0.75), ("mixing-time", "no clue", "not-sure"), ("mixing-time", "I forgot", "not-sure"), ("ph-reading", "5 or 6", 5.5)])
def test_a_number_is_taken_as_people_say_it(question: str, said: str, taken: float | str, knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch) -> None:
    assert _answered(question, [said], knowledge, monkeypatch) == taken


@pytest.mark.parametrize("said", ["70 and 75 C", "65/70", "70 oil, 75 water"])
def test_two_phases_in_one_answer_are_asked_about_again(said: str, knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    assert _answered("oil-temperature", [said, "70"], knowledge, monkeypatch) == 70
    assert "this asks for one: How hot was the oil phase" in capsys.readouterr().out


def _answered(question: str, typed: list[str], knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch) -> float | str:
    said = iter([*typed, "s"])
    monkeypatch.setattr("builtins.input", lambda _: next(said))
    card = knowledge.questions[question]
    answer: float | str = asking.ask_question(asking.Voice(True, knowledge.words), asking.Ask("question", card.text, card.why, card), card)
    return answer


@pytest.mark.parametrize(("said", "found"), [
    ("helped", True), ("a bit better", True), ("no change", False), ("nothing changed", False), ("did'nt help", False), ("no better", False), ("much worse", False),
    ("it made it worse", False), ("purple", None), ("it helped, then the same again", None)])
def test_whether_it_helped_is_heard(said: str, found: bool | None, knowledge: Knowledge) -> None:
    assert helped(said, knowledge.words) is found


@pytest.mark.parametrize(("said", "changed"), [("yes", True), ("no", False), ("No change", False), ("helped", True), ("worse", False), ("not sure", None), ("true", True)])
def test_what_was_tried_is_read_in_plain_words(said: str, changed: bool | None) -> None:
    assert _tried(said) is changed


def test_what_does_not_tell_whether_it_helped_is_said() -> None:
    with pytest.raises(InputError, match=r"t\.yaml:2:29, tried\[1\]\.changed: 'purple' does not tell whether it helped\. Write yes or no"):
        _tried("purple")


def _tried(said: str) -> bool | None:
    return read_text_batch(f"observed: [it separated]\ntried: [{{what: more mixing, changed: {said}}}]\n", "t.yaml").tried[0].changed


@pytest.mark.parametrize(("unit", "shown"), [("g", "435 g: Aqua"), ("percent", "435 %: Aqua"), ("oz", "435 oz: Aqua"), (None, "435: Aqua")])
def test_amounts_are_shown_back_with_their_unit(unit: str | None, shown: str, knowledge: Knowledge, capsys: pytest.CaptureFixture[str]) -> None:
    talk._lines(asking.Voice(True, knowledge.words), [Line("Water", (435, 435))], unit, knowledge)
    assert capsys.readouterr().out == f"- Water, {shown}\n"
