"""What the product holds of each kind of material."""

from __future__ import annotations

import math

from advisor.quantities.board import Board
from advisor.quantities.texture import solid_share

ROOM = 22.0


def measure(board: Board) -> None:
    """Sums over classes, as rules/quantities.yaml names them, and the composition as a whole."""
    if not board.lines:
        return
    known = [x.percent.best for x in board.lines if x.percent]
    board.put("lines-listed", float(len(board.lines)) if board.lines else None, (), not board.batch.formula.complete)
    board.put("total", math.fsum(known) if known else None, (x.line.name for x in board.lines), not board.whole)
    for card in board.knowledge.quantities.values():
        if card.share_of.startswith("share:"):
            share = card.share_of.removeprefix("share:")
            names = [m.via.line.name for m in board.parts if share in m.item.shares]
            board.put(card.id, board.sum_share(share), names, not board.whole, slack=board.unread)
        elif card.share_of:
            board.put_class(card.id, *card.share_of.split(), phase=card.in_phase)
            if card.beside:
                _as_part(board, card.id, card.beside)
    oil, water = board.value("oil-share"), board.value("water-share")
    if oil is not None and water is not None and board.whole and oil + water > 0:
        inner = oil if board.kind != "water-in-oil" else water
        board.put("dispersed-volume-fraction", min(1.0, _volume(inner, board.kind != "water-in-oil") / 100), ("oil-share", "water-share"))
        if board.kind == "water-in-oil":
            board.put("inner-water-share", math.fsum(x.percent.best for x in board.lines if x.percent and x.phase == "water"), ("water phase",))
    if oil and water and not board.whole and (kept := board.value("humectant-share")) is not None:
        board.put("listed-oil-part", 100 * oil / (oil + water + kept), ("oil-share", "water-share", "humectant-share"))
    phase = [x.percent.best for x in board.lines if x.percent and x.phase == "oil"]
    board.put("oil-phase-share", math.fsum(phase), (x.line.name for x in board.lines if x.phase == "oil"), not board.whole)
    _solids(board)


def _as_part(board: Board, name: str, beside: str) -> None:
    """Turn a sum into its part, in %, of itself and what stands beside it; where that is open, it is no less than its share of the product."""
    found = board.found.pop(name, None)
    other = board.sum_share(beside.removeprefix("share:")) if beside.startswith("share:") else board.sum_class(*beside.split())
    if found is None or found.value + (other or 0.0) <= 0:
        return
    if other is None or not board.whole:
        board.found[name] = found._replace(high=100.0)
        return
    slack = found.high - found.low
    low, value, high = (100 * x / (x + y) for x, y in ((found.low, other + slack), (found.value, other), (found.high, other)))
    board.found[name] = found._replace(low=low, value=value, high=high)


def _volume(percent: float, oil: bool) -> float:
    """Percent by mass as percent by volume, oil at 0.92 g/mL (northbrew) and the rest about 1."""
    return percent / 0.92 / (percent / 0.92 + (100 - percent)) * 100 if oil else percent / (percent + (100 - percent) / 0.92) * 100


def _solids(board: Board) -> None:
    solid = []
    for m in board.members("oil"):
        if m.percent is None:
            return
        share = solid_share(m.item, ROOM)
        if share > 0:
            solid.append((m.via.line.name, m.percent * share / 100))
    board.put("solid-fat-share", math.fsum(v for _, v in solid), (n for n, _ in solid), not board.whole, slack=board.unread)
    more = board.sum_class("fatty-alcohol", "solid-fatty-acid", "glyceryl-ester")
    if more is not None:
        board.put("structure-share", math.fsum(v for _, v in solid) + more, [n for n, _ in solid], not board.whole, slack=board.unread)
