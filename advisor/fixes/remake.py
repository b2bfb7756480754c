"""The remake: the corrected formula as weights by phase, its procedure, its proof from scratch, and the record of the next batch."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from advisor.batch.model import Batch, Remark
from advisor.batch.reading import read_text_batch
from advisor.batch.writing import batch_text
from advisor.diagnosis import LIKELY, SETTLED, Examination, examine
from advisor.errors import InputError, Place, Problem
from advisor.fixes.amend import Portion, as_batch, portions
from advisor.fixes.cautions import cautions_of, referred
from advisor.fixes.fate import Fate, fate_of
from advisor.fixes.planner import PlannedFix, plan
from advisor.fixes.procedure import Step, checks_of, heat_of, planned_process, procedure_of
from advisor.fixes.proof import Court, unseen
from advisor.fixes.trials import Trial, trials_of
from advisor.fixes.weighing import Weighed, over_law, settle, weigh, within_law
from advisor.knowledge.forms import nearest
from advisor.knowledge.load import Knowledge
from advisor.knowledge.sheet import SheetCheck
from advisor.quantities.composition import ResolvedLine
from advisor.quantities.law import rinsed_off
from advisor.quantities.measure import Measures

PHASES = ("water", "oil", "cool-down")


@dataclass(frozen=True, slots=True)
class Remake:
    """Everything on the sheet.  `weights` is empty where the formula is not wholly known."""

    name: str
    record: Batch
    fixes: tuple[PlannedFix, ...]
    proved: bool
    leaves: tuple[str, ...]
    brings: tuple[str, ...]
    fate: Fate
    weights: tuple[Weighed, ...]
    procedure: tuple[Step, ...]
    checks: tuple[SheetCheck, ...]
    trials: tuple[Trial, ...]
    cautions: tuple[str, ...]
    remarks: tuple[Remark, ...]
    choices: tuple[PlannedFix, ...]        # all fixes that could be chosen

    @property
    def total(self) -> float:
        return round(sum(w.percent for w in self.weights), 4)


def remake(batch: Batch, knowledge: Knowledge, fix: str | None = None, size: float | None = None) -> Remake:
    """The sheet for the next batch, with the best fix or the one named; raises InputError where that name is not known."""
    batch = batch._replace(ounces=batch.in_ounces)      # its lines will be in percent, but it is weighed as before
    examination = examine(batch, knowledge)
    fate = fate_of(examination, knowledge)
    left_to_others = referred(batch, knowledge)
    planned = plan(examination, knowledge, size=size) if _worth_fixing(examination) or fix else ()
    kept = planned if fix or size is None else tuple(f for f in planned if f.record is None or f.record.batch_size == size)     # a size asked for is not overruled
    chosen = _chosen(kept, fix, batch)
    remarks = list(examination.situation.remarks)
    new, capped = _new_batch(examination, chosen, knowledge, size)
    if capped:
        remarks.append(Remark("legal limits", f"brought down to the legal maximum: {', '.join(capped)}"))
    if chosen is not None and chosen.record is None:
        remarks.append(Remark("fix", "the amounts of this fix do not follow from what is known; the formula is unchanged, and its steps tell what to do"))
    if fate.spoiled:
        remarks.append(Remark("fix", "a batch that may be spoiled is not mended; its formula stands here unchanged"))
    judged = examine(new, knowledge, with_signs=False)
    heat = heat_of(judged, knowledge)
    record = planned_process(new, heat) if new.formula.lines else new
    own = chosen.causes if chosen else ()
    watched = [r.id for r in examination.ranked[:6] if r.standing in (SETTLED, LIKELY)]
    proved, leaves, brings = _from_scratch(batch, record, chosen, own, watched, knowledge, size)
    weights = _weights(record, knowledge)
    after = examine(record, knowledge, with_signs=False)
    steps = (*(Step("fix", s) for s in (chosen.steps if chosen else ())), *(procedure_of(after, heat, knowledge) if weights or record.formula.lines else ()))
    if fate.spoiled or left_to_others:
        steps = tuple(Step("before", s) for s in (fate.because, *fate.steps) if fate.spoiled)
        steps += tuple(Step("before", knowledge.cautions[c].says) for c in left_to_others)
    return Remake(batch.name, record, (chosen,) if chosen else (), proved, leaves, brings, fate, weights, steps,
                  () if left_to_others else checks_of(after, knowledge), () if left_to_others else trials_of(examination, knowledge),
                  tuple(dict.fromkeys((*cautions_of(examination, knowledge), *cautions_of(after, knowledge)))), tuple(remarks), planned)


def _worth_fixing(examination: Examination) -> bool:
    leader = examination.leader
    return leader is not None and (bool(examination.situation.complaints) or leader.standing in (SETTLED, LIKELY))


def _chosen(planned: Sequence[PlannedFix], wanted: str | None, batch: Batch) -> PlannedFix | None:
    """The fix named by its id (or by the part after the stroke, where only one ends so), else the best that can be weighed."""
    if wanted is None:
        return next((f for f in planned if f.proved), next((f for f in planned if f.record is not None), next(iter(planned), None)))
    found = [f for f in planned if f.id == wanted] or [f for f in planned if f.id.rpartition("/")[2] == wanted and "+" not in f.id]
    if len(found) == 1:
        return found[0]
    ids = [f.id for f in planned]
    near = nearest(wanted, ids)
    mend = f"Did you mean {near!r}?" if near else f"Known here: {', '.join(ids)}." if ids else "No fix is planned for this batch; see advisor diagnose."
    raise InputError(Problem(Place(batch.file or "the batch"), f"{'no' if not found else 'more than one'} fix is called {wanted!r}", mend))


def _new_batch(examination: Examination, chosen: PlannedFix | None, knowledge: Knowledge, size: float | None) -> tuple[Batch, tuple[str, ...]]:
    """The next batch on paper: the amended record, or the same formula put in order."""
    old = examination.situation.batch
    name = f"{old.name}, remake" if old.name else "remake"
    capped: tuple[str, ...] = ()
    if chosen is not None and chosen.record is not None:
        new = chosen.record
    else:
        known = portions(examination.situation.measures) if old.formula.complete else None
        parts = settle(known) if known else None
        if parts is None:
            new = unseen(old, knowledge)
        else:
            lawful, capped = within_law(parts, knowledge, rinsed_off(old, knowledge))
            new = as_batch(settle(lawful) or parts, unseen(old, knowledge))
    measures = examine(new, knowledge, with_signs=False).situation.measures
    soap = measures.quantities.get("soap-share")
    thickened = any("carbomer-type" in i.classes for x in measures.lines for i in x.ingredients)
    lines = tuple(replace(line, phase=_phase(x, measures, bool(soap and soap.value > 0), thickened)) for line, x in zip(new.formula.lines, measures.lines, strict=True))
    note = f"Remake of {old.name or 'a batch'}" + (f" with: {chosen.title}" if chosen else "") + "."
    return new._replace(name=name, batch_size=size or new.batch_size, notes=note, formula=new.formula._replace(lines=lines)), capped


def _phase(line: ResolvedLine, measures: Measures, soap: bool, thickened: bool) -> str:
    """The alkali of a soap meets the acid hot, that of a carbomer comes last; where there is no water, what belongs to it (sugar, salt) is stirred in at the end."""
    if soap and any(i.alkali for i in line.ingredients):
        return "water"
    if thickened and line.phase == "water" and any("neutraliser" in i.classes for i in line.ingredients):
        return "cool-down"
    return "cool-down" if line.phase == "water" and measures.kind == "anhydrous" else line.phase


def _from_scratch(batch: Batch, record: Batch, chosen: PlannedFix | None, own: Sequence[str], watched: Sequence[str], knowledge: Knowledge,
                  size: float | None) -> tuple[bool, tuple[str, ...], tuple[str, ...]]:
    """The written record read back and judged forward, beside the old batch judged the same way."""
    if chosen is None or chosen.record is None:
        return False, tuple(watched), ()
    again = read_text_batch(batch_text(record), "remake.yaml")
    verdict = Court(batch._replace(batch_size=size or batch.batch_size), knowledge).judge(again, own, watched)
    lawful = not over_law(portions(examine(again, knowledge, with_signs=False).situation.measures) or (), knowledge, rinsed_off(batch, knowledge))
    return chosen.proved and verdict.proved and lawful, verdict.leaves, verdict.brings


def _weights(record: Batch, knowledge: Knowledge) -> tuple[Weighed, ...]:
    """The lines by phase in the order of weighing, largest first."""
    measures = examine(record, knowledge, with_signs=False).situation.measures
    parts = portions(measures) if record.formula.complete else None
    if not parts:
        return ()
    rows: list[tuple[Portion, str]] = [(p, x.phase) for p, x in zip(parts, measures.lines, strict=True)]
    rows.sort(key=lambda r: (PHASES.index(r[1]), -r[0].percent))
    return tuple(weigh([p for p, _ in rows], [phase for _, phase in rows], record.batch_size, record.scale_step))
