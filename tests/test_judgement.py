"""What the advisor must conclude in plain situations that any experienced maker would agree on (common practice)."""

from __future__ import annotations

from typing import Any

import pytest

from advisor.batch.reading import record_batch
from advisor.diagnosis import examine
from advisor.knowledge.load import Knowledge
from advisor.outcome import Outcome, diagnose
from advisor.questions import askable
from advisor.screens.lines import first_screen
from advisor.situation import assess

WATERY = [("Phenoxyethanol (and) Ethylhexylglycerin", 1.0)]


def run(knowledge: Knowledge, lines: list[tuple[str, float]], **more: Any) -> Outcome:
    """Diagnose a complete oil-in-water formula in percent, topped up with water."""
    left = 100 - sum(a for _, a in lines)
    formula = {"unit": "percent", "complete": True, "lines": [{"name": n, "amount": a} for n, a in [("Aqua", left), *lines]]}
    return diagnose(record_batch({"format": 1, "kind": "oil-in-water", "formula": formula, **more}), knowledge)


def standing(outcome: Outcome, cause: str) -> str:
    return next(r.standing for r in outcome.examination.ranked if r.id == cause)


def leader(outcome: Outcome) -> str:
    found = outcome.examination.leader
    return found.id if found else ""


OIL_ON_TOP: dict[str, Any] = {"observed": [{"what": "oil on top", "when": "next day"}]}


def test_lone_fatty_acid_leads(knowledge: Knowledge) -> None:
    outcome = run(knowledge, [("Stearic Acid", 7.5), ("Prunus Amygdalus Dulcis Oil", 22), *WATERY], **OIL_ON_TOP)
    assert leader(outcome) == "lone-fatty-acid"
    assert standing(outcome, "lone-fatty-acid") in ("settled", "likely")


@pytest.mark.parametrize("alkali", [("Sodium Hydroxide", 0.28), ("Triethanolamine", 1.0)])
def test_soap_with_cetyl_alcohol_is_no_lone_fatty_acid(knowledge: Knowledge, alkali: tuple[str, float]) -> None:
    outcome = run(knowledge, [("Stearic Acid", 8), ("Cetyl Alcohol", 3), ("Prunus Amygdalus Dulcis Oil", 18), alkali, *WATERY], **OIL_ON_TOP)
    assert standing(outcome, "lone-fatty-acid") not in ("settled", "likely")


def test_lone_high_hlb_leads_and_fatty_alcohol_acquits_it(knowledge: Knowledge) -> None:
    alone = run(knowledge, [("Ceteareth-20", 2), ("Helianthus Annuus Seed Oil", 20), *WATERY], **OIL_ON_TOP)
    assert leader(alone) == "lone-high-hlb"
    paired = run(knowledge, [("Ceteareth-20", 2), ("Cetearyl Alcohol", 8), ("Helianthus Annuus Seed Oil", 20), *WATERY], **OIL_ON_TOP)
    assert standing(paired, "lone-high-hlb") not in ("settled", "likely")


def test_thin_from_liquid_oils_is_mended_by_a_stated_weight(knowledge: Knowledge) -> None:
    outcome = run(knowledge, [("Cetearyl Alcohol (and) Polysorbate 60", 3), ("Helianthus Annuus Seed Oil", 18), *WATERY], wanted="firm cream",
                  batch_size="200 g", observed=[{"what": "smooth but far too thin", "when": "next day"}])
    assert leader(outcome) == "too-little-solid-fat-or-thickener"
    with_weights = [c for f in outcome.fixes if f.causes == ("too-little-solid-fat-or-thickener",) for c in f.changes if c.to_g is not None]
    assert any((c.to_g or 0) > (c.from_g or 0) for c in with_weights)


def test_cold_water_phase_leads_to_a_temperature_cause(knowledge: Knowledge) -> None:
    outcome = run(knowledge, [("Cetearyl Alcohol (and) Polysorbate 60", 6), ("Cetearyl Alcohol", 3), ("Theobroma Cacao Seed Butter", 8),
                              ("Prunus Amygdalus Dulcis Oil", 10), *WATERY],
                  process={"oil_phase_temperature": "75 C", "water_phase_temperature": "28 C"},
                  observed=[{"what": "white lumps", "when": "on cooling"}])
    assert leader(outcome) in ("phase-temperature-mismatch", "phases-too-cold-unmelted")
    mixing = outcome.examination.situation.measures.quantities["mixing-temperature"].value
    assert 28 < mixing < 75


