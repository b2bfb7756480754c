"""The record on disk: every answer written at once and whole, and never over what another run has written in the meantime."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from advisor.batch.model import Batch
from advisor.batch.reading import read_batch
from advisor.batch.writing import batch_text, replace_blocks, save


class Keeper:
    """One file and what it held when last read or written here."""

    def __init__(self, path: Path, own: bool) -> None:
        self.path = path
        self.own = own                                # the maker's own file: only the interview's blocks are replaced
        self.known = _text(path) if own else None
        self.base: Batch | None = None                # the record as last read or written here

    def changed(self) -> Batch | None:
        """The record as another run left it, if it is no longer as it was last seen here; None if nothing has changed."""
        now = _text(self.path)
        if now == self.known or now is None:
            return None
        self.known, self.own = now, True
        return read_batch(str(self.path))

    def keep(self, batch: Batch, blocks: Mapping[str, Any]) -> Batch | None:
        """Write the record; if another run has changed it, write nothing and give its record back instead."""
        with _alone(self.path.parent):
            if (theirs := self.changed()) is not None:
                return theirs
            if self.known is not None and self.own:
                text = _in_place(self.known, self.base, batch, blocks)
            else:
                text = batch_text(batch)
            if text != self.known:
                save(self.path, text)
            self.known, self.base, self.own = text, batch, True
        return None


def free_path(path: str | None) -> Path:
    """Where answers go: the maker's own YAML record, or a new record beside what was given."""
    if path and Path(path).suffix in (".yaml", ".yml"):
        return Path(path)
    return _numbered(path, len(earlier(path)) + 1)


def earlier(path: str | None) -> list[Path]:
    """Records that earlier runs wrote beside the same input, oldest first."""
    out: list[Path] = []
    while (found := _numbered(path, len(out) + 1)).exists():
        out.append(found)
    return out


def _numbered(path: str | None, number: int) -> Path:
    folder = Path(path).parent if path else Path()
    return folder / f"{Path(path).stem if path else 'batch'}-record{number}.yaml"


def _in_place(text: str, base: Batch | None, batch: Batch, blocks: Mapping[str, Any]) -> str:
    """The blocks replaced; where only names of ingredients were set right, only those words change and every comment stays."""
    if "formula" in blocks and base is not None and (renamed := _renamed(text, base, batch)) is not None:
        text, blocks = renamed, {k: v for k, v in blocks.items() if k != "formula"}
    return replace_blocks(text, blocks)


def _renamed(text: str, base: Batch, batch: Batch) -> str | None:
    old, new = base.formula.lines, batch.formula.lines
    if base.formula == batch.formula:
        return text
    if (base.formula.complete, base.formula.unit) != (batch.formula.complete, batch.formula.unit):
        return None
    if len(old) != len(new) or any(a.amount != b.amount for a, b in zip(old, new, strict=True)):
        return None
    rows = text.splitlines(keepends=True)
    for a, b in zip(old, new, strict=True):
        if a.name == b.name:
            continue
        at = a.place.line - 1 if a.place and a.place.line else -1
        if not 0 <= at < len(rows) or rows[at].count(a.name) != 1 or not b.name.replace(" ", "").replace("-", "").isalnum():
            return None
        rows[at] = rows[at].replace(a.name, b.name)
    return "".join(rows)


def _text(path: Path) -> str | None:
    try:
        with path.open(encoding="utf-8", newline="") as stream:
            return stream.read()
    except (FileNotFoundError, UnicodeDecodeError):       # what cannot be read is reported by the reader
        return None


@contextmanager
def _alone(folder: Path) -> Iterator[None]:
    """Only one run at a time between comparing and writing; the lock goes with the process, however it ends."""
    try:
        import fcntl
    except ImportError:                               # no such lock on this system: the comparison alone must do
        yield
        return
    handle = os.open(folder if str(folder) else ".", os.O_RDONLY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)
