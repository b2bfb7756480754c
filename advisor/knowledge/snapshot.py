"""The knowledge files as one text, read back quickly: of its many records only those that are asked for are decoded.

Plain JSON, never code.  The first line holds every file, with the names of the records in the place of long lists of them; then
follows a line of JSON for each of those records, in the same order.  Of a card, the conditions of its evidence and what is needed
once its cause is looked at closely have a line each; the wordings of all symptoms have one.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from itertools import chain, islice
from typing import Any

from advisor.knowledge.naming import spoken

FORMAT = 6
_END = "end"                     # the last line: without it a text was cut short
_INGREDIENTS, _SOURCES = "ingredients", "sources"
_SYMPTOMS, _WORDINGS = "symptoms", "wordings"
_CAUSES = "causes"
SIGNS = ("for", "against")
_LATER = ("fixes", "fate", "examples")


class Kept(Mapping[str, Any]):
    """One record as its JSON text; its key, and for an ingredient the names it is looked up by, are known without decoding."""

    __slots__ = ("_data", "_text", "key", "names")

    def __init__(self, key: str, names: tuple[str, ...], text: str) -> None:
        self.key, self.names, self._text = key, names, text
        self._data: dict[str, Any] | None = None

    def _decoded(self) -> dict[str, Any]:
        if self._data is None:
            self._data = json.loads(self._text)
        return self._data

    def __getitem__(self, field: str) -> Any:
        return self.key if field == "inci" else self._decoded()[field]

    def __iter__(self) -> Iterator[str]:
        return iter(self._decoded())

    def __len__(self) -> int:
        return len(self._decoded())


class Part:
    """One part of a line of JSON, by its key or number; the line is decoded when the first of its parts is asked for."""

    __slots__ = ("_key", "_line")

    def __init__(self, line: _Line, key: str | int) -> None:
        self._line, self._key = line, key

    def __call__(self) -> Any:
        return self._line.data()[self._key]

    def __eq__(self, other: object) -> bool:
        return bool(self() == decoded(other))


class _Line:
    __slots__ = ("_data", "_text")

    def __init__(self, text: str) -> None:
        self._text = text
        self._data: Any = None

    def data(self) -> Any:
        if self._data is None:
            self._data = json.loads(self._text)
        return self._data


def decoded(data: Any) -> Any:
    """Plain data, whether it was kept as a part of a line or not."""
    return data() if isinstance(data, Part) else data


def names_of(record: Mapping[str, Any]) -> tuple[str, ...]:
    """The names an ingredient record is looked up by, without decoding one that is kept."""
    return record.names if isinstance(record, Kept) else spoken(record)


def as_text(files: Mapping[str, Any]) -> str:
    """The text of the files (path under rules/ : plain data)."""
    heads: dict[str, Any] = {}
    lines: list[str] = []
    for path, data in files.items():
        heads[path] = data
        if path.startswith(f"{_INGREDIENTS}/"):
            heads[path] = {**data, _INGREDIENTS: [[i["inci"], *spoken(i)] for i in data[_INGREDIENTS]]}
            lines += map(_json, data[_INGREDIENTS])
        elif path == f"{_SOURCES}.yaml":
            heads[path] = {**data, _SOURCES: list(data[_SOURCES])}
            lines += map(_json, data[_SOURCES].values())
        elif path == f"{_SYMPTOMS}.yaml":
            heads[path] = {**data, _SYMPTOMS: [{k: v for k, v in symptom.items() if k != _WORDINGS} for symptom in data[_SYMPTOMS]]}
            lines.append(_json([symptom[_WORDINGS] for symptom in data[_SYMPTOMS]]))
        elif path.startswith(f"{_CAUSES}/"):
            heads[path] = {**{k: v for k, v in data.items() if k not in _LATER},
                           **{sign: [{k: v for k, v in piece.items() if k != "when"} for piece in data[sign]] for sign in SIGNS}}
            lines += [_json([piece["when"] for sign in SIGNS for piece in data[sign]]), _json({k: data[k] for k in _LATER})]
    return "\n".join((_json(heads), *lines, _END))


def from_text(text: str) -> dict[str, Any]:
    """The files of a text; raises ValueError where it is none."""
    head, *lines, end = text.split("\n")
    if end != _END:
        raise ValueError("the snapshot is cut short")
    files: dict[str, Any] = json.loads(head)
    left = iter(lines)
    for path, data in files.items():
        if path.startswith(f"{_INGREDIENTS}/"):
            heads = data[_INGREDIENTS]
            data[_INGREDIENTS] = [Kept(inci, tuple(names), line) for (inci, *names), line in zip(heads, islice(left, len(heads)), strict=True)]
        elif path == f"{_SOURCES}.yaml":
            keys = data[_SOURCES]
            data[_SOURCES] = {key: Kept(key, (), line) for key, line in zip(keys, islice(left, len(keys)), strict=True)}
        elif path == f"{_SYMPTOMS}.yaml":
            wordings = _Line(next(left))
            for number, symptom in enumerate(data[_SYMPTOMS]):
                symptom[_WORDINGS] = Part(wordings, number)
        elif path.startswith(f"{_CAUSES}/"):
            conditions, later = _Line(next(left)), _Line(next(left))
            for number, piece in enumerate(chain.from_iterable(data[sign] for sign in SIGNS)):
                piece["when"] = Part(conditions, number)
            data.update((key, Part(later, key)) for key in _LATER)
    return files


def _json(data: Any) -> str:
    return json.dumps(data, separators=(",", ":"), allow_nan=False)      # all ASCII: read and split in half the time
