"""What the advisor must conclude on keeping, feel and storage: answers of bench tests count, finer causes need their ingredient."""

from __future__ import annotations

from typing import Any

import pytest

from advisor.batch.reading import record_batch
from advisor.knowledge.load import Knowledge
from advisor.outcome import Outcome, diagnose

CREAM = [("Cetearyl Alcohol (and) Polysorbate 60", 6.0), ("Cetyl Alcohol", 3.0), ("Caprylic/Capric Triglyceride", 15.0)]
KEPT = ("Phenoxyethanol (and) Ethylhexylglycerin", 1.0)


def run(knowledge: Knowledge, lines: list[tuple[str, float]], **more: Any) -> Outcome:
    """Diagnose a complete formula in percent, topped up with water."""
    left = 100 - sum(a for _, a in lines)
    formula = {"unit": "percent", "complete": True, "lines": [{"name": n, "amount": a} for n, a in [("Aqua", left), *lines] if a > 0]}
    return diagnose(record_batch({"format": 1, "formula": formula, **more}), knowledge)


def certainty(outcome: Outcome, cause: str) -> float:
    return next(r.certainty for r in outcome.examination.ranked if r.id == cause)


def leader(outcome: Outcome) -> str:
    found = outcome.examination.leader
    return found.id if found else ""


@pytest.mark.parametrize("answers", [{}, {"preservative-there": "no"}])
def test_no_preservative_and_nothing_seen_is_a_caution_only(knowledge: Knowledge, answers: dict[str, str]) -> None:
    outcome = run(knowledge, CREAM, answers=answers)
    assert [r.id for r in outcome.examination.ranked if r.standing in ("settled", "likely")] == []
    assert certainty(outcome, "preservative-missing-or-outside-ph") < 0.1
    assert any("needs a preservative" in c for c in outcome.cautions)


@pytest.mark.parametrize(("finer", "observed", "answers"), [
    ("urea-breaks-down", "ph crept up", {"storage-place": "hot"}),
    ("vitamin-c-browned", "turned brown", {"daylight": "yes"}),
    ("borax-grit", "sharp crystals", {"grain-melts": "stays"}),
    ("cation-binds-acid-preservative", "mould on the surface", {}),
    ("food-for-germs", "mould on the surface", {}),
    ("polymer-pilling", "stays sticky", {"film-and-water": "turns-slippery"}),
])
def test_a_finer_cause_does_not_lead_without_its_ingredient(knowledge: Knowledge, finer: str, observed: str, answers: dict[str, str]) -> None:
    outcome = run(knowledge, [*CREAM, ("Glycerin", 12.0), KEPT], observed=[{"what": observed, "when": "weeks"}], answers=answers)
    assert certainty(outcome, finer) < 0.3
    assert leader(outcome) != finer


BALM = [("Mangifera Indica Seed Butter", 70.0), ("Helianthus Annuus Seed Oil", 30.0)]


def test_a_bench_test_turns_the_verdict_on_grains(knowledge: Knowledge) -> None:
    seen: dict[str, Any] = {"observed": [{"what": "grainy", "when": "weeks"}]}
    fat = run(knowledge, BALM, answers={"melt-recool-test": "smooth"}, **seen)
    other = run(knowledge, BALM, answers={"melt-recool-test": "never-clear", "gum-lump-test": "sinks-dry"}, **seen)
    assert leader(fat) == "crystal-growth-slow-cooling-butter"
    assert certainty(other, "crystal-growth-slow-cooling-butter") < 0.55 < certainty(fat, "crystal-growth-slow-cooling-butter")
    assert leader(other) == "unmelted-or-recrystallised-solids"


@pytest.mark.parametrize(("answer", "cause"), [
    ("sour-or-musty", "microbial-growth"), ("crayons-or-paint", "oxidation-rancidity"),
])
def test_the_smell_tells_germs_from_old_oil(knowledge: Knowledge, answer: str, cause: str) -> None:
    lines = [*CREAM, ("Rosa Canina Seed Oil", 10.0), KEPT]
    outcome = run(knowledge, lines, observed=[{"what": "bad smell", "when": "months"}], answers={"smell-test": answer})
    assert leader(outcome) == cause
    assert outcome.fate.verdict == "discard"


def test_gas_that_keeps_coming_is_no_air(knowledge: Knowledge) -> None:
    lines = [*CREAM, KEPT]
    seen: dict[str, Any] = {"observed": [{"what": "bubbles in the jar", "when": "days"}]}
    sinks = run(knowledge, lines, answers={"foam-stand-test": "sinks"}, **seen)
    rises = run(knowledge, lines, answers={"foam-stand-test": "rises"}, **seen)
    assert leader(sinks) == "air-entrained"
    assert certainty(rises, "air-entrained") < 0.3 < certainty(sinks, "air-entrained")


def test_stearic_acid_has_no_place_in_a_lotion_that_came_out_thick(knowledge: Knowledge) -> None:
    lines = [("Glyceryl Stearate (and) PEG-100 Stearate", 4.0), ("Stearic Acid", 2.0), ("Caprylic/Capric Triglyceride", 12.0), KEPT]
    outcome = run(knowledge, lines, wanted="lotion", kind="oil-in-water", observed=[{"what": "comes out too thick"}])
    assert leader(outcome) == "too-much-thickener-or-structure"
    assert certainty(outcome, "too-much-thickener-or-structure") > 0.55
