"""Writing a batch record: whole, or only the blocks the interview owns, everything else byte for byte; always atomic."""

from __future__ import annotations

import json
import os
import re
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from advisor.batch.model import Batch

_SAFE = re.compile(r"[A-Za-z][A-Za-z0-9 %/().+-]*[A-Za-z0-9%)]\Z")
_RISKY = {"yes", "no", "on", "off", "true", "false", "null", "y", "n"}


def batch_record(batch: Batch) -> dict[str, Any]:
    """The batch as plain data of the record's form; what is not known is left out."""
    record: dict[str, Any] = {"format": 1}
    for key in ("name", "kind", "wanted", "complaint", "made", "water", "notes"):
        if getattr(batch, key):
            record[key] = getattr(batch, key)
    for key, value in (("batch_size", batch.batch_size), ("scale_reads_to", batch.scale_step)):
        if value:
            record[key] = f"{value:g} g"
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
    if batch.tried:
        record["tried"] = [{"what": t.what, **({"changed": t.changed} if t.changed is not None else {})} for t in batch.tried]
    return record


def batch_text(batch: Batch) -> str:
    """The batch as the text of a YAML record."""
    return "".join(_block(k, v) for k, v in batch_record(batch).items())


def replace_blocks(text: str, blocks: Mapping[str, Any]) -> str:
    """The text with these top-level blocks put in place of those there (or added at the end); an empty block is taken out."""
    for key, value in blocks.items():
        new = _block(key, value) if value not in (None, {}, [], ()) else ""
        found = re.search(rf"^{re.escape(key)}\s*:.*\n?(?:(?:[ \t].*|- .*|-)?\n)*(?:[ \t].+\Z)?", text, re.M)
        if found:
            kept = re.search(r"\n*\Z", found[0])
            tail = "\n" * max(0, len(kept[0]) - 1) if kept else ""
            text = text[: found.start()] + (new + tail if new else "") + text[found.end():]
        elif new:
            text = text + ("" if text.endswith("\n") or not text else "\n") + new
    return text


def save(path: Path, text: str) -> None:
    """Write a file so that it is always either the old or the new one."""
    folder = path.parent
    with tempfile.NamedTemporaryFile("w", encoding="utf-8", dir=folder, prefix=f".{path.name}.", delete=False, newline="") as stream:
        try:
            stream.write(text)
            stream.flush()
            os.fsync(stream.fileno())
        except BaseException:
            Path(stream.name).unlink(missing_ok=True)
            raise
    if path.exists():
        os.chmod(stream.name, path.stat().st_mode & 0o777)
    os.replace(stream.name, path)


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
    if isinstance(value, (int, float)):
        return f"{value:.10g}"
    if value is None:
        return "null"
    text = str(value)
    return text if _SAFE.match(text) and text.lower() not in _RISKY else json.dumps(text, ensure_ascii=False)
