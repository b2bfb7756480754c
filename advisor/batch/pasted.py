"""A pasted list: one ingredient a line with its amount before or behind, such as `Shea butter 12%` or `5 g glycerin`."""

from __future__ import annotations

import re
from dataclasses import replace

from advisor.batch.lines import check_formula, clean, one_unit, phase, without_total
from advisor.batch.model import Batch, Formula, Line, Remark
from advisor.batch.units import MEASURE, SPOONED, fractions, kitchen, number
from advisor.errors import InputError, Place, Problem

_UNIT = r"%|grams?|g|kg|oz|ounces?|lbs?|pounds?|ml|parts?"
_NUMBER = r"[0-9]+(?:[.,][0-9]+)?"
_BEHIND = re.compile(rf"(?P<name>.*?\S)[\s:;=,|\t-]+(?P<low>{_NUMBER})(?:\s*[-\u2013]\s*(?P<high>{_NUMBER}))?\s*(?P<unit>{_UNIT})?\s*\Z", re.I)
_BEFORE = re.compile(rf"(?P<low>{_NUMBER})(?:\s*[-\u2013]\s*(?P<high>{_NUMBER}))?\s*(?P<unit>{_UNIT})?[\s:,x]+(?P<name>\D.*)\Z", re.I)
_REST = re.compile(r"(?P<name>.*?\S)[\s:;=,|\t-]+(?:rest|q\.?s\.?|to 100 ?%?)(?:\s+to\s+100\s*%?)?\s*\Z", re.I)
_RATIO = re.compile(r"\d\s*:\s*\d+(?:[.,]\d+)?\s*\Z")
_NEGATIVE = re.compile(rf"(?:\A|.*\s)[-\u2212]{_NUMBER}\s*(?:{_UNIT})?\s*\Z", re.I)
_SPOON_BEFORE = re.compile(rf"(?P<amount>{MEASURE})(?:ful)?\.?\s+(?:of\s+)?(?P<name>\D.*)\Z", re.I)
_SPOON_BEHIND = re.compile(rf"(?P<name>.*?\S)[\s:;=,|\t(-]+(?P<amount>{MEASURE})(?:ful)?\.?\)?\s*\Z", re.I)
# Words that say how well an amount is known, and no amount of their own.
_ROUGH = re.compile(r"\b(?:about|approx\.?|approximately|roughly|around|circa|ca\.)\s+(?=[0-9])|(?<=[0-9])\s?ish\b", re.I)
_VAGUE = re.compile(r"\A(?:some|a (?:little )?bit of|a little|a splash of|a dollop of)\s+(?=\D)|[\s:;=,-]+\(?(?:some|a (?:little )?bit|a little|a splash|a dollop|to taste|not sure|\?+)\)?\Z", re.I)
_FULL = 102.0
MAX_LINE = 1000
_HEADING = re.compile(r"(?:(?P<name>[a-z -]{2,12}?) phase|phase [a-z0-9]{1,2}|cool[ -]?down|[a-h])\s*[:.]?\Z", re.I)
_BULLET = re.compile(r"\A\s*(?:[-*\u2022]|\d+[.)])\s+")


