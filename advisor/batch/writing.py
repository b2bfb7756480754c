"""Writing a batch record: whole, or only the blocks the interview owns, everything else byte for byte; always atomic."""

from __future__ import annotations

import json
import os
import re
import secrets
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from advisor.batch.model import Batch
from advisor.batch.units import GRAMS
from advisor.knowledge.strict_yaml import load

_SAFE = re.compile(r"[A-Za-z][A-Za-z0-9 %/().+-]*[A-Za-z0-9%)]\Z")
_BREAK = re.compile(r"(\r\n|[\n\r\x85\u2028\u2029])")
# YAML forbids these raw, or folds them as line ends.
_RAW = re.compile(r"[\x7f-\x9f\u2028\u2029\ufeff\ufffe\uffff]")
_RISKY = {"yes", "no", "on", "off", "true", "false", "null", "y", "n"}


def batch_record(batch: Batch) -> dict[str, Any]:
    """The batch as plain data of the record's form; what is not known is left out."""
    record: dict[str, Any] = {"format": 1}
    for key in ("name", "kind", "wanted", "complaint", "made", "water", "notes"):
        if getattr(batch, key):
            record[key] = getattr(batch, key)
    for key, value in (("batch_size", batch.batch_size), ("scale_reads_to", batch.scale_step)):
        if value:
            record[key] = f"{value / (GRAMS['oz'] if batch.ounces else 1):.10f}".rstrip("0").rstrip(".") + (" oz" if batch.ounces else " g")
    if batch.formula.lines or not (batch.observed or batch.complaint):
        lines = []
        for line in batch.formula.lines:
            row: dict[str, Any] = {"name": line.name}
            if line.rest:
                row["amount"] = "rest"
            elif line.amount:
                low, high = line.amount
                row["amount"] = round(low, 4) if low == high else f"{low:g}-{high:g}"
            if line.phase:
                row["phase"] = line.phase
            if line.strength:
                row["strength"] = f"{line.strength:g} %"
            lines.append({**row, **({"lot": line.lot} if line.lot else {}), **line.own})
        record["formula"] = {**({"unit": batch.formula.unit} if batch.formula.unit else {}), "complete": batch.formula.complete, "lines": lines}
    for key in ("process", "measured", "storage", "answers"):
        if getattr(batch, key):
            record[key] = dict(getattr(batch, key))
    if batch.observed:
        record["observed"] = [{"what": s.what, **({"when": s.when} if s.when else {})} for s in batch.observed]
    history = {**({"worked_before": batch.worked_before} if batch.worked_before is not None else {}),
               **({"changed": list(batch.changed)} if batch.changed else {})}
    if history:
        record["history"] = history
    if batch.known is not None:
        record["known"] = dict(batch.known)
    if batch.tried:
        record["tried"] = [{"what": t.what, **({"changed": t.changed} if t.changed is not None else {})} for t in batch.tried]
    return record


def batch_text(batch: Batch) -> str:
    """The batch as the text of a YAML record."""
    return "".join(_block(k, v) for k, v in batch_record(batch).items())


def replace_blocks(text: str, blocks: Mapping[str, Any]) -> str:
    """The text with these top-level blocks put in place of those there (or added at the end); an empty block is taken out.

    Every other byte stays.  Only a record written as one `{...}` is written anew, as it has no blocks to replace.
    """
    document = load(text, "the record")
    rows = _BREAK.split(text)
    lines = [a + b for a, b in zip(rows[::2], [*rows[1::2], ""], strict=True) if a + b]
    if isinstance(document.data, dict) and lines[document.marks[()][0] - 1][document.marks[()][1] - 1:].startswith("{"):
        merged = {**document.data, **blocks}
        return "".join(_block(k, v) for k, v in merged.items() if k not in blocks or not _empty(v))
    ending = "\r\n" if "\r\n" in text else "\n"
    starts = {k: document.marks[(k,)][0] - 1 for k in document.data} if isinstance(document.data, dict) else {}
    edges = [*sorted(starts.values()), _end(lines)]
    if any(key not in starts and not _empty(value) for key, value in blocks.items()) and edges[-1] and not lines[edges[-1] - 1].endswith(("\n", "\r")):
        lines[edges[-1] - 1] += ending
    added = "".join(_block(k, v) for k, v in blocks.items() if k not in starts and not _empty(v)).replace("\n", ending)
    lines.insert(edges[-1], added)
    for key in sorted(blocks.keys() & starts.keys(), key=lambda k: -starts[k]):
        first = starts[key]
        last = next(e for e in edges if e > first)
        while last > first + 1 and (not lines[last - 1].strip() or lines[last - 1].startswith("#")):
            last -= 1                          # comments and empty lines before the next key are not this block's
        new = "" if _empty(blocks[key]) else _block(key, blocks[key]).replace("\n", ending)
        lines[first:last] = [new]
    return "".join(lines)


def _end(lines: list[str]) -> int:
    """The number of lines before the mark that ends the document, if there is one."""
    return next((i for i, line in enumerate(lines) if line.rstrip() == "..." or line.startswith("... ")), len(lines))


def _empty(value: Any) -> bool:
    return value is None or value in ({}, [], ())


def save(path: Path, text: str) -> None:
    """Write a file so that it is always either the old or the new one; a link stays a link, rights stay as they were."""
    path = path.resolve()
    spare = path.with_name(f".{path.name}.{secrets.token_hex(6)}")
    try:
        with spare.open("x", encoding="utf-8", newline="") as stream:
            stream.write(text)
            stream.flush()
            os.fsync(stream.fileno())
        if path.exists():
            os.chmod(spare, path.stat().st_mode & 0o777)
        os.replace(spare, path)
    except BaseException:
        spare.unlink(missing_ok=True)
        raise


def _block(key: str, value: Any) -> str:
    if isinstance(value, Mapping) and value:
        inner = "".join(_nested(k, v) for k, v in value.items())
        return f"{key}:\n{inner}"
    if isinstance(value, (list, tuple)) and value:
        return f"{key}:\n" + "".join(f"  - {_flow(item)}\n" for item in value)
    return f"{key}: {_flow(value)}\n"


def _nested(key: str, value: Any) -> str:
    if isinstance(value, (list, tuple)) and value and isinstance(value[0], Mapping):
        return f"  {_scalar(key)}:\n" + "".join(f"    - {_flow(item)}\n" for item in value)
    return f"  {_scalar(key)}: {_flow(value)}\n"


def _flow(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{_scalar(k)}: {_flow(v)}" for k, v in value.items()) + "}"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(map(_flow, value)) + "]"
    return _scalar(value)


def _scalar(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, float):
        return f"{value:.10g}"
    if value is None:
        return "null"
    text = str(value)
    return text if _SAFE.match(text) and text.lower() not in _RISKY else _quoted(text)


def _quoted(text: str) -> str:
    whole = text.encode("utf-8", "replace").decode("utf-8")
    return _RAW.sub(lambda m: f"\\u{ord(m[0]):04x}", json.dumps(whole, ensure_ascii=False))
