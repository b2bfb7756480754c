"""The fix list: each card's fixes for the leading causes, alone and in pairs, with amounts solved for and proved on paper."""

from collections.abc import Mapping
from itertools import combinations, product
from typing import Any, NamedTuple

from advisor.batch.model import Batch
from advisor.diagnosis import LIKELY, RULED_OUT, Examination, Ranked
from advisor.facts import YES, Findings, judge, judge_condition
from advisor.fixes.alkali import starves_lye, with_its_acid
from advisor.fixes.amend import FINE, Portion, as_batch, matching, portions
from advisor.fixes.amounts import apply
from advisor.fixes.cautions import referred
from advisor.fixes.fate import fate_of
from advisor.fixes.proof import RANK, Court, Verdict, changes_a_fact, unseen, with_process
from advisor.fixes.ranking import ASIDE, BRINGS, EFFORT, FAILED, UNPROVED, hardest, order
from advisor.fixes.weighing import over_law, settle, within_law
from advisor.knowledge.conditions import TOLD, atoms
from advisor.knowledge.load import Knowledge
from advisor.knowledge.records import Change, Fix
from advisor.quantities.law import rinsed_off
from advisor.quantities.names import resolve

MAX_RUNS = 40
LEADING = 3
_NEEDS_TARGET = ("raise", "lower", "remove", "replace")


class LineChange(NamedTuple):
    """One weight that changes; percent of the product and grams at the maker's batch size (None without one)."""

    ingredient: str
    from_percent: float | None
    to_percent: float | None
    from_g: float | None
    to_g: float | None


class PlannedFix(NamedTuple):
    id: str
    causes: tuple[str, ...]
    title: str
    effort: str
    proved: bool
    leaves: tuple[str, ...]
    brings: tuple[str, ...]
    changes: tuple[LineChange, ...]
    steps: tuple[str, ...]
    feel: str
    record: Batch | None                   # the amended batch, where the amounts are known
    chance: float = 0.0                    # that the next batch comes out right with it
    effort_value: float = 1.0


class Amended(NamedTuple):
    """A batch with fixes made on paper: its lines (None where not all amounts are known), its record, and what else had to change."""

    parts: list[Portion] | None
    record: Batch | None
    notes: tuple[str, ...]


def plan(examination: Examination, knowledge: Knowledge, rivals: bool = False, size: float | None = None) -> tuple[PlannedFix, ...]:
    """Fixes for the leading causes by chance over effort; none for a spoiled batch or for claims that are left to others.

    With `rivals` the merely possible causes are planned for too, so that trials can tell them apart; `size` is that of the new batch (g).
    """
    standing = [r for r in examination.ranked if r.standing != RULED_OUT and examination.concerns(r)][:LEADING]
    if not standing or fate_of(examination, knowledge).spoiled or referred(examination.situation.batch, knowledge):
        return ()
    least = 1 if rivals else min(RANK[LIKELY], RANK[standing[0].standing])
    leading = [r for r in standing if RANK[r.standing] >= least]
    return _Planner(examination, leading, knowledge, size).all()


