"""Strict YAML with positions: the only module that knows the yaml package.

Plain data only: maps with text keys, lists, text, numbers, booleans, null.  Refused with a clear error:
duplicate keys, anchors and aliases, tags, several documents, deep nesting, large files, wrong encodings.
`1:1`, dates and `010` stay text or decimal (the YAML 1.2 core schema), never sexagesimal or octal.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from advisor.errors import InputError, Place, Problem

MAX_BYTES = 2_000_000
MAX_DEPTH = 24
_INT = re.compile(r"[-+]?[0-9]+\Z")
_FLOAT = re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?\Z")
_SPECIAL = re.compile(r"[-+]?\.(inf|Inf|INF)\Z|\.(nan|NaN|NAN)\Z")
_WORDS: dict[str, Any] = {"null": None, "~": None, "": None, "true": True, "false": False, "yes": True, "no": False,
                          "on": True, "off": False}


Path_ = tuple[Any, ...]


@dataclass(slots=True)
class Document:
    """Plain data with the position (line, column, both from 1) of every key path."""

    file: str
    data: Any
    marks: dict[Path_, tuple[int, int]] = field(default_factory=dict)

    def place(self, path: Path_) -> Place:
        """The place of a path, or of its nearest known parent."""
        probe = path
        while probe not in self.marks and probe:
            probe = probe[:-1]
        line, column = self.marks.get(probe, (0, 0))
        return Place(self.file, line, column, path_text(path))


def path_text(path: Path_) -> str:
    """`("formula", "lines", 0, "name")` as `formula.lines[1].name` (people count from 1)."""
    out = ""
    for step in path:
        word = step if isinstance(step, int) or len(str(step)) <= 60 else f"{str(step)[:60]}..."
        out += f"[{step + 1}]" if isinstance(step, int) else (f".{word}" if out else str(word))
    return out


def read_text(path: Path, limit: int = MAX_BYTES) -> str:
    """The text of a file; raises InputError for a folder, a missing, binary, oversized or wrongly encoded file."""
    name = str(path)
    try:
        if path.is_dir():
            raise InputError(Problem(Place(name), "this is a folder, not a file", "Name a file inside it."))
        size = path.stat().st_size
        if size > limit:
            raise InputError(Problem(Place(name), f"the file has {size:,} bytes; the limit is {limit:,}", "Give a smaller file."))
        with path.open("rb") as stream:
            raw = stream.read(limit + 1)
    except (OSError, ValueError) as error:               # a ValueError: a name that no file can have
        why = error.strerror if isinstance(error, OSError) else error
        raise InputError(Problem(Place(name), f"cannot be read ({why})", "Check the name and the rights.")) from None
    return decode(raw, name, limit)


def decode(raw: bytes, name: str, limit: int = MAX_BYTES) -> str:
    """UTF-8 (with or without a byte order mark) as text; raises InputError otherwise."""
    if len(raw) > limit:
        raise InputError(Problem(Place(name), f"more than {limit:,} bytes", "Give a smaller file."))
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise InputError(Problem(Place(name), "the file is in UTF-16", "Save it as UTF-8."))
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise InputError(Problem(Place(name, line), "this is not UTF-8 text", "Save the file as UTF-8 plain text.")) from None
    if "\0" in text:
        raise InputError(Problem(Place(name, text[: text.index("\0")].count("\n") + 1), "this is a binary file",
                                 "Give a text file (YAML, CSV or a pasted list)."))
    return text


def load(text: str, file: str) -> Document:
    """Parse one YAML document to plain data with positions; raises InputError with every problem found."""
    import yaml

    loader = getattr(yaml, "CBaseLoader", yaml.BaseLoader)
    builder = _Builder(file)
    try:
        for event in yaml.parse(text, Loader=loader):
            builder.take(event, yaml)
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        place = Place(file, mark.line + 1, mark.column + 1) if mark else Place(file)
        raise InputError(Problem(place, f"this is not valid YAML ({error.problem or error.context})",
                                 "Check the indentation, the colons and the quotes near this line.")) from None
    except yaml.reader.ReaderError as error:
        line = text[: error.position].count("\n") + 1 if isinstance(error.position, int) else 0
        raise InputError(Problem(Place(file, line), "a character that YAML does not allow",
                                 "Take the control characters out.")) from None
    if builder.problems:
        raise InputError(builder.problems)
    return builder.document


class _Builder:
    """Builds plain data from parser events without recursion, so that depth can be bounded."""

    def __init__(self, file: str) -> None:
        self.document = Document(file, None)
        self.problems: list[Problem] = []
        self.stack: list[tuple[Any, Path_]] = []
        self.keys: list[Any] = []
        self.documents = 0

    def take(self, event: Any, yaml: Any) -> None:
        if isinstance(event, yaml.DocumentStartEvent):
            self.documents += 1
            if self.documents > 1:
                raise InputError(self._problem(event, "a second document starts here", "Keep one document a file (take out ---)."))
        elif isinstance(event, yaml.AliasEvent):
            raise InputError(self._problem(event, f"the alias *{event.anchor[:60]} is not allowed", "Write the value out."))
        elif isinstance(event, yaml.ScalarEvent):
            self._scalar(event)
        elif isinstance(event, (yaml.MappingStartEvent, yaml.SequenceStartEvent)):
            self._refuse_tags(event)
            if len(self.stack) >= MAX_DEPTH:
                raise InputError(self._problem(event, f"nested more than {MAX_DEPTH} deep", "Flatten the file."))
            value: Any = {} if isinstance(event, yaml.MappingStartEvent) else []
            path = self._put(value, event)
            self.stack.append((value, path))
            self.keys.append(None)
        elif isinstance(event, (yaml.MappingEndEvent, yaml.SequenceEndEvent)):
            self.stack.pop()
            self.keys.pop()

    def _scalar(self, event: Any) -> None:
        self._refuse_tags(event)
        inside_map = self.stack and isinstance(self.stack[-1][0], dict)
        if inside_map and self.keys[-1] is None:
            key = event.value
            container, path = self.stack[-1]
            if key in container:
                self.problems.append(self._problem(event, f"the key {key[:60]!r} stands twice", "Keep one of the two."))
            self.keys[-1] = (key,)
            self.document.marks[(*path, key)] = (event.start_mark.line + 1, event.start_mark.column + 1)
            return
        self._put(_plain(event.value) if event.implicit[0] else event.value, event)

    def _put(self, value: Any, event: Any) -> Path_:
        mark = (event.start_mark.line + 1, event.start_mark.column + 1)
        if not self.stack:
            self.document.data = value
            self.document.marks[()] = mark
            return ()
        container, path = self.stack[-1]
        if isinstance(container, dict):
            if self.keys[-1] is None:
                raise InputError(self._problem(event, "a list or map cannot be a key", "Use a plain word as the key."))
            key = self.keys[-1][0]
            container[key] = value
            self.keys[-1] = None
            return (*path, key)
        container.append(value)
        here = (*path, len(container) - 1)
        self.document.marks[here] = mark
        return here

    def _refuse_tags(self, event: Any) -> None:
        if event.anchor:
            raise InputError(self._problem(event, f"the anchor &{event.anchor[:60]} is not allowed", "Write the value out where it is used."))
        if event.tag not in (None, "!"):
            raise InputError(self._problem(event, f"the tag {event.tag[:60]} is not allowed", "Take the tag out."))

    def _problem(self, event: Any, says: str, mend: str) -> Problem:
        mark = event.start_mark
        path = self.stack[-1][1] if self.stack else ()
        return Problem(Place(self.document.file, mark.line + 1, mark.column + 1, path_text(path)), says, mend, "yaml")


def _plain(text: str) -> Any:
    if text.lower() in _WORDS:
        return _WORDS[text.lower()]
    if _INT.match(text):
        return int(text) if len(text) < 20 else float(text)
    if _FLOAT.match(text):
        return float(text)
    if _SPECIAL.match(text):
        return float(text.lower().replace(".", "", 1))
    return text
