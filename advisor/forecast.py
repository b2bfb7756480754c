"""Before the batch is made: will it hold, how thick will it be, and what would go wrong first."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from advisor.batch.model import Batch
from advisor.diagnosis import LIKELY, POSSIBLE, SETTLED, Examination, Ranked, examine
from advisor.knowledge.load import Knowledge
from advisor.knowledge.records import Rung
from advisor.outcome import Outcome, conclude
from advisor.quantities.loads import texture_parts

ERROR = 0.7     # decades either way: a coarse estimate from coefficients that were not fitted (from memory)
ROOM = 23.0     # C


@dataclass(frozen=True, slots=True)
class Texture:
    """The rung to expect, the viscosity with its range (mPa.s), and what adds how much (shares of 1)."""

    rung: Rung
    low: float
    mid: float
    high: float
    shares: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class Forecast:
    name: str
    go: str                                # go | care | no
    kind: str
    texture: Texture | None
    risks: tuple[Ranked, ...]
    outcome: Outcome


def forecast(batch: Batch, knowledge: Knowledge) -> Forecast:
    """Run the knowledge forward, with nothing observed."""
    plain = replace(batch, observed=(), complaint=None, tried=())
    examination = examine(plain, knowledge, with_signs=False)
    risks = tuple(r for r in examination.ranked if r.standing in (SETTLED, LIKELY, POSSIBLE) and r.cause.forward)
    worst = {r.standing for r in risks}
    go = "no" if SETTLED in worst else "care" if worst else "go"
    return Forecast(batch.name, go, examination.situation.measures.kind or "", _texture(examination, knowledge), risks,
                    conclude(examination, knowledge))


def _texture(examination: Examination, knowledge: Knowledge) -> Texture | None:
    expected = examination.situation.measures.quantities.get("expected-rung")
    if expected is None or not knowledge.rungs:
        return None
    middles = {r.rank: math.log10(r.viscosity.low * r.viscosity.high) / 2 for r in knowledge.rungs}
    low = max(1, min(6, int(expected.value)))
    log_mid = middles[low] + (middles[low + 1] - middles[low]) * (expected.value - low)
    rung = min(knowledge.rungs, key=lambda r: abs(r.rank - expected.value))
    adds = {knowledge.classes[k].title if k in knowledge.classes else k: v for k, v in texture_parts(examination.situation.measures, knowledge).items() if v > 0}
    whole = sum(adds.values()) or 1.0
    shares = tuple(sorted(((t, v / whole) for t, v in adds.items()), key=lambda s: -s[1]))
    return Texture(rung, 10 ** (log_mid - ERROR), 10**log_mid, 10 ** (log_mid + ERROR), shares)
