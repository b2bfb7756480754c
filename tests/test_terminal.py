"""The interview in a real terminal: the main road, back, interrupt and resume."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

pexpect = pytest.importorskip("pexpect", reason="a terminal is needed, which Windows has not")
ROOT = Path(__file__).parent.parent


def start(folder: Path, *args: str) -> pexpect.spawn:
    env = {**os.environ, "PYTHONPATH": str(ROOT), "TERM": "xterm", "NO_COLOR": "1"}
    return pexpect.spawn(sys.executable, ["-m", "advisor", "diagnose", *args], cwd=str(folder), env=env, dimensions=(40, 40),
                         encoding="utf-8", timeout=30)


def test_from_nothing_to_a_cause(tmp_path: Path) -> None:
    child = start(tmp_path)
    child.expect("What went wrong")
    child.expect("> ")
    child.sendline("oil came out on top the next day")
    child.expect("Understood")
    child.expect("worked for you before")
    child.expect("> ")
    child.sendline("2")
    child.expect("What was in it")
    for line in ("Water 70%", "Olive oil 22%", "Beeswax 7%", "Preservative 1%", ""):
        child.expect("> ")
        child.sendline(line)
    child.expect("There is no emulsifier")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0
    assert "Beeswax" in next(tmp_path.glob("*.yaml")).read_text(encoding="utf-8")


def test_interrupt_keeps_the_answer_and_back_takes_it_back(tmp_path: Path) -> None:
    child = start(tmp_path)
    child.expect("> ")
    child.sendline("it separated")
    child.expect("worked for you before")
    child.expect("> ")
    record = next(tmp_path.glob("*.yaml"))
    assert "it separated" in record.read_text(encoding="utf-8")
    child.sendline("b")
    child.expect("What went wrong")
    child.expect("> ")
    child.sendline("it is grainy")
    child.expect("worked for you before")
    child.expect("> ")
    child.sendintr()
    child.expect("go")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 130
    kept = record.read_text(encoding="utf-8")
    assert "grainy" in kept and "separated" not in kept


def test_the_makers_own_lines_stay(tmp_path: Path) -> None:
    mine = "# my notes\nname: test   # kept\nobserved:\n  - it separated\n\nnotes: mine\n"
    (tmp_path / "mine.yaml").write_text(mine, encoding="utf-8")
    child = start(tmp_path, "mine.yaml")
    child.expect("> ")
    child.sendline("s")
    child.expect("What happened")
    child.expect(pexpect.EOF)
    assert (tmp_path / "mine.yaml").read_text(encoding="utf-8") == mine