class _Planner:
    def __init__(self, examination: Examination, leading: list[Ranked], knowledge: Knowledge, size: float | None) -> None:
        self.examination, self.leading, self.knowledge = examination, leading, knowledge
        self.batch = examination.situation.batch if size is None else examination.situation.batch._replace(batch_size=size)
        known = portions(examination.situation.measures) if self.batch.formula.complete else None
        self.parts = settle(known) if known else None
        self.watched = tuple(dict.fromkeys([r.id for r in leading] + [r.id for r in examination.ranked if RANK[r.standing] >= RANK[LIKELY]]))
        self.court: Court | None = None

    def all(self) -> tuple[PlannedFix, ...]:
        singles = [(r, f, self._planned([(r, f)])) for r in self.leading for f in self._offered(r) if self._may_run()]
        pairs = []
        for (a, _), (b, _) in combinations([(r, r.id) for r in self.leading if RANK[r.standing] >= RANK[LIKELY]], 2):
            for one, two in product((s for s in singles if s[0] is a), (s for s in singles if s[0] is b)):
                if self._worth_pairing(one[2], two[2]) and self._may_run():
                    planned = self._planned([one[:2], two[:2]])
                    if planned.record is not None and planned.proved and not any(self._idle(f, planned) for f in (one[1], two[1])):
                        pairs.append(planned)
        done = {r.id for r, f, planned in singles if not self._out_of_reach(f, planned)}
        kept = [p for r, f, p in singles if not self._idle(f, p) and not (r.id in done and self._out_of_reach(f, p))]
        found = _merged(kept + pairs)
        places = order([f.chance for f in found], [f.effort_value for f in found])
        return tuple(found[i] for i in places)

    def _idle(self, fix: Fix, planned: PlannedFix) -> bool:
        """A fix of weights that finds its weights as they should be already, or has no need of something that it names."""
        if self.parts is None:
            return False
        if any(_passed(c, self.parts) for c in fix.changes):
            return True
        if planned.record is None:
            return False
        held, brought = frozenset().union(*(p.holds for p in self.parts)), {c.ingredient for c in planned.changes}
        return (bool(fix.changes) and not fix.process and not brought) or any(c.do == "add" and c.target not in held | brought for c in fix.changes)

    def _out_of_reach(self, fix: Fix, planned: PlannedFix) -> bool:
        """A fix of weights for which this formula has no room; shown only where its cause has no other."""
        return bool(fix.changes) and self.parts is not None and planned.record is None

    def _may_run(self) -> bool:
        return self.court is None or self.court.runs < MAX_RUNS

    def _offered(self, ranked: Ranked) -> list[Fix]:
        """The fixes of a cause whose condition is met; where none is, those not known to fail, first of all for want of an amount alone."""
        situation, findings = self.examination.situation, self.examination.consultation.findings
        measures = situation.measures
        fitting = [f for f in ranked.cause.fixes if not measures.lines or not any(c.do in _NEEDS_TARGET and measures.listed_state(c.target) != "yes" for c in f.changes)]
        met = [(f, judge_condition(f.when, situation, self.knowledge, findings) if f.when else YES) for f in fitting]
        sure = [f for f, degree in met if degree.yes > 0]
        if sure:
            return sure
        open_ = [f for f, degree in met if degree.no == 0]
        named = self._of_what_is_listed(open_)
        last = [] if measures.lines and RANK[ranked.standing] < RANK[LIKELY] else open_      # what may be in it is no ground for advice on a guess
        return [f for f in named if not self._waits_for_an_answer(f)] or named or last

    def _of_what_is_listed(self, fixes: list[Fix]) -> list[Fix]:
        """Those that do not fail once nothing is taken to be in an unknown line, nor in a complete formula but what it lists."""
        situation = self.examination.situation
        measures = situation.measures
        listed = situation._replace(measures=measures._replace(unread=0, closed=measures.closed or situation.batch.formula.complete))
        findings = Findings(listed, self.knowledge)
        return [f for f in fixes if not f.when or judge_condition(f.when, listed, self.knowledge, findings).no == 0]

    def _waits_for_an_answer(self, fix: Fix) -> bool:
        """Whether its condition is open for something that the maker has not told, not for an amount."""
        situation, findings = self.examination.situation, self.examination.consultation.findings
        return any(a.about in TOLD and not any(judge(a, situation, self.knowledge, findings)) for a in (atoms(fix.when) if fix.when else ()))

    def _worth_pairing(self, one: PlannedFix, two: PlannedFix) -> bool:
        """Two fixes of two causes, each with a batch to judge, where neither does the other's work."""
        if one.record is None or two.record is None:
            return False
        return not (one.proved and not set(two.causes) & set(one.leaves)) and not (two.proved and not set(one.causes) & set(two.leaves))

    def _planned(self, chosen: list[tuple[Ranked, Fix]]) -> PlannedFix:
        causes = tuple(r.id for r, _ in chosen)
        fixes = [f for _, f in chosen]
        made = amend(fixes, self.batch, self.parts, self.knowledge)
        verdict = Verdict(False, (), causes, ())
        if made.record is not None:
            self.court = self.court or Court(self.batch, self.knowledge)
            verdict = self.court.judge(made.record, causes, self.watched)
            formula_changed = made.parts is not None and any(f.changes for f in fixes)
            if not formula_changed and not all(changes_a_fact(self.batch, f.process, self.knowledge) for f in fixes):
                verdict = verdict._replace(proved=False)
        changes: tuple[LineChange, ...] = tuple(unsolved(c, self.parts, self.knowledge) for f in fixes for c in f.changes)
        if made.parts is not None and self.parts is not None:
            changes = differences(self.parts, made.parts, self.batch.batch_size)
        effort = sum(EFFORT[f.effort] for f in fixes)
        steps = tuple(dict.fromkeys(s for f in fixes for s in f.steps)) + made.notes
        titles = [f.title for f in fixes]
        title = titles[0] if len(titles) == 1 else f"{titles[0]}; and {titles[1][0].lower()}{titles[1][1:]}"
        feel = "; ".join(dict.fromkeys(f.feel for f in fixes if f.feel))
        planned = PlannedFix("+".join(f"{r.id}/{f.id}" for r, f in chosen), (*causes, *(verdict.also if verdict.proved else ())), title, hardest([f.effort for f in fixes]), verdict.proved, verdict.leaves,
                             verdict.brings, changes, steps, feel, made.record, effort_value=effort)
        failed = any(f.changes for f in fixes) and not verdict.proved and (self.parts is not None if made.record is None else not verdict.brings or any(i in verdict.leaves for i in causes))
        return planned._replace(chance=self._chance(planned) * (FAILED / UNPROVED if failed else 1.0))

    def _chance(self, fix: PlannedFix) -> float:
        """That one of its causes was at work, that it is cured, and that no other that still stands spoils it."""
        asked = bool(self.examination.situation.complaints)
        sure = {r.id: r.certainty * (1.0 if r.explains or not asked else ASIDE) for r in self.leading}
        none, rest = 1.0, 1.0
        for i in fix.causes:
            none *= 1 - sure.get(i, 0.0)
        for i in fix.leaves:
            rest *= 1.0 if i in fix.causes else 1 - sure.get(i, 0.0)
        return (1 - none) * rest * (1.0 if fix.proved else UNPROVED) * (BRINGS if fix.brings else 1.0)


