"""Reading a batch: a YAML record, a CSV table or a pasted list, from a file or standard input, into one Batch."""

from __future__ import annotations

import re
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from advisor.batch import units
from advisor.batch.form import LINE, PROCESS, RECORD
from advisor.batch.lines import MAX_LINES, REST, check_formula, clean, one_unit, phase
from advisor.batch.model import Batch, Formula, Line, Remark, Seen, Tried
from advisor.batch.plainly import yes_or_no
from advisor.errors import InputError, Place, Problem
from advisor.knowledge.forms import Form, check
from advisor.knowledge.strict_yaml import MAX_BYTES, Document, decode, load, read_text

COLDEST, HOTTEST, WATER_BOILS = -30.0, 250.0, 100.0
MOST_NAMED = 40.0      # percent: what is more may be how strong a material is, as in lactic acid, 80 %
_NAMED_SHARE = r"(?P<name>.*[A-Za-z)].*?),\s*(?P<share>(?:[0-9]+(?:[.,][0-9]+)?\s*(?:-|\u2013|to)\s*)?(?P<high>[0-9]+(?:[.,][0-9]+)?)\s*%)"      # as text: few names are so
_RANGE = re.compile(r"\s*([0-9]+(?:[.,][0-9]+)?)\s*(?:-|\u2013|to)\s*([0-9]+(?:[.,][0-9]+)?)\s*([A-Za-z%]*)\s*\Z")
__all__ = ["clean", "read_batch", "read_text_batch", "record_batch"]


def read_batch(path: str | Path) -> Batch:
    """Read a batch from a file, or from standard input for `-`; raises InputError with every problem found."""
    if str(path) == "-":
        if sys.stdin is None:
            raise InputError(Problem(Place("standard input"), "it is closed", "Name a file, or send the record in."))
        return read_text_batch(decode(sys.stdin.buffer.read(MAX_BYTES + 1), "standard input"), "standard input")
    return read_text_batch(read_text(bundled(path) or Path(path)), str(path))


def bundled(path: str | Path) -> Path | None:
    """The example that travels with the program, where `cases/...` is named and no such file is here."""
    given = Path(path)
    if given.parts[:1] != ("cases",) or given.exists() or ".." in given.parts:
        return None
    home = Path(__file__).parent.parent
    return next((p for p in (home / "_data" / given, home.parent / given) if p.exists()), None)


