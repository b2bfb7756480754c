"""Contrasts: what one more observation, or one other amount, must do to a cause; they hold each piece of evidence to its effect.

They are kept beside the cases (`cases/contrasts/`), apart from the cards, and read by the checks alone.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from advisor.batch.form import AMOUNT, RECORD
from advisor.batch.reading import record_batch
from advisor.consultation import Consultation, rule_base
from advisor.diagnosis import RULED_OUT, weigh
from advisor.errors import InputError, Place, Problem
from advisor.knowledge.files import data_folder
from advisor.knowledge.forms import Many, Map, Number, Open, Text, check
from advisor.knowledge.load import Knowledge
from advisor.knowledge.records import Cause
from advisor.situation import Situation, assess

LEAST, MUCH = 0.15, 1.499          # log-odds: a fraction of slight evidence, so that what half-fires still counts; as much as fair evidence, less what adding up takes
MAKES = {"surer": LEAST, "much surer": MUCH, "less sure": -LEAST, "much less sure": -MUCH}
CHANGES = Map({k: v for k, v in RECORD.keys.items() if k not in ("format", "formula", "known")} | {
    "lines": Open(AMOUNT, help="ingredient: amount, unknown, or none to take it out")})
FORM = Map({"format": Number(1, 1), "contrasts": Many(Map({
    "cause": Text(ident=True), "example": Number(1, 99, help="which example of the card, from 1", whole=True), "given": CHANGES, "change": CHANGES,
    "makes": Text(choices=(*MAKES, RULED_OUT))}, needs=("cause", "example", "change", "makes")))}, needs=("format", "contrasts"))


@dataclass(frozen=True, slots=True)
class Contrast:
    """One example of a card (with what is given besides), what is changed in it, and what that must do to the cause."""

    cause: str
    example: int
    change: Mapping[str, Any]
    makes: str
    given: Mapping[str, Any] = field(default_factory=dict)
    place: Place | None = field(default=None, compare=False)


@dataclass(frozen=True, slots=True)
class Pair:
    """A contrast worked out: the example before and after the change."""

    contrast: Contrast
    before: tuple[Situation, Consultation]
    after: tuple[Situation, Consultation]

    def holds(self, cause: Cause, knowledge: Knowledge) -> bool:
        """Whether the change moves the cause the way it must (log-odds), or takes it out of the question."""
        before, after = (weigh(cause, *side, knowledge) for side in (self.before, self.after))
        if self.contrast.makes == RULED_OUT:
            return before.standing != RULED_OUT and after.standing == RULED_OUT
        moved, least = after.log_odds - before.log_odds, MAKES[self.contrast.makes]
        return moved >= least if least > 0 else moved <= least

    def fired(self, rule: str) -> bool:
        """Whether the rule fires on either side."""
        return rule in self.before[1].fired or rule in self.after[1].fired


def contrasts_of(knowledge: Knowledge, folder: Path | None = None) -> list[Contrast]:
    """Every contrast of the folder for the causes known; raises InputError with all that is wrong in the files."""
    from advisor.knowledge.strict_yaml import load, read_text

    out: list[Contrast] = []
    problems: list[Problem] = []
    for path in sorted((folder or data_folder("cases") / "contrasts").glob("*.yaml")):
        document = load(read_text(path), str(path))
        wrong = check(document, FORM)
        problems += wrong
        for index, item in enumerate([] if wrong else document.data["contrasts"]):
            at = document.place(("contrasts", index))
            cause = knowledge.causes.get(item["cause"])
            if cause is None or item["example"] > len(cause.examples):
                problems.append(Problem(at, f"the card {item['cause']} has no example {item['example']}", "Name a card and one of its examples, counted from 1."))
                continue
            out.append(Contrast(item["cause"], item["example"], item["change"], item["makes"], item.get("given", {}), at))
    if problems:
        raise InputError(problems)
    return out


def worked_out(contrasts: Sequence[Contrast], knowledge: Knowledge) -> list[Pair]:
    """Each contrast assessed and consulted once, before and after."""
    out = []
    for c in contrasts:
        start = changed(knowledge.causes[c.cause].examples[c.example - 1].batch, c.given)
        out.append(Pair(c, look(start, knowledge), look(changed(start, c.change), knowledge)))
    return out


def failing(pairs: list[Pair], knowledge: Knowledge) -> list[Problem]:
    """Contrasts that do not hold."""
    return [Problem(p.contrast.place or Place(p.contrast.cause), f"the change does not make {p.contrast.cause} {p.contrast.makes}",
                    "Correct the evidence of the card, or the contrast.", "contrast") for p in pairs if not p.holds(knowledge.causes[p.contrast.cause], knowledge)]


def changed(record: Mapping[str, Any], change: Mapping[str, Any]) -> dict[str, Any]:
    """The record with the change laid over it: maps merge, lists grow, `lines` sets amounts by ingredient."""
    out = dict(record)
    for key, new in change.items():
        if key == "lines":
            out["formula"] = {**record.get("formula", {"unit": "percent"}), "lines": _lines(record.get("formula", {}).get("lines", ()), new)}
        elif isinstance(new, Mapping):
            out[key] = {**record.get(key, {}), **new}
        elif isinstance(new, (list, tuple)):
            old = record.get(key, ())
            out[key] = [*(old if isinstance(old, (list, tuple)) else [old]), *new]
        else:
            out[key] = new
    return out


def _lines(old: Any, new: Mapping[str, Any]) -> list[dict[str, Any]]:
    known = {line["name"] for line in old}
    kept = [{**line, "amount": new[line["name"]]} if line["name"] in new else line for line in old]
    kept += [{"name": name, "amount": amount} for name, amount in new.items() if name not in known]
    return [{k: v for k, v in line.items() if (k, v) != ("amount", "unknown")} for line in kept if line.get("amount") != "none"]


def look(record: Mapping[str, Any], knowledge: Knowledge) -> tuple[Situation, Consultation]:
    """A record assessed and consulted."""
    situation = assess(record_batch({"format": 1, **record}), knowledge)
    return situation, rule_base(knowledge).consult(situation, quick=True)