def _passed(change: Change, parts: list[Portion]) -> bool:
    """Whether things are past the level that the card gives outright, so that it would go the wrong way."""
    now = sum(parts[i].percent for i in matching(parts, change.target))
    return change.level is not None and (change.level < now - FINE if change.do == "raise" else change.do == "lower" and change.level > now + FINE)


def amend(fixes: list[Fix], batch: Batch, parts: list[Portion] | None, knowledge: Knowledge) -> Amended:
    """The batch with these fixes made, one after the other, settled to exactly 100 % and within the law."""
    process: dict[str, Any] = {}
    new = parts
    for fix in fixes:
        process |= fix.process
    for change in sorted((c for f in fixes for c in f.changes), key=lambda c: c.reaches == "wanted-rung"):     # texture last, as all else moves it
        new = apply(change, new, batch, knowledge) if new is not None else None
    if not process and (new is None or not any(f.changes for f in fixes)):
        return Amended(None, None, ())
    plain = with_process(unseen(batch, knowledge), process, knowledge)
    if new is None:                            # amounts unknown: only a change of process can be judged
        return Amended(None, plain, ()) if not any(f.changes for f in fixes) else Amended(None, None, ())
    tempered, spent = with_its_acid(parts or [], new, plain, knowledge)
    rinsed = rinsed_off(batch, knowledge)
    lawful, capped = within_law(tempered, knowledge, rinsed)
    whole = settle(lawful)
    if whole is None or over_law(whole, knowledge, rinsed) or starves_lye(parts or [], whole, plain, knowledge):
        return Amended(None, None, ())
    notes = (*(f"{n} goes down with what it neutralised." for n in spent), *(f"{n} is brought down to its legal limit." for n in capped))
    hot = _heat_for_new(parts or [], whole, plain, process, knowledge)
    if hot is not None:
        plain = with_process(plain, {"process.oil_phase_temperature": hot, "process.water_phase_temperature": hot}, knowledge)
        notes += (f"Heat both phases to {hot:g} C, without alcohol or what heat harms: what is new has to melt.",)
    return Amended(whole, as_batch(whole, plain), notes)