def test_judged_warm_means_wait(knowledge: Knowledge) -> None:
    outcome = run(knowledge, [("Cetearyl Alcohol (and) Polysorbate 60", 6), ("Cetyl Alcohol", 3), ("Butyrospermum Parkii Butter", 8),
                              ("Helianthus Annuus Seed Oil", 10), *WATERY],
                  wanted="cream", observed=[{"what": "thin and runny while still warm", "when": "immediately"}])
    assert leader(outcome) == "judged-before-cool"
    assert outcome.fate.verdict == "wait"


@pytest.mark.parametrize("lines", [
    [("Cetearyl Alcohol (and) Polysorbate 60", 6), ("Cetyl Alcohol", 3), ("Helianthus Annuus Seed Oil", 15), ("Butyrospermum Parkii Butter", 5), *WATERY],
    [("Cetearyl Alcohol (and) Ceteareth-20", 7), ("Paraffinum Liquidum", 15), ("Petrolatum", 10), *WATERY],
    [("Glyceryl Stearate (and) PEG-100 Stearate", 5), ("Cetearyl Alcohol", 2), ("Caprylic/Capric Triglyceride", 15), *WATERY],
])
def test_sound_formulas_are_not_accused(knowledge: Knowledge, lines: list[tuple[str, float]]) -> None:
    outcome = run(knowledge, lines)
    assert [r.id for r in outcome.examination.ranked if r.standing in ("settled", "likely")] == []


def test_mould_is_thrown_out(knowledge: Knowledge) -> None:
    outcome = run(knowledge, [("Cetearyl Alcohol (and) Polysorbate 60", 6), ("Helianthus Annuus Seed Oil", 15)],
                  observed=[{"what": "mould spots on the surface", "when": "weeks"}])
    assert outcome.fate.verdict == "discard"


@pytest.mark.parametrize(("said", "place"), [("-15 C", "frost-and-thaw"), ("5 F", "frost-and-thaw"), ("5 C", "cold"), ("70 F", "room"), ("41", "hot"), ("in the car", "hot"), ("outside", ""),
                                            ("20-25 C", "room"), ("5 to 45 C", "cold hot"), ("varied from -5 to 45 C", "frost-and-thaw hot"), ("between 104 F and 40 F", "hot cold"), ("3 weeks at 40 C", "hot")])
def test_where_it_stood_is_read_in_degrees_too(said: str, place: str, knowledge: Knowledge) -> None:
    situation = assess(record_batch({"format": 1, "observed": "it split", "storage": {"temperature": said}}), knowledge)
    assert situation.answers.get("storage-place", ()) == tuple(place.split())


def test_amounts_in_ml_were_measured_by_volume(knowledge: Knowledge) -> None:
    lines = [{"name": "water", "amount": 240}, {"name": "olive oil", "amount": 60}]
    for unit, how in (("ml", ("spoons",)), ("g", ())):
        assert assess(record_batch({"format": 1, "formula": {"unit": unit, "lines": lines}}), knowledge).answers.get("measured-how", ()) == how


def test_a_wash_is_not_asked_about_melting_and_joining(knowledge: Knowledge) -> None:
    wash = {"format": 1, "kind": "surfactant", "observed": [{"what": "too thin", "when": "next day"}],
            "formula": {"unit": "percent", "complete": True, "lines": [{"name": "water", "amount": 60}, {"name": "decyl glucoside", "amount": 40}]}}
    cream = {**wash, "kind": "oil-in-water"}
    hot = {"oil-phase-clear", "oil-temperature", "water-temperature", "set-on-joining", "emulsifier-melted", "head-covered"}
    for record, asked in ((wash, False), (cream, True)):
        examination = examine(record_batch(record), knowledge)
        assert bool(hot & {q.id for q in knowledge.questions.values() if askable(q, examination, knowledge)}) is asked


def test_thin_on_the_next_day_is_no_work_of_germs(knowledge: Knowledge) -> None:
    """What goes thin over weeks may be; so may a thin lotion of which no time is told."""
    lines = [("Helianthus Annuus Seed Oil", 15.0), ("Cetearyl Alcohol (and) Polysorbate 60", 5.0), ("Aloe Barbadensis Leaf Juice", 20.0)]
    explained = {when: next(r for r in run(knowledge, lines, observed=[{"what": "too thin", **({"when": when} if when else {})}]).examination.ranked if r.id == "microbial-growth").explains
                 for when in ("next day", "weeks", "")}
    assert explained == {"next day": (), "weeks": ("too-thin",), "": ("too-thin",)}


