"""The remake and the swap as plain data (the JSON contract), as blocks for a terminal, and as a table."""

from __future__ import annotations

import csv
import io
from typing import Any

from advisor.batch.model import Batch
from advisor.batch.units import GRAMS
from advisor.batch.writing import batch_record
from advisor.fixes.remake import PHASES, Remake
from advisor.fixes.swap import Swap
from advisor.fixes.weighing import Weighed
from advisor.knowledge.load import Knowledge
from advisor.screens.data import fate_data, fix_data, remark_data
from advisor.screens.lines import PROVED, Block, in_grams, in_ounces, weight_line

PHASE_TITLES = {"water": "Water phase", "oil": "Oil phase", "cool-down": "Cool-down"}
STAGES = {"fix": "What this fix asks for", "before": "Before you start", "weigh": "Weigh", "heat": "Heat and hold", "join": "Bring together", "cool": "Cool",
          "finish": "Finish", "judge": "Judge"}
VERDICTS = {"use": "use it", "wait": "wait", "rescue": "it can be rescued", "discard": "throw it out", "unsure": "not sure yet"}


def record_data(batch: Batch) -> dict[str, Any]:
    """A batch record as JSON."""
    return batch_record(batch)


def remake_data(found: Remake) -> dict[str, Any]:
    """The object of `advisor remake BATCH --json`."""
    return {
        "format": 1, "batch": found.name, "record": record_data(found.record), "fixes": [fix_data(f) for f in found.fixes], "proved": found.proved,
        "leaves": list(found.leaves), "brings": list(found.brings), "procedure": [s.text for s in found.procedure], "fate": fate_data(found.fate),
        "trials": [{"title": t.title, "record": record_data(t.record), "tells": f"{t.tells} {t.together}".strip(), "fix": t.fix.id if t.fix else None} for t in found.trials],
        "weights": [_weighed(w) for w in found.weights], "total_percent": found.total,
        "stages": [{"stage": s.stage, "says": s.says, "look": s.look} for s in found.procedure],
        "stability": [{"id": c.id, "title": c.title, "says": c.says, "shows": c.shows, "standard": c.standard} for c in found.checks],
        "cautions": list(found.cautions), "remarks": [remark_data(r) for r in found.remarks], "choices": [f.id for f in found.choices],
    }


def _weighed(w: Weighed) -> dict[str, Any]:
    return {"phase": w.phase, "ingredient": w.name, "percent": w.percent, "grams": w.grams, "ounces": None if w.grams is None else round(w.grams / GRAMS["oz"], 4), "scale_g": w.step, "tolerance_g": w.tolerance if w.matters else None,
            "finer_scale": w.finer}


def swap_data(found: Swap, batch: str) -> dict[str, Any]:
    """The object of `advisor swap BATCH OLD NEW --json`."""
    return {
        "format": 1, "batch": batch, "old": found.old, "new": found.new, "same_job": found.same_job, "level": {"percent": found.level, "because": found.why},
        "differences": [{"what": d.what, "old": d.old or None, "new": d.new or None} for d in found.differences],
        "changes": [{"ingredient": c.ingredient, "from_percent": c.from_percent, "to_percent": c.to_percent, "from_g": c.from_g, "to_g": c.to_g}
                    for c in found.changes],
        "record": record_data(found.record), "removes": list(found.removes), "brings": list(found.brings),
        "texture": {"before": found.texture[0], "after": found.texture[1]} if found.texture else None,
        "hlb": {"required": round(found.pairing.required, 2), "offered": round(found.pairing.offered, 2), "met": bool(found.pairing.split),
                "split": [{"ingredient": n, "percent": x} for n, x in found.pairing.split], "says": found.pairing.says} if found.pairing else None,
        "cautions": list(found.cautions), "remarks": [remark_data(r) for r in found.remarks],
    }


def verdict_text(found: Remake, knowledge: Knowledge) -> str:
    """In one line whether the remake is proved, and what it leaves or brings."""
    if not found.fixes:
        return "Nothing is changed."
    text = f"Proved on paper. {PROVED}" if found.proved else "Not proved on paper: try it in a small jar first."
    for word, ids in (("It leaves", found.leaves), ("It may bring", found.brings)):
        if ids:
            text += f" {word}: {'; '.join(knowledge.causes[i].title for i in ids)}."
    return text


