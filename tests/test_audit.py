"""Every check finds its planted fault, with file, line and mend; the classic faults of a rule base among them.

The list of faults: Nguyen, Perkins, Laffey, Pecora (1987), Knowledge base verification, AI Magazine 8(2).
"""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from advisor.contrasts import contrasts_of
from advisor.errors import Problem
from advisor.knowledge.audit import audit
from advisor.knowledge.files import data_folder
from advisor.knowledge.load import load_knowledge
from advisor.scoring import labelled
from advisor.vetting import knock_out, vet

CARD = "causes/separated/lone-fatty-acid.yaml"
WAX = "causes/separated/no-emulsifier.yaml"
FINDINGS = "findings/formula.yaml"


def plant(tmp_path: Path, file: str, old: str, new: str) -> Path:
    """A copy of the rules with one text replaced in one file."""
    rules = tmp_path / "rules"
    shutil.copytree(data_folder("rules"), rules)
    path = rules / file
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    return rules


FOR = "\nfor:\n"
EVIDENCE = "\nfor:\n  - {{id: planted, when: {when}, strength: fair, says: \"x\", group: planted, source: common practice}}\n"
FAULTS = [   # name, file, text taken out, text put in, the check that must find it
    ("unknown key", CARD, "\nfor:\n", "\nfore:\n", "form"),
    ("number without source", "ingredients/emulsifiers.yaml", "  - inci: ", "  - inci: Planted\n    is: [wax]\n    phase: oil\n    state: solid\n    purpose: x\n    level: {is: 3}\n  - inci: ", "form"),
    ("cause without contrary evidence", "causes/separated/hlb-mismatch.yaml", "\nagainst:\n", "\nagainst: []\nexceptions:\n", "form"),
    ("double id", FINDINGS, "findings:\n", "findings:\n  - {id: is-emulsion, says: x, when: {kind: [gel]}, sources: common practice}\n", "double-id"),
    ("evidence id twice", CARD, FOR, EVIDENCE.format(when="{listed: wax}") + EVIDENCE.format(when="{listed: Aqua}").removeprefix("\nfor:\n"), "double-id"),
    ("circle", FINDINGS, "findings:\n", "findings:\n  - {id: p, says: x, when: {finding: q}, sources: common practice}\n"
     "  - {id: q, says: x, when: {finding: p}, sources: common practice}\n", "circular"),
    ("dead end in a condition", CARD, FOR, EVIDENCE.format(when="{finding: ghost}"), "dead-end-condition"),
    ("answer that cannot be", CARD, FOR, EVIDENCE.format(when="{answer: mixer, is: feather}"), "impossible-answer"),
    ("contradiction within a rule", CARD, FOR, EVIDENCE.format(when="{all: [{listed: wax}, {not: {listed: wax}}]}"), "contradiction-within-rule"),
    ("what is told and untold at once", CARD, FOR, EVIDENCE.format(when="{all: [{symptom: creaming}, {untold: {symptom: creaming}}]}"), "contradiction-within-rule"),
    ("a number that is untold and read at once", CARD, FOR, EVIDENCE.format(when="{all: [{quantity: ph, above: 4, full: 5}, {untold: {quantity: ph}}]}"), "contradiction-within-rule"),
    ("untold of what no maker tells", CARD, FOR, EVIDENCE.format(when="{untold: {listed: wax}}"), "form"),
    ("redundant", CARD, FOR, EVIDENCE.format(when="{answer: remake-test, is: splits-again}"), "redundant"),
    ("for and against on one condition", CARD, FOR, EVIDENCE.format(when="{finding: soap-works}"), "conflicting"),
    ("counted twice", CARD, FOR, EVIDENCE.format(when="{all: [{answer: remake-test, is: splits-again}, {kind: [oil-in-water]}]}"), "subsumed"),
    ("cliff", CARD, FOR, EVIDENCE.format(when="{quantity: oil-share, above: 30, full: 30}"), "ramp"),
    ("finding that nothing uses", FINDINGS, "findings:\n", "findings:\n  - {id: lonely, says: x, when: {kind: [gel]}, sources: common practice}\n", "dead-end-finding"),
    ("question that nothing uses", "questions/jar.yaml", "questions:\n",
     "questions:\n  - {id: idle, text: x, why: x, kind: choice, effort: glance, choices: [{id: a, label: a}]}\n", "unused-question"),
    ("one choice twice", "questions/making.yaml", '      - {id: "no", label: "no"}\n', '      - {id: "no", label: "no"}\n      - {id: "no", label: "never"}\n', "double-id"),
    ("sign of a question that is none", "questions/tests.yaml", "seen: [grainy", "seen: [grainyy", "dead-end-condition"),
    ("clash of an answer with what is none", "questions/making.yaml", "when: {symptom: separated, seen: [next-day", "when: {symptom: separatedd, seen: [next-day", "dead-end-condition"),
    ("class of a choice that is none", "questions/making.yaml", "named: [acid-adjuster]", "named: [acid-adjusters]", "dead-end-condition"),
    ("unknown source", CARD, "source: common practice", "source: hearsay1999", "unknown-source"),
    ("symptom that is none", CARD, "symptom: oil-on-top", "symptom: oil-on-topp", "dead-end-condition"),
    ("two meanings of one wording", "symptoms.yaml", "wordings: [", "wordings: [oil drops, ", "two-meanings"),
    ("two words for one thing", WAX, "title: There is no emulsifier in it", "title: A fatty acid is the only emulsifier", "two-words"),
    ("two quantities of one title", "quantities.yaml", 'title: "Hard butters"', 'title: "Butters"', "two-words"),
    ("figures of a fix without a source", "causes/separated/glyceryl-stearate-too-pure.yaml", "\nsources: [olaughlin1989, common practice, from memory]", "\nsources: [olaughlin1989]", "figure-without-source"),
    ("fix that changes nothing", CARD, "\nfixes:\n", "\nfixes:\n  - {id: idle, title: Idle, effort: step}\n", "empty-fix"),
    ("fix on a thing that is none", CARD, "\nfixes:\n", "\nfixes:\n  - {id: idle, title: Idle, effort: step, changes: [{do: add, target: Nonsuch Wax, level: 3}]}\n",
     "dead-end-condition"),
    ("fate under a condition that is none", "causes/measuring/measured-by-volume-or-scale-error.yaml", "\nfate: {", "\nfate: {where: [{when: {symptom: ghost}, verdict: use, because: x}], ", "dead-end-condition"),
    ("bar of a rescue under a condition that is none", "rescue.yaml", "finding: sun-filter-there", "finding: ghost", "dead-end-condition"),
    ("what is spoiled kept under a condition", "causes/spoilage/microbial-growth.yaml", "\nfate: {", "\nfate: {where: [{when: {kind: [gel]}, verdict: use, because: x}], ", "spoiled-kept"),
]


