"""Published series and formulas of tests/data/viscosity.yaml, and what the texture model says to them."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import yaml

from advisor.batch.reading import record_batch
from advisor.knowledge.load import Knowledge
from advisor.quantities.body import body_of
from advisor.quantities.measure import measure
from advisor.quantities.texture import Body, log_viscosity

DATA = yaml.safe_load((Path(__file__).parent / "data" / "viscosity.yaml").read_text(encoding="utf-8"))
Lines = Sequence[tuple[str, Any]]


def body(lines: Lines, kind: str, knowledge: Knowledge, x: float = 0.0) -> Body:
    """A formula of the data as the model sees it; `x` stands for the amount that is varied."""
    rows = [{"name": n, "amount": x if a == "x" else a} for n, a in lines if (x if a == "x" else a) != 0]
    if any(a == "rest" for _, a in lines) and sum(r["amount"] for r in rows if r["amount"] != "rest") >= 99.999:
        rows = [r for r in rows if r["amount"] != "rest"]
    found = measure(record_batch({"kind": kind, "formula": {"unit": "percent", "lines": rows}}), knowledge)
    assert all(line.read for line in found.lines), [line.line.name for line in found.lines if not line.read]
    made = body_of(found, knowledge)
    assert made is not None
    return made


def points(series: Mapping[str, Any], knowledge: Knowledge) -> list[tuple[Body, float | None, float]]:
    """Every point of a series: the formula, its temperature, the value measured."""
    return [(body(p.get("lines") or series["lines"], series["kind"], knowledge, p.get("x", 0.0)), p.get("at"), float(p["value"])) for p in series["points"]]


def compare(series: Mapping[str, Any], knowledge: Knowledge, model: Mapping[str, Any]) -> tuple[list[float], list[float]]:
    """(measured, estimated as log10) of a series."""
    found = points(series, knowledge)
    return [math.log10(v) for _, _, v in found], [log_viscosity(b, model, at) for b, at, _ in found]


def directions(measured: Sequence[float], estimated: Sequence[float], against_first: bool = False) -> tuple[int, int]:
    """Steps along a series that differ by more than 2 %, and how many of them go the right way."""
    pairs = [(0, i) if against_first else (i - 1, i) for i in range(1, len(measured))]
    steps = [(measured[j] - measured[i], estimated[j] - estimated[i]) for i, j in pairs if abs(measured[j] - measured[i]) > 0.0086]
    return sum(1 for m, e in steps if m * e > 0), len(steps)


def ranks(values: Sequence[float]) -> list[float]:
    order = [round(v, 6) for v in values]
    return [sum(1 for o in order if o < v) + (sum(1 for o in order if o == v) + 1) / 2 for v in order]


def spearman(one: Sequence[float], other: Sequence[float]) -> float:
    """The rank correlation; 0 where one side does not move."""
    a, b = ranks(one), ranks(other)
    ma, mb = sum(a) / len(a), sum(b) / len(b)
    top = math.fsum((x - ma) * (y - mb) for x, y in zip(a, b, strict=True))
    under = math.sqrt(math.fsum((x - ma) ** 2 for x in a) * math.fsum((y - mb) ** 2 for y in b))
    return top / under if under > 0 else 0.0
