"""The knowledge files as one text, read back quickly: of its many records only those that are asked for are decoded.

Plain JSON, never code.  The first line holds the lengths of the others, the second every file, with the names of the records in the
place of long lists of them; then follows a line of JSON for each of those records, in the same order.  Of a card, the conditions of its
evidence and what is needed once its cause is looked at closely have a line each; the wordings of all symptoms and the conditions of a
file of findings have one.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from itertools import accumulate, chain, islice
from typing import Any

from advisor.knowledge.naming import spoken

FORMAT = 7
_END = "end"                     # the last line: without it a text was cut short
_INGREDIENTS, _SOURCES = "ingredients", "sources"
_SYMPTOMS, _WORDINGS = "symptoms", "wordings"
_CAUSES = "causes"
_FINDINGS = "findings"
SIGNS = ("for", "against")
_LATER = ("fixes", "fate", "examples")


class _Line:
    """A line of the text from .. to, decoded when it is first asked for."""

    __slots__ = ("_data", "_end", "_start", "_text")

    def __init__(self, text: str, start: int, end: int) -> None:
        self._text, self._start, self._end = text, start, end
        self._data: Any = None

    def data(self) -> Any:
        if self._data is None:
            self._data = json.loads(self._text[self._start:self._end])
        return self._data


class Kept(_Line, Mapping[str, Any]):
    """One record as its line; its key, and for an ingredient the names it is looked up by, are known without decoding."""

    __slots__ = ("key", "names")

    def __init__(self, key: str, names: tuple[str, ...], text: str, start: int, end: int) -> None:
        super().__init__(text, start, end)
        self.key, self.names = key, names

    def __getitem__(self, field: str) -> Any:
        return self.key if field == "inci" else self.data()[field]

    def __iter__(self) -> Iterator[str]:
        return iter(self.data())

    def __len__(self) -> int:
        return len(self.data())


class Part:
    """One part of a line of JSON, by its key or number; the line is decoded when the first of its parts is asked for."""

    __slots__ = ("_key", "_line")

    def __init__(self, line: _Line, key: str | int) -> None:
        self._line, self._key = line, key

    def __call__(self) -> Any:
        return self._line.data()[self._key]

    def __eq__(self, other: object) -> bool:
        return bool(self() == decoded(other))


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
        elif path.startswith(f"{_FINDINGS}/"):
            heads[path] = {**data, _FINDINGS: [{k: v for k, v in finding.items() if k != "when"} for finding in data[_FINDINGS]]}
            lines.append(_json([finding["when"] for finding in data[_FINDINGS]]))
        elif path.startswith(f"{_CAUSES}/"):
            heads[path] = {**{k: v for k, v in data.items() if k not in _LATER},
                           **{sign: [{k: v for k, v in piece.items() if k != "when"} for piece in data[sign]] for sign in SIGNS}}
            lines += [_json([piece["when"] for sign in SIGNS for piece in data[sign]]), _json({k: data[k] for k in _LATER})]
    lines.insert(0, _json(heads))
    return "\n".join((_json(list(map(len, lines))), *lines, _END))


def from_text(text: str) -> dict[str, Any]:
    """The files of a text; raises ValueError where it is none."""
    first = text.index("\n") + 1
    lengths = json.loads(text[:first])
    if not lengths or not text.endswith(f"\n{_END}") or len(text) != first + sum(lengths) + len(lengths) + len(_END):
        raise ValueError("the snapshot is cut short")
    starts = accumulate(lengths, lambda start, length: start + length + 1, initial=first)
    left = ((start, start + length) for start, length in zip(starts, lengths, strict=False))
    start, end = next(left)
    files: dict[str, Any] = json.loads(text[start:end])
    for path, data in files.items():
        if path.startswith(f"{_INGREDIENTS}/"):
            heads = data[_INGREDIENTS]
            data[_INGREDIENTS] = [Kept(inci, tuple(names), text, start, end) for (inci, *names), (start, end) in zip(heads, islice(left, len(heads)), strict=True)]
        elif path == f"{_SOURCES}.yaml":
            keys = data[_SOURCES]
            data[_SOURCES] = {key: Kept(key, (), text, start, end) for key, (start, end) in zip(keys, islice(left, len(keys)), strict=True)}
        elif path == f"{_SYMPTOMS}.yaml":
            _hand_out(_Line(text, *next(left)), data[_SYMPTOMS], _WORDINGS)
        elif path.startswith(f"{_FINDINGS}/"):
            _hand_out(_Line(text, *next(left)), data[_FINDINGS], "when")
        elif path.startswith(f"{_CAUSES}/"):
            _hand_out(_Line(text, *next(left)), chain.from_iterable(data[sign] for sign in SIGNS), "when")
            later = _Line(text, *next(left))
            data.update((key, Part(later, key)) for key in _LATER)
    return files


def _hand_out(line: _Line, records: Iterable[dict[str, Any]], field: str) -> None:
    """Give each record its part of a line as a field."""
    for number, record in enumerate(records):
        record[field] = Part(line, number)


def _json(data: Any) -> str:
    return json.dumps(data, separators=(",", ":"), allow_nan=False)      # all ASCII: read and split in half the time
