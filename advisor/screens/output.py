"""The ways out: blocks, lines, JSON and remarks, so that no name in any of them can steer a terminal."""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from advisor.screens.lines import Block

_NOT_IN_JSON = r"[\x7f-\x9f\u200e\u200f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff]"


def attended(*streams: Any) -> bool:
    """Whether a person sits at each of these streams; a closed one has nobody."""
    return all(s is not None and not s.closed and s.isatty() for s in streams)


def blocks_out(blocks: Iterable[Block], plain: bool) -> None:
    """Headed lines: for a terminal in colour and wrapped, else one fact a line."""
    from advisor.screens.terminal import plain_text, show

    if plain or not attended(sys.stdout):
        click.echo(plain_text(blocks))
    else:
        show(blocks)


def wrapped(text: str, stream: Any) -> str:
    """Text broken between words where a person reads it in a window; else as it is."""
    if not attended(stream):
        return text
    import shutil
    import textwrap

    width = max(24, min(100, shutil.get_terminal_size((80, 24)).columns) - 1)
    return "\n".join(textwrap.fill(line, width, break_on_hyphens=False) for line in text.split("\n"))


def complain(text: str) -> None:
    click.echo(wrapped(text, sys.stderr), err=True)


def say(text: str, err: bool = False) -> None:
    """A line, or several, as they are."""
    from advisor.screens.terminal import safe

    click.echo(safe(text), err=err)


def remarks_out(remarks: Iterable[Any]) -> None:
    for remark in remarks:
        say(wrapped(f"Remark, {remark.about}: {remark.says}", sys.stderr), err=True)


def json_out(data: Any) -> None:
    """One JSON object; what could steer a terminal stands in it as an escape, which reads back the same."""
    text = _laid_out(data, False)
    try:
        text.encode(getattr(sys.stdout, "encoding", None) or "utf-8", "surrogatepass")
    except (UnicodeEncodeError, LookupError):
        text = _laid_out(data, True)
    click.echo(text if text.isascii() and "\x7f" not in text else re.sub(_NOT_IN_JSON, lambda m: f"\\u{ord(m[0]):04x}", text))


def _laid_out(data: Any, ascii_only: bool) -> str:
    """A field a line, and an item of a list a line: to be read by a person too, and many times as fast to write as an indent throughout."""
    def text(value: Any) -> str:
        return json.dumps(value, ensure_ascii=ascii_only, allow_nan=False)

    def laid(value: Any) -> str:
        return "[\n    " + ",\n    ".join(map(text, value)) + "\n  ]" if isinstance(value, (list, tuple)) and value else text(value)

    return "{\n  " + ",\n  ".join(f"{text(key)}: {laid(value)}" for key, value in data.items()) + "\n}" if isinstance(data, dict) and data else text(data)
