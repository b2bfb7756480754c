"""Amounts with units as people write them: temperatures to C, masses to g, times to minutes, shares to percent."""

from __future__ import annotations

import re
from typing import Any

# Grams in one unit; the ounce and pound avoirdupois are exact by the 1959 international agreement.
GRAMS = {"g": 1.0, "gram": 1.0, "grams": 1.0, "kg": 1000.0, "mg": 0.001, "oz": 28.349523125, "ounce": 28.349523125,
         "ounces": 28.349523125, "lb": 453.59237, "lbs": 453.59237, "pound": 453.59237, "pounds": 453.59237}
# Grams that a kitchen measure may hold, from flakes and powders to what is heavier than water: common practice, from memory; wide on purpose.
KITCHEN = {"drop": (0.02, 0.05), "dash": (0.3, 0.8), "pinch": (0.2, 0.6), "tsp": (3.0, 5.5), "teaspoon": (3.0, 5.5), "tbsp": (8.0, 16.0),
           "tablespoon": (8.0, 16.0), "cup": (180.0, 250.0)}
SPOONED = "kitchen"      # the unit said of a line whose grams come from such a measure
MILLILITRE = (0.9, 1.05)      # grams in one, from light oils to water with glycerin: common practice
MINUTES = {"s": 1 / 60, "sec": 1 / 60, "seconds": 1 / 60, "second": 1 / 60, "min": 1.0, "mins": 1.0, "minute": 1.0, "minutes": 1.0, "m": 1.0,
           "h": 60.0, "hr": 60.0, "hour": 60.0, "hours": 60.0, "d": 1440.0, "day": 1440.0, "days": 1440.0}
_QUANTITY = re.compile(r"\s*(?:about |ca\.? |approx\.? |~)?([-+]?[0-9]+(?:[.,][0-9]+)?)(?:\s*(?:-|to|\u2013)\s*([0-9]+(?:[.,][0-9]+)?))?\s*\u00b0?\s*([A-Za-z%]*)\s*\Z")
_BEFORE_WORDS = re.compile(r",\s+(?=[A-Za-z])|\s*\((?=[A-Za-z])|\s+(?:at|in|under|with|without|until|while)\s")      # `60 C, just melted`, `30 min at 80 C`
UNTOLD = ("some", "a bit", "a little", "a little bit", "a splash", "a dollop", "to taste", "not sure", "unknown", "?")      # an amount that says none
_PIECE = re.compile(r"([0-9]+(?:[.,][0-9]+)?)\s*([A-Za-z]+)")
_PIECES = re.compile(r"\s*(?:[0-9]+(?:[.,][0-9]+)?\s*[A-Za-z]+(?:\s+and\s+|[\s,]+)?){2,4}\Z")
_COUNT = r"(?:[0-9]+\s+)?[0-9]+\s*/\s*[1-9][0-9]?|[0-9]+(?:[.,][0-9]+)?|half an?|a few|an?|one|two|three|four|five|few"
MEASURE = rf"(?:about |ca\.? |approx\.? |~)?(?:(?P<count>{_COUNT})\s*)?(?:(?:small|big|large|heaped|level|good)\s+)?(?P<measure>drops?|dash(?:es)?|pinch(?:es)?|tsps?|teaspoons?|tbsps?|tablespoons?|cups?)"
_MEASURE = rf"(?i)\s*{MEASURE}(?:ful)?\.?\s*\Z"      # as text, as those below: slow to compile, and mostly not needed
_NUMBERS = {"a": 1.0, "an": 1.0, "one": 1.0, "half a": 0.5, "half an": 0.5, "two": 2.0, "three": 3.0, "four": 4.0, "five": 5.0, "few": 3.0, "a few": 3.0}
_SPAN = rf"(?i)\s*(?:about |ca\.? |approx\.? |~)?(?P<count>{_COUNT})\s*(?P<unit>[A-Za-z]+)\b[^0-9]*\Z"      # `an hour`, `20 minutes or so`
_DEGREES = r"(?:[-+\u2212]|minus )?[0-9]+(?:[.,][0-9]+)?"
_DEGREE_SPAN = rf"(?i)(?<![\w.,])(?:({_DEGREES})\s*(?:\u00b0|degrees)?\s*([CF])?\s*(?:-|to|and|or|\u2013)\s*)?({_DEGREES})\s*(?:\u00b0|degrees)?\s*([CF])(?:elsius|ahrenheit)?\b"
_PAIR = r"(?i)\s*(?P<between>between\s|from\s)?\s*(?P<one>[-+]?[0-9]+(?:[.,][0-9]+)?|half an?|a|one|two|three|four)\s*\u00b0?\s*(?P<own>[a-z]*)\s*(?P<join>to|or|-|\u2013|and|/|&|,\s)\s*(?P<two>[0-9]+(?:[.,][0-9]+)?|one|two|three|four|five)\s*\u00b0?\s*(?P<unit>[a-z]*)\s*\Z"
_ENDS = ("to", "or", "-", "\u2013")      # between two numbers that are the ends of one range
TEMPERATURES = ("oil_phase_temperature", "water_phase_temperature", "cool_down_added_at")
TIMES = ("held", "mixed")
MASSES = ("weight_before", "weight_after")


def number(text: str) -> float:
    """A number with a point or a decimal comma."""
    return float(text.replace(",", "."))


