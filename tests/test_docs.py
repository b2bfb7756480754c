"""The README tells the truth: its session is what the program prints today."""

from __future__ import annotations

import re
from pathlib import Path

from session import refreshed

README = Path(__file__).parent.parent / "README.md"


def test_the_session_is_fresh() -> None:
    text = README.read_text(encoding="utf-8")
    assert refreshed(text) == text, "run: python tests/session.py"


def test_the_first_two_blocks_are_commands_of_one_line() -> None:
    blocks = re.findall(r"```(\w*)\n(.*?)\n```", README.read_text(encoding="utf-8"), re.S)
    assert [kind for kind, _ in blocks[:2]] == ["sh", "sh"]
    assert all("\n" not in body for _, body in blocks[:2])
