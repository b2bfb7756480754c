"""The formula in percent by weight, line by line and material by material."""

from collections.abc import Iterable
from typing import NamedTuple

from advisor.batch.model import Batch, Line, Remark
from advisor.batch.units import GRAMS
from advisor.knowledge.load import Knowledge
from advisor.knowledge.materials import Emulsifier, Figure, Ingredient, Part
from advisor.quantities.names import Match, plain_water, resolve

FULL_LOW, FULL_HIGH = 98.0, 102.0
LITTLE = 5.0       # % that a kind of material with a most may reach, for a line of it without an amount to leave the others as they are (from memory)
LISTED = 80.0      # % of a batch that the lines of an incomplete formula are taken for, where all have amounts and the water is among them (from memory)
DIGITS = 9         # of a percent: the same batch told in another unit must not fall on the other side of a limit by the noise of arithmetic


class ResolvedLine(NamedTuple):
    """One line with what it means and its share of the product (%; None where unknown) and grams."""

    line: Line
    match: Match
    ingredients: tuple[Ingredient, ...]
    percent: Figure | None
    grams: float | None
    phase: str
    trace: bool = False     # no amount was told, and it can only be little

    @property
    def read(self) -> bool:
        """Whether it is known what this line is, by its name or by what it says of itself."""
        named = self.match.kind != "unknown" or bool(self.line.own)
        return named and not any("unknown-material" in i.classes for i in self.ingredients)

    @property
    def sole(self) -> float | None:
        """The percent of the one ingredient this line is; None where it is a list, or only partly understood."""
        return self.percent.best if self.percent and self.read and len(self.ingredients) == 1 else None


class Material(NamedTuple):
    """One material in the product: `percent` of the product, None where not known; `via` is the line it came in."""

    item: Ingredient
    percent: float | None
    via: ResolvedLine


def resolved_lines(batch: Batch, knowledge: Knowledge, remarks: list[Remark]) -> tuple[ResolvedLine, ...]:
    """Every line in percent; complete formulas are scaled to 100 with a remark, incomplete ones stand as they are."""
    matches = [resolve(line.name, knowledge) for line in batch.formula.lines]
    traces = [_is_trace(line, match, knowledge) for line, match in zip(batch.formula.lines, matches, strict=True)]
    watery = any(line.amount and "water-like" in i.classes for line, match in zip(batch.formula.lines, matches, strict=True) for i in match.ingredients)
    unit, percents = _percents(batch, traces, watery, remarks)
    out = []
    for line, match, pair, trace in zip(batch.formula.lines, matches, percents, traces, strict=True):
        items = match.ingredients
        if match.kind == "unknown" and line.own:
            items = (_own(line, knowledge),)
        elif match.kind == "unknown":
            near = f"; did you mean {match.suggestion}?" if match.suggestion else "; look for the INCI name on its label"
            remarks.append(Remark(line.name, f"not known here, so nothing could be told from it{near}"))
        if match.doubt:
            remarks.append(Remark(line.name, match.doubt))
        phase = line.phase or (items[0].phase if items else "water")
        figure = Figure(pair[0], pair[1], (pair[0] + pair[1]) / 2, ("the record",)) if pair else None
        grams = figure.best * batch.batch_size / 100 if figure and batch.batch_size else None
        out.append(ResolvedLine(line, match, items, figure, grams, phase, trace))
    if unit == "ml":
        remarks.append(Remark("formula", "millilitres were taken as grams: a guess; weigh next time"))
    return tuple(out)


def _is_trace(line: Line, match: Match, knowledge: Knowledge) -> bool:
    """Whether a line without an amount is only of kinds that no product holds much of."""
    kinds = [[knowledge.classes[c] for c in i.classes if c in knowledge.classes] for i in match.ingredients]
    return line.amount is None and not line.rest and bool(kinds) and all(any(c.most and c.most.high <= LITTLE for c in of) for of in kinds)


