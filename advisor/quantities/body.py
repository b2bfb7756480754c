"""From a measured formula to what gives it body, and from that the texture to expect against the one wanted and the one seen."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from typing import Any, Protocol

from advisor.knowledge.load import Knowledge
from advisor.quantities.board import Board, Quantity
from advisor.quantities.composition import Material, ResolvedLine
from advisor.quantities.rungs import rung_in_words, rung_of, rung_seen
from advisor.quantities.texture import Body, Part, log_viscosity, polymer_left

KINDS = ("oil-in-water", "water-in-oil", "anhydrous", "gel", "surfactant")
_NUMBER = re.compile(r"([\d.,]+)\s*(mpa\.?\s*s|mpas|cps?|pa\.?\s*s|pas)?\b", re.I)


class Measured(Protocol):
    """What is needed of measured quantities."""

    @property
    def quantities(self) -> Mapping[str, Quantity]: ...
    @property
    def lines(self) -> tuple[ResolvedLine, ...]: ...
    @property
    def materials(self) -> tuple[Material, ...]: ...
    @property
    def kind(self) -> str | None: ...


def thickness(board: Board) -> None:
    """The rung to expect, the rung wanted, the rung seen, and the gaps between them."""
    rungs = board.knowledge.rungs
    wanted = rung_in_words(board.batch.wanted, rungs) if board.batch.wanted and rungs else None
    if wanted:
        board.put("wanted-rung", float(wanted.rank), ("wanted",))
    seen = _seen(board)
    board.put("seen-rung", seen, ("observed",) if seen is not None else ())
    bare = any(i.stands_for == "emulsifier" for x in board.lines for i in x.ingredients)      # an emulsifier of unknown kind may give much body or none
    if not rungs or not board.whole or board.kind not in KINDS or bare:
        return
    expected = rung_of(log_viscosity(_body(board.lines, board.parts, board.found, board.kind, board.knowledge), board.knowledge.texture_model), rungs)
    board.put("expected-rung", expected, [x.line.name for x in board.lines], not board.sure, note="an estimate, give or take a rung")
    if wanted:
        board.put("rung-gap", expected - wanted.rank, ("expected-rung", "wanted-rung"), not board.sure)
    if seen is not None and board.sure:
        board.put("seen-minus-expected", seen - expected, ("seen-rung", "expected-rung"))


def _seen(board: Board) -> float | None:
    """The rung seen: by a measured viscosity, or by what the product is said to be like."""
    rungs = board.knowledge.rungs
    if not rungs:
        return None
    found = viscosity(board.batch.measured.get("viscosity"))
    if found:
        return rung_of(math.log10(found), rungs)
    ranks = [r.rank for s in board.batch.observed if (r := rung_seen(s.what, rungs))]
    return float(min(ranks)) if ranks and min(ranks) == max(ranks) else None


def viscosity(value: Any) -> float | None:
    """A measured viscosity in mPa.s, from a number or from text with its unit."""
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return float(value) if value > 0 and math.isfinite(value) else None
    found = _NUMBER.search(str(value)) if value is not None else None
    if not found:
        return None
    try:
        number = float(re.sub(r"[.,](?=\d{3}\b)", "", found[1]).replace(",", "."))
    except ValueError:
        return None
    unit = (found[2] or "mpa.s").lower().replace(".", "").replace(" ", "")
    return (number * 1000 if unit == "pas" else number) or None


def body_of(measures: Measured, knowledge: Knowledge) -> Body | None:
    """The same for a batch that was measured; None where its kind has no model."""
    if measures.kind not in KINDS:
        return None
    return _body(measures.lines, measures.materials, measures.quantities, measures.kind, knowledge)


def _body(lines: Sequence[ResolvedLine], materials: Sequence[Material], found: Mapping[str, Quantity], kind: str, knowledge: Knowledge) -> Body:
    def value(name: str) -> float:
        return found[name].value if name in found else 0.0

    ph, salt = found.get("ph"), found.get("electrolyte-share")
    left = polymer_left(ph.value if ph else None, salt.value if salt else None, knowledge.texture_model["polymers"]["limits"])
    parts: list[Part] = []
    for x in lines:
        blend = next((i for i in x.ingredients if i.emulsifier and i.emulsifier.alone == "complete"), None)
        if blend and x.percent:
            parts.append(Part(x.line.name, blend, x.percent.best, left(blend)))
    parts += [Part(m.via.line.name, m.item, m.percent, left(m.item)) for m in materials if m.percent is not None and not any(
        i.emulsifier and i.emulsifier.alone == "complete" for i in m.via.ingredients)]
    drops = 0.0 if kind == "anhydrous" else value("dispersed-volume-fraction")
    alkali = any(m.item.alkali for m in materials) or any("salt" in i.classes for x in lines for i in x.ingredients if i.emulsifier)
    return Body(tuple(parts), kind, drops, 0.0 if kind in ("anhydrous", "water-in-oil") else value("oil-share"), value("emulsifier-share"), value("soap-share"),
                salt.value if salt else 0.0, alkali)