@pytest.mark.parametrize(("amount", "fatty_acid", "preservative"), [(1.0, "no", "unknown"), (5.0, "unknown", "no")])
def test_how_much_there_is_of_something_unknown_tells_what_it_is_not(amount: float, fatty_acid: str, preservative: str, knowledge: Knowledge) -> None:
    """A trace is no fatty acid, but may be a preservative, which works by tenths of a percent; several percent are none."""
    lines = [{"name": "water", "amount": 95.0 - amount}, {"name": "glyceryl stearate", "amount": 5}, {"name": "harbour stuff", "amount": amount}]
    measures = assess(record_batch({"format": 1, "formula": {"unit": "percent", "complete": True, "lines": lines}}), knowledge).measures
    assert (measures.listed_state("fatty-acid"), measures.listed_state("preservative")) == (fatty_acid, preservative)


def test_an_answer_that_no_question_takes_is_said(knowledge: Knowledge) -> None:
    record = {"format": 1, "observed": "too thin", "answers": {"mixer": "nonsense", "harbour": "yes", "covered": True, "cooled": "not-sure", "worked-before": "no"}}
    remarks = assess(record_batch(record), knowledge).remarks
    assert [r.about for r in remarks] == ["answers, mixer", "answers"] and "'nonsense'" in remarks[0].says and "stick-blender" in remarks[0].says and "'harbour'" in remarks[1].says


@pytest.mark.parametrize(("said", "verdict"), [("it went all weird", "unsure"), ("it didn't work", "unsure"), ("it was perfect yesterday, today it is a mess", "unsure"),
                                               ("it looks right", "use"), ("it never separated", "use")])
def test_what_was_not_understood_is_no_all_clear(said: str, verdict: str, knowledge: Knowledge) -> None:
    sound = [("Helianthus Annuus Seed Oil", 16.0), ("Cetearyl Alcohol (and) Polysorbate 60", 8.0), ("Cetyl Alcohol", 5.0), ("Phenoxyethanol", 1.0)]
    for field in ("complaint", "observed"):
        assert run(knowledge, sound, **{field: said}).fate.verdict == verdict


@pytest.mark.parametrize(("when", "soon", "judged"), [("within an hour", "same-day", ""), ("next day", "within-days", "next-day-or-later"),
                                                      ("after 3 weeks", "within-weeks", "next-day-or-later"), ("", "", "")])
def test_a_time_that_was_told_is_not_asked_for_again(when: str, soon: str, judged: str, knowledge: Knowledge) -> None:
    seen = {"what": "too thin", **({"when": when} if when else {})}
    answers = assess(record_batch({"format": 1, "observed": [seen]}), knowledge).answers
    assert (answers.get("how-soon", ()), answers.get("judged-when", ())) == ((soon,) if soon else (), (judged,) if judged else ())
    apart = [{"what": "too thin", "when": "within an hour"}, {"what": "mould on top", "when": "weeks"}]
    assert "how-soon" not in assess(record_batch({"format": 1, "observed": apart}), knowledge).answers


@pytest.mark.parametrize(("question", "sign", "other"), [("grain-melts", "little grains in the cream", "mould on top"), ("gas-smell", "the lid is bulging", "mould on top"),
                                                         ("cool-plate-test", "too thin", "it is grainy"), ("whipped-when", "whipped butter collapsed", "too soft")])
def test_what_was_not_seen_is_not_asked_about(question: str, sign: str, other: str, knowledge: Knowledge) -> None:
    for said, asked in ((sign, True), (other, False)):
        kind = "anhydrous" if question == "whipped-when" else "oil-in-water"
        examination = examine(record_batch({"format": 1, "kind": kind, "observed": said}), knowledge)
        assert askable(knowledge.questions[question], examination, knowledge) is asked


def test_what_has_no_water_is_not_asked_about_two_phases(knowledge: Knowledge) -> None:
    lines = [{"name": "coconut oil", "amount": 60}, {"name": "shea butter", "amount": 40}]
    examination = examine(record_batch({"format": 1, "observed": "it is grainy", "formula": {"unit": "percent", "lines": lines}}), knowledge)
    two = {"set-on-joining", "oil-phase-clear", "blended-after-thickening", "syringe-shear-test"}
    assert not two & {q.id for q in knowledge.questions.values() if askable(q, examination, knowledge)}


