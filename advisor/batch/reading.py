"""Reading a batch: a YAML record, a CSV table or a pasted list, from a file or standard input, into one Batch."""

from __future__ import annotations

import re
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from advisor.batch import units
from advisor.batch.form import RECORD
from advisor.batch.model import Batch, Formula, Line, Remark, Seen, Tried
from advisor.batch.pasted import looks_pasted, read_pasted
from advisor.batch.tables import looks_like_table, read_table
from advisor.errors import InputError, Place, Problem
from advisor.knowledge.forms import check
from advisor.knowledge.strict_yaml import MAX_BYTES, Document, decode, load, read_text

MAX_LINES = 500
MAX_NAME = 300
COLDEST, HOTTEST, WATER_BOILS = -30.0, 250.0, 100.0
_RANGE = re.compile(r"\s*([0-9]+(?:[.,][0-9]+)?)\s*(?:-|\u2013|to)\s*([0-9]+(?:[.,][0-9]+)?)\s*([A-Za-z%]*)\s*\Z")
_CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f]")
_PHASES = {"water": "water", "oil": "oil", "cool-down": "cool-down", "cool down": "cool-down", "cooldown": "cool-down", "aqueous": "water",
           "a": "water", "b": "oil", "c": "cool-down", "fat": "oil"}


def read_batch(path: str | Path) -> Batch:
    """Read a batch from a file, or from standard input for `-`; raises InputError with every problem found."""
    if str(path) == "-":
        return read_text_batch(decode(sys.stdin.buffer.read(MAX_BYTES + 1), "standard input"), "standard input")
    return read_text_batch(read_text(Path(path)), str(path))


def read_text_batch(text: str, file: str) -> Batch:
    """Read a batch from text; the form is told from the text itself (a .csv name is taken at its word)."""
    if not text.strip():
        raise InputError(Problem(Place(file), "the file is empty", "Write a formula or what was observed into it."))
    if file.endswith(".csv") or looks_like_table(text):
        return read_table(text, file)
    if not file.endswith((".yaml", ".yml")) and looks_pasted(text):
        return read_pasted(text, file)
    return _from_document(load(text, file))


def record_batch(record: Mapping[str, Any], file: str = "") -> Batch:
    """A batch from plain data of the record's form."""
    return _from_document(Document(file, dict(record), {}))


def _from_document(document: Document) -> Batch:
    if not isinstance(document.data, dict):
        raise InputError(Problem(document.place(()), "this is no batch record", "Start with lines such as `formula:` and `observed:`."))
    problems = check(document, RECORD)
    data = document.data
    if not problems and not any(k in data for k in ("formula", "observed", "complaint")):
        problems.append(Problem(document.place(()), "neither a formula nor anything observed is here", "Add formula: or observed:."))
    if problems:
        raise InputError(problems)
    reader = _Reader(document)
    batch = reader.batch(data)
    if reader.problems:
        raise InputError(reader.problems)
    return batch


