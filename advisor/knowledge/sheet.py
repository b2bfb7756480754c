"""What the remake sheet is written from: steps, stability checks, trial jars and referrals, as records of rules/procedure.yaml."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from advisor.errors import Place
from advisor.knowledge.conditions import build, listed
from advisor.knowledge.records import Condition

if TYPE_CHECKING:
    from advisor.knowledge.load import Knowledge


@dataclass(frozen=True, slots=True)
class SheetStep:
    """One sentence of the procedure; `says` may hold brackets that the formula fills."""

    id: str
    stage: str                             # before | weigh | heat | join | cool | finish | judge
    says: str
    look: str
    when: Condition | None
    unless: Condition | None               # left out where this is known to hold
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SheetCheck:
    """One stability check: what to do, what it shows, and the standard that those who sell go by."""

    id: str
    title: str
    says: str
    shows: str
    standard: str
    when: Condition | None
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Referral:
    """Words of a claim that is left to others, and the caution that says so."""

    caution: str
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    steps: tuple[SheetStep, ...]
    checks: tuple[SheetCheck, ...]
    figures: Mapping[str, tuple[float, float]]
    jars: Mapping[str, float]              # mixer (choice id) : g
    jar: float                             # g, where the mixer is not known
    referrals: tuple[Referral, ...]
    cold: Condition | None                 # nothing is heated


def sheet_of(knowledge: Knowledge) -> Sheet:
    """The records, made at the first call."""
    found: Sheet | None = knowledge.index.get("sheet")
    if found is None:
        found = knowledge.index["sheet"] = _sheet(knowledge.procedure)
    return found


def _sheet(data: Mapping[str, Any]) -> Sheet:
    def when(item: Mapping[str, Any], key: str = "when") -> Condition | None:
        return build(item[key]) if item.get(key) else None

    steps = tuple(SheetStep(s["id"], s["stage"], s["says"], s.get("look", ""), when(s), when(s, "unless"), listed(s["source"])) for s in data.get("steps", ()))
    checks = tuple(SheetCheck(c["id"], c["title"], c["says"], c["shows"], c.get("standard", ""), when(c), listed(c["source"]))
                   for c in data.get("tests", ()))
    figures = {k: _span(f) for k, f in data.get("figures", {}).items()}
    jars = {m: _span(j["grams"])[1] for j in data.get("jars", ()) for m in j["mixer"]}
    referrals = tuple(Referral(x["caution"], listed(x["words"])) for x in data.get("refer", ()))
    return Sheet(steps, checks, figures, jars, _span(data["jar"])[1] if "jar" in data else 100.0, referrals, when(data, "cold"))


def _span(figure: Mapping[str, Any]) -> tuple[float, float]:
    best = figure.get("is")
    return float(figure.get("from", best)), float(figure.get("to", best))


def sheet_conditions(knowledge: Knowledge) -> Iterator[tuple[Place, Condition]]:
    """Every condition of the sheet with its place, for checking."""
    sheet = sheet_of(knowledge)
    for key, when in (("cold", sheet.cold), *((s.id, w) for s in sheet.steps for w in (s.when, s.unless)), *((c.id, c.when) for c in sheet.checks)):
        if when:
            yield Place(f"{knowledge.folder}/procedure.yaml", field=key), when
