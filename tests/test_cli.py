"""The command as other programs meet it: JSON on standard output, remarks on standard error, exit codes."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
CASE = str(ROOT / "cases" / "demo-heel-cream.yaml")


def advisor(*args: str, given: str | None = None) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", "advisor", *args], input=given, capture_output=True, text=True, cwd=ROOT, timeout=180, check=False)


def test_json_holds_the_contract() -> None:
    done = advisor("diagnose", CASE, "--json")
    assert done.returncode == 0, done.stderr
    data = json.loads(done.stdout)
    assert data["format"] == 1
    assert set(data) >= {"batch", "symptoms", "quantities", "causes", "fate", "fixes", "questions", "cautions", "remarks"}
    first = data["causes"][0]
    assert first["id"] == "lone-fatty-acid"
    assert first["standing"] in ("settled", "likely")
    assert {"rule", "says", "strength", "facts", "source"} <= set(first["for"][0])
    sure = [c["certainty"] for c in data["causes"]]
    assert sure == sorted(sure, reverse=True)
    assert data["fate"]["verdict"] in ("use", "wait", "rescue", "discard", "unsure")
    change = next(c for f in data["fixes"] for c in f["changes"] if c["to_g"] is not None)
    assert change["to_g"] == pytest.approx(change["to_percent"] * 2, abs=0.02)   # the batch is 200 g


@pytest.mark.parametrize(("text", "word"), [
    ("", "empty"), ("formula: [1, 2", "YAML"), ("a: 1\na: 2\n", "twice"), ("formla:\n  lines: []\n", "formula"),
    ("formula:\n  lines:\n    - {name: Water, amount: -4}\n", "amount"), ("formula:\n  lines:\n    - {name: Water, amount: 1:1}\n", "1:1"),
    ("formula:\n  lines:\n    - {name: Water, amount: 70}\n    - {name: Olive oil, amount: .nan}\n", ""),
    ("formula:\n  lines:\n    - {name: Water, amount: 100}\nprocess:\n  water_phase_temperature: 300 C\n", "300"),
    ("formula: &a\n  lines: *a\n", "anchor"), ("formula: " + "[" * 300 + "]" * 300, "deep"),
])
def test_bad_input_is_one_clear_error(tmp_path: Path, text: str, word: str) -> None:
    file = tmp_path / "batch.yaml"
    file.write_text(text, encoding="utf-8")
    done = advisor("diagnose", str(file), "--json")
    assert done.returncode == 2, done.stdout + done.stderr
    assert done.stdout == ""
    assert "Traceback" not in done.stderr
    assert word in done.stderr
    assert file.read_text(encoding="utf-8") == text


def test_folder_binary_and_huge_files_are_refused(tmp_path: Path) -> None:
    binary, huge = tmp_path / "b.yaml", tmp_path / "h.yaml"
    binary.write_bytes(b"\x00\x01\x02formula")
    huge.write_bytes(b"# " + b"x" * 10_000_000)
    for path in (tmp_path, binary, huge, tmp_path / "missing.yaml"):
        done = advisor("diagnose", str(path))
        assert done.returncode == 2
        assert str(path) in done.stderr and "Traceback" not in done.stderr


def test_standard_input_and_plain() -> None:
    done = advisor("diagnose", "-", "--plain", given="Water 75%\nOlive oil 20%\nStearic acid 5%\n")
    assert done.returncode == 0, done.stderr
    assert "\x1b" not in done.stdout
    assert "What happened:" in done.stdout


def test_without_a_terminal_nothing_is_asked() -> None:
    done = advisor("diagnose")
    assert done.returncode == 2
    assert "without a terminal nothing is asked" in done.stderr


def test_markup_and_escapes_in_names_are_shown_not_obeyed() -> None:
    text = 'formula:\n  lines:\n    - {name: "[red]x[/red]\\e[31m oil", amount: 30}\n    - {name: Water, amount: 70}\nobserved:\n  - {what: oil on top}\n'
    done = advisor("diagnose", "-", given=text)
    assert done.returncode == 0, done.stderr
    assert "\x1b" not in done.stdout + done.stderr


def test_version_names_the_engine() -> None:
    done = advisor("--version")
    assert done.returncode == 0
    assert "durable_rules" in done.stdout or "plain matcher" in done.stdout


@pytest.mark.parametrize(("command", "told"), [
    ("ingredient Polysorbate 60", ("needs a partner", "hlb:", "oil-in-water")),
    ("ingredient zzyxqwrt", ("not known here", "INCI name on its label")),
    ("ingredient cetaryl alcohol", ("not known here", "Cetearyl Alcohol")),
    ("rules show oil-on-top", ("symptom oil-on-top", "wording:", "used by")),
    ("rules show mixer", ("question mixer", "choice ", "used by")),
    ("rules show oil-share", ("quantity oil-share", "unit: %", "formula:")),
    ("rules show soap-there", ("finding soap-there", "when ")),
])
def test_every_kind_of_card_is_shown(command: str, told: tuple[str, ...]) -> None:
    head, _, name = command.rpartition("ingredient ") if command.startswith("ingredient") else command.rpartition(" ")
    words = ["ingredient", name] if command.startswith("ingredient") else [*head.split(), name]
    done = advisor(*words)
    assert done.returncode == 0, done.stderr
    assert [t for t in told if t not in done.stdout] == []
    assert json.loads(advisor(*words, "--json").stdout)["format"] == 1


def test_a_card_that_is_not_there_and_a_file_that_cannot_be_written(tmp_path: Path) -> None:
    done = advisor("rules", "show", "lone-fatty-acd")
    assert done.returncode == 2 and "Did you mean 'lone-fatty-acid'?" in done.stderr
    (tmp_path / "file").write_text("", encoding="utf-8")
    done = advisor("rules", "new", str(tmp_path / "file" / "card.yaml"))
    assert done.returncode == 2 and "cannot be written" in done.stderr and "Traceback" not in done.stderr
    done = advisor("rules", "new", str(tmp_path / "file"))
    assert done.returncode == 2 and "there already" in done.stderr


def test_a_fault_in_ones_own_rules_is_told_with_its_place(tmp_path: Path) -> None:
    (tmp_path / "strengths.yaml").write_text("format: 1\nstrengths: {lone-fatty-acid/no-alkali: huge}\n", encoding="utf-8")
    done = advisor("rules", "check", "--own", str(tmp_path))
    assert done.returncode == 2 and "strengths.yaml" in done.stdout and "not one of the words" in done.stdout and "1 problems" in done.stdout
    data = json.loads(advisor("rules", "check", "--own", str(tmp_path), "--json").stdout)
    assert data["problems"][0]["line"] == 2 and data["problems"][0]["mend"]


@pytest.mark.parametrize(("supposed", "word"), [
    ("ph-reading=much", "is no answer to"), ("ph-reading=40", "is no answer to"), ("mixer=hammer", "Its answers:"), ("mixxer=whisk", "Did you mean 'mixer'?"), ("mixer", "="), ("glycerine=lots", "no question or ingredient"),
])
def test_a_supposition_that_is_none(supposed: str, word: str) -> None:
    done = advisor("explain", CASE, "--what-if", supposed)
    assert done.returncode == 2 and word in done.stderr and "Traceback" not in done.stderr


@pytest.mark.parametrize("supposed", ["ph-reading=9.5", "stearic acid=0", "Water=60", "Triethanolamine=1", "mixer=hand-whisk"])
def test_a_supposition_shows_both_verdicts(supposed: str) -> None:
    data = json.loads(advisor("explain", CASE, "--what-if", supposed, "--json").stdout)
    assert data["what_if"] and advisor("explain", CASE, "--what-if", supposed).returncode == 0


def test_a_score_names_what_was_missed(tmp_path: Path) -> None:
    text = Path(CASE).read_text(encoding="utf-8")
    (tmp_path / "right.yaml").write_text(text, encoding="utf-8")
    (tmp_path / "wrong.yaml").write_text(text.replace("cause: lone-fatty-acid", "cause: over-whipped-air").replace("also: [no-emulsifier]", "also: []"), encoding="utf-8")
    done = advisor("score", str(tmp_path))
    assert done.returncode == 0, done.stderr
    assert "2 cases: 2 faults" in done.stdout and "right first: 1 (" in done.stdout and "missed wrong: wanted over-whipped-air, got lone-fatty-acid" in done.stdout
    assert json.loads(advisor("score", str(tmp_path), "--json").stdout)["first"]["n"] == 1


def test_an_ingredient_without_a_name() -> None:
    done = advisor("ingredient", " ")
    assert done.returncode == 2 and "Name an ingredient" in done.stderr


@pytest.mark.skipif(sys.platform == "win32", reason="a pipe that closes early is told otherwise there")
def test_a_reader_that_goes_away_is_no_fault() -> None:
    with subprocess.Popen([sys.executable, "-m", "advisor", "rules", "schema", "causes"], cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as child:
        assert child.stdout and child.stderr
        child.stdout.close()
        assert child.stderr.read() == b""
        assert child.wait(60) == 0
