"""A formula as a table: name, amount and optional phase, with or without a header; comma, semicolon or tab; decimal comma too."""

from __future__ import annotations

import csv
import io
import re

from advisor.batch.model import Batch, Formula, Line
from advisor.batch.units import number
from advisor.errors import InputError, Place, Problem

_AMOUNT = re.compile(r"\s*([0-9]+(?:[.,][0-9]+)?)(?:\s*[-\u2013]\s*([0-9]+(?:[.,][0-9]+)?))?\s*(%|g|kg|oz|lb|ml|parts?)?\s*\Z", re.I)
_PHASES = {"a": "water", "b": "oil", "c": "cool-down", "water": "water", "oil": "oil", "cool-down": "cool-down", "cool down": "cool-down",
           "cooldown": "cool-down"}
_UNITS = {"%": "percent", "percent": "percent", "g": "g", "gram": "g", "grams": "g", "kg": "kg", "oz": "oz", "lb": "lb", "ml": "ml", "part": "part",
          "parts": "part"}


def delimiter(text: str) -> str | None:
    """The separator of a table, from its first rows; None if it is no table."""
    rows = [r for r in text.splitlines() if r.strip()][:20]
    for mark in ("\t", ";", ","):
        try:
            cells = [next(csv.reader([row], delimiter=mark), []) for row in rows]
        except csv.Error:
            continue
        if rows and all(2 <= len(c) <= 4 for c in cells) and sum(_is_amount(c[1]) for c in cells) >= max(1, len(cells) - 1):
            return mark
    return None


def looks_like_table(text: str) -> bool:
    return delimiter(text) is not None and ":" not in text.splitlines()[0]


def read_table(text: str, file: str) -> Batch:
    """The formula of a CSV text; raises InputError naming the line of every cell that cannot be read."""
    mark = delimiter(text) or next((m for m in ("\t", ";", ",") if m in text), ",")
    problems: list[Problem] = []
    lines: list[Line] = []
    unit: str | None = None
    try:
        rows = list(csv.reader(io.StringIO("\n".join(text.splitlines())), delimiter=mark))
    except csv.Error as error:
        raise InputError(Problem(Place(file), f"this is no table ({error})", "Write rows such as: Shea butter, 12, oil.")) from None
    for index, row in enumerate(rows, 1):
        cells = [c.strip() for c in row]
        if not any(cells):
            continue
        if index == 1 and (len(cells) < 2 or not _is_amount(cells[1])):
            unit = next((_UNITS[w] for w in re.findall(r"%|[a-z]+", " ".join(cells[1:2]).lower()) if w in _UNITS), None)
            continue
        if len(cells) < 2 or not cells[0]:
            problems.append(Problem(Place(file, index), "a row needs a name and an amount", "Write it as: name, amount, phase."))
            continue
        found = _AMOUNT.match(cells[1])
        rest = cells[1].lower() in ("rest", "q.s.", "qs", "to 100")
        if not found and cells[1] and not rest:
            problems.append(Problem(Place(file, index, 0, "amount"), f"the amount {cells[1]!r} is no number", "Write a number, rest, or a range such as 0.5-1."))
            continue
        low = number(found[1]) if found else 0.0
        high = number(found[2]) if found and found[2] else low
        if found and found[3]:
            unit = _UNITS[found[3].lower()]
        name = re.sub(r"[\x00-\x1f\x7f-\x9f]", "\ufffd", cells[0])
        lines.append(Line(name, (low, high) if found else None, rest, _PHASES.get(cells[2].lower()) if len(cells) > 2 else None, place=Place(file, index)))
    if not problems and not lines:
        problems.append(Problem(Place(file), "no row was found", "Write rows such as: Shea butter, 12, oil."))
    if problems:
        raise InputError(problems)
    return Batch(formula=Formula(tuple(lines), unit, all(a.amount or a.rest for a in lines)), file=file)


def _is_amount(cell: str) -> bool:
    return bool(_AMOUNT.match(cell)) or cell.strip().lower() in ("rest", "q.s.", "qs", "to 100")