class _Reader:
    def __init__(self, document: Document) -> None:
        self.document = document
        self.problems: list[Problem] = []
        self.remarks: list[Remark] = []

    def bad(self, path: tuple[Any, ...], says: str, mend: str) -> None:
        self.problems.append(Problem(self.document.place(path), says, mend))

    def batch(self, d: Mapping[str, Any]) -> Batch:
        history, formula = d.get("history", {}), d.get("formula", {})
        return Batch(
            clean(str(d.get("name", ""))), d.get("kind"), _text(d.get("wanted")), _text(d.get("complaint")), _text(d.get("made")),
            self._mass(d, "batch_size"), self._mass(d, "scale_reads_to"), self._formula(formula), self._process(d.get("process", {})),
            dict(d.get("measured", {})), tuple(_seen(x) for x in _many(d.get("observed"))), _yes(history.get("worked_before")),
            tuple(map(clean, _many(history.get("changed")))), tuple(_tried(x) for x in _many(d.get("tried"))),
            {k: clean(v) if isinstance(v, str) else v for k, v in d.get("storage", {}).items()}, _text(d.get("water")),
            dict(d.get("answers") or {}), _text(d.get("notes")), d.get("known"), self.document.file, tuple(self.remarks),
        )

    def _mass(self, d: Mapping[str, Any], key: str) -> float | None:
        if key not in d:
            return None
        found = units.grams(d[key])
        if found is None:
            self.bad((key,), f"{d[key]!r} is no weight", "Write it as 200 g, 8 oz or 1 kg.")
        elif not 0 < found <= 1_000_000:
            self.bad((key,), f"{d[key]!r} is no batch one can weigh", "Give a weight above 0 and up to 1000 kg.")
        return found

    def _formula(self, d: Mapping[str, Any]) -> Formula:
        rows = d.get("lines", [])
        if len(rows) > MAX_LINES:
            self.bad(("formula", "lines"), f"{len(rows)} lines; the limit is {MAX_LINES}", "Give one batch a file.")
            return Formula()
        unit = d.get("unit")
        lines = tuple(self._line(row, ("formula", "lines", i), unit) for i, row in enumerate(rows))
        if sum(line.rest for line in lines) > 1:
            self.bad(("formula", "lines"), "more than one line says `rest`", "Only one line can take what is left.")
        self._total(lines, unit)
        return Formula(lines, unit, d.get("complete", True))

    def _total(self, lines: tuple[Line, ...], unit: str | None) -> None:
        known = [sum(a.amount) / 2 for a in lines if a.amount]
        whole = sum(known)
        if known and whole <= 0 and not any(a.rest for a in lines):
            self.bad(("formula", "lines"), "the amounts add up to 0", "Give the amounts.")
        if unit == "percent" and whole > 150:
            self.bad(("formula", "lines"), f"the lines add up to {whole:g} %", "Check the amounts, or give unit: g.")

    def _line(self, row: Mapping[str, Any], path: tuple[Any, ...], unit: str | None) -> Line:
        name = clean(row["name"])
        if len(name) > MAX_NAME:
            self.bad((*path, "name"), f"a name of {len(name)} characters", f"Shorten it to {MAX_NAME}.")
            name = name[:MAX_NAME]
        amount, rest = self._amount(row.get("amount"), (*path, "amount"), unit)
        phase = row.get("phase")
        known = _PHASES.get(str(phase).lower().removesuffix(" phase").strip()) if phase else None
        if phase and not known:
            self.remarks.append(Remark(name, f"the phase {phase!r} was not understood; it was worked out instead"))
        strength = units.percent(row["strength"]) if "strength" in row else None
        if strength is not None and not 0 < strength <= 100:
            self.bad((*path, "strength"), f"a strength of {strength:g} %", "Give a percentage above 0 and up to 100.")
        own = {k: row[k] for k in ("is", "hlb", "required_hlb", "charge", "melting", "density") if k in row}
        return Line(name, amount, rest, known, strength, _text(row.get("lot")), own, self.document.place(path))

    def _amount(self, value: Any, path: tuple[Any, ...], unit: str | None) -> tuple[tuple[float, float] | None, bool]:
        if value is None:
            return None, False
        if isinstance(value, (int, float)):
            return (float(value), float(value)), False
        text = str(value).strip()
        if text.lower() in ("rest", "q.s.", "qs", "to 100"):
            return None, True
        found = _RANGE.match(text)
        if found:
            low, high, said = units.number(found[1]), units.number(found[2]), found[3].lower()
        else:
            parts = units.split(text)
            if parts is None or parts[0] < 0:
                ratio = " a ratio;" if ":" in text else ""
                self.bad(path, f"the amount {text!r} is{ratio} no number", "Write a number, rest, or a range such as 0.5-1.")
                return None, False
            low = high = parts[0]
            said = parts[1]
        factor = self._factor(said, unit, path)
        return (min(low, high) * factor, max(low, high) * factor), False

    def _factor(self, said: str, unit: str | None, path: tuple[Any, ...]) -> float:
        wanted = {"percent": "%", "part": "part"}.get(unit or "", unit or "")
        if not said or said == wanted or (said in ("part", "parts") and wanted == "part") or not wanted:
            return 1.0
        if said in units.GRAMS and wanted in units.GRAMS:
            return units.GRAMS[said] / units.GRAMS[wanted]
        self.bad(path, f"an amount in {said!r} in a formula in {unit!r}", "Give every line in one unit.")
        return 1.0

    def _process(self, d: Mapping[str, Any]) -> dict[str, Any]:
        out: dict[str, Any] = {}
        for key, value in d.items():
            if key in ("stirred_while_cooling", "topped_up", "covered"):
                out[key] = value if (said := _yes(value)) is None else said
                continue
            out[key] = found = units.process_value(key, value)
            if key in units.TEMPERATURES:
                self._temperature(key, value, found)
            elif key in (*units.TIMES, *units.MASSES):
                if not isinstance(found, float):
                    self.remarks.append(Remark(f"process.{key}", f"{value!r} was not understood as a number with a unit"))
                elif found < 0:
                    self.bad(("process", key), f"{value!r} is below zero", "Give a value of 0 or more.")
            elif isinstance(value, str):
                out[key] = clean(value)
        return out

    def _temperature(self, key: str, value: Any, found: Any) -> None:
        if not isinstance(found, float):
            self.remarks.append(Remark(f"process.{key}", f"{value!r} was not understood as a temperature"))
            return
        hottest = WATER_BOILS if key.startswith("water") else HOTTEST
        if not COLDEST <= found <= hottest:
            shown = f"{found:.0f} C" if "f" in str(value).lower() else f"{found:g} C"
            self.bad(("process", key), f"{value!r} is {shown}, outside {COLDEST:g} to {hottest:g} C", "Check the unit (C or F) and the number.")


def clean(text: Any) -> str:
    """Text with control characters made visible."""
    return _CONTROL.sub(lambda m: chr(0x2400 + ord(m[0])) if ord(m[0]) < 0x20 else "\ufffd", str(text).strip())


def _text(value: Any) -> str | None:
    return None if value is None else clean(value)


def _yes(value: Any) -> bool | None:
    if isinstance(value, bool) or value is None:
        return value
    word = str(value).strip().lower()
    return True if word in ("yes", "y", "true", "always") else False if word in ("no", "n", "false", "never") else None


def _many(value: Any) -> list[Any]:
    return [] if value is None else value if isinstance(value, list) else [value]


def _seen(item: Any) -> Seen:
    return Seen(clean(item)) if isinstance(item, str) else Seen(clean(item["what"]), _text(item.get("when")))


def _tried(item: Any) -> Tried:
    return Tried(clean(item)) if isinstance(item, str) else Tried(clean(item["what"]), item.get("changed"))
