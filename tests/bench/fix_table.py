"""The whole table of fixes and sheets checked: python tests/bench/fix_table.py [FOLDER ...]

Every card example, every batch of cases/ (and of the folders given): each fix, the sheet of the best one at awkward sizes, each jar of a
trial.  Totals are exactly 100.00 %, grams agree with the percentages to the scale's step and add up to the batch, no legal maximum is
passed, what changes balances out, a proved fix is proved again from scratch, and a batch that may be spoiled gets no fix.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from advisor.batch.model import Batch
from advisor.batch.reading import read_batch, record_batch
from advisor.diagnosis import LIKELY, SETTLED, examine
from advisor.errors import InputError
from advisor.fixes.amend import Portion, portions
from advisor.fixes.cautions import referred
from advisor.fixes.planner import PlannedFix
from advisor.fixes.remake import remake
from advisor.fixes.weighing import Weighed, over_law, weigh
from advisor.knowledge.load import Knowledge, load_knowledge
from advisor.outcome import Outcome, diagnose
from advisor.quantities.law import rinsed_off

ROOT = Path(__file__).parent.parent.parent
SIZES = ((100.0, 1.0), (237.0, 1.0), (340.2, 0.1), (1000.0, 5.0), (50.0, 0.01))     # g of batch, g that the scale reads to
SHEETS = (237.0,)                                                                     # g: sizes at which the whole sheet is made


@dataclass(slots=True)
class Table:
    """What was looked at, and every fault found, as text."""

    seen: Counter[str] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)


def batches(knowledge: Knowledge, folders: Sequence[Path] = ()) -> Iterator[tuple[str, Batch]]:
    """All card examples and all batches of cases/ and of these folders."""
    for card in knowledge.causes.values():
        for n, example in enumerate(card.examples):
            yield f"{card.id}-{n}", record_batch({"format": 1, **example.batch})
    for folder in (ROOT / "cases", *folders):
        for path in sorted(folder.glob("*.yaml")):
            yield path.stem, read_batch(path)


def check(found: Iterable[tuple[str, Batch]], knowledge: Knowledge) -> Table:
    """Every batch diagnosed and its fixes and sheets checked."""
    table = Table()
    for name, batch in found:
        outcome = diagnose(batch, knowledge)
        table.seen["batches"] += 1
        table.faults += [f"{name}: {text}" for text in (*_refusals(batch, outcome, knowledge, table), *_proofs(batch, outcome, table), *_sheets(batch, outcome, knowledge, table))]
        for fix in outcome.fixes:
            table.seen["fixes"] += 1
            table.faults += [f"{name}: {fix.id}: {text}" for text in _fix(fix, batch, knowledge, table)]
    return table


def _refusals(batch: Batch, outcome: Outcome, knowledge: Knowledge, table: Table) -> Iterator[str]:
    if outcome.fate.spoiled or referred(batch, knowledge):
        table.seen["refused"] += 1
        if outcome.fixes:
            yield f"fixes though it may be spoiled or is left to others: {[f.id for f in outcome.fixes]}"
        if outcome.fate.spoiled and outcome.fate.verdict != "discard":
            yield f"spoiled, but {outcome.fate.verdict}"


def _proofs(batch: Batch, outcome: Outcome, table: Table) -> Iterator[str]:
    """Counts, for every settled or likely cause with a formula remedy, whether a fix of it is proved; no fault by itself."""
    lines = outcome.examination.situation.measures.lines
    if not outcome.fate.spoiled and batch.formula.complete and lines and all(x.percent for x in lines):
        for ranked in outcome.examination.ranked:
            if ranked.standing in (SETTLED, LIKELY) and any(f.changes for f in ranked.cause.fixes):
                table.seen["causes with a formula remedy"] += 1
                table.seen["of them with a proved fix"] += any(f.proved and ranked.id in f.causes for f in outcome.fixes)
    yield from ()


def _fix(fix: PlannedFix, batch: Batch, knowledge: Knowledge, table: Table) -> Iterator[str]:
    if fix.record is None or not batch.formula.complete or not fix.record.formula.lines or not all(x.amount for x in fix.record.formula.lines):
        return
    table.seen["fixes with weights"] += 1
    yield from _record(fix.record, knowledge)
    moved = sum((c.to_percent or 0.0) - (c.from_percent or 0.0) for c in fix.changes)
    if abs(moved) > 1e-3:
        yield f"what changes does not balance: {moved:+.4f} %"
    for c in fix.changes:
        for percent, grams in ((c.from_percent, c.from_g), (c.to_percent, c.to_g)):
            if percent is not None and grams is not None and fix.record.batch_size and abs(grams - percent * fix.record.batch_size / 100) > 0.00501:
                yield f"{c.ingredient}: {grams} g is not {percent} % of {fix.record.batch_size} g"


def _record(record: Batch, knowledge: Knowledge) -> Iterator[str]:
    """One batch on paper: exactly 100 %, lawful, and weighable at every size."""
    amounts = [x.amount[0] for x in record.formula.lines if x.amount]
    if sum(round(a * 10_000) for a in amounts) != 1_000_000 or any(a <= 0 for a in amounts):
        yield f"total {sum(amounts):.6f} %"
    parts = portions(examine(record, knowledge, with_signs=False).situation.measures)
    if parts is None:
        yield "its lines cannot be read back"
        return
    if beyond := over_law(parts, knowledge, rinsed_off(record, knowledge)):
        yield f"above the law: {beyond}"
    for size, step in SIZES:
        yield from _weights(weigh(parts, [p.line.phase or "water" for p in parts], size, step), parts, size)


def _weights(rows: Sequence[Weighed], parts: Sequence[Portion], size: float) -> Iterator[str]:
    total = sum(w.grams or 0.0 for w in rows)
    if abs(total - size) > 1e-6:
        yield f"{total} g in all, not {size} g"
    largest = max(rows, key=lambda w: w.percent)
    slack = sum((w.step or 0.0) / 2 for w in rows)               # the largest line takes what rounding leaves of all
    for w in rows:
        off = abs((w.grams or 0.0) - w.percent * size / 100)
        if w.grams is None or w.grams < 0 or off > (slack if w is largest else (w.step or 0.0) / 2) + 1e-6:
            yield f"{w.name}: {w.grams} g for {w.percent} % of {size} g on a scale of {w.step} g"
        if w.grams == 0 and w.percent > 0 and (w.step or 0.0) > 0.0101:
            yield f"{w.name}: {w.percent} % of {size} g is nothing on a scale of {w.step} g"
    if len(rows) != len(parts):
        yield "a line is missing on the sheet"


def _sheets(batch: Batch, outcome: Outcome, knowledge: Knowledge, table: Table) -> Iterator[str]:
    if not batch.formula.complete or not batch.formula.lines:
        return
    for size in SHEETS:
        try:
            sheet = remake(batch, knowledge, size=size)
        except InputError as problem:
            yield f"no sheet: {problem}"
            continue
        table.seen["sheets"] += 1
        if outcome.fate.spoiled and (sheet.fixes or sheet.trials):
            yield "a sheet with a fix or a trial for a spoiled batch"
        if not sheet.weights:
            continue
        table.seen["sheets with weights"] += 1
        if sheet.total != 100.0:
            yield f"the sheet's total is {sheet.total} %"
        if sheet.fixes and sheet.fixes[0].proved and not sheet.proved:
            yield f"{sheet.fixes[0].id} is proved in the list, and not from the written sheet"
        yield from _record(sheet.record, knowledge)
        for jar in sheet.trials:
            table.seen["jars"] += 1
            yield from (f"{jar.title}: {text}" for text in _record(jar.record, knowledge))


def main(arguments: Sequence[str]) -> int:
    knowledge = load_knowledge()
    table = check(batches(knowledge, [Path(a) for a in arguments]), knowledge)
    for what, count in table.seen.items():
        print(f"{count:6d} {what}")
    for fault in table.faults:
        print(f"FAULT  {fault}")
    print("no fault" if not table.faults else f"{len(table.faults)} faults")
    return 1 if table.faults else 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
