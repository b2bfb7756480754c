"""All quantities of one batch: each a value with its unit, and what it came from.  What cannot be computed is left out."""

import math
from collections.abc import Callable, Mapping
from typing import NamedTuple

from advisor.batch.model import Batch, Remark
from advisor.knowledge.load import Knowledge
from advisor.knowledge.materials import Ingredient
from advisor.phrases import words
from advisor.quantities import body, dissolving, heating, loads, preservation, systems, weighing
from advisor.quantities.board import TRACE, Board, Quantity
from advisor.quantities.composition import Material, ResolvedLine, materials, resolved_lines

SAPONIFIES = 2.0     # meq of alkali per g of oil; most fats take up 3.3 to 4.6 (saponification values of 185 to 260 mg KOH per g: from memory)
NO_SOAP = ("emulsifier", "surfactant", "polymer", "fatty-acid", "fatty-alcohol", "wax")      # beside these lye may only set the pH, or make the soap of a cream
SPIRIT = 40.0    # % of alcohol in which scent and oil are dissolved, not dispersed (from memory)
WOOL = 10.0      # % of wool wax that takes up water by itself (from memory)
OILS = 3         # oils and fats, and nothing else, that make a list without amounts one of a product without water, though some lines may be missing (from memory)
WITH_WATER = ("emulsifier", "surfactant", "polymer")    # materials that few would buy for a product without water
NO_CREAM = ("surfactant", "soap", "wo-emulsifier", "silicone-emulsifier", "lye", "volatile-alcohol")      # beside these a list with water, oil and an emulsifier that favours water outside may be something else
UNLIKELY = 0.8   # how sure one unknown line leaves it that a material is not there, of a kind that has few trade names (from memory)
GROUPS: tuple[Callable[[Board], None], ...] = (loads.measure, systems.measure, heating.measure, preservation.measure, dissolving.measure, weighing.measure, body.thickness)


class Measures(NamedTuple):
    """What arithmetic tells of one batch."""

    quantities: Mapping[str, Quantity]
    lines: tuple[ResolvedLine, ...]
    materials: tuple[Material, ...]
    kind: str | None
    kind_inferred: bool
    closed: bool                           # complete, and every line recognised
    present: frozenset[str]                # classes and INCI names of all that is listed
    vague: frozenset[str]                  # classes that some class record might hide
    remarks: tuple[Remark, ...]
    shelf: Mapping[str, Ingredient]        # what else there is: a bare class word might mean any of its class
    impossible: frozenset[str] = frozenset()    # classes that no unknown line can be, as there is too little or too much of it
    branded: frozenset[str] = frozenset()       # classes that an unknown line may well be
    unread: int = 0                             # lines that were not recognised

    def class_state(self, name: str) -> str:
        """Whether an ingredient of this class or INCI name is there: yes, no, or unknown."""
        if name in self.present:
            return "yes"
        return "no" if self.closed and not self._hidden(name) else "unknown"

    def _hidden(self, name: str) -> bool:
        """Whether some bare class word in the formula may stand for this class or INCI name."""
        return bool(self.vague) and (name in self.vague or (name in self.shelf and bool(self.shelf[name].classes & self.vague)))

    def listed_state(self, name: str) -> str:
        """The same among the lines that were given; unknown only without a formula."""
        if not self.lines:
            return "unknown"
        if self.class_state(name) == "yes":
            return "yes"
        return "no" if not self.unread or name in self.impossible else "unknown"

    def unlisted(self, name: str) -> float:
        """How sure it is, 0 to 1, that nothing listed is this: each line that was not recognised takes some of it, all for kinds with many trade names."""
        state = self.listed_state(name)
        if state != "unknown" or not self.lines:
            return float(state == "no")
        kinds = self.shelf[name].classes if name in self.shelf else {name}
        return 0.0 if kinds & self.branded else UNLIKELY ** self.unread


def measure(batch: Batch, knowledge: Knowledge) -> Measures:
    """Measure one batch; pure, and the order of lines does not matter."""
    remarks: list[Remark] = []
    lines = resolved_lines(batch, knowledge, remarks)
    parts = materials(lines, knowledge)
    board = Board(batch, knowledge, lines, parts, remarks)
    kind, inferred = _kind(batch, board)
    board.kind = kind
    for group in GROUPS:
        group(board)
    closed = bool(lines) and batch.formula.complete and all(x.read for x in lines)
    vague = frozenset(_under(knowledge, {c for x in lines for i in x.ingredients if (c := i.stands_for)}))
    items = [*(m.item for m in parts), *(i for x in lines for i in x.ingredients)]
    present = frozenset(i.inci for i in items).union(*(i.classes for i in items))
    dark = [(x.percent.low, x.percent.high) if x.percent else (0.0, math.inf) for x in lines if not x.read]
    little, least = math.fsum(high for _, high in dark) <= TRACE, min((low for low, _ in dark), default=0.0)
    of_dark = knowledge.classes.items() if dark else ()      # nothing else asks for them
    impossible = frozenset(k for k, c in of_dark if (c.bulk and little) or (c.most and least > c.most.high))
    branded = frozenset(k for k, c in of_dark if c.branded)
    return Measures(board.found, lines, parts, kind, inferred, closed, present, vague, tuple(remarks), knowledge.ingredients, impossible, branded, len(dark))


