"""Preservatives against their usual and legal levels, and every pH window against the pH."""

from __future__ import annotations

from advisor.knowledge.records import Figure
from advisor.quantities.acids import undissociated
from advisor.quantities.board import Board


def measure(board: Board) -> None:
    """Levels, the active share of acid preservatives, and distances outside pH windows."""
    usual, over = [], []
    for x in board.lines:
        if not x.percent:
            continue
        for i in x.ingredients:
            if "preservative" in i.classes and len(x.ingredients) == 1:
                if i.level and i.level.low > 0:
                    usual.append((x.percent.best / i.level.low, x.line.name))
                if i.maximum and i.maximum.high > 0:
                    over.append((x.percent.best / i.maximum.high, x.line.name))
    if usual:
        board.put("preservative-of-usual", max(usual)[0], (max(usual)[1],))
    if over:
        board.put("preservative-over-maximum", max(over)[0], (max(over)[1],))
    ph = board.batch.measured.get("ph")
    if not isinstance(ph, (int, float)) or isinstance(ph, bool):
        return
    board.put("ph", float(ph), ("measured.ph",))
    acids = [m for m in board.members("organic-acid-preservative") if m.item.acid]
    active = [(undissociated(ph, m.item.acid.pka.best), m.via.line.name) for m in acids if m.item.acid]
    if active:
        board.put("acid-preservative-active", max(active)[0], ("measured.ph", max(active)[1]),
                  note="of what stays in the water; oil and nonionic emulsifiers take a share")
    emulsifiers = [(i.emulsifier.ph, x.line.name) for x in board.lines for i in x.ingredients if i.emulsifier and i.emulsifier.ph and i.emulsifier.alone != "helper"]
    if emulsifiers:
        board.put("ph-below-emulsifier", max(0.0, max(f.low - ph for f, _ in emulsifiers)), ("measured.ph", *(n for _, n in emulsifiers)))
        board.put("ph-above-emulsifier", max(0.0, max(ph - f.high for f, _ in emulsifiers)), ("measured.ph", *(n for _, n in emulsifiers)))
    polymers = [m.item.ph for m in board.members("polymer") if m.item.ph]
    if polymers:
        board.put("ph-outside-polymer", max(_outside(ph, f) for f in polymers), ("measured.ph",))
    kept = [m.item.ph for m in board.members("preservative") if m.item.ph] + \
        [i.ph for x in board.lines for i in x.ingredients if "preservative" in i.classes and i.ph]
    if kept:
        board.put("ph-outside-preservative", min(_outside(ph, f) for f in kept), ("measured.ph",))


def _outside(ph: float, window: Figure) -> float:
    return max(window.low - ph, ph - window.high, 0.0)
