"""Before the batch is made: will it hold, how thick will it be, and what would go wrong first."""

from __future__ import annotations

import math
from dataclasses import dataclass

from advisor.batch.model import Batch
from advisor.diagnosis import LIKELY, POSSIBLE, SETTLED, Examination, Ranked, examine
from advisor.knowledge.load import Knowledge
from advisor.knowledge.records import Rung
from advisor.outcome import Outcome, conclude
from advisor.quantities.body import body_of
from advisor.quantities.creaming import Creaming, creaming
from advisor.quantities.measure import Measures
from advisor.quantities.rungs import band_of
from advisor.quantities.texture import contributions, drift, feel_of, log_viscosity
from advisor.quantities.windows import Window, windows

ROOM, WARM, SUMMER = 23.0, 45.0, 32.0     # C
CARE = 0.3       # a risk below this rests on next to nothing of its own
DARK = 1.0        # % of unknown materials above which nothing is said of the thickness: one of them may be what thickens (from memory)
EMULSIONS = ("oil-in-water", "water-in-oil")


@dataclass(frozen=True, slots=True)
class Stage:
    """The texture at one time and temperature, mPa.s."""

    name: str
    at: float
    rung: Rung
    mid: float


@dataclass(frozen=True, slots=True)
class Texture:
    """The rung to expect, the viscosity with its range (mPa.s), and what adds how much (shares of 1)."""

    rung: Rung
    low: float
    mid: float
    high: float
    shares: tuple[tuple[str, float], ...]
    course: tuple[Stage, ...] = ()


@dataclass(frozen=True, slots=True)
class Forecast:
    name: str
    go: str                                # go | care | no
    kind: str
    texture: Texture | None
    risks: tuple[Ranked, ...]
    outcome: Outcome
    forms: str = ""                        # the kind that the emulsifiers make, whatever is wanted
    windows: tuple[Window, ...] = ()
    creaming: Creaming | None = None
    feel: tuple[str, ...] = ()
    unread: tuple[str, ...] = ()           # lines that no ingredient is known for


def forecast(batch: Batch, knowledge: Knowledge) -> Forecast:
    """Run the knowledge forward, with nothing observed."""
    plain = batch._replace(observed=(), complaint=None, tried=())
    examination = examine(plain, knowledge, with_signs=False)
    risks = tuple(r for r in examination.ranked if r.cause.forward and (r.standing in (SETTLED, LIKELY) or (r.standing == POSSIBLE and r.reasons)))
    measures = examination.situation.measures
    skin = knowledge.procedure["figures"]["skin"]
    dark = math.fsum(x.percent.high for x in measures.lines if not x.read and x.percent) > DARK
    body = None if dark else body_of(measures, knowledge)
    forms = _forms(measures)
    go = _verdict(risks, bool(batch.wanted), measures.closed and forms == (measures.kind or ""))
    return Forecast(batch.name, go, measures.kind or "", None if dark else _texture(examination, knowledge), risks, conclude(examination, knowledge),
                    forms, windows(measures, (skin["from"], skin["to"])), creaming(body, knowledge.texture_model) if body and "expected-rung" in measures.quantities else None,
                    feel_of(body, knowledge.texture_model) if body and batch.formula.complete else (),
                    tuple(x.line.name for x in measures.lines if not x.read))


def _verdict(risks: tuple[Ranked, ...], wanted: bool, plain: bool) -> str:
    """A texture that is off forbids nothing, and counts only where one is wanted; what is not fully known gets no plain go."""
    if any(r.standing == SETTLED and r.cause.fate.verdict != "use" for r in risks):
        return "no"
    felt = any(r.certainty >= CARE and (wanted or r.cause.fate.verdict != "use") for r in risks)
    return "care" if felt or not plain else "go"


def _forms(measures: Measures) -> str:
    """The kind of emulsion its emulsifiers make: the other one if they all favour that."""
    kind = measures.kind or ""
    if kind not in EMULSIONS:
        return kind
    favoured = {i.emulsifier.favours for x in measures.lines for i in x.ingredients if i.emulsifier and i.emulsifier.alone != "helper"}
    other = next(k for k in EMULSIONS if k != kind)
    return other if measures.closed and favoured == {other} else kind


def _texture(examination: Examination, knowledge: Knowledge) -> Texture | None:
    measures = examination.situation.measures
    body = body_of(measures, knowledge)
    if body is None or "expected-rung" not in measures.quantities or not knowledge.rungs:
        return None
    model, error = knowledge.texture_model, knowledge.texture_model["error"]
    now = log_viscosity(body, model)
    adds = contributions(body, model)
    whole = math.fsum(adds.values()) or 1.0
    shares = tuple(sorted(((label, gain / whole) for label, gain in adds.items()), key=lambda s: -s[1]))
    course = tuple(_stage(name, at, log_viscosity(body, model, at, same_day) + more, knowledge) for name, at, same_day, more in (
        ("still warm", WARM, True, 0.0), ("cool, the same day", ROOM, True, 0.0), ("fully set, the next day", ROOM, False, 0.0),
        ("after some days", ROOM, False, drift(body, model)), ("on a summer day", SUMMER, False, drift(body, model))))
    return Texture(band_of(now, knowledge.rungs), 10 ** (now - error), 10**now, 10 ** (now + error), shares, course)


def _stage(name: str, at: float, log_mpas: float, knowledge: Knowledge) -> Stage:
    return Stage(name, at, band_of(log_mpas, knowledge.rungs), 10**log_mpas)
