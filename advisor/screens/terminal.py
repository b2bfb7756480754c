"""Blocks on a terminal: the only place for colours and wrapping.  User text is never taken for markup."""

from __future__ import annotations

import re
import shutil
import textwrap
from collections.abc import Iterable

from advisor.screens.lines import Block

_STYLES = {"cause": "bold yellow", "fix": "bold green", "discard": "bold red", "rescue": "bold cyan", "wait": "bold cyan",
           "use": "bold green", "unsure": "bold yellow", "caution": "bold magenta", "plain": "bold"}
# Control characters, those that turn the direction of writing, and halves of characters (from names of files that are not UTF-8).
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069\ud800-\udfff]")


def safe(text: str) -> str:
    """Control characters made visible, so that a name cannot steer the terminal."""
    return _CONTROL.sub(lambda m: chr(0x2400 + ord(m[0])) if ord(m[0]) < 0x20 else "\ufffd", text)


def plain_text(blocks: Iterable[Block]) -> str:
    """One fact a line, no colour, no drawing: for screen readers, pipes and files."""
    out = []
    for block in blocks:
        out.append(f"{safe(block.heading)}:")
        out += [" ".join(safe(line).split()) for line in block.lines]
        out.append("")
    return "\n".join(out)


def show(blocks: Iterable[Block]) -> None:
    """Headings in colour and text wrapped to the window."""
    from rich.console import Console
    from rich.text import Text

    width = max(30, min(100, shutil.get_terminal_size((80, 24)).columns))
    console = Console(width=width, highlight=False, soft_wrap=True)
    for block in blocks:
        console.print(Text(textwrap.fill(safe(block.heading), width - 1), style=_STYLES.get(block.tone, "bold")))
        for line in block.lines:
            hanging = "    " if line.startswith("- ") else "  "
            console.print(Text(textwrap.fill(" ".join(safe(line).split()), width - 1, initial_indent="  ", subsequent_indent=hanging)))
