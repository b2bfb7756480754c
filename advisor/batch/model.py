"""The batch record as typed, frozen records.  Amounts as written; arithmetic lives in `quantities`."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from advisor.errors import Place

_NOTHING: Mapping[str, Any] = {}


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the formula.  `amount` is (low, high) in the formula's unit; equal for a plain number; None if unknown."""

    name: str
    amount: tuple[float, float] | None = None
    rest: bool = False                     # "rest": what is left to 100 %
    phase: str | None = None               # water | oil | cool-down
    strength: float | None = None          # % active of a solution, as said on this line
    lot: str | None = None
    own: Mapping[str, Any] = field(default_factory=dict)   # an unknown ingredient's own facts: is, hlb, required_hlb, ...
    place: Place | None = field(default=None, compare=False)


class Formula(NamedTuple):
    lines: tuple[Line, ...] = ()
    unit: str | None = None                # percent | g | kg | oz | lb | part | ml ; None: to be worked out
    complete: bool = True


class Seen(NamedTuple):
    """One observed line: the maker's words and when (as said)."""

    what: str
    when: str | None = None


class Tried(NamedTuple):
    what: str
    changed: bool | None = None


class Remark(NamedTuple):
    """Something the maker should know about how their record was read."""

    about: str
    says: str


class Batch(NamedTuple):
    """A batch record.  Temperatures in C, masses in g, times in minutes once read; text where no unit is known."""

    name: str = ""
    kind: str | None = None                # oil-in-water | water-in-oil | anhydrous | surfactant | gel
    wanted: str | None = None
    complaint: str | None = None
    made: str | None = None
    batch_size: float | None = None        # g
    scale_step: float | None = None        # g
    formula: Formula = Formula()
    process: Mapping[str, Any] = _NOTHING
    measured: Mapping[str, Any] = _NOTHING
    observed: tuple[Seen, ...] = ()
    worked_before: bool | None = None
    changed: tuple[str, ...] = ()
    tried: tuple[Tried, ...] = ()
    storage: Mapping[str, Any] = _NOTHING
    water: str | None = None
    answers: Mapping[str, Any] = _NOTHING
    notes: str | None = None
    known: Mapping[str, Any] | None = None
    file: str = ""
    remarks: tuple[Remark, ...] = ()
    ounces: bool = False                   # its size was told in ounces or pounds; masses are in g all the same

    @property
    def in_ounces(self) -> bool:
        """Whether the maker weighs in ounces or pounds, so that weights are shown in ounces too."""
        return self.ounces or self.formula.unit in ("oz", "lb")