def read_text_batch(text: str, file: str) -> Batch:
    """Read a batch from text; the form is told from the text itself (a .csv name is taken at its word)."""
    if not text.strip():
        raise InputError(Problem(Place(file), "the file is empty", "Write a formula or what was observed into it."))
    named = file.endswith((".yaml", ".yml"))
    if named and text.lstrip().startswith(("format:", "#", "name:")):     # the plain case, without loading the other readers
        return _from_document(load(text, file))
    from advisor.batch.pasted import looks_pasted, read_pasted
    from advisor.batch.tables import looks_like_table, read_table

    if file.endswith(".csv") or looks_like_table(text):
        return read_table(text, file)
    if not named and looks_pasted(text):
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
    reader = _Reader(document)
    if problems:
        reader.sound_parts(data)              # so that every mistake of the file is named at once
        raise InputError(problems + reader.problems)
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

    def sound_parts(self, d: Mapping[str, Any]) -> None:
        """Look for further mistakes in the parts of the record whose form is right."""
        for key in ("batch_size", "scale_reads_to"):
            if _fits(d.get(key), RECORD.keys[key]):
                self._mass(d, key)
        process, formula = d.get("process"), d.get("formula")
        if isinstance(process, dict):
            self._process({k: v for k, v in process.items() if k in PROCESS.keys and _fits(v, PROCESS.keys[k])})
        rows = formula.get("lines") if isinstance(formula, dict) else None
        unit = formula.get("unit") if isinstance(formula, dict) else None
        if isinstance(rows, list) and len(rows) <= MAX_LINES:
            pairs = [self._line(row, ("formula", "lines", i)) for i, row in enumerate(rows) if _fits(row, LINE)]
            one_unit(pairs, unit if isinstance(unit, str) else None, self.problems)

    def batch(self, d: Mapping[str, Any]) -> Batch:
        history, formula = d.get("history", {}), d.get("formula", {})
        if "worked_before" in history and yes_or_no(history["worked_before"]) is None:
            self.remarks.append(Remark("history.worked_before", f"{history['worked_before']!r} was not understood as yes or no"))
        return Batch(
            clean(str(d.get("name", ""))), d.get("kind"), _text(d.get("wanted")), _text(d.get("complaint")), _text(d.get("made")),
            self._mass(d, "batch_size"), self._mass(d, "scale_reads_to"), self._formula(formula), self._process(d.get("process", {})),
            self._measured(d.get("measured", {})), tuple(_seen(x) for x in _many(d.get("observed"))), yes_or_no(history.get("worked_before")),
            tuple(map(clean, _many(history.get("changed")))), tuple(self._tried(x, i) for i, x in enumerate(_many(d.get("tried")))),
            {k: clean(v) if isinstance(v, str) else v for k, v in d.get("storage", {}).items()}, _text(d.get("water")),
            dict(d.get("answers") or {}), _text(d.get("notes")), d.get("known"), self.document.file, tuple(self.remarks),
            any(units.is_ounces(d.get(key)) for key in ("batch_size", "scale_reads_to")),
        )

    def _mass(self, d: Mapping[str, Any], key: str) -> float | None:
        if key not in d:
            return None
        found = units.grams(d[key])
        if found is None:
            self.bad((key,), f"{d[key]!r} is no weight", "Write it as 200 g, 8 oz or 1 kg.")
        elif not 0 < found <= 1_000_000:
            what = "batch one can weigh" if key == "batch_size" else "step of a scale"
            self.bad((key,), f"{d[key]!r} is no {what}", "Give a weight above 0 and up to 1000 kg.")
        return found

    def _measured(self, d: Mapping[str, Any]) -> dict[str, Any]:
        """What was measured; a pH told as a range is taken at its middle."""
        said = d.get("ph")
        if not isinstance(said, str):
            return dict(d)
        found = _RANGE.fullmatch(said.strip())
        ends = (units.number(found[1]), units.number(found[2])) if found and not found[3] else ()
        if not ends or not all(0 <= e <= 14 for e in ends):
            self.bad(("measured", "ph"), f"{clean(said)[:40]!r} is no pH", "Give a pH from 0 to 14, or a range such as 4.5-5.")
            return {}
        self.remarks.append(Remark("measured.ph", f"{clean(said)!r} was taken at its middle"))
        return {**d, "ph": sum(ends) / 2}

    def _formula(self, d: Mapping[str, Any]) -> Formula:
        rows = d.get("lines", [])
        if len(rows) > MAX_LINES:
            self.bad(("formula", "lines"), f"{len(rows)} lines; the limit is {MAX_LINES}", "Give one batch a file.")
            return Formula()
        if d.get("unit") == "percent" or not ("unit" in d or any("amount" in row for row in rows)):
            rows = [self._parted(row) for row in rows]
        pairs = [self._line(row, ("formula", "lines", i)) for i, row in enumerate(rows)]
        unit, lines = one_unit(pairs, d.get("unit"), self.problems)
        formula = Formula(lines, unit, d.get("complete", True))
        self.problems += check_formula(formula, self.document.place(("formula", "lines")))
        return formula

    def _parted(self, row: Mapping[str, Any]) -> Mapping[str, Any]:
        """A line whose name ends in its share, `essential oil, 2 %`, as name and amount; a high share may be a strength, and stays."""
        found = re.fullmatch(_NAMED_SHARE, clean(row["name"])) if "," in str(row["name"]) and "amount" not in row and "strength" not in row else None
        if not found or units.number(found["high"]) > MOST_NAMED:
            return row
        self.remarks.append(Remark(found["name"], f"its amount was read from its name: {found['share']}"))
        return {**row, "name": found["name"], "amount": found["share"]}

    def _line(self, row: Mapping[str, Any], path: tuple[Any, ...]) -> tuple[Line, str]:
        name = clean(row["name"])
        amount, rest, said = self._amount(row.get("amount"), (*path, "amount"))
        known = phase(row["phase"]) if "phase" in row else None
        if "phase" in row and not known:
            self.remarks.append(Remark(name, f"the phase {row['phase']!r} was not understood; it was worked out instead"))
        strength = units.percent(row["strength"]) if "strength" in row else None
        if "strength" in row and strength is None:
            self.remarks.append(Remark(name, f"the strength {row['strength']!r} was not understood as a percentage"))
        elif strength is not None and not 0 < strength <= 100:
            self.bad((*path, "strength"), f"a strength of {strength:g} %", "Give a percentage above 0 and up to 100.")
        own = {k: row[k] for k in ("is", "hlb", "required_hlb", "charge", "melting", "level", "density") if k in row}
        return Line(name, amount, rest, known, strength, _text(row.get("lot")), own, self.document.place(path)), said

    def _amount(self, value: Any, path: tuple[Any, ...]) -> tuple[tuple[float, float] | None, bool, str]:
        """(low, high) as written, whether it is the rest, and the unit said on the line."""
        if value is None or str(value).strip().lower() in units.UNTOLD:
            return None, False, ""
        if isinstance(value, (int, float)):
            return (float(value), float(value)), False, ""
        text = str(value).strip()
        if text.lower() in REST:
            return None, True, ""
        if found := _RANGE.match(text):
            low, high = sorted((units.number(found[1]), units.number(found[2])))
            return (low, high), False, found[3].lower()
        if found_grams := units.kitchen(text):
            return found_grams, False, units.SPOONED
        parts = units.split(text)
        if parts is None or parts[0] < 0:
            wrong = "below zero" if parts else "a ratio, not a number" if ":" in text else "no number"
            self.bad(path, f"the amount {clean(text)[:40]!r} is {wrong}", "Write a number, rest, or a range such as 0.5-1.")
            return None, False, ""
        return (parts[0], parts[0]), False, parts[1]

    def _tried(self, item: Any, at: int) -> Tried:
        """What was tried and whether it changed anything, as yes or no or in plain words."""
        if isinstance(item, str):
            return Tried(clean(item))
        said = item.get("changed")
        changed = yes_or_no(said)
        if changed is None and said is not None:
            from advisor.batch.plainly import helped, is_unsure
            from advisor.knowledge.load import load_knowledge

            words = load_knowledge().words      # only where there are words to be read
            changed = helped(str(said), words)
            if changed is None and not is_unsure(str(said), words):
                self.bad(("tried", at, "changed"), f"{clean(said)[:40]!r} does not tell whether it helped", "Write yes or no, or how it went: helped, no change, worse.")
        return Tried(clean(item["what"]), changed)

    def _process(self, d: Mapping[str, Any]) -> dict[str, Any]:
        out: dict[str, Any] = {}
        for key, value in d.items():
            if key in ("stirred_while_cooling", "topped_up", "covered"):
                out[key] = value if (said := yes_or_no(value)) is None else said
                if said is None:
                    self.remarks.append(Remark(f"process.{key}", f"{value!r} was not understood as yes or no"))
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


def _fits(value: Any, form: Form) -> bool:
    return not check(Document("", value, {}), form)


def _text(value: Any) -> str | None:
    return None if value is None else clean(value)


def _many(value: Any) -> list[Any]:
    return [] if value is None else value if isinstance(value, list) else [value]


def _seen(item: Any) -> Seen:
    return Seen(clean(item)) if isinstance(item, str) else Seen(clean(item["what"]), _text(item.get("when")))
