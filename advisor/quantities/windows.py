"""Windows of temperature and pH that follow from the ingredients alone, each with the lines that set it."""

from typing import NamedTuple

from advisor.knowledge.materials import Figure, Ingredient
from advisor.quantities.heating import COUNTS
from advisor.quantities.measure import Measures

PH_CLASSES = frozenset({"emulsifier", "polymer", "preservative"})
COOL = 40.0      # C; what is kept for the cool-down goes in below this where nothing says otherwise (common practice)


class Window(NamedTuple):
    """From `low` to `high` (None: open); `clash` where the ingredients leave no room."""

    id: str
    title: str
    low: float | None
    high: float | None
    unit: str
    origin: tuple[str, ...]

    @property
    def clash(self) -> bool:
        return self.low is not None and self.high is not None and self.low > self.high


def on_skin(low: float, high: float, skin: tuple[float, float]) -> tuple[float, float]:
    """The part of a pH window that skin bears; the window itself where that leaves less than one unit."""
    narrow = max(skin[0], low), min(skin[1], high)
    return narrow if narrow[1] - narrow[0] >= 1 else (low, high)


def windows(measures: Measures, skin: tuple[float, float]) -> tuple[Window, ...]:
    """Heating the oil phase, bringing the phases together, heating the water, the cool-down, pH (within `skin` where there is room)."""
    oil = [(m.item, m.via.line.name) for m in measures.materials if m.via.phase == "oil" and (m.percent is None or m.percent >= COUNTS)]
    melted = max(((f.high, name) for item, name in oil if (f := item.melting)), default=None)
    begins = max(((f.low, name) for item, name in oil if (f := item.melting)), default=None)
    out = [_window("oil-phase", "Heat the oil phase until all is melted", _bound(melted), _limit(measures, "oil"), "C")]
    out.append(_window("together", "Bring the phases together above", _bound(begins), (None, ()), "C"))
    out.append(_window("water-phase", "Heat the water phase to no more than", (None, ()), _limit(measures, "water"), "C"))
    late = [x.line.name for x in measures.lines if x.phase == "cool-down"]
    limit, names = _limit(measures, "cool-down")
    if late:
        out.append(_window("cool-down", "Add what is kept for the end below", (None, ()), (min(COOL, limit) if limit is not None else COOL, names or tuple(late)), "C"))
    kept = [(m.item, m.via.line.name) for m in measures.materials if m.item.classes & PH_CLASSES]
    kept += [(i, x.line.name) for x in measures.lines for i in x.ingredients if i.emulsifier and i.parts]
    lowest = max(((f.low, name) for item, name in kept if (f := _ph(item))), default=None)
    highest = min(((f.high, name) for item, name in kept if (f := _ph(item))), default=None)
    ph = _window("ph", "Keep the pH", _bound(lowest), _bound(highest), "")
    if ph.low is not None and ph.high is not None:
        low, high = on_skin(ph.low, ph.high, skin)
        ph = ph._replace(low=low, high=high)
    out.append(ph)
    return tuple(w for w in out if (w.low is not None or w.high is not None))


def _ph(item: Ingredient) -> Figure | None:
    return item.ph or (item.emulsifier.ph if item.emulsifier else None)


def _bound(found: tuple[float, str] | None) -> tuple[float | None, tuple[str, ...]]:
    return (found[0], (found[1],)) if found else (None, ())


def _limit(measures: Measures, phase: str) -> tuple[float | None, tuple[str, ...]]:
    found = [(i.max_temperature.high, x.line.name) for x in measures.lines if x.phase == phase for i in x.ingredients if i.max_temperature]
    return (min(found)[0], (min(found)[1],)) if found else (None, ())


def _window(key: str, title: str, low: tuple[float | None, tuple[str, ...]], high: tuple[float | None, tuple[str, ...]], unit: str) -> Window:
    return Window(key, title, low[0], high[0], unit, tuple(dict.fromkeys((*low[1], *high[1]))))
