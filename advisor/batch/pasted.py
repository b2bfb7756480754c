"""A pasted list: one ingredient a line with its amount before or behind, such as `Shea butter 12%` or `5 g glycerin`."""

from __future__ import annotations

import re

from advisor.batch.model import Batch, Formula, Line, Remark
from advisor.batch.units import GRAMS, number
from advisor.errors import InputError, Place, Problem

_UNIT = r"%|grams?|g|kg|oz|ounces?|lbs?|pounds?|ml|parts?"
_NUMBER = r"[0-9]+(?:[.,][0-9]+)?"
_BEHIND = re.compile(rf"(?P<name>.*?\S)[\s:;=,|\t-]+(?P<low>{_NUMBER})(?:\s*[-\u2013]\s*(?P<high>{_NUMBER}))?\s*(?P<unit>{_UNIT})?\s*\Z", re.I)
_BEFORE = re.compile(rf"(?P<low>{_NUMBER})(?:\s*[-\u2013]\s*(?P<high>{_NUMBER}))?\s*(?P<unit>{_UNIT})?[\s:,x]+(?P<name>\D.*)\Z", re.I)
_REST = re.compile(r"(?P<name>.*?\S)[\s:;=,|\t-]+(?:rest|q\.?s\.?|to 100 ?%?)(?:\s+to\s+100\s*%?)?\s*\Z", re.I)
_BULLET = re.compile(r"\A\s*(?:[-*\u2022]|\d+[.)])\s+")


def looks_pasted(text: str) -> bool:
    """Whether most lines read as an ingredient with an amount, and none as a YAML key of a record."""
    lines = [line for line in text.splitlines() if line.strip()]
    if re.search(r"^(format|formula|observed|name|process)\s*:", text, re.M):
        return False
    return bool(lines) and sum(bool(_amount(line)) for line in lines) >= max(1, len(lines) // 2)


def read_pasted(text: str, file: str) -> Batch:
    """The formula of a pasted list; lines without an amount are kept as present, amount unknown."""
    rows: list[tuple[Line, str]] = []
    remarks: list[Remark] = []
    for index, raw in enumerate(text.splitlines(), 1):
        stripped = _BULLET.sub("", raw).strip()
        if not stripped or stripped.startswith("#"):
            continue
        found = _amount(raw)
        place = Place(file, index)
        if found is None:
            rest = _REST.match(stripped)
            rows.append((Line(_clean(rest["name"] if rest else stripped), rest=bool(rest), place=place), ""))
            continue
        low = number(found["low"])
        high = number(found["high"]) if found["high"] else low
        rows.append((Line(_clean(found["name"]), (low, high), place=place), (found["unit"] or "").lower()))
    if not rows:
        raise InputError(Problem(Place(file), "no ingredient was found", "Write one ingredient a line, such as: Shea butter 12%."))
    unit, lines = _one_unit(rows, file)
    unknown = [line.name for line in lines if line.amount is None and not line.rest]
    if unknown:
        remarks.append(Remark("formula", f"no amount was read for: {', '.join(unknown)}"))
    return Batch(formula=Formula(tuple(lines), unit, not unknown), file=file, remarks=tuple(remarks))


def _amount(line: str) -> re.Match[str] | None:
    stripped = _BULLET.sub("", line).strip()
    if _REST.match(stripped):
        return None
    return _BEFORE.match(stripped) or _BEHIND.match(stripped)


def _one_unit(rows: list[tuple[Line, str]], file: str) -> tuple[str | None, list[Line]]:
    said = {_short(u) for _, u in rows if u}
    if len(said) <= 1:
        unit = next(iter(said), None)
        return ("percent" if unit == "%" else unit), [line for line, _ in rows]
    if said <= GRAMS.keys():
        out = []
        for line, unit in rows:
            factor = GRAMS[_short(unit)] if unit else 1.0
            out.append(Line(line.name, (line.amount[0] * factor, line.amount[1] * factor) if line.amount else None, line.rest, place=line.place))
        return "g", out
    raise InputError(Problem(Place(file), f"the amounts are in different units ({', '.join(sorted(said))})", "Give every line in one unit."))


def _short(unit: str) -> str:
    unit = unit.lower()
    if unit.startswith("part"):
        return "part"
    return {"grams": "g", "gram": "g", "ounce": "oz", "ounces": "oz", "lbs": "lb", "pound": "lb", "pounds": "lb"}.get(unit, unit)


def _clean(name: str) -> str:
    return re.sub(r"[\x00-\x1f\x7f-\x9f]", "\ufffd", name.strip(" \t-:;,=|"))
