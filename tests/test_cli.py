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
    return subprocess.run([sys.executable, "-m", "advisor", *args], input=given, capture_output=True, text=True, cwd=ROOT, timeout=60, check=False)


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
