"""A maker's words: complaints, denials, history, times and choices."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from advisor.batch.reading import record_batch
from advisor.knowledge.load import Knowledge
from advisor.knowledge.records import Choice, Question
from advisor.lexicon import parted, weighed, word_index
from advisor.situation import assess
from advisor.wording import match_choice, match_symptoms, when_word


def kin(one: str, other: str, knowledge: Knowledge) -> bool:
    return one == other or knowledge.symptoms[one].under == other or knowledge.symptoms[other].under == one


def test_a_wording_left_out_is_still_understood(knowledge: Knowledge) -> None:
    whole, found = word_index(knowledge), []
    apart = [(symptom, line.split()) for symptom, line in map(parted, whole.wordings)]
    said = [(s.id, w) for s in knowledge.symptoms.values() for w in (*s.wordings, s.title)]
    for place, (symptom, wording) in enumerate(said):
        if wording != knowledge.symptoms[symptom].title:
            uses = {w: " ".join(n for n in whole.uses[w].split() if n != str(place)) for w in apart[place][1]}
            weight, telling = weighed(apart[:place] + apart[place + 1:], whole.quiet, knowledge)
            less = whole._replace(uses={**whole.uses, **uses}, weight=weight, telling=telling)
            found.append(any(kin(h.symptom, symptom, knowledge) for h in match_symptoms(wording, replace(knowledge, index={"words": less}))))
    assert len(found) > 3000
    assert sum(found) >= 0.8 * len(found), f"{sum(found)} of {len(found)}"


def test_every_own_wording_is_understood(knowledge: Knowledge) -> None:
    lost = [w for s in knowledge.symptoms.values() for w in s.wordings
            if not any(kin(h.symptom, s.id, knowledge) for h in match_symptoms(w, knowledge))]
    assert lost == []


def test_the_words_kept_are_those_worked_out(knowledge: Knowledge, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    fresh = word_index(replace(knowledge, index={}))
    kept = next((tmp_path / "emulsion-advisor").glob("words-*"))
    *lines, figures = kept.read_text(encoding="utf-8").split("\n")
    assert len(lines) == len(fresh.wordings)
    assert word_index(replace(knowledge, index={}))._replace(sense=fresh.sense) == fresh      # the sense remembers the words it has met
    kept.write_text("\n".join(["grains\tmarker", *lines[1:], figures]), encoding="utf-8")
    assert word_index(replace(knowledge, index={})).wordings[0] == "grains\tmarker"      # it is read
    for damaged in ("", "\n".join(lines), "\n".join([*lines[:-1], figures]), "\n".join([*lines, figures[:-1]]), "\n".join([*lines, "[]"]), "\n".join([*lines, "[1,2]"])):
        kept.write_text(damaged, encoding="utf-8")
        assert word_index(replace(knowledge, index={}))._replace(sense=fresh.sense) == fresh
    other = {k: s._replace(family="other") for k, s in knowledge.symptoms.items()}
    assert word_index(replace(knowledge, index={}, symptoms=other)).telling.keys() == {"other"}      # another checksum
    assert word_index(replace(knowledge, index={}, words={**knowledge.words, "synonyms": []})).wordings != fresh.wordings
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "file"))                      # no folder can be made there
    assert word_index(replace(knowledge, index={}))._replace(sense=fresh.sense) == fresh


def test_denied(knowledge: Knowledge) -> None:
    heard = {h.symptom: h.denied for h in match_symptoms("not sticky, not greasy, but it pills", knowledge)}
    assert heard == {"sticky": True, "greasy": True, "pilling": False}
    assert [h.denied for h in match_symptoms("it never separated", knowledge)] == [True]


def test_what_passed_is_no_complaint(knowledge: Knowledge) -> None:
    assert match_symptoms("tiny bubbles, gone after a few days", knowledge) == ()
    assert [h.symptom for h in match_symptoms("foam on top, gone by morning; oil on top after a week", knowledge)] == ["oil-on-top"]
    assert match_symptoms("it has to stay liquid and sprayable", knowledge) == ()


def test_one_word_of_a_wording_is_no_complaint(knowledge: Knowledge) -> None:
    for text in ("texture weaker after 40 C", "stays much the same at 20 C", "rich and firm, spreads very easily"):
        assert not [h.symptom for h in match_symptoms(text, knowledge) if not knowledge.symptoms[h.symptom].fine], text


def test_history_is_marked(knowledge: Knowledge) -> None:
    heard = {h.symptom: h.history for h in match_symptoms("smooth at first, grainy after 3 weeks", knowledge)}
    assert heard == {"grainy": False, "looks-fine": True}


def test_several_in_one_line(knowledge: Knowledge) -> None:
    heard = {h.symptom for h in match_symptoms("it smells sour and there is mould on it", knowledge)}
    assert heard == {"off-smell", "mould"}


@pytest.mark.parametrize("text", ["", "why does it matter?", "is it grainy or curdled?", "will it separate?", "heated both phases to 75 degrees",
                                  "I mixed it with a stick blender for 3 minutes", "poured it into jars", "I made 200 g"])
def test_questions_and_plain_telling_give_nothing(text: str, knowledge: Knowledge) -> None:
    assert match_symptoms(text, knowledge) == ()


@pytest.mark.parametrize("text", ["it smells lovely", "smells of roses", "I took it off the heat", "washed it off", "little rolls come off when I rub",
                                  "I turned off the mixer", "I added the fragrance at 40 degrees", "the scent of roses has vanished"])
def test_harmless_words_are_never_spoilage(text: str, knowledge: Knowledge) -> None:
    assert not [h for h in match_symptoms(text, knowledge) if knowledge.symptoms[h.symptom].family == "spoiled"]


@pytest.mark.parametrize(("text", "symptom"), [
    ("How do I stop my balm from going grainy?", "grainy"), ("Can I fix a separated lotion?", "separated"), ("How can I make my cream less greasy?", "greasy"),
    ("How do I thicken this lotion, it is like water?", "too-thin"), ("Lotion separating after a week - what am I doing wrong?", "separated"), ("What would make it less sticky?", "sticky")])
def test_who_asks_how_to_mend_it_tells_what_is_wrong(text: str, symptom: str, knowledge: Knowledge) -> None:
    assert {h.symptom for h in match_symptoms(text, knowledge) if not h.denied} == {symptom}


@pytest.mark.parametrize("text", ["How do I stop a lotion from splitting if I want to sell it later?", "Can I save the rest for later?", "How can I make it less expensive?", "How do I keep it from separating in the summer to come?"])
def test_who_asks_about_what_may_come_tells_nothing(text: str, knowledge: Knowledge) -> None:
    assert match_symptoms(text, knowledge) == ()


@pytest.mark.parametrize("text", ["I want a thick cream that is not greasy", "I would like it thicker", "it should be runny"])
def test_wishes_are_no_complaints(text: str, knowledge: Knowledge) -> None:
    assert match_symptoms(text, knowledge) == ()


def test_a_wish_that_names_the_trouble_is_one(knowledge: Knowledge) -> None:
    assert [h.symptom for h in match_symptoms("I want it to stop separating", knowledge)] == ["separated"]


@pytest.mark.parametrize("text", ["cold degrees", "degrees freezer", "degrees frozen"])
def test_near_equals_fall_back_without_breaking(text: str, knowledge: Knowledge) -> None:
    assert all(h.symptom in knowledge.symptoms for h in match_symptoms(text, knowledge))


@pytest.mark.parametrize(("text", "word"), [
    ("right after", "immediately"), ("after 10 minutes", "immediately"), ("once cool", "on-cooling"), ("a few hours later", "on-cooling"), ("overnight", "next-day"),
    ("next morning", "next-day"), ("36 h", "next-day"), ("2 days", "days"), ("two weeks later", "weeks"), ("3 months", "months"),
    ("next-day", "next-day"), ("in the jar", None), ("", None)])
def test_times(text: str, word: str | None, knowledge: Knowledge) -> None:
    assert when_word(text, knowledge) == word


def test_choices_longest_first_and_denied_left_out() -> None:
    question = Question("q", "t", "w", "choice", "glance", (Choice("short", "a whisk", ("whisk",)), Choice("long", "a stick blender", ())))
    assert [c.id for c in match_choice("a whisk, then a stick blender", question)] == ["long", "short"]
    assert [c.id for c in match_choice("a stick blender, no whisk", question)] == ["long"]
    assert [c.id for c in match_choice("a stick blender, never used a whisk", question)] == ["long"]
    electric = question._replace(choices=(*question.choices, Choice("beaters", "an electric mixer", ("electric whisk",))))
    assert [c.id for c in match_choice("an electric whisk", electric)] == ["beaters"]      # no whisk
    assert [c.id for c in match_choice("an electric whisk, before that a whisk", electric)] == ["beaters", "short"]


@pytest.mark.parametrize(("text", "heard"), [
    ("no matter how much salt I add it stays watery", {"too-thin"}), ("it went watery when I added salt", {"thinned-on-addition"}),
    ("I burned my finger on the pot", set()), ("the scent of orange blossom", set()), ("it went orange", {"colour-change"}),
    ("it turned a bit brown", {"colour-change"}), ("there are bits in it", {"grainy"}), ("it wont come out of the pump", {"too-thick"})])
def test_near_words_kept_apart(text: str, heard: set[str], knowledge: Knowledge) -> None:
    assert {h.symptom for h in match_symptoms(text, knowledge) if not h.denied} == heard


def test_a_stick_is_not_sticky(knowledge: Knowledge) -> None:
    assert {h.symptom for h in match_symptoms("the stick keeps its shape", knowledge)} <= {"looks-fine"}
    assert {h.symptom for h in match_symptoms("it feels sticky", knowledge)} == {"sticky"}


def test_praise_is_no_complaint(knowledge: Knowledge) -> None:
    assert [h.symptom for h in match_symptoms("Pours nicely on the day, ten days later it is pudding.", knowledge) if not h.history] == ["stiffened-over-time"]


# What makers say at the kitchen table, and what must be heard first in it.
@pytest.mark.parametrize(("text", "symptom"), [
    ("it burnt my face", "stings"), ("makes my eyes water", "stings"), ("came up in red blotches", "stings"),
    ("it was fine for a week then split", "separated"), ("doesn't foam", "not-foaming"), ("it doesnt foam", "not-foaming"),
    ("too sloppy", "too-thin"), ("it went thin", "too-thin"), ("it's gone hard as a rock", "too-hard"), ("it won't set", "too-soft"),
    ("grey fluff on the lid", "mould"), ("green stuff on it", "mould"), ("smells weird", "off-smell"), ("smells of eggs", "off-smell"),
    ("gone pink", "colour-change"), ("little hard balls in it like couscous", "butter-grains"), ("little balls in it", "grainy"),
    ("all the fluff has gone out of it", "deflated"), ("it sank to half the jar", "deflated"), ("it bleeds oil", "oil-droplets"),
    ("drops of water come out of it when I scoop", "water-weeping"), ("gets thinner every day", "thinned-over-time"),
    ("it's soft like oil in this heat", "too-soft"), ("it won't wash off", "slimy-film"), ("the oil won't mix in", "split-at-once"),
    ("no matter how much salt I add it won't thicken", "too-thin"), ("it's all runny", "too-thin"), ("smells funny", "off-smell"),
])
def test_plain_talk(text: str, symptom: str, knowledge: Knowledge) -> None:
    heard = [h for h in match_symptoms(text, knowledge) if not h.denied and not h.history]
    assert heard and heard[0].symptom == symptom and heard[0].sure == "full", heard


def test_oil_on_top_is_heard_behind_what_sank(knowledge: Knowledge) -> None:
    assert {h.symptom for h in match_symptoms("the sugar sank to the bottom and oil is on top", knowledge)} == {"sediment", "oil-on-top"}
    assert [h.symptom for h in match_symptoms("oil and water stay apart", knowledge)] == ["split-at-once"]


def test_a_split_is_no_crack_on_top(knowledge: Knowledge) -> None:
    assert {h.symptom for h in match_symptoms("split overnight and left oil on top", knowledge)} == {"oil-on-top"}


@pytest.mark.parametrize("text", ["the jar broke", "the glass cracked", "it broke the pump", "I burned my finger", "the oil burned in the pan",
                                  "burnt smell", "not moisturising enough", "I spilled half of it"])
def test_mishaps_are_no_fault_of_the_batch(text: str, knowledge: Knowledge) -> None:
    assert match_symptoms(text, knowledge) == ()


@pytest.mark.parametrize("text", ["it hasn't separated", "it hasnt separated", "it isn't separated"])
def test_a_denial_in_one_word_is_heard(text: str, knowledge: Knowledge) -> None:
    assert [(h.symptom, h.denied) for h in match_symptoms(text, knowledge)] == [("separated", True)]


def test_a_list_of_what_is_not_there_denies_all_of_it(knowledge: Knowledge) -> None:
    heard = match_symptoms("no separation, creaming or lumps at 40 C", knowledge)
    assert {h.symptom for h in heard} >= {"creaming"} and all(h.denied for h in heard)


@pytest.mark.parametrize(("text", "wrong"), [("it had gone extremely thick", "too-thin"), ("it foams well", "not-foaming"), ("it whips up in a minute", "will-not-whip"), ("it smells faintly of honey", "smell-faded")])
def test_a_wording_with_a_denial_needs_one(text: str, wrong: str, knowledge: Knowledge) -> None:
    assert wrong not in {h.symptom for h in match_symptoms(text, knowledge)}


def test_what_was_half_understood_counts_only_alone(knowledge: Knowledge) -> None:
    """The same words beside a complaint that is clear, and beside praise that is clear, are no sign."""
    def signs(*seen: str) -> set[str]:
        return {s.symptom for s in assess(record_batch({"format": 1, "observed": list(seen)}), knowledge).complaints}

    half = next(w for w in ("hard texture", "melts to oil", "gloss lost", "many small beads", "opaque") if (alone := match_symptoms(w, knowledge)) and all(h.sure == "fair" for h in alone))
    assert signs(half)
    assert signs(half, "oil layer on top") == signs("oil layer on top")
    assert signs(half, "looks perfect") == set()


def _signs(knowledge: Knowledge, complaint: str, *seen: tuple[str, str]) -> set[str]:
    record = {"format": 1, **({"complaint": complaint} if complaint else {}), "observed": [{"what": what, "when": when} for what, when in seen]}
    return {s.symptom for s in assess(record_batch(record), knowledge).complaints}


def test_a_denial_of_something_else_denies_nothing(knowledge: Knowledge) -> None:
    assert "too-thin" not in {h.symptom for h in match_symptoms("the rest in the pan that I had not washed was thick", knowledge)}
    assert "too-thin" in {h.symptom for h in match_symptoms("the rest in the pan was not thick", knowledge)}


def test_what_it_was_like_while_it_was_well_is_no_complaint(knowledge: Knowledge) -> None:
    assert "too-thick" not in _signs(knowledge, "", ("too thick", "immediately"), ("runny as water", "next day"))
    assert "too-thick" in _signs(knowledge, "", ("runny as water", "immediately"), ("too thick", "next day"))


def test_who_says_that_all_is_well_is_believed(knowledge: Knowledge) -> None:
    sticky = ("it feels sticky", "immediately")
    assert not _signs(knowledge, "Nothing wrong with it so far.", sticky, ("no change", "3 months"))
    assert "sticky" in _signs(knowledge, "Nothing wrong with it at first, but now I wonder.", sticky, ("no change", "3 months"))
    assert "sticky" in _signs(knowledge, "Nothing wrong with it so far.", ("no change", "next day"), sticky)


def test_what_is_as_it_was_wanted_is_no_complaint(knowledge: Knowledge) -> None:
    assert not _signs(knowledge, "", ("thick like paste, as wanted", "next day"))
    assert "too-thick" in _signs(knowledge, "", ("thick like paste, not as wanted", "next day"))
    assert not _signs(knowledge, "It came out thick like paste; I like it.", ("thick like paste", "next day"))
    assert "too-thick" in _signs(knowledge, "I like it, but it came out thick like paste.", ("thick like paste", "next day"))
    assert "too-thick" in _signs(knowledge, "I like it.", ("too thick for a pump", "next day"))
    assert "mould" in _signs(knowledge, "", ("thick as wanted, fuzzy mould on top", "next day"))
    assert "mould" in _signs(knowledge, "I like it.", ("fuzzy mould on top", "next day"))


def test_what_one_would_like_is_no_praise(knowledge: Knowledge) -> None:
    assert "cloudy" in _signs(knowledge, "It's cloudy and I'd like this body wash to look clear.")
    assert not _signs(knowledge, "It's cloudy and I like this body wash so.")


def test_a_denial_does_not_silence_what_was_half_understood(knowledge: Knowledge) -> None:
    said = {"format": 1, "observed": [{"what": "poor cling and poor look"}], "complaint": "Its look is not that of a good cream."}
    assert {(s.symptom, s.full) for s in assess(record_batch(said), knowledge).complaints} == {("sticky", False)}


def test_without_denies_what_stands_close_behind_it(knowledge: Knowledge) -> None:
    assert not _signs(knowledge, "The bar glides without drag and soaks in.")
    assert "greasy" in _signs(knowledge, "It does not glide and soak in.")


def test_unchanged_through_a_test_is_no_sign_of_it(knowledge: Knowledge) -> None:
    assert not _signs(knowledge, "", ("no change, also when it split after frost", "months"))


def test_the_same_fault_again_is_a_fault(knowledge: Knowledge) -> None:
    assert "oil-on-top" in _signs(knowledge, "", ("the same oil layer on top again", "next day"))


@pytest.mark.parametrize(("text", "heard"), [
    ("pH was 5.2 at filling, 6.4 now", {"ph-moved"}), ("pH 5.5 when made, 4.1 after three weeks", {"ph-fell"}), ("weighs 480 g now, was 500 g", {"weight-lost"}),
    ("pH was 5.2 at filling, 5.2 now", set()), ("I set the pH to 5.2, it was 6.4 before", set()), ("it weighs 50 g", set()),
])
def test_two_readings_tell_which_way_it_went(text: str, heard: set[str], knowledge: Knowledge) -> None:
    assert {h.symptom for h in match_symptoms(text, knowledge)} == heard


@pytest.mark.parametrize(("text", "thin"), [("it runs off the spoon", True), ("it pours like water", True), ("it pours out too fast", True), ("my lotion pours slowly", False), ("the cream pours very slowly", False), ("it runs out of the pump", True), ("the colour runs", False), ("in the long run", False), ("runny honey was added", False)])
def test_what_runs_is_thin_unless_it_is_a_colour(text: str, thin: bool, knowledge: Knowledge) -> None:
    assert any(knowledge.symptoms[h.symptom].family == "thin" for h in match_symptoms(text, knowledge)) is thin