def weight_text(w: Weighed, ounces: bool = False, size: float | None = None) -> str:
    """One line of the sheet as text; ounces follow from the whole (g), not from grams that were rounded for a scale in grams."""
    text = f"{w.name}: {w.percent:g} %" + (f" = {grams_text(w.grams, ounces)} g" if w.grams is not None else "") + (f" ({in_ounces(w.percent * size / 100)})" if ounces and size else "")
    if w.matters and w.tolerance is not None:
        text += f", give or take {w.tolerance:.2g} g" + (f" ({w.tolerance / GRAMS['oz']:.1g} oz)" if ounces else "")
    return text + (f" (needs a scale that reads {w.step:g} g)" if w.finer else "")


def grams_text(grams: float, ounces: bool) -> str:
    """Grams as the scale shows them; where that scale is in ounces, to what one in grams could show."""
    return in_grams(grams).removesuffix(" g") if ounces else f"{grams:g}"


def remake_blocks(found: Remake, knowledge: Knowledge) -> list[Block]:
    """The sheet as headed lines."""
    ounces = found.record.in_ounces
    blocks = [Block("This batch", (f"{VERDICTS[found.fate.verdict][0].upper()}{VERDICTS[found.fate.verdict][1:]}. {found.fate.because}",), found.fate.verdict)]
    for fix in found.fixes:
        feel = (f"Feel: {fix.feel}.",) if fix.feel else ()
        blocks.append(Block(f"The fix: {fix.title}", (*(weight_line(c, ounces) for c in fix.changes), *feel, verdict_text(found, knowledge)), "fix"))
    for phase in PHASES:
        rows = tuple(f"[ ] {weight_text(w, ounces, found.record.batch_size)}" for w in found.weights if w.phase == phase)
        if rows:
            blocks.append(Block(PHASE_TITLES[phase], rows))
    if found.weights:
        whole = found.record.batch_size
        size = f" = {grams_text(whole, ounces)} g" + (f" ({in_ounces(whole)})" if ounces else "") if whole else ""
        blocks.append(Block("Total", (f"{found.total:.2f} %{size}",)))
    for stage, title in STAGES.items():
        lines = tuple(f"- {s.text}" for s in found.procedure if s.stage == stage)
        if lines:
            blocks.append(Block(title, lines))
    if found.checks:
        blocks.append(Block("Stability checks", tuple(f"- {c.title}: {c.says} Shows: {c.shows}" + (f" ({c.standard})" if c.standard else "") for c in found.checks)))
    for trial in found.trials:
        rows = tuple(f"{x.name}: {x.amount[0]:g} %{_grams(x.amount[0], trial.record.batch_size, ounces)}" for x in trial.record.formula.lines if x.amount)
        blocks.append(Block(trial.title, (*rows, trial.tells, *((trial.together,) if trial.together else ())), "fix"))
    if found.cautions:
        blocks.append(Block("Cautions", found.cautions, "caution"))
    return blocks


def _grams(percent: float, size: float | None, ounces: bool) -> str:
    return f" = {round(percent * size / 100, 2):g} g" + (f" ({in_ounces(percent * size / 100)})" if ounces else "") if size else ""


def swap_blocks(found: Swap, knowledge: Knowledge) -> list[Block]:
    """The swap as headed lines."""
    head = "They do the same kind of work." if found.same_job else "They do not do the same work: expect another product."
    blocks = [Block(f"{found.new} in place of {found.old}", (head, f"Level to use: {found.level:g} % ({found.why})."), "fix"),
              Block("What differs", tuple(f"- {d.what}: {d.old or 'not known'} becomes {d.new or 'not known'}" for d in found.differences) or ("Nothing that is known.",)),
              Block("The formula", tuple(weight_line(c, found.record.in_ounces) for c in found.changes))]
    if found.pairing:
        blocks.append(Block("HLB", (found.pairing.says,), "fix" if found.pairing.split else "caution"))
    if found.texture:
        blocks.append(Block("Texture to expect", (f"rung {found.texture[0]:g} before, {found.texture[1]:g} after (1 a mist, 7 a stiff cream).",)))
    for title, ids, tone in (("It may bring", found.brings, "cause"), ("It takes away", found.removes, "use")):
        if ids:
            blocks.append(Block(title, tuple(f"- {knowledge.causes[i].title}" for i in ids), tone))
    if found.cautions:
        blocks.append(Block("Cautions", found.cautions, "caution"))
    return blocks


def csv_text(found: Remake) -> str:
    """The formula as a table that `advisor` and a spreadsheet read: name, percent, phase, grams."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["name", "percent", "phase", "grams"])
    for w in found.weights:
        name = f"'{w.name}" if w.name[:1] in "=+-@\t" else w.name     # a spreadsheet must not take a name for a formula
        writer.writerow([name, f"{w.percent:g}", w.phase, "" if w.grams is None else f"{w.grams:g}"])
    return out.getvalue()
