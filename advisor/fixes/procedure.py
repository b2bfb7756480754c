"""The procedure of a remake: the sentences of rules/procedure.yaml, with temperatures and names that follow from the formula."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from advisor.batch.model import Batch
from advisor.diagnosis import Examination
from advisor.facts import judge_condition
from advisor.knowledge.load import Knowledge
from advisor.knowledge.materials import Ingredient
from advisor.knowledge.records import Condition
from advisor.knowledge.sheet import SheetCheck, sheet_of
from advisor.quantities.composition import ResolvedLine
from advisor.quantities.windows import on_skin

EMULSIONS = ("oil-in-water", "water-in-oil")
COUNTS = 0.5               # % from which a material decides the temperature of its phase (as for what is seen unmelted)
SMALL = 5.0                # % up to which a tender line can go in cold without splitting the emulsion (common practice)
APART = 10.0               # parts of cold water that a part of neutraliser is dissolved in (common practice)
SOAP = 0.3                 # % of soap above which the pH is that of the soap, not of a window (from memory)
_BRACKET = re.compile(r"\{([a-z-]+)(?: ([^}]+))?\}")


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do, and what to look for while doing it."""

    stage: str
    says: str
    look: str = ""

    @property
    def text(self) -> str:
        return f"{self.says} Look for: {self.look[0].lower()}{self.look[1:]}" if self.look else self.says


@dataclass(frozen=True, slots=True)
class Heat:
    """The temperatures that follow from the ingredients (C; None where nothing is heated), and what melts last."""

    oil: float | None
    water: float | None
    hold: float                            # min
    mix: float                             # min
    cool: float
    hardest: str
    tender: tuple[tuple[str, float], ...]      # lines kept back from a hot phase, with their limit


def heat_of(examination: Examination, knowledge: Knowledge) -> Heat:
    """How hot: above what melts last, within the usual span, and who is kept back; nothing where all of it works cold."""
    sheet, measures = sheet_of(knowledge), examination.situation.measures
    lines, kind = measures.lines, measures.kind
    margin, (low, high) = sheet.figures["margin"][1], sheet.figures["hot"]
    hard = [(i.melting.high, x.line.name) for x in lines if x.phase == "oil" and x.percent and x.percent.best >= COUNTS
            for i in x.ingredients if i.melting]
    top = max(hard, default=(0.0, ""))
    oil = water = None
    cold = sheet.cold is not None and _holds(sheet.cold, examination, knowledge)
    if not cold and any(x.phase == "oil" for x in lines) and (kind in (*EMULSIONS, "anhydrous") or hard):
        oil = round(min(max(low, top[0] + margin), max(high, top[0] + 2)))
        water = min(oil + 2, 95) if kind in EMULSIONS else None
    cool = sheet.figures["cool-down"][1]
    hot = {"oil": oil, "water": water}
    tender = tuple((x.line.name, limit) for x in lines if (at := hot.get(x.phase)) is not None and x.percent and x.percent.best <= SMALL
                   and (limit := _limit(x.ingredients)) is not None and limit < at)
    limits = [limit for x in lines if x.phase == "cool-down" and (limit := _limit(x.ingredients)) is not None and limit >= 30]
    return Heat(oil, water, sheet.figures["hold"][1], sheet.figures["mix"][1], min([cool, *limits]), f"{top[1]} (up to {top[0]:g} C)" if top[1] else "", tender)


def _limit(items: Sequence[Ingredient]) -> float | None:
    limits = [i.max_temperature.high for i in items if i.max_temperature and not i.melting]
    return min(limits) if limits else None


def ph_windows(lines: Sequence[ResolvedLine]) -> list[tuple[float, float, str]]:
    """The pH each emulsifier, thickener and preservative works in."""
    out = []
    for x in lines:
        for i in x.ingredients:
            figure = i.emulsifier.ph if i.emulsifier and i.emulsifier.ph else i.ph if {"preservative", "polymer"} & i.classes else None
            if figure:
                out.append((figure.low, figure.high, x.line.name))
    return out


def planned_process(batch: Batch, heat: Heat) -> Batch:
    """The batch with the temperatures of the sheet as its process, and tender lines moved to the end."""
    process = dict(batch.process)
    if heat.oil is not None and heat.water is not None:
        process |= {"oil_phase_temperature": float(heat.oil), "water_phase_temperature": float(heat.water), "held": heat.hold}
    late = {name for name, _ in heat.tender}
    lines = tuple(replace(x, phase="cool-down") if x.name in late else x for x in batch.formula.lines)
    if any(x.phase == "cool-down" for x in lines):
        process["cool_down_added_at"] = heat.cool
    for key in ("weight_before", "weight_after"):
        process.pop(key, None)                 # weights of the batch that failed
    return batch._replace(process=process, formula=batch.formula._replace(lines=lines))