@pytest.mark.parametrize(("unit", "stated", "size"), [("g", None, 240.0), ("g", 250.0, 240.0), ("g", 1000.0, 1000.0), ("percent", None, None), ("kg", None, 240_000.0)])
def test_what_was_weighed_in_is_the_size_of_the_batch(unit: str, stated: float | None, size: float | None, knowledge: Knowledge) -> None:
    lines = [{"name": "water", "amount": 180}, {"name": "olive oil", "amount": 60}]
    record = {"format": 1, "formula": {"unit": unit, "lines": lines}} | ({"batch_size": stated} if stated else {})
    if unit == "percent":
        lines[0]["amount"], lines[1]["amount"] = 75, 25
    assert assess(record_batch(record), knowledge).batch.batch_size == size


def test_a_conditioner_keeps_what_conditions(knowledge: Knowledge) -> None:
    """Where the cationic material is the emulsifier itself, the anionic one goes."""
    lines = [("Behentrimonium Methosulfate (and) Cetearyl Alcohol", 5.0), ("Cetyl Alcohol", 3.0), ("Sodium Lauryl Sulfate", 2.0)]
    outcome = diagnose(record_batch({"format": 1, "observed": "it looks curdled", "formula": {"unit": "percent", "lines": [
        {"name": n, "amount": a} for n, a in [("Aqua", 90.0), *lines]]}}), knowledge)
    assert outcome.examination.leader is not None and outcome.examination.leader.id == "charge-conflict"
    gone = {c.ingredient for f in outcome.fixes for c in f.changes if c.to_percent == 0}
    assert "Sodium Lauryl Sulfate" in gone and "Behentrimonium Methosulfate (and) Cetearyl Alcohol" not in gone


def test_what_stings_is_washed_off(knowledge: Knowledge) -> None:
    lines = [("Helianthus Annuus Seed Oil", 15.0), ("Cetearyl Alcohol (and) Polysorbate 60", 5.0)]
    assert any("wash it off" in c for c in run(knowledge, lines, observed="it burnt my face").cautions)
    assert not any("wash it off" in c for c in run(knowledge, lines, observed="it is not stinging, but too thin").cautions)


def test_a_first_fix_for_another_cause_says_so(knowledge: Knowledge) -> None:
    lines = [("sweet almond oil", 16.0), ("shea butter", 8.0), ("emulsifying wax", 2.4), ("tocopherol", 0.8)]
    for said, aside in (("too thin", True), ("it separated", False)):
        outcome = run(knowledge, lines, observed=said, wanted="lotion", process={"mixer": "whisk"})
        leader = outcome.examination.leader
        shown = next(b for b in first_screen(outcome, knowledge) if b.heading.startswith("First fix"))
        assert leader is not None and (leader.id not in outcome.fixes[0].causes) is aside
        assert any("For another cause" in line for line in shown.lines) is aside


def test_what_is_explained_only_at_times_is_half_explained_without_one(knowledge: Knowledge) -> None:
    """Thin, and nobody told when: that it was judged warm explains it less than where it was thin right away."""
    def weight(**when: str) -> float:
        found = examine(record_batch({"format": 1, "kind": "oil-in-water", "observed": [{"what": "too thin", **when}]}), knowledge)
        card = next(r for r in found.ranked if r.id == "judged-before-cool")
        return max(x.weight for x in card.reasons if "/explains/" in x.rule)

    assert 0 < weight() < weight(when="immediately")


def test_what_came_out_right_is_a_lesser_risk(knowledge: Knowledge) -> None:
    """A formula that should part by its paper: said to have come out perfect, the risk stays named but weighs less."""
    lines = [("Stearic Acid", 7.5), ("Prunus Amygdalus Dulcis Oil", 22.0), *WATERY]
    silent, praised = run(knowledge, lines), run(knowledge, lines, observed=[{"what": "it turned out perfect"}])
    assert leader(silent) == leader(praised) == "lone-fatty-acid"
    before, after = (next(r.log_odds for r in o.examination.ranked if r.id == "lone-fatty-acid") for o in (silent, praised))
    assert after < before


def test_the_second_cause_is_one_that_explains_what_is_left(knowledge: Knowledge) -> None:
    """Spoiled for want of a preservative, and water below: the emulsifier that cannot hold it, not the germs, is named beside it."""
    lines = [("Glycerin", 4.0), ("Prunus Amygdalus Dulcis Oil", 15.0), ("Butyrospermum Parkii Butter", 8.0), ("Glyceryl Stearate", 5.0), ("Cetyl Alcohol", 3.0), ("Honey", 3.0)]
    found = run(knowledge, lines, observed=[{"what": "smells sour", "when": "weeks"}, {"what": "water at the bottom", "when": "weeks"}])
    assert leader(found) == "preservative-missing-or-outside-ph" and found.examination.partner == "lone-low-hlb"