def _heat_for_new(before: list[Portion], after: list[Portion], batch: Batch, process: Mapping[str, Any], knowledge: Knowledge) -> float | None:
    """How hot both phases must be for what a fix brings in to melt; None where nothing new melts, or the batch was made as hot."""
    known = {p.line.name for p in before}
    tops = [i.melting.high for p in after if p.line.name not in known for i in resolve(p.line.name, knowledge).ingredients if i.melting and i.phase == "oil"]
    figures = knowledge.procedure.get("figures")
    if not tops or not figures or not any("water-like" in p.holds for p in after):
        return None
    need = float(max(figures["hot"]["from"], round(max(tops) + figures["margin"]["is"])))
    recorded = [batch.process.get(key) for key in ("oil_phase_temperature", "water_phase_temperature")]
    if any(path.endswith("phase_temperature") for path in process) or all(isinstance(t, (int, float)) and t >= need - figures["margin"]["is"] for t in recorded):
        return None
    return need


def _merged(fixes: list[PlannedFix]) -> list[PlannedFix]:
    """Fixes that come to the same weights and process, or ask for the same while amounts are missing, are one, for all their causes."""
    out: list[PlannedFix] = []
    for fix in fixes:
        process = fix.record and fix.record.process
        twin = next((i for i, f in enumerate(out) if f.changes and f.changes == fix.changes and (f.record and f.record.process) == process), None)
        if twin is None:
            out.append(fix)
        elif fix.record is None or (fix.proved and out[twin].proved):
            old = out[twin]
            out[twin] = old._replace(causes=tuple(dict.fromkeys((*old.causes, *fix.causes))), chance=max(old.chance, fix.chance),
                                leaves=tuple(i for i in old.leaves if i not in fix.causes), steps=tuple(dict.fromkeys((*old.steps, *fix.steps))))
        else:
            out.append(fix)
    return out


def differences(before: list[Portion], after: list[Portion], size: float | None) -> tuple[LineChange, ...]:
    """Every ingredient whose weight changes, in the order of the formula, new ones last."""
    old: dict[str, float] = {}
    new: dict[str, float] = {}
    for parts, into in ((before, old), (after, new)):
        for p in parts:
            into[p.line.name] = into.get(p.line.name, 0.0) + p.percent
    out = []
    for name in [*old, *(n for n in new if n not in old)]:
        a, b = old.get(name, 0.0), new.get(name, 0.0)
        if abs(a - b) > 0.0004:
            out.append(LineChange(name, round(a, 4), round(b, 4), _grams(a, size), _grams(b, size)))
    return tuple(out)


def unsolved(change: Change, parts: list[Portion] | None, knowledge: Knowledge) -> LineChange:
    """The change where the amount could not be solved for: the usual level is given where one is known."""
    name = change.new[0] if change.new and not (change.do == "replace" and change.reaches == "wanted-rung") else change.target
    item = knowledge.ingredients.get(name)
    usual = change.level if change.level is not None else item.level.best if item and item.level else None
    if change.do == "replace" and (change.level == 100 or name == change.target):      # all of it, however much that is, or as much as the texture asks
        usual = None
    aim = knowledge.quantities.get(change.quantity) if change.quantity else None
    if change.level is None and aim and aim.share_of and isinstance(change.reaches, (int, float)) and usual is not None and usual < change.reaches:
        usual = None                           # a share that the card asks for: what is usual elsewhere would fall short of it
    have = sum(parts[i].percent for i in matching(parts, change.target)) if parts and change.target else None
    title = knowledge.classes[name].title if name in knowledge.classes else name
    if change.do == "pair":
        title, usual = " and ".join(change.new), None
    return LineChange(title, have, 0.0 if change.do == "remove" else usual, None, None)


def _grams(percent: float, size: float | None) -> float | None:
    return None if size is None else round(percent * size / 100, 2)

