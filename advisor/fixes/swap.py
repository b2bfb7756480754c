"""One ingredient for another: what differs, the level to use, the formula rebalanced, and what that brings."""

from __future__ import annotations

from dataclasses import dataclass

from advisor.batch.model import Batch, Remark
from advisor.diagnosis import examine
from advisor.errors import InputError, Place, Problem
from advisor.fixes.amend import Portion, as_batch, matching, portions, put
from advisor.fixes.cautions import referred
from advisor.fixes.pairing import Pairing, hlb_applies, resplit
from advisor.fixes.planner import LineChange, differences
from advisor.fixes.proof import RANK, unseen
from advisor.fixes.weighing import over_law, scale_step, settle
from advisor.knowledge.forms import nearest
from advisor.knowledge.load import Knowledge
from advisor.knowledge.materials import Figure, Ingredient
from advisor.quantities.law import legal_maximum, rinsed_off
from advisor.quantities.names import resolve

# Schema: classes whose dose follows from the usual level of each; all others go one for one.
DOSED = ("emulsifier", "preservative", "polymer", "ph-adjuster", "active", "fragrance", "antioxidant", "chelator", "clay-thickener")
_FIGURES = (("required_hlb", "required HLB"), ("melting", "melting range, C"), ("ph", "works at pH"), ("salt_limit", "salt limit, %"),
            ("max_temperature", "not above, C"), ("level", "usual level, %"), ("maximum", "legal maximum, %"),
            ("maximum_rinse_off", "legal maximum where it is rinsed off, %"))


@dataclass(frozen=True, slots=True)
class Difference:
    """One property that is not the same, as text for both; '' where not known."""

    what: str
    old: str
    new: str


@dataclass(frozen=True, slots=True)
class Swap:
    old: str
    new: str
    same_job: bool
    level: float
    why: str
    differences: tuple[Difference, ...]
    changes: tuple[LineChange, ...]
    record: Batch
    removes: tuple[str, ...]               # causes that fall a standing
    brings: tuple[str, ...]                # causes that rise a standing
    texture: tuple[float, float] | None    # expected rung before and after
    cautions: tuple[str, ...]
    remarks: tuple[Remark, ...]
    pairing: Pairing | None = None         # the emulsifiers against the required HLB, where HLB applies


def swap(batch: Batch, old: str, new: str, knowledge: Knowledge) -> Swap:
    """Put `new` in place of `old`; raises InputError where either is not known or the formula has unknown amounts."""
    batch = batch._replace(ounces=batch.in_ounces)
    before = examine(unseen(batch, knowledge), knowledge, with_signs=False)
    outgoing, incoming = _known(old, batch, knowledge), _known(new, batch, knowledge)
    known = portions(before.situation.measures) if batch.formula.complete else None
    parts = settle(known) if known else None
    if parts is None:
        raise InputError(Problem(Place(batch.file or "the batch"), "not every line has an amount, so nothing can be rebalanced", "Give the whole formula with amounts."))
    if referred(batch, knowledge):
        says = " ".join(knowledge.cautions[c].says for c in referred(batch, knowledge))
        raise InputError(Problem(Place(batch.file or "the batch"), "this kind of product is not reformulated here", says))
    at = matching(parts, outgoing.inci) or [i for i, p in enumerate(parts) if resolve(p.line.name, knowledge).ingredients[:1] == (outgoing,)]
    if not at:
        lines = ", ".join(p.line.name for p in parts)
        raise InputError(Problem(Place(batch.file or "the batch"), f"{old!r} is not in this formula", f"Its lines: {lines}."))
    had = sum(parts[i].percent for i in at)
    rinsed = rinsed_off(batch, knowledge)
    level, why = _level(outgoing, incoming, had, scale_step(batch), legal_maximum(incoming, rinsed))
    changed = _changed(parts, at, incoming, had, level, knowledge)
    changed, pairing = _paired(changed, parts, (outgoing, incoming), batch, knowledge)
    if pairing and incoming.inci in dict(pairing.split):
        level, why = dict(pairing.split)[incoming.inci], "so that the emulsifiers together have the HLB that the oils require"
    whole = settle(changed) if changed else None
    if whole is None:
        raise InputError(Problem(Place(batch.file or "the batch"), "nothing in the formula can take up the difference in weight", "Lower another line first."))
    record = as_batch(whole, unseen(batch, knowledge))._replace(name=f"{batch.name}, {incoming.inci} for {outgoing.inci}".lstrip(", "))
    after = examine(record, knowledge, with_signs=False)
    base, now = ({r.id: RANK[r.standing] for r in e.ranked} for e in (before, after))
    rungs = [e.situation.measures.quantities.get("expected-rung") for e in (before, after)]
    due = [c for c in incoming.cautions if c not in outgoing.cautions]
    remarks = [Remark(n, f"{n} stands at {held:g} %, above the legal maximum of {most:g} %") for n, (held, most) in over_law(whole, knowledge, rinsed).items()]
    if incoming.level and level > incoming.level.high:
        remarks.append(Remark(incoming.inci, f"{level:g} % is above its usual level of {_text(incoming.level)} %: try a small jar, or change only a part"))
    if hlb_applies(outgoing) and incoming.emulsifier and not hlb_applies(incoming):
        remarks.append(Remark(incoming.inci, "it is not chosen by HLB, so no HLB is solved for: its level and the oil it can hold decide"))
    if not _same_job(outgoing, incoming):
        remarks.append(Remark(incoming.inci, "it does other work than what it replaces: this is a new formula, not a swap"))
    return Swap(outgoing.inci, incoming.inci, _same_job(outgoing, incoming), round(level, 4), why, differing(outgoing, incoming),
                differences(parts, whole, batch.batch_size), record, tuple(i for i in base if now[i] < base[i]), tuple(i for i in base if now[i] > base[i]),
                (round(rungs[0].value, 1), round(rungs[1].value, 1)) if rungs[0] and rungs[1] else None,
                tuple(knowledge.cautions[c].says for c in due if c in knowledge.cautions), tuple(remarks), pairing)


