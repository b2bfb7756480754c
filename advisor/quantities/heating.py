"""The process in degrees: the two phases, what they come to together, and what is then not melted or was too hot."""

from __future__ import annotations

from advisor.quantities import heat
from advisor.quantities.board import Board
from advisor.quantities.composition import Material

COUNTS = 0.5         # % of the product from which an unmelted material is seen
DISSOLVES = 0.08     # share of the oil phase that the rest dissolves below its melting range: ideally about half at 10 C below (Schroeder and van Laar, 60 kJ/mol; from memory)


def measure(board: Board) -> None:
    """Temperatures and what follows from them."""
    process = board.batch.process
    given = {name: process.get(f"{name.replace('-', '_')}") for name in ("oil_phase_temperature", "water_phase_temperature", "cool_down_added_at")}
    oil, water, cool = (v if isinstance(v, (int, float)) and not isinstance(v, bool) else None for v in given.values())
    board.put("oil-temperature", oil, ("process.oil_phase_temperature",))
    board.put("water-temperature", water, ("process.water_phase_temperature",))
    board.put("cool-down-temperature", cool, ("process.cool_down_added_at",))
    for name, key in (("mixing-time", "mixed"), ("held-time", "held")):
        value = process.get(key)
        board.put(name, value if isinstance(value, (int, float)) and not isinstance(value, bool) else None, (f"process.{key}",))
    if oil is not None and water is not None:
        board.put("phase-temperature-gap", abs(oil - water), ("process.oil_phase_temperature", "process.water_phase_temperature"))
        _mixing(board, oil, water)
    if oil is not None:
        _oil_phase(board, oil)
    _too_hot(board, oil, water, cool)


def _mixing(board: Board, oil: float, water: float) -> None:
    parts = []
    for x in board.lines:
        if x.percent is None or x.phase == "cool-down":
            continue
        base = heat.OIL_HEAT if x.phase == "oil" else heat.WATER_HEAT
        figures = [i.heat_capacity.best for i in x.ingredients if i.heat_capacity]
        parts.append((x.percent.best, figures[0] if len(figures) == 1 else base, oil if x.phase == "oil" else water))
    mixed = heat.mixing_temperature(parts) if board.whole and parts else None
    if mixed is None:
        return
    names = ("process.oil_phase_temperature", "process.water_phase_temperature", "formula")
    mixed = round(mixed, 6)      # two phases at 60 C meet at 60 C, not a hair below what melts there
    board.put("mixing-temperature", mixed, names, note=f"an upper bound; the vessel takes about {heat.VESSEL_LOSS:g} C more")
    low = [(m.item.melting.low - mixed, m) for m in _must_melt(board) if m.item.melting and m.item.melting.low > mixed]
    board.put("melt-shortfall", max((s for s, _ in low), default=0.0), (m.via.line.name for _, m in low))
    board.put("unmelted-share", sum(m.percent or 0.0 for _, m in low), (m.via.line.name for _, m in low))


def _must_melt(board: Board) -> list[Material]:
    """The materials of the oil phase that have to melt themselves; a little of one dissolves in the melt of the others."""
    oil = [m for m in board.parts if m.via.phase == "oil" and m.percent]
    least = max(COUNTS, DISSOLVES * sum(m.percent or 0.0 for m in oil))
    return [m for m in oil if m.item.melting and (m.percent or 0.0) >= least]


def _oil_phase(board: Board, oil: float) -> None:
    told = _must_melt(board)
    untold = [m for m in board.parts if m.via.phase == "oil" and m.via.percent is None and not m.via.trace]      # what was listed without an amount is more than a trace
    hard = [(m.item.melting.low - oil, m.via.line.name) for m in (*told, *untold) if m.item.melting and not m.item.stands_for]
    if hard:      # what is not listed may be harder still
        board.put("oil-phase-shortfall", max(0.0, max(hard)[0]), (max(hard)[1],), not board.whole)


def _too_hot(board: Board, oil: float | None, water: float | None, cool: float | None) -> None:
    """How far the worst line, and the worst preservative, got above what it bears."""
    over: dict[str, list[tuple[float, str]]] = {"heat-excess": [], "preservative-heat-excess": []}
    for x in board.lines:
        at = {"oil": oil, "water": water, "cool-down": cool}[x.phase]
        for i in x.ingredients:
            if at is not None and i.max_temperature:
                excess = (at - i.max_temperature.high, x.line.name)
                over["heat-excess"].append(excess)
                if "preservative" in i.classes:
                    over["preservative-heat-excess"].append(excess)
    for name, found in over.items():
        if found:
            board.put(name, max(0.0, max(found)[0]), (max(found)[1],))