@pytest.mark.parametrize(("file", "old", "new", "check"), [f[1:] for f in FAULTS], ids=[f[0] for f in FAULTS])
def test_the_planted_fault_is_found(tmp_path: Path, file: str, old: str, new: str, check: str) -> None:
    _, problems = audit(plant(tmp_path, file, old, new))
    found: list[Problem] = [p for p in problems if p.check == check]
    assert found, [str(p) for p in problems]
    assert all(p.says and p.mend for p in found)
    assert any(Path(p.place.file).name == Path(file).name for p in found)
    if check not in ("circular", "double-id"):
        assert any(p.place.line > 0 for p in found)


def test_a_failing_example_is_found(tmp_path: Path) -> None:
    rules = plant(tmp_path, CARD, "    leads: false\n", "    leads: true\n")
    assert [p.check for p in vet(load_knowledge(rules))] == ["example"]


def test_a_fix_that_cannot_move_its_quantity_is_found(tmp_path: Path) -> None:
    rules = plant(tmp_path, WAX, "quantity: emulsifier-of-usual", "quantity: urea-share")
    assert "idle-fix" in [p.check for p in vet(load_knowledge(rules))]


def test_knock_out_tells_idle_from_needed(tmp_path: Path) -> None:
    plain = load_knowledge(data_folder("rules"))
    contrasts = contrasts_of(plain)
    cases = [c for folder in ("cases", "accounts") for c in labelled(Path(__file__).parent / folder)]
    before = knock_out(plain, contrasts, cases)
    rules = plant(tmp_path, CARD, FOR, EVIDENCE.format(when="{kind: [gel]}"))
    after = knock_out(load_knowledge(rules), contrasts, cases, only=["lone-fatty-acid"])
    assert after.total == len(plain.causes["lone-fatty-acid"].evidence) + 1 and {i for i in after.idle if i in before.idle} == {i for i in before.idle if i.startswith("lone-fatty-acid/")}
    assert "lone-fatty-acid/planted" in after.idle
    assert 0 < before.share <= 0.15, before.idle


@pytest.mark.parametrize(("change", "makes", "holds"), [
    ("{kind: anhydrous}", "ruled out", True), ("{answers: {mixer: spoon}}", "ruled out", False), ("{kind: anhydrous}", "surer", False)])
def test_a_contrast_that_does_not_hold_is_found(tmp_path: Path, change: str, makes: str, holds: bool) -> None:
    (tmp_path / "own.yaml").write_text(f"format: 1\ncontrasts:\n  - {{cause: lone-fatty-acid, example: 1, change: {change}, makes: {makes}}}\n", encoding="utf-8")
    plain = load_knowledge(data_folder("rules"))
    found = [p for p in vet(plain, contrasts_of(plain, tmp_path)) if p.check == "contrast"]
    assert len(found) == (0 if holds else 1) and all(p.place.line == 3 and makes in p.says for p in found)