def _percents(batch: Batch, traces: list[bool], watery: bool, remarks: list[Remark]) -> tuple[str, list[tuple[float, float] | None]]:
    lines = batch.formula.lines
    known = [line.amount for line in lines if line.amount]
    told = len(known) + sum(traces)           # traces add too little to matter to the others
    total = sum((low + high) / 2 for low, high in known)
    unit = batch.formula.unit
    if unit is None:
        unit = "percent" if FULL_LOW <= total <= FULL_HIGH or any(a.rest for a in lines) or not batch.formula.complete else "part"
        if known and unit == "part" and batch.formula.complete:
            remarks.append(Remark("formula", f"no unit was given and the lines add up to {total:g}; they were read as parts by weight"))
    if unit in GRAMS and any(a.rest for a in lines) and batch.batch_size:
        total = batch.batch_size / GRAMS[unit]
        rest: float | None = max(0.0, total - sum((a + b) / 2 for a, b in known))
        factor = 100.0 / total
    elif unit == "percent":
        rest = max(0.0, 100.0 - total) if any(a.rest for a in lines) else None
        factor = 1.0
        if rest is not None and total > 100.005 and batch.formula.complete:
            factor = 100.0 / total
            remarks.append(Remark("formula", f"the lines already add up to {total:g} % without the rest; they were scaled to 100 %"))
        if rest is not None and not batch.formula.complete:
            rest = None                        # what is left to 100 holds the unlisted lines too
        elif rest is None and batch.formula.complete and known and told == len(known) == len(lines) and abs(total - 100) > 0.005 and total > 0:
            factor = 100.0 / total
            if abs(total - 100) > 0.5:
                remarks.append(Remark("formula", f"the lines add up to {total:g} %; they were scaled to 100 %"))
    else:
        rest = None
        whole = batch.formula.complete and told == len(lines) and total > 0
        if not whole and batch.batch_size and unit in GRAMS:
            factor = 100.0 * GRAMS[unit] / batch.batch_size
        elif whole:
            factor = 100.0 / total
        elif told == len(lines) and total > 0 and (batch.kind == "anhydrous" or watery):
            factor = LISTED / total            # so that no sum is said to be more than it is
            remarks.append(Remark("formula", f"not every line is there; those that are were taken as {LISTED:g} % of the batch, so a share may well be more"))
        else:
            return unit, [None for _ in lines]
    out: list[tuple[float, float] | None] = []
    for line in lines:
        pair = line.amount or ((rest, rest) if line.rest and rest is not None else None)
        out.append((round(pair[0] * factor, DIGITS), round(pair[1] * factor, DIGITS)) if pair else None)
    return unit, out


def _own(line: Line, knowledge: Knowledge) -> Ingredient:
    """A record made of what the line itself says of an unknown ingredient."""
    words = str(line.own.get("is", "")).lower()
    hlb = line.own.get("hlb")
    figure = Figure(hlb, hlb, hlb, ("the record",)) if hlb is not None else None
    charge = line.own.get("charge") or next((c for c in ("anionic", "cationic", "amphoteric") if c in words), "nonionic")
    classes = {w for w in ("emulsifier", "oil", "butter", "wax", "preservative", "humectant", "fragrance") if w in words}
    if "essential oil" in words:
        classes = classes - {"oil"} | {"fragrance", "essential-oil"}
    if "oil" in classes or "ester" in words:
        classes |= {"oil", "liquid-oil"}
    if classes and charge in ("anionic", "cationic"):
        classes.add(charge)
    classes = {a for c in classes for a in (knowledge.classes[c].ancestors if c in knowledge.classes else {c})} | classes
    emulsifier = Emulsifier("either", charge, "partner", "hlb", figure) if hlb is not None or "emulsifier" in words else None
    if emulsifier:
        classes.add("emulsifier")
    need = line.own.get("required_hlb")
    return Ingredient(line.name, (), frozenset(classes or {"unknown-material"}), "oil" if classes & {"oil", "emulsifier"} else "cool-down" if "fragrance" in classes else "water",
                      "solid" if "wax" in classes else "soft" if "butter" in classes else "liquid",
                      emulsifier=emulsifier, required_hlb=Figure(need, need, need, ("the record",)) if need else None)


def _of_strength(parts: tuple[Part, ...], strength: float | None, knowledge: Knowledge) -> tuple[Part, ...]:
    """The parts of a solution of one acid or alkali, as the line says how strong it is."""
    pure = [p.inci for p in parts if (i := knowledge.ingredients.get(p.inci)) and (i.alkali or i.acid)]
    if not strength or len(pure) != 1 or len(parts) != 2:
        return parts
    return tuple(p._replace(share=Figure(s, s, s, ("the record",))) for p in parts for s in [strength if p.inci in pure else 100 - strength])


def materials(lines: Iterable[ResolvedLine], knowledge: Knowledge) -> tuple[Material, ...]:
    """Every material, blends taken apart by their shares; a solution of a said strength counts as that much of the pure."""
    out: list[Material] = []
    for resolved in lines:
        for item in resolved.ingredients:
            own = resolved.sole
            if own is not None and resolved.line.strength and (item.alkali or item.acid):
                pure = resolved.line.strength / 100
                water = plain_water(knowledge)
                if water is not None and "water" not in item.shares:
                    out.append(Material(water, own * (1 - pure), resolved))
                own *= pure
            if item.parts:
                parts = _of_strength(item.parts, resolved.line.strength, knowledge)
                whole = sum(p.share.best for p in parts) or 100.0
                for part in parts:
                    inner = knowledge.ingredients.get(part.inci)
                    if inner:
                        out.append(Material(inner, None if own is None else own * part.share.best / max(whole, 100.0), resolved))
            else:
                out.append(Material(item, own, resolved))
    return tuple(out)
