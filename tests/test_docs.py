"""The README tells the truth: its session is what the program prints today."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from pathlib import Path

import click
import pytest
from session import refreshed

from advisor.cli import main

README = Path(__file__).parent.parent / "README.md"


def test_the_session_is_fresh() -> None:
    text = README.read_text(encoding="utf-8")
    assert refreshed(text) == text, "run: python tests/session.py"


def test_the_first_two_blocks_are_commands_of_one_line() -> None:
    blocks = re.findall(r"```(\w*)\n(.*?)\n```", README.read_text(encoding="utf-8"), re.S)
    assert [kind for kind, _ in blocks[:2]] == ["sh", "sh"]
    assert all("\n" not in body for _, body in blocks[:2])


def commands(group: click.Group, path: tuple[str, ...] = ()) -> list[tuple[str, ...]]:
    """Every command by its words."""
    out: list[tuple[str, ...]] = []
    for name, command in group.commands.items():
        out += commands(command, (*path, name)) if isinstance(command, click.Group) else [(*path, name)]
    return out


@pytest.mark.parametrize("words", commands(main), ids=" ".join)
def test_the_example_of_every_command_works_as_pasted(words: tuple[str, ...], tmp_path: Path) -> None:
    command: click.Command = main
    for word in words:
        assert isinstance(command, click.Group)
        command = command.commands[word]
    example = re.search(r"Example: advisor (.+)", command.help or "")
    assert example, f"{' '.join(words)} has no example"
    done = subprocess.run([sys.executable, "-m", "advisor", *shlex.split(example[1])], capture_output=True, text=True, cwd=README.parent, check=False,
                          stdin=subprocess.DEVNULL, timeout=60)
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip()