def _paired(changed: list[Portion] | None, before: list[Portion], swapped: tuple[Ingredient, Ingredient], batch: Batch,
            knowledge: Knowledge) -> tuple[list[Portion] | None, Pairing | None]:
    """The emulsifiers split to the required HLB, in the amount that they had together; only where one of the swapped is chosen by HLB."""
    if changed is None or not any(map(hlb_applies, swapped)):
        return changed, None
    whole = sum(p.percent for p in before if (items := resolve(p.line.name, knowledge).ingredients) and all(map(hlb_applies, items)))
    found = resplit(changed, unseen(batch, knowledge), whole if hlb_applies(swapped[0]) else None, scale_step(batch), knowledge)
    return found or (changed, None)


def _known(name: str, batch: Batch, knowledge: Knowledge) -> Ingredient:
    found = resolve(name, knowledge)
    if len(found.ingredients) != 1 or found.kind == "unknown":
        near = found.suggestion or nearest(name, list(knowledge.ingredients))
        raise InputError(Problem(Place(batch.file or "the batch"), f"{name!r} is not known here", f"Did you mean {near!r}?" if near else "Give its INCI name."))
    return found.ingredients[0]


def _level(old: Ingredient, new: Ingredient, had: float, step: float, most: Figure | None) -> tuple[float, str]:
    """The level of the new one: the same place in its usual range for what is dosed, one for one for the rest; never above the law."""
    level, why = had, "one for one"
    if any(c in old.classes and c in new.classes for c in DOSED) and old.level and new.level and old.level.best > 0:
        level, why = had * new.level.best / old.level.best, "in proportion to the usual levels of both"
        kept = min(max(level, new.level.low), new.level.high)
        if kept != level:
            level, why = kept, "within the usual level of the new one"
        while step > 0.01 and step > level / 10:
            step /= 10
        level = round(round(level / step) * step, 4)
    if most and level > most.high:
        level, why = most.high, "the legal maximum"
    return level, why


def _changed(parts: list[Portion], at: list[int], new: Ingredient, had: float, level: float, knowledge: Knowledge) -> list[Portion] | None:
    kept = [p for i, p in enumerate(parts) if i not in at]
    place = min(at)
    inside: list[Portion] = []
    put(inside, new.inci, level, knowledge)
    same = matching(kept, new.inci)
    if same:
        kept[same[0]] = kept[same[0]]._replace(percent=kept[same[0]].percent + level)
    else:
        kept.insert(place, inside[0])
    rest = [i for i in (*matching(kept, "water-like"), *matching(kept, "liquid-oil")) if new.inci not in kept[i].holds]
    if not rest:
        return kept if abs(had - level) < 1e-9 else None
    left = kept[rest[0]].percent + had - level
    kept[rest[0]] = kept[rest[0]]._replace(percent=left)
    return kept if left >= 0 else None


def _same_job(old: Ingredient, new: Ingredient) -> bool:
    jobs = (*DOSED, "oil", "fatty-alcohol", "fatty-acid", "humectant", "surfactant", "powder", "water-like")
    return any(c in old.classes and c in new.classes for c in jobs)


def differing(old: Ingredient, new: Ingredient) -> tuple[Difference, ...]:
    """Every property that differs: kind, phase, charge, HLB where it applies, melting, pH, limits."""
    rows = [("what it is for", old.purpose, new.purpose), ("phase", old.phase, new.phase), ("state at room temperature", old.state, new.state)]
    a, b = old.emulsifier, new.emulsifier
    if a or b:
        rows += [("emulsion it favours", a.favours if a else "none", b.favours if b else "none"), ("charge", a.charge if a else "", b.charge if b else ""),
                 ("by itself", a.alone if a else "no emulsifier", b.alone if b else "no emulsifier")]
        if (a and a.judged_by == "hlb") or (b and b.judged_by == "hlb"):
            rows.append(("HLB", _text(a.hlb) if a else "", _text(b.hlb) if b else ""))
        rows += [("pH it bears", _text(a.ph) if a else "", _text(b.ph) if b else ""), ("oil it can hold, %", _text(a.oil_limit) if a else "", _text(b.oil_limit) if b else "")]
    rows += [(title, _text(getattr(old, key)), _text(getattr(new, key))) for key, title in _FIGURES]
    return tuple(Difference(*row) for row in rows if row[1] != row[2])


def _text(figure: Figure | None) -> str:
    if figure is None:
        return ""
    return f"{figure.best:g}" if figure.low == figure.high else f"{figure.low:g} to {figure.high:g}"
