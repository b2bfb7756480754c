"""Preservatives against their usual and legal levels, and every pH window against the pH."""

from __future__ import annotations

from advisor.knowledge.materials import Figure
from advisor.quantities.acids import undissociated
from advisor.quantities.board import Board
from advisor.quantities.law import legal_maximum, rinsed_off


def measure(board: Board) -> None:
    """Levels, the active share of acid preservatives, and distances outside pH windows."""
    usual = []
    for x in board.lines:
        percent = x.sole
        for i in x.ingredients if percent else ():
            if percent and "preservative" in i.classes and i.level and i.level.low > 0:
                usual.append((percent / i.level.low, x.line.name))
    over = _over(board)
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


def _over(board: Board) -> list[tuple[float, str]]:
    """Each preservative's sum over all lines that hold it, against its legal maximum."""
    sums: dict[str, tuple[float, float, str]] = {}
    rinsed = any(m.item.maximum_rinse_off for m in board.parts) and rinsed_off(board.batch, board.knowledge)
    whole = [(i, x.sole, x.line.name) for x in board.lines for i in x.ingredients if i.parts]
    for item, percent, name in [*((m.item, m.percent, m.via.line.name) for m in board.parts), *whole]:
        if percent and "preservative" in item.classes and (most := legal_maximum(item, rinsed)) and most.high > 0:
            sums[item.inci] = (sums.get(item.inci, (0.0,))[0] + percent, most.high, name)
    return [(total / limit, name) for total, limit, name in sums.values()]


def _outside(ph: float, window: Figure) -> float:
    return max(window.low - ph, ph - window.high, 0.0)
