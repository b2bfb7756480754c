"""Where quantities are put while a batch is measured, with the sums over lines that all of them use."""

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import NamedTuple

from advisor.batch.model import Batch, Remark
from advisor.knowledge.load import Knowledge
from advisor.quantities.composition import Material, ResolvedLine

TRACE = 1.5      # % of unknown lines up to which none of them is a material that does its work by percents (from memory)


class Quantity(NamedTuple):
    """One computed number.  `low` and `high` differ only where an incomplete formula leaves it open."""

    id: str
    title: str
    value: float
    unit: str
    low: float
    high: float
    origin: tuple[str, ...]
    note: str = ""


@dataclass(slots=True)
class Board:
    batch: Batch
    knowledge: Knowledge
    lines: tuple[ResolvedLine, ...]
    parts: tuple[Material, ...]
    remarks: list[Remark]
    kind: str | None = None
    found: dict[str, Quantity] = field(default_factory=dict)
    whole: bool = field(init=False)        # every line of the product is listed with its amount, or is a trace
    unread: float = field(init=False)      # % in lines that were not recognised: any of it may be anything
    sure: bool = field(init=False)         # whole, and no line leaves open what it is or how much of each material there is
    by_class: dict[str, list[Material]] = field(init=False)   # materials by class and by INCI name

    def __post_init__(self) -> None:
        self.whole = self.batch.formula.complete and all(x.percent is not None or x.trace for x in self.lines)
        self.unread = math.fsum(x.percent.best for x in self.lines if x.percent and not x.read)
        self.sure = self.whole and all(x.read for x in self.lines) and all(m.percent is not None for m in self.parts)
        self.by_class = {}
        for material in self.parts:
            for name in (*material.item.classes, material.item.inci):
                self.by_class.setdefault(name, []).append(material)

    def put(self, name: str, value: float | None, origin: Iterable[str] = (), open_above: bool = False, note: str = "", slack: float = 0.0) -> None:
        """Note a quantity; `open_above` means that unlisted lines may add to it, `slack` that unrecognised ones may add so much."""
        if value is None or not math.isfinite(value):
            return
        card = self.knowledge.quantities.get(name)
        high = math.inf if open_above else value + slack
        self.found[name] = Quantity(name, card.title if card else name, value, card.unit if card else "", value, high,
                                    tuple(dict.fromkeys(origin)), note)

    def value(self, name: str) -> float | None:
        found = self.found.get(name)
        return found.value if found else None

    def members(self, *classes: str) -> list[Material]:
        """Materials of any of these classes (or INCI names)."""
        if len(classes) == 1 or not any(c in self.by_class for c in classes):
            return self.by_class.get(classes[0], [])
        wanted = set(classes)
        return [m for m in self.parts if wanted & m.item.classes or m.item.inci in wanted]

    def sum_class(self, *classes: str) -> float | None:
        """Percent of all materials of these classes; None where one of them has no known amount."""
        return _sum(self.members(*classes))

    def sum_share(self, share: str) -> float | None:
        """Percent of the product that is water, electrolyte, ..., by what each material holds of it."""
        held = [(m.percent, m.item.shares[share].best) for m in self.parts if share in m.item.shares and m.item.shares[share].best > 0]
        return None if any(p is None for p, _ in held) else math.fsum((p or 0.0) * s / 100 for p, s in held)

    def put_class(self, name: str, *classes: str, phase: str = "") -> None:
        """Note the sum over classes (of one phase); nothing is said where no formula is known.

        A trace of something unknown may add to kinds that are sold under trade names, but hardly to others.
        """
        if self.lines:
            branded = any(c in self.knowledge.classes and self.knowledge.classes[c].branded for c in classes)
            found = [m for m in self.members(*classes) if not phase or m.via.phase == phase]
            self.put(name, _sum(found), (m.via.line.name for m in found), not self.whole, slack=self.unread if branded or self.unread > TRACE else 0.0)


def _sum(found: Iterable[Material]) -> float | None:
    percents = [m.percent for m in found]
    return None if None in percents else math.fsum(p or 0.0 for p in percents)