def looks_pasted(text: str) -> bool:
    """Whether most lines read as an ingredient with an amount, and none as a YAML key of a record."""
    lines = [line for line in text.splitlines() if line.strip() and not _HEADING.match(line.strip())]
    if re.search(r"^(format|formula|observed|name|process)\s*:", text, re.M):
        return False
    return bool(lines) and sum(len(line) <= MAX_LINE and bool(_amount(line)) for line in lines) >= max(1, len(lines) // 2)


def read_pasted(text: str, file: str) -> Batch:
    """The formula of a pasted list; lines without an amount are kept as present, amount unknown."""
    rows: list[tuple[Line, str]] = []
    bare: set[int] = set()
    problems: list[Problem] = []
    under: str | None = None
    for index, raw in enumerate(text.splitlines(), 1):
        place = Place(file, index)
        if len(raw) > MAX_LINE:
            problems.append(Problem(place, f"a line of {len(raw):,} characters; the limit is {MAX_LINE:,}", "Write one ingredient a line."))
            continue
        stripped = _VAGUE.sub("", _ROUGH.sub("", fractions(_BULLET.sub("", raw)).strip())).strip()
        if not stripped or stripped.startswith("#"):
            continue
        if heading := _HEADING.match(stripped):
            under = phase(heading["name"] or stripped.rstrip(":. ")) if heading["name"] or len(stripped) > 7 else None
            continue
        if wrong := _wrong(stripped, place):
            problems.append(wrong)
            continue
        line, said, plain = _row(stripped, place)
        if plain:
            bare.add(len(rows))
        rows.append((replace(line, phase=under), said))
    if not rows and not problems:
        raise InputError(Problem(Place(file), "no ingredient was found", "Write one ingredient a line, such as: Shea butter 12%."))
    rows, remarks = without_total(rows)
    remarks = remarks + _numbers_in_names(rows, bare & set(range(len(rows))), text)
    unit, lines = one_unit(rows, None, problems)
    unknown = [line.name for line in lines if line.amount is None and not line.rest]
    if unknown:
        remarks.append(Remark("formula", f"no amount was read for: {', '.join(unknown)}"))
    formula = Formula(lines, unit, not unknown)
    problems += check_formula(formula, Place(file))
    if problems:
        raise InputError(problems)
    return Batch(formula=formula, file=file, remarks=tuple(remarks))


def _row(stripped: str, place: Place) -> tuple[Line, str, bool]:
    """One line, its unit, and whether its number stands behind the name with no unit and no mark between."""
    spoon = _SPOON_BEFORE.match(stripped) or _SPOON_BEHIND.match(stripped)
    if spoon:
        return Line(_clean(spoon["name"]), kitchen(spoon["amount"]), place=place), SPOONED, False
    found = _amount(stripped)
    if found is None:
        rest = _REST.match(stripped)
        return Line(_clean(rest["name"] if rest else stripped), rest=bool(rest), place=place), "", False
    low = number(found["low"])
    high = number(found["high"]) if found["high"] else low
    gap = stripped[found.end("name"):found.start("low")] if found.start("name") < found.start("low") else "-"
    line = Line(_clean(found["name"]), (min(low, high), max(low, high)), place=place)
    return line, (found["unit"] or "").lower(), not found["unit"] and not gap.strip()


def _wrong(stripped: str, place: Place) -> Problem | None:
    spot = Place(place.file, place.line, 0, "amount")
    if _RATIO.search(stripped):
        return Problem(spot, "a ratio stands where an amount belongs", "Write the amount as a number, such as 12%.")
    if _NEGATIVE.match(stripped):
        return Problem(spot, "this reads as an amount below zero", "Leave the minus out, or set it apart: Water - 70.")
    return None


def _numbers_in_names(rows: list[tuple[Line, str]], bare: set[int], text: str) -> list[Remark]:
    """Where all others are percentages and the sum would pass 100, a bare number behind a name belongs to the name."""
    raw = text.splitlines()
    total = sum(sum(line.amount) / 2 for line, _ in rows if line.amount)
    if not any(u == "%" for _, u in rows) or any(u not in ("", "%") for _, u in rows) or total <= _FULL:
        return []
    remarks = []
    for index in sorted(bare):
        line = rows[index][0]
        name = _clean(_BULLET.sub("", raw[line.place.line - 1]) if line.place else line.name)
        rows[index] = (Line(name, place=line.place), "")
        remarks.append(Remark(name, "the number was read as part of the name, as the lines would pass 100 % with it"))
    return remarks


def _amount(line: str) -> re.Match[str] | None:
    stripped = _BULLET.sub("", line).strip()
    if _REST.match(stripped):
        return None
    return _SPOON_BEFORE.match(stripped) or _SPOON_BEHIND.match(stripped) or _BEFORE.match(stripped) or _BEHIND.match(stripped)


def _clean(name: str) -> str:
    return clean(name.strip(" \t-:;,=|"))
