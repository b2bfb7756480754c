"""How often the advisor is right on cases with a known answer, with Wilson intervals."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from advisor.batch.model import Batch
from advisor.batch.reading import bundled, read_batch
from advisor.diagnosis import LIKELY, SETTLED, Examination, examine
from advisor.errors import InputError, Place, Problem
from advisor.knowledge.load import Knowledge

_Z = 1.959963984540054


@dataclass(frozen=True, slots=True)
class Scored:
    """One case: its id, the wanted cause, the causes named (best first), those also accepted."""

    id: str
    wanted: str
    also: tuple[str, ...]
    got: tuple[str, ...]
    accused: bool
    weak: bool

    @property
    def right(self) -> bool:
        """The wanted cause first (or, where the label is weak, another that it lists); a sound formula not accused."""
        if self.wanted == "none":
            return not self.accused
        return self.got[:1] == (self.wanted,) or (self.weak and bool(self.got) and self.got[0] in self.also)


def wilson(k: int, n: int) -> tuple[float, float]:
    """The 95 % Wilson score interval of k in n (Wilson 1927)."""
    if n == 0:
        return 0.0, 1.0
    p, z2 = k / n, _Z * _Z
    middle = (p + z2 / (2 * n)) / (1 + z2 / n)
    half = _Z / (1 + z2 / n) * math.sqrt(p * (1 - p) / n + z2 / (4 * n * n))
    return middle - half, middle + half


def score(folder: Path, knowledge: Knowledge) -> dict[str, Any]:
    """The object of `advisor score FOLDER --json`; raises InputError where no case is found."""
    scored = [judged(name, batch, examine(batch, knowledge)) for name, batch in labelled(folder)]
    controls = [s for s in scored if s.wanted == "none"]
    apart = [s for s in scored if s.wanted == "other"]
    faults = [s for s in scored if s not in controls and s not in apart]
    first = [s for s in faults if s.right]
    three = [s for s in faults if s.wanted in s.got[:3]]
    listed = [s for s in faults if set(s.got[:3]) & {s.wanted, *s.also}]
    return {
        "format": 1, "cases": len(scored), "faults": len(faults), "controls": len(controls), "other": len(apart),
        "first": _share(len(first), len(faults)), "first_three": _share(len(three), len(faults)),
        "any_listed_in_three": _share(len(listed), len(faults)),
        "accused_controls": [s.id for s in controls if s.accused], "abstained": sum(not s.got for s in faults),
        "misses": [{"id": s.id, "wanted": s.wanted, "got": list(s.got[:3])} for s in faults if s not in first],
    }


def _share(k: int, n: int) -> dict[str, Any]:
    low, high = wilson(k, n)
    return {"n": k, "share": round(k / n, 3) if n else None, "low": round(low, 3), "high": round(high, 3)}


def labelled(folder: Path) -> list[tuple[str, Batch]]:
    """The cases of a folder with a known answer, by name; raises InputError where there is none."""
    folder = bundled(folder) or folder
    cases = [(p.stem, b) for p in sorted(folder.glob("*.yaml")) if (b := read_batch(p)).known]
    if not cases:
        raise InputError(Problem(Place(str(folder)), "no case with a `known` block is here", "Name a folder of case files."))
    return cases


def judged(name: str, batch: Batch, examination: Examination) -> Scored:
    """A case's verdict beside its known answer."""
    known = batch.known or {}
    shown: Sequence[Any] = [r for r in examination.ranked if r.standing != "ruled out"]
    got = tuple(dict.fromkeys(r.cause.part_of or r.id for r in shown))
    wanted = "none" if known.get("stable") else str(known.get("cause", "other"))
    accused = any(r.standing in (SETTLED, LIKELY) for r in shown)
    return Scored(name, wanted, tuple(known.get("also") or ()), got, accused, bool(known.get("weak")))
