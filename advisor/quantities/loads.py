"""What the product holds of each kind of material, and the texture to expect from it."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any, Protocol

from advisor.knowledge.load import Knowledge
from advisor.knowledge.records import Ingredient
from advisor.quantities.board import Board, Quantity
from advisor.quantities.composition import Material, ResolvedLine
from advisor.quantities.texture import log_viscosity, rung_in_words, rung_of


class Measured(Protocol):
    """What is needed of measured quantities."""

    @property
    def quantities(self) -> Mapping[str, Quantity]: ...
    @property
    def lines(self) -> tuple[ResolvedLine, ...]: ...
    @property
    def materials(self) -> tuple[Material, ...]: ...


ROOM = 22.0
_STATE_SOLID = {"solid": 100.0, "powder": 100.0, "soft": 40.0, "liquid": 0.0}
OILS = ("oil", "fragrance")


def measure(board: Board) -> None:
    """Sums over classes, as rules/quantities.yaml names them, and the composition as a whole."""
    if not board.lines:
        return
    known = [x.percent.best for x in board.lines if x.percent]
    board.put("total", math.fsum(known) if known else None, (x.line.name for x in board.lines), not board.whole)
    for card in board.knowledge.quantities.values():
        if card.share_of.startswith("share:"):
            share = card.share_of.removeprefix("share:")
            names = [m.via.line.name for m in board.parts if share in m.item.shares]
            board.put(card.id, board.sum_share(share), names, not board.whole, slack=board.unread)
        elif card.share_of:
            board.put_class(card.id, *card.share_of.split())
    oil, water = board.value("oil-share"), board.value("water-share")
    if oil is not None and water is not None and board.whole and oil + water > 0:
        inner = oil if board.kind != "water-in-oil" else water
        board.put("dispersed-volume-fraction", min(1.0, _volume(inner, board.kind != "water-in-oil") / 100), ("oil-share", "water-share"))
        if board.kind == "water-in-oil":
            board.put("inner-water-share", math.fsum(x.percent.best for x in board.lines if x.percent and x.phase == "water"), ("water phase",))
    phase = [x.percent.best for x in board.lines if x.percent and x.phase == "oil"]
    board.put("oil-phase-share", math.fsum(phase), (x.line.name for x in board.lines if x.phase == "oil"), not board.whole)
    _solids(board)


def _volume(percent: float, oil: bool) -> float:
    """Percent by mass as percent by volume, oil at 0.92 g/mL and the rest about 1 (from memory)."""
    return percent / 0.92 / (percent / 0.92 + (100 - percent)) * 100 if oil else percent / (percent + (100 - percent) / 0.92) * 100


def _solids(board: Board) -> None:
    solid = []
    for m in board.members("oil"):
        if m.percent is None:
            return
        share = _solid_at(m.item.solid_fat, ROOM) if m.item.solid_fat else _STATE_SOLID[m.item.state]
        if share > 0:
            solid.append((m.via.line.name, m.percent * share / 100))
    board.put("solid-fat-share", math.fsum(v for _, v in solid), (n for n, _ in solid), not board.whole, slack=board.unread)
    more = board.sum_class("fatty-alcohol", "solid-fatty-acid", "glyceryl-ester")
    if more is not None:
        board.put("structure-share", math.fsum(v for _, v in solid) + more, [n for n, _ in solid], not board.whole, slack=board.unread)


def _solid_at(points: tuple[tuple[float, float], ...], at: float) -> float:
    if at <= points[0][0]:
        return points[0][1]
    for (t0, s0), (t1, s1) in zip(points, points[1:], strict=False):
        if at <= t1:
            return s0 + (s1 - s0) * (at - t0) / (t1 - t0)
    return points[-1][1]


def thickness(board: Board) -> None:
    """The rung to expect, the rung wanted, and the gap between them (expected minus wanted)."""
    rungs, model = board.knowledge.rungs, board.knowledge.texture_model
    wanted = rung_in_words(board.batch.wanted, rungs) if board.batch.wanted and rungs else None
    if wanted:
        board.put("wanted-rung", float(wanted.rank), ("wanted",))
    if not rungs or not board.whole or board.kind not in ("oil-in-water", "gel", "surfactant"):
        return
    shares = _body_shares(board.lines, board.parts, _failing(board.found, model))
    log_mpas, _ = log_viscosity(shares, board.value("dispersed-volume-fraction") or 0.0, model)
    expected = rung_of(log_mpas, rungs)
    board.put("expected-rung", expected, [x.line.name for x in board.lines], not board.sure, note="an estimate, give or take a rung")
    if wanted:
        board.put("rung-gap", expected - wanted.rank, ("expected-rung", "wanted-rung"), not board.sure)


def texture_parts(measures: Measured, knowledge: Knowledge) -> dict[str, float]:
    """What each class adds to the log-viscosity of a measured batch."""
    fraction = measures.quantities.get("dispersed-volume-fraction")
    shares = _body_shares(measures.lines, measures.materials, _failing(measures.quantities, knowledge.texture_model))
    return log_viscosity(shares, fraction.value if fraction else 0.0, knowledge.texture_model)[1]


def _failing(found: Mapping[str, Quantity], model: Mapping[str, Any]) -> Callable[[Ingredient], float]:
    """How much of a polymer's thickening is left (1 all, 0 none) at the batch's pH and salt; both fall off as the model's `limits` say."""
    ph, salt, limits = found.get("ph"), found.get("electrolyte-share"), model["limits"]

    def left(item: Ingredient) -> float:
        rest = 1.0
        if "polymer" in item.classes and item.ph and ph:
            rest *= max(0.0, 1.0 - max(item.ph.low - ph.value, ph.value - item.ph.high, 0.0) / limits["ph"])
        if "polymer" in item.classes and item.salt_limit and item.salt_limit.best > 0 and salt:
            rest *= min(1.0, max(0.0, 1.0 - (salt.value / item.salt_limit.best - 1.0) / limits["salt"]))
        return rest

    return left


def _body_shares(lines: Sequence[ResolvedLine], parts: Sequence[Material], left: Callable[[Ingredient], float]) -> list[tuple[frozenset[str], float]]:
    """What gives body, as (classes, percent): complete emulsifiers as whole lines, all else by material."""
    shares: list[tuple[frozenset[str], float]] = []
    for x in lines:
        blend = next((i for i in x.ingredients if i.emulsifier and i.emulsifier.alone == "complete"), None)
        if blend and x.percent:
            shares.append((blend.classes, x.percent.best))
    return shares + [(m.item.classes, m.percent * left(m.item)) for m in parts if m.percent is not None and not any(
        i.emulsifier and i.emulsifier.alone == "complete" for i in m.via.ingredients)]