def procedure_of(examination: Examination, heat: Heat, knowledge: Knowledge) -> tuple[Step, ...]:
    """The steps that apply to this batch, in order."""
    filler = _Filler(examination, heat, sheet_of(knowledge).figures["skin"])
    out = []
    for step in sheet_of(knowledge).steps:
        if step.unless and _holds(step.unless, examination, knowledge):
            continue
        if _holds(step.when, examination, knowledge) and (says := filler.filled(step.says)) is not None:
            out.append(Step(step.stage, says, step.look))
    return tuple(out)


def checks_of(examination: Examination, knowledge: Knowledge) -> tuple[SheetCheck, ...]:
    """The stability checks worth doing with this batch."""
    return tuple(c for c in sheet_of(knowledge).checks if _holds(c.when, examination, knowledge))


def _holds(when: Condition | None, examination: Examination, knowledge: Knowledge) -> bool:
    return when is None or judge_condition(when, examination.situation, knowledge, examination.consultation.findings).yes > 0


class _Filler:
    """Fills the brackets of one sentence; None where a bracket stays empty."""

    def __init__(self, examination: Examination, heat: Heat, skin: tuple[float, float]) -> None:
        measures = examination.situation.measures
        self.lines, self.heat = measures.lines, heat
        size = examination.situation.batch.batch_size
        late = sum(x.percent.best for x in self.lines if x.phase == "cool-down" and x.percent)
        apart = APART * sum(x.percent.best for x in self.lines if x.phase == "cool-down" and x.percent and x.line.name in self._of_class("neutraliser"))
        back = apart if self._of_class("carbomer-type") else 0.0           # it comes back with the neutraliser, after the beaker was filled up
        soap = measures.quantities.get("soap-share")
        windows = [] if soap and soap.value > SOAP else ph_windows(self.lines)
        low, high = on_skin(max((w[0] for w in windows), default=0.0), min((w[1] for w in windows), default=0.0), skin)
        self.plain = {
            "oil-temperature": "" if heat.oil is None else f"{heat.oil:g}", "water-temperature": "" if heat.water is None else f"{heat.water:g}",
            "hold": f"{heat.hold:g}", "mix": f"{heat.mix:g}", "cool-down": f"{heat.cool:g}", "hardest": heat.hardest,
            "no-melting": "" if heat.oil is None or heat.hardest else f"{heat.oil:g}",
            "tender": "; ".join(f"{n} (not above {t:g} C)" for n, t in heat.tender),
            "ph": f"pH {low:g} to {high:g}" if windows and low < high else "",
            "ph-clash": "; ".join(f"{n} wants {a:g} to {b:g}" for a, b, n in windows) if windows and low >= high else "",
            "apart": _share(apart, size) if apart else "",
            "not-known": ", ".join(dict.fromkeys(x.line.name for x in self.lines if not x.read and x.phase != "cool-down")),
            "before-cool-down": _share(100 - late - back, size) + (" before what goes in last" if late else ""),
        }

    def filled(self, text: str) -> str | None:
        values = [self._value(m[1], m[2] or "") for m in _BRACKET.finditer(text)]
        if not all(values):
            return None
        rest = iter(values)
        return _BRACKET.sub(lambda _: next(rest), text)

    def _value(self, word: str, of: str) -> str:
        if word == "phase":
            of, _, without = of.partition(" but ")
            kept = {n for n, _ in self.heat.tender}
            names = [x.line.name for x in self.lines if (x.phase == of and x.line.name not in kept) or (of == "cool-down" and x.line.name in kept)]
            names = [n for n in names if n not in self._of_class(without)] if without else names
        elif word == "lines":
            names = self._of_class(of)
        else:
            return self.plain.get(word, "")
        return ", ".join(dict.fromkeys(names))

    def _of_class(self, of: str) -> list[str]:
        return [x.line.name for x in self.lines if any(of in i.classes for i in x.ingredients)]


def _share(percent: float, size: float | None) -> str:
    """A share of the batch as weight, to 0.1 g: no scale that bears a beaker reads closer."""
    return f"{round(size * percent / 100, 1):g} g" if size else f"{round(percent, 2):g} % of the batch"