def split(value: Any) -> tuple[float, str] | None:
    """A number (the middle of a range) and its unit in lower case; None where the text is no such thing."""
    if isinstance(value, bool):
        return None
    if isinstance(value, (int, float)):
        return float(value), ""
    found = _QUANTITY.match(_BEFORE_WORDS.split(str(value))[0])
    if not found:
        return None
    low = number(found[1])
    high = number(found[2]) if found[2] else low
    return (low + high) / 2, found[3].lower()


def fractions(text: str) -> str:
    """Halves and quarters that are one sign, written out."""
    for sign, words in (("\u00bd", " 1/2"), ("\u00bc", " 1/4"), ("\u00be", " 3/4")):
        text = text.replace(sign, words)
    return text


def kitchen(text: str) -> tuple[float, float] | None:
    """`20 drops`, `a pinch`, `1/2 cup` as the grams it may be; None where it is no such measure."""
    found = re.match(_MEASURE, fractions(text))
    if not found:
        return None
    count = _counted(found["count"] or "1")
    measure = found["measure"].lower()
    low, high = next(KITCHEN[m] for m in (measure, measure[:-1], measure[:-2]) if m in KITCHEN)
    return count * low, count * high


def _counted(text: str) -> float:
    """`half a`, `two`, `1 1/2` or `0.5` as a number."""
    said = re.sub(r"\s+", " ", text).lower()
    whole, _, part = said.rpartition(" ") if "/" in said else ("", "", said)
    top, _, bottom = part.partition("/")
    return _NUMBERS[said] if said in _NUMBERS else (number(whole) if whole.strip().isdecimal() else 0.0) + number(top) / (number(bottom) if bottom else 1.0)


def celsius(value: Any) -> float | None:
    """`74 C`, `165 F` or a bare number (C) in degrees Celsius; None where it is no temperature."""
    parts = split(value)
    if parts is None or parts[1] not in ("", "c", "f", "celsius", "fahrenheit"):
        return None
    return (parts[0] - 32) * 5 / 9 if parts[1].startswith("f") else parts[0]


def temperatures(value: Any) -> tuple[float, ...]:
    """Every temperature of a text in degrees Celsius, of a range both ends (`from -5 to 45 C`); a bare number is in C."""
    alone = celsius(value)
    text = str(value)
    found = [(end, unit) for low, own, high, unit in re.findall(_DEGREE_SPAN, text) for end, unit in ((low, own or unit), (high, unit)) if end]
    return tuple(_degrees(end, unit) for end, unit in found) or (() if alone is None else (alone,))


def _degrees(said: str, unit: str) -> float:
    size = number(said.lower().replace("minus ", "-").replace("\u2212", "-"))
    return (size - 32) * 5 / 9 if unit.lower() == "f" else size


def minutes(value: Any) -> float | None:
    """`10 min`, `1 h 30 min`, `half an hour` or a bare number (minutes) in minutes; None where it is no time."""
    parts = split(value)
    if parts is None:
        pieces = [(number(a), b.lower()) for a, b in _PIECE.findall(str(value))] if _PIECES.match(str(value)) else []
        if pieces and all(b in MINUTES for _, b in pieces):
            return sum(a * MINUTES[b] for a, b in pieces)
        span = re.match(_SPAN, fractions(str(value)))
        return _counted(span["count"]) * MINUTES[span["unit"].lower()] if span and span["unit"].lower() in MINUTES else None
    return parts[0] if not parts[1] else parts[0] * MINUTES[parts[1]] if parts[1] in MINUTES else None


def grams(value: Any) -> float | None:
    """`200 g`, `8 oz` or a bare number (g) in grams; None where it is no mass."""
    parts = split(value)
    if parts is None:
        return None
    return parts[0] if not parts[1] else parts[0] * GRAMS[parts[1]] if parts[1] in GRAMS else None


def is_ounces(value: Any) -> bool:
    """Whether a mass is told in ounces or pounds: `8 oz`, `1.5 lb`."""
    parts = split(value)
    return parts is not None and parts[1] in GRAMS and parts[1][0] in "ol"


def percent(value: Any) -> float | None:
    """`20 %` or a bare number as a percentage."""
    parts = split(value)
    return parts[0] if parts and parts[1] in ("", "%") else None


def pair(text: str) -> tuple[str, str, bool] | None:
    """Two numbers where one was asked for, each with its unit, and whether they are surely the ends of one range: `3 to 4 min`, not `70 and 75 C`."""
    found = re.match(_PAIR, text)
    if found is None:
        return None
    unit = found["unit"] or found["own"]
    one, two = (f"{_counted(found[n]):g}" if found[n][-1].isalpha() else found[n] for n in ("one", "two"))
    return f"{one} {found['own'] or unit}".strip(), f"{two} {unit}".strip(), bool(found["between"]) or found["join"].lower() in _ENDS


def process_value(path: str, value: Any) -> Any:
    """The value of a process field as the record keeps it: C, minutes or g where it is one, else as it stands."""
    key = path.rpartition(".")[2]
    reader = celsius if key in TEMPERATURES else minutes if key in TIMES else grams if key in (*MASSES, "batch_size", "scale_reads_to") else None
    found = reader(value) if reader else None
    return value if found is None else found
