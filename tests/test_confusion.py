"""Go, go with care or don't, over published formulas that hold and formulas that did not: a confusion table.

Print it with: python tests/test_confusion.py
"""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import Any

import pytest
import yaml

from advisor.batch.reading import record_batch
from advisor.forecast import Forecast, forecast
from advisor.knowledge.load import Knowledge, load_knowledge

FORMULAS: list[dict[str, Any]] = yaml.safe_load((Path(__file__).parent / "data" / "formulas.yaml").read_text(encoding="utf-8"))["formulas"]
Row = tuple[dict[str, Any], Forecast]


def foreseen(knowledge: Knowledge) -> list[Row]:
    out = []
    for f in FORMULAS:
        lines = [{"name": x[0], **({"amount": x[1]} if len(x) > 1 else {})} for x in f["lines"]]
        record: dict[str, Any] = {"formula": {"unit": f.get("unit", "percent"), "complete": f["complete"], "lines": lines}}
        if "kind" in f:
            record["kind"] = f["kind"]
        if "ph" in f:
            record["measured"] = {"ph": f["ph"]}
        out.append((f, forecast(record_batch(record), knowledge)))
    return out


def table(rows: list[Row]) -> Counter[tuple[bool, str]]:
    return Counter((f["holds"], found.go) for f, found in rows)


def warned(row: Row) -> bool:
    """Don't or care, with a told cause as the first risk."""
    f, found = row
    return found.go != "go" and bool(found.risks) and found.risks[0].id in f["risk"]


@pytest.fixture(scope="module")
def rows(knowledge: Knowledge) -> list[Row]:
    return foreseen(knowledge)


def test_nothing_that_holds_is_forbidden(rows: list[Row]) -> None:
    assert [f["id"] for f, found in rows if f["holds"] and found.go == "no"] == []


def test_most_of_what_holds_gets_a_plain_go(rows: list[Row]) -> None:
    """A tool that says `care` to everything says nothing."""
    seen = table(rows)
    assert seen[True, "go"] > seen[True, "care"]


def test_most_of_what_split_for_its_formula_is_warned_of(rows: list[Row]) -> None:
    """Complete formulas only: what was not listed cannot be foreseen."""
    failed = [r for r in rows if not r[0]["holds"] and r[0]["complete"]]
    assert len(failed) >= 10
    assert sum(map(warned, failed)) / len(failed) >= 0.5


if __name__ == "__main__":
    found_rows = foreseen(load_knowledge())
    counts = table(found_rows)
    print(f"{'':14}{'go':>6}{'care':>6}{'no':>6}")
    for holds, title in ((True, "holds"), (False, "does not")):
        print(f"{title:14}" + "".join(f"{counts[holds, go]:6}" for go in ("go", "care", "no")))
    bad = [r for r in found_rows if not r[0]["holds"]]
    print(f"right risk first: {sum(map(warned, bad))} of {len(bad)}; in complete formulas {sum(warned(r) for r in bad if r[0]['complete'])} of {sum(r[0]['complete'] for r in bad)}")
    for f, found in found_rows:
        if f["holds"] != (found.go == "go"):
            print(f"{'holds' if f['holds'] else 'fails'} {found.go:5} {f['id']}: " + ", ".join(f"{r.id} {r.certainty:.2f}" for r in found.risks[:3]))
    for f, found in found_rows:
        if not f["holds"] and not warned((f, found)):
            print(f"missed {f['id']}: {found.go}, wanted {f['risk']}, got " + ", ".join(f"{r.id} {r.certainty:.2f}" for r in found.risks[:3]))