def _under(knowledge: Knowledge, classes: set[str]) -> set[str]:
    """These classes and all below them: what a bare class word may stand for."""
    return {k for k, c in knowledge.classes.items() if c.ancestors & classes}


def _kind(batch: Batch, board: Board) -> tuple[str | None, bool]:
    if batch.kind:
        return batch.kind, False
    if not board.lines:
        return None, False
    water, oil = board.sum_share("water"), board.sum_class("oil")
    named = not batch.formula.complete or not (water or oil or (board.whole and all(x.read for x in board.lines)))
    if named or water is None or oil is None:
        named, kind = True, "surfactant" if _of_lye(board) else _by_names(board)
    elif _saponified(board, oil):
        kind = "surfactant"
    elif (board.sum_class("volatile-alcohol") or 0.0) > SPIRIT:
        kind = "gel" if board.members("polymer") else None
    elif water < 3 and oil > 10:
        kind = "anhydrous"
    elif (board.sum_class("surfactant") or 0.0) >= 4 and oil < 8:
        kind = "surfactant"
    elif oil + (board.sum_class("fatty-alcohol", "fatty-acid") or 0.0) < 1.5 and water > 40:      # a conditioner or a stearate cream may have no oil
        kind = "gel"
    else:
        kind = "water-in-oil" if _oil_outside(board, oily=oil >= water) else "oil-in-water"
    if kind:
        by_name = " by its names alone" if named else ""
        board.remarks.append(Remark("kind", f"worked out from the formula{by_name}: {kind}"))
    return kind, kind is not None


def _by_names(board: Board) -> str | None:
    """What the names alone tell where amounts are missing.

    Water, oil and an emulsifier that favours water outside are a cream; where all that is known is oil or fat, a line not known makes no emulsion of it.
    """
    known = [i for x in board.lines if x.read for i in x.ingredients]
    if board.members("water-like") and board.members("oil") and not board.members(*NO_CREAM) and any(i.emulsifier and i.emulsifier.favours == "oil-in-water" and i.emulsifier.alone != "helper" for i in known):
        return "oil-in-water"
    if not board.members("oil") or not (board.batch.formula.complete or all(x.line.amount is None and not x.line.rest for x in board.lines)):
        return None
    least = 1 if board.batch.formula.complete else OILS
    return "anhydrous" if all(_oily(i) for i in known) and not board.members(*WITH_WATER) and len({m.via.line.name for m in board.members("oil")}) >= least else None


def _oily(item: Ingredient) -> bool:
    """Whether a material belongs to an oil: fat, wax, what dissolves in them, or scent."""
    return (item.phase == "oil" or "fragrance" in item.classes) and not item.shares.get("water")


def _saponified(board: Board, oil: float) -> bool:
    """Whether the alkali is enough to turn more than half of the oil (% of the product) to soap."""
    alkali = math.fsum(1000 * (m.percent or 0.0) * m.item.alkali.equivalents / m.item.alkali.molar_mass for m in board.parts if m.item.alkali)
    return oil > 0 and alkali / oil > SAPONIFIES


def _of_lye(board: Board) -> bool:
    """Whether fat and lye are listed and nothing known that would hold or thicken a cream (wax or fatty acid in what is called a soap may be); where both were weighed, much lye.

    A line not known may be anything in what is not called a soap, unless the list is whole.
    """
    called = set(board.knowledge.words["soaps"]) & set(words(board.batch.name or ""))
    lye, fat = board.members("lye"), board.members("vegetable-oil", "butter")
    if not lye or not fat or (not called and not board.batch.formula.complete and any(not x.read for x in board.lines)) or board.members(*NO_SOAP[:3] if called else NO_SOAP):
        return False
    return any(m.percent is None for m in (*lye, *fat)) or _saponified(board, math.fsum(m.percent or 0.0 for m in fat))


def _oil_outside(board: Board, oily: bool) -> bool:
    """Whether what emulsifies favours oil outside alone; where there is more oil than water, a liquid low-HLB ester or wool wax does so too."""
    real = [i for x in board.lines for i in x.ingredients if i.emulsifier and i.emulsifier.alone != "helper"]
    if any(i.emulsifier.favours == "oil-in-water" for i in real if i.emulsifier):
        return False
    oily = oily and not board.members("alkali-adjuster", "surfactant")
    if oily and not board.members("emulsifier"):
        return (board.sum_class("wool-wax") or 0.0) > WOOL
    inner = [m.item for m in board.parts if m.item.emulsifier and m.item.emulsifier.favours == "water-in-oil" and m.item.emulsifier.alone != "helper"]
    return any("wo-emulsifier" in i.classes or (oily and i.state == "liquid" and "low-hlb-surfactant" in i.classes) for i in inner)


__all__ = ["Measures", "Quantity", "measure"]
