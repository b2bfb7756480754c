"""A formula as a table: name, amount and optional phase, with or without a header; comma, semicolon or tab; decimal comma too."""

from __future__ import annotations

import csv
import io
import re

from advisor.batch.lines import REST, check_formula, clean, one_unit, phase, unit_of, without_total
from advisor.batch.model import Batch, Formula, Line, Remark
from advisor.batch.units import number
from advisor.errors import InputError, Place, Problem

_AMOUNT = re.compile(r"\s*([0-9]+(?:[.,][0-9]+)?)(?:\s*[-\u2013]\s*([0-9]+(?:[.,][0-9]+)?))?\s*(%|[a-z]+)?\s*\Z", re.I)
# A heading names its column; a cell that begins like a number (also a wrong one, such as -5 or nan) is a first row.
_HEADING = re.compile(r"\s*(?!nan\b|[-+]?\.?inf\b)(?:[^\W\d]|%|\Z)", re.I)
_SPLIT_DECIMAL = re.compile(r"(?:.*\s)?\d+\Z")


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
    mark = delimiter(text)
    return mark is not None and ":" not in text.splitlines()[0] and not (mark == "," and _decimal_commas(text))


def read_table(text: str, file: str) -> Batch:
    """The formula of a CSV text; raises InputError naming the line of every cell that cannot be read."""
    mark = delimiter(text) or next((m for m in ("\t", ";", ",") if m in text), ",")
    try:
        table = list(csv.reader(io.StringIO("\n".join(text.splitlines())), delimiter=mark))
    except csv.Error as error:
        raise InputError(Problem(Place(file), f"this is no table ({error})", "Write rows such as: Shea butter, 12, oil.")) from None
    problems: list[Problem] = []
    remarks: list[Remark] = []
    rows: list[tuple[Line, str]] = []
    unit: str | None = None
    first = True
    for index, row in enumerate(table, 1):
        cells = [c.strip() for c in row]
        if not any(cells):
            continue
        if first and (len(cells) < 2 or (not _is_amount(cells[1]) and _HEADING.match(cells[1]))):
            unit = next((u for w in re.findall(r"%|[a-z]+", " ".join(cells[1:2]).lower()) if (u := unit_of(w))), None)
        else:
            _row(cells, Place(file, index), rows, problems, remarks)
        first = False
    return _batch(rows, unit, file, problems, remarks)


def _batch(rows: list[tuple[Line, str]], unit: str | None, file: str, problems: list[Problem], remarks: list[Remark]) -> Batch:
    if not problems and not rows:
        problems.append(Problem(Place(file), "no row was found", "Write rows such as: Shea butter, 12, oil."))
    rows, total = without_total(rows)
    remarks = remarks + total
    unit, lines = one_unit(rows, unit, problems)
    formula = Formula(lines, unit, all(a.amount or a.rest for a in lines))
    problems += check_formula(formula, Place(file))
    if problems:
        raise InputError(problems)
    return Batch(formula=formula, file=file, remarks=tuple(remarks))


def _row(cells: list[str], place: Place, rows: list[tuple[Line, str]], problems: list[Problem], remarks: list[Remark]) -> None:
    if len(cells) < 2 or not cells[0]:
        problems.append(Problem(place, "a row needs a name and an amount", "Write it as: name, amount, phase."))
        return
    found, rest = _AMOUNT.match(cells[1]), cells[1].lower() in REST
    if not found and cells[1] and not rest:
        spot = Place(place.file, place.line, 0, "amount")
        problems.append(Problem(spot, f"the amount {clean(cells[1])[:40]!r} is no number", "Write a number, rest, or a range such as 0.5-1."))
        return
    low = number(found[1]) if found else 0.0
    high = number(found[2]) if found and found[2] else low
    said = cells[2] if len(cells) > 2 else ""
    known = phase(said) if said else None
    if said and not known:
        remarks.append(Remark(clean(cells[0]), f"the phase {clean(said)[:40]!r} was not understood; it was worked out instead"))
    line = Line(clean(cells[0]), (min(low, high), max(low, high)) if found else None, rest, known, place=place)
    rows.append((line, (found[3] or "").lower() if found else ""))


def _decimal_commas(text: str) -> bool:
    """Whether the commas stand inside numbers (`Vitamin E 0,5 %`), so that splitting there would lose the whole part."""
    rows = [r for r in text.splitlines() if re.search(r"\d,\d", r)]
    whole = [r for r in text.splitlines() if r.strip()]
    return bool(rows) and sum(bool(_SPLIT_DECIMAL.match(r.partition(",")[0])) for r in rows) * 2 > len(whole)


def _is_amount(cell: str) -> bool:
    found = _AMOUNT.match(cell)
    return bool(found and (not found[3] or unit_of(found[3]))) or cell.strip().lower() in REST
