"""The outcome as plain data: the JSON contract, key by key."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from advisor.batch.model import Remark
from advisor.diagnosis import RULED_OUT, Ranked, Reason
from advisor.fixes.fate import Fate
from advisor.fixes.planner import PlannedFix
from advisor.knowledge.load import Knowledge
from advisor.outcome import Outcome
from advisor.quantities.measure import Measures

if TYPE_CHECKING:
    from advisor.forecast import Forecast


def outcome_data(outcome: Outcome, knowledge: Knowledge) -> dict[str, Any]:
    """The object that `advisor diagnose BATCH --json` prints."""
    examination = outcome.examination
    seen = [{"id": s.symptom, "title": knowledge.symptoms[s.symptom].title, "said": s.said, "when": s.when}
            for s in examination.situation.complaints]
    return {
        "format": 1,
        "batch": outcome.name,
        "symptoms": seen,
        "quantities": quantities_data(examination.situation.measures),
        "causes": [cause_data(r) for r in examination.shown],
        "unexplained": list(examination.unexplained),
        "acts_together_with": examination.partner,
        "fate": fate_data(outcome.fate),
        "fixes": [fix_data(f) for f in outcome.fixes],
        "questions": [{"id": q.question.id, "text": q.question.text, "why": q.question.why, "effort": q.question.effort,
                       "gain": round(q.gain, 4)} for q in outcome.questions],
        "cautions": list(outcome.cautions),
        "remarks": [remark_data(r) for r in outcome.remarks],
    }


def quantities_data(measures: Measures) -> list[dict[str, Any]]:
    """Every computed quantity, with what it came from."""
    return [{"id": q.id, "title": q.title, "value": _finite(q.value), "unit": q.unit, "from": list(q.origin),
             "low": _finite(q.low), "high": _finite(q.high)} for q in measures.quantities.values()]


def forecast_data(found: Forecast) -> dict[str, Any]:
    """The object that `advisor check BATCH --json` prints."""
    t = found.texture
    return {
        "format": 1, "batch": found.name, "go": found.go, "kind": found.kind,
        "texture": {"id": t.rung.id, "title": t.rung.title, "rank": t.rung.rank} if t else None,
        "viscosity": {"low": round(t.low), "mid": round(t.mid), "high": round(t.high), "unit": "mPa.s", "at_c": 23.0} if t else None,
        "contributions": [{"from": name, "share": round(share, 3)} for name, share in t.shares] if t else [],
        "course": [{"when": s.name, "at_c": s.at, "id": s.rung.id, "rank": s.rung.rank, "mid": round(s.mid)} for s in t.course] if t else [],
        "forms": found.forms, "feel": list(found.feel),
        "windows": [{"id": w.id, "title": w.title, "low": w.low, "high": w.high, "unit": w.unit, "from": list(w.origin), "clash": w.clash} for w in found.windows],
        "creaming": {"slow": round(c.slow, 4), "fast": round(c.fast, 3), "unit": "mm/day", "drops_um": [c.smallest, c.largest]} if (c := found.creaming) else None,
        "risks": [cause_data(r) for r in found.risks], "fixes": [fix_data(f) for f in found.outcome.fixes],
        "cautions": list(found.outcome.cautions), "remarks": [remark_data(r) for r in found.outcome.remarks],
    }


def cause_data(ranked: Ranked) -> dict[str, Any]:
    return {
        "id": ranked.id, "title": ranked.cause.title, "certainty": round(ranked.certainty, 4), "standing": ranked.standing,
        "explains": list(ranked.explains), "for": [_reason(r) for r in ranked.reasons], "against": [_reason(r) for r in ranked.doubts],
        "part_of": ranked.cause.part_of, "because": ranked.cause.because, "contradiction": ranked.contradiction,
        "risk": ranked.standing != RULED_OUT,
    }


def fate_data(fate: Fate) -> dict[str, Any]:
    return {"verdict": fate.verdict, "because": fate.because, "steps": list(fate.steps), "until": fate.until}


def fix_data(fix: PlannedFix) -> dict[str, Any]:
    return {
        "id": fix.id, "for": list(fix.causes), "title": fix.title, "effort": fix.effort, "proved": fix.proved,
        "leaves": list(fix.leaves), "brings": list(fix.brings),
        "changes": [{"ingredient": c.ingredient, "from_percent": c.from_percent, "to_percent": c.to_percent, "from_g": c.from_g,
                     "to_g": c.to_g} for c in fix.changes],
        "steps": list(fix.steps), "feel": fix.feel,
    }


def remark_data(remark: Remark) -> dict[str, str]:
    return {"about": remark.about, "says": remark.says}


def _reason(reason: Reason) -> dict[str, Any]:
    return {"rule": reason.rule, "says": reason.says, "strength": reason.strength, "facts": list(reason.facts),
            "source": ", ".join(reason.source), "weight": round(reason.weight, 3)}


def _finite(value: float) -> float | None:
    return round(value, 4) if math.isfinite(value) else None
