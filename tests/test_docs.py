"""The README tells the truth: its sessions are what the program prints today."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import click
import pytest
from session import MARK, refreshed

from advisor.cli import main

README = Path(__file__).parent.parent / "README.md"


def test_the_sessions_are_fresh() -> None:
    text = README.read_text(encoding="utf-8")
    assert refreshed(text) == text, "run: python tests/session.py"


def test_a_stale_session_is_seen() -> None:
    """A screen that the program does not print, and a cut that is not said, are put right."""
    made = refreshed("<!-- session (first 2 lines): advisor ingredient glycerin --plain -->\n```text\nold\n```\n<!-- end of session -->")
    told = made.splitlines()
    assert told[2] == "$ advisor ingredient glycerin --plain" and "Glycerin" in told[3] and re.fullmatch(r"\.\.\. \(\d+ more lines\)", told[4]) and told[5:] == ["```", "<!-- end of session -->"]


def test_every_command_of_the_walk_through_has_its_screen() -> None:
    walk = README.read_text(encoding="utf-8").partition("## A session\n")[2].partition("## The words on the screens\n")[0]
    screens = [m["command"] for m in MARK.finditer(walk)]
    assert len(screens) >= 7 and walk.count("```text") == len(screens)
    named = re.findall(r"`(advisor [^`]+)`", MARK.sub("", walk))
    assert named and [n for n in named if not any(s.startswith(n) for s in screens)] == []


def test_the_first_two_blocks_are_commands_of_one_line() -> None:
    blocks = re.findall(r"```(\w*)\n(.*?)\n```", README.read_text(encoding="utf-8"), re.S)
    assert [kind for kind, _ in blocks[:2]] == ["sh", "sh"]
    assert all("\n" not in body for _, body in blocks[:2])


def commands(group: click.Group, path: tuple[str, ...] = ()) -> list[tuple[str, ...]]:
    """Every command by its words."""
    out: list[tuple[str, ...]] = []
    context = click.Context(group)
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        out += commands(command, (*path, name)) if isinstance(command, click.Group) else [(*path, name)]
    return out


@pytest.mark.parametrize("words", commands(main), ids=" ".join)
def test_the_example_of_every_command_works_as_pasted(words: tuple[str, ...], tmp_path: Path) -> None:
    command: click.Command = main
    for word in words:
        assert isinstance(command, click.Group)
        found = command.get_command(click.Context(command), word)
        assert found is not None
        command = found
    example = re.search(r"Example: advisor (.+)", command.help or "")
    assert example, f"{' '.join(words)} has no example"
    done = subprocess.run([sys.executable, "-m", "advisor", *shlex.split(example[1])], capture_output=True, text=True, cwd=tmp_path, check=False, env={**os.environ, "PYTHONPATH": str(README.parent)},
                          stdin=subprocess.DEVNULL, timeout=180)
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip()


def test_the_table_of_outside_checks_is_filled() -> None:
    table = README.read_text(encoding="utf-8").partition("<!-- outside checks -->")[2].partition("<!-- end")[0]
    counts = [int(n) for n in re.findall(r"\| (\d+) \| `tests/", table)]
    whole = re.search(r"\| all \| (\d+) \|", table)
    assert len(counts) >= 5 and whole and sum(counts) == int(whole[1])


def test_alone_it_says_what_to_do_next(tmp_path: Path) -> None:
    done = subprocess.run([sys.executable, "-m", "advisor"], capture_output=True, text=True, cwd=tmp_path, check=True, env={**os.environ, "PYTHONPATH": str(README.parent)})
    example = re.search(r"advisor (diagnose cases/\S+ --no-ask)", done.stdout)
    assert example and "advisor diagnose my-batch.yaml" in done.stdout
    again = subprocess.run([sys.executable, "-m", "advisor", *example[1].split()], capture_output=True, text=True, cwd=tmp_path, check=True, env={**os.environ, "PYTHONPATH": str(README.parent)})
    assert "What happened" in again.stdout and not list(tmp_path.iterdir())
