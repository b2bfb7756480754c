"""What holds for formula lines in every form of file: visible names, phases, one unit for all, and bounds on their sum."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

from advisor.batch.model import Formula, Line, Remark
from advisor.batch.units import GRAMS, MILLILITRE, SPOONED
from advisor.errors import Place, Problem

MAX_LINES, MAX_NAME, MAX_AMOUNT, MAX_PERCENT = 500, 300, 1_000_000.0, 150.0
REST = ("rest", "q.s.", "qs", "to 100")
_CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f]")
_TOTAL = re.compile(r"(?:grand |batch )?(?:total|totals|sum)(?: weight| amount| batch)?\s*:?\Z", re.I)
_UNSEEN = dict.fromkeys(map(ord, "\u00ad\u200b\u2060\ufeff"), "") | {0xa0: " "}
_PHASES = {"water": "water", "oil": "oil", "cool-down": "cool-down", "cool down": "cool-down", "cooldown": "cool-down", "aqueous": "water",
           "a": "water", "b": "oil", "c": "cool-down", "fat": "oil"}
_UNITS = {"%": "percent", "percent": "percent", "part": "part", "parts": "part", "ml": "ml", "g": "g", "gram": "g", "grams": "g", "kg": "kg",
          "mg": "mg", "oz": "oz", "ounce": "oz", "ounces": "oz", "lb": "lb", "lbs": "lb", "pound": "lb", "pounds": "lb"}


def clean(text: Any) -> str:
    """Text with control characters made visible, and without the invisible ones that come with copying from a page."""
    text = str(text).translate(_UNSEEN)
    return _CONTROL.sub(lambda m: chr(0x2400 + ord(m[0])) if ord(m[0]) < 0x20 else "\u2421" if m[0] == "\x7f" else "\ufffd", str(text).strip())


def phase(word: str) -> str | None:
    """The phase a word stands for; None where it is not understood."""
    return _PHASES.get(word.lower().removesuffix(" phase").strip())


def unit_of(word: str) -> str | None:
    """The formula unit a word stands for; None where it is none."""
    return _UNITS.get(word.lower())


def without_total(rows: list[tuple[Line, str]]) -> tuple[list[tuple[Line, str]], list[Remark]]:
    """The lines without a last one that only says the total, and a remark on it."""
    if len(rows) < 3 or not _TOTAL.match(rows[-1][0].name):
        return rows, []
    said, whole = rows[-1][0].amount, sum(sum(line.amount) / 2 for line, _ in rows[:-1] if line.amount)
    off = "" if said is None or any(line.rest for line, _ in rows) or abs(said[0] - whole) <= 0.01 * whole else f"; it says {said[0]:g}, the lines add up to {whole:g}"
    return rows[:-1], [Remark(rows[-1][0].name, f"read as the total and not as an ingredient{off}")]


def one_unit(rows: list[tuple[Line, str]], unit: str | None, problems: list[Problem]) -> tuple[str | None, tuple[Line, ...]]:
    """Lines in one unit: the formula's, else the only one said, else grams where all are weights; a problem for each line that cannot be."""
    spooned = any(word == SPOONED for _, word in rows)
    said = {word: unit_of(word) for _, word in rows if word and word != SPOONED}
    kinds = sorted({u for u in said.values() if u})
    if unit is None and spooned and not kinds and all(word or line.amount is None for line, word in rows):
        unit = "g"
    if unit is None and kinds:
        weights = [u for u in kinds if u in GRAMS or (u == "ml" and any(v in GRAMS for v in kinds))]
        unit = kinds[0] if len(kinds) == 1 and kinds != ["mg"] else "g" if len(weights) == len(kinds) else "percent" if "percent" in kinds else kinds[0]
    out = []
    for line, word in rows:
        own = said.get(word)
        if word == SPOONED:      # a kitchen measure in grams; beside shares of a whole of unknown size it says only that it is there
            factor = GRAMS.get(unit or "", 0.0)
            line = replace(line, amount=(line.amount[0] / factor, line.amount[1] / factor) if factor and line.amount else None)
        elif word and own is None:
            problems.append(Problem(_amount_place(line), f"the unit {word!r} is not known here", "Write %, g, kg, oz, lb, ml, parts, drops, tsp, tbsp or cups; or leave the amount out where it is not known."))
        elif own == "ml" and unit in GRAMS:
            if line.amount:
                line = replace(line, amount=(line.amount[0] * MILLILITRE[0] / GRAMS[unit], line.amount[1] * MILLILITRE[1] / GRAMS[unit]))
        elif own and own != unit and not (own in GRAMS and unit in GRAMS):
            problems.append(Problem(_amount_place(line), f"an amount in {word!r} in a formula in {unit!r}", "Give every line in one unit."))
        elif own and own != unit and line.amount:
            factor = GRAMS[own] / GRAMS[str(unit)]
            line = replace(line, amount=(line.amount[0] * factor, line.amount[1] * factor))
        out.append(line)
    return unit, tuple(out)


def check_formula(formula: Formula, place: Place) -> list[Problem]:
    """What is wrong with a formula as a whole: too many or too long lines, amounts out of bounds, two rests, an absurd total."""
    lines, found = formula.lines, []
    if len(lines) > MAX_LINES:
        return [Problem(place, f"{len(lines)} lines; the limit is {MAX_LINES}", "Give one batch a file.")]
    for line in lines:
        if len(line.name) > MAX_NAME:
            found.append(Problem(line.place or place, f"a name of {len(line.name)} characters", f"Shorten it to {MAX_NAME}."))
        if line.amount and not 0 <= line.amount[0] <= line.amount[1] <= MAX_AMOUNT:
            found.append(Problem(_amount_place(line), "an amount outside 0 to 1,000,000", "Check the number and the unit."))
    if sum(line.rest for line in lines) > 1:
        found.append(Problem(place, "more than one line says `rest`", "Only one line can take what is left."))
    known = [sum(line.amount) / 2 for line in lines if line.amount]
    if known and sum(known) <= 0 and len(known) == len(lines):
        found.append(Problem(place, "the amounts add up to 0", "Give the amounts."))
    elif formula.unit == "percent" and any(line.rest for line in lines) and sum(line.amount[0] for line in lines if line.amount) >= 100:
        found.append(Problem(place, f"the other lines add up to {sum(known):g} %, so nothing is left for the line that says `rest`", "Check the amounts."))
    if formula.unit == "percent" and sum(known) > MAX_PERCENT:
        found.append(Problem(place, f"the lines add up to {sum(known):g} %", "Check the amounts, or give unit: g."))
    return found


def _amount_place(line: Line) -> Place:
    place = line.place or Place("")
    return Place(place.file, place.line, place.column, f"{place.field}.amount" if place.field else "amount")
