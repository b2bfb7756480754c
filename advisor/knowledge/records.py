"""Frozen records of everything the knowledge holds.  Shapes and units only; loading is `load`, meaning is elsewhere.

Named tuples where nothing is ever replaced in them: dataclasses cost start-up time.  So does compiling the text of each annotation: here
and in the other modules of named tuples they are no text.
"""

from collections.abc import Mapping
from typing import Any, NamedTuple

from advisor.errors import Place
from advisor.knowledge.lazy import Later
from advisor.knowledge.materials import NONE, Figure

SPOKEN_SOURCES = ("common practice", "from memory", "derived")     # beside the keys of rules/sources.yaml


class Source(NamedTuple):
    key: str
    title: str
    author: str = ""
    year: str = ""
    where: str = ""
    url: str = ""
    kind: str = ""
    extent: str = ""
    note: str = ""


class Symptom(NamedTuple):
    """What a maker sees.  `under` names a broader symptom; `family` the complaint it belongs to.  Its wordings are read when asked for."""

    id: str
    title: str
    family: str
    under: str | None
    said: Later[tuple[str, ...]]
    look: str = ""                         # how to tell it from its look-alikes
    fine: bool = False                     # no complaint at all ("it looks right")
    sources: tuple[str, ...] = ()
    place: Place | None = None
    unless: tuple[str, ...] = ()           # beside one of these phrases it is not meant
    times: tuple[str, ...] = ()            # the times at which it can be seen at all; empty: any
    beside: tuple[str, ...] = ()           # phrases beside which what it belongs under is this one
    until: tuple[str, ...] = ()            # symptoms: where one came later, this tells how it was while it was well
    either: bool = False                   # where all else is said to be well it may be as it was meant to be

    @property
    def wordings(self) -> tuple[str, ...]:
        return self.said()


class Choice(NamedTuple):
    id: str
    label: str
    words: tuple[str, ...] = ()
    celsius: tuple[float, float] | None = None     # a temperature from .. to which means this choice
    overheard: tuple[str, ...] = ()                # phrases that mean this choice wherever the record's texts have them
    fallback: bool = False                         # meant only where no other choice of the question is
    named: tuple[str, ...] = ()                    # classes: a material of one, named where a sign of the question is told, means this choice


class Atom(NamedTuple):
    """One testable statement.  `about` is finding | answer | symptom | class | listed | quantity | kind."""

    about: str
    name: str
    words: tuple[str, ...] = ()            # answer choices, symptom times, or batch kinds
    edge: tuple[float, ...] = ()           # quantity: (none_at, full_at) for above/below, (low, high, margin) for between
    form: str = ""                         # quantity: above | below | between; untold: met as long as it is not told


class Group(NamedTuple):
    """all, any or not over conditions."""

    kind: str
    of: "tuple[Condition, ...]"


Condition = Atom | Group


class Clash(NamedTuple):
    """An answer that cannot be true of this batch, and how to say so."""

    choices: tuple[str, ...]
    when: Condition
    says: str


class Question(NamedTuple):
    """A question or (with `test`) a bench test.  `reads` is the field of the batch record that already answers it."""

    id: str
    text: str
    why: str
    kind: str                              # choice | number | text | symptom
    effort: str                            # glance | minute | strip | hour | day
    choices: tuple[Choice, ...] = ()
    unit: str = ""
    reads: str = ""
    how: str = ""
    test: bool = False
    steps: tuple[str, ...] = ()
    when: Condition | None = None          # asked only if this is not "no"
    unsure: str = "seldom"                 # seldom | sometimes | often: chance that a maker does not know
    tells: Mapping[str, str] = NONE   # choice id: what that result means
    cautions: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()
    place: Place | None = None
    typical: tuple[float, ...] = ()        # number: values to reckon with before it is answered
    limits: tuple[float, ...] = ()         # number: the least and the most that can be meant
    clashes: tuple[Clash, ...] = ()
    beside: str = ""                       # number: the question whose number tells only together with this one
    seen: tuple[str, ...] = ()             # asked only where one of these symptoms was seen
    of_trouble: bool = False               # overheard only in what tells of the trouble and what changed, not of the making


class Finding(NamedTuple):
    """A statement that others rest on; its condition is built when asked for."""

    id: str
    says: str
    condition: Later[Condition]
    sources: tuple[str, ...]
    because: str = ""
    place: Place | None = None

    @property
    def when(self) -> Condition:
        return self.condition()


class Evidence(NamedTuple):
    """One piece of evidence of a cause.  `strength` is certain | strong | fair | slight; `against` turns its sign.

    Its condition and its group are built when asked for: most pieces of a card never are.
    """

    id: str
    says: str
    condition: Later[Condition]
    strength: str
    against: bool
    of_group: Later[str]
    sources: tuple[str, ...]
    place: Place | None = None

    @property
    def when(self) -> Condition:
        return self.condition()

    @property
    def group(self) -> str:
        return self.of_group()


class Change(NamedTuple):
    """What a fix does to the formula.

    `do`: add | raise | lower | remove | replace | pair.  `target` (add, raise, lower, remove, replace) is an INCI name or a class id;
    `new` (replace, pair) the INCI name that comes in (pair: both).  The amount is solved until `quantity` reaches `reaches`
    (or `level` % is set outright); the balance is taken from `source_line` (a class id or INCI name; "water" by default).
    """

    do: str
    target: str
    new: tuple[str, ...] = ()
    quantity: str = ""
    reaches: float | str | None = None     # a number, or a word that the planner knows: wanted-rung, required-hlb, usual-level
    level: float | None = None
    balance: str = "water"


class Fix(NamedTuple):
    id: str
    title: str
    effort: str                            # step | weighing | buying | remaking
    changes: tuple[Change, ...] = ()
    process: Mapping[str, Any] = NONE   # batch field (process.mixer) : new value
    steps: tuple[str, ...] = ()
    feel: str = ""
    when: Condition | None = None          # offered only if this is yes
    sources: tuple[str, ...] = ()


class CardFate(NamedTuple):
    verdict: str                           # use | wait | rescue | discard | unsure
    because: str
    steps: tuple[str, ...] = ()
    until: str = ""
    when: Condition | None = None          # of one that stands under `where`
    where: "tuple[CardFate, ...]" = ()       # what holds instead under a condition, the first that is met


class Bar(NamedTuple):
    """What bars a rescue, whatever the card of the cause says; `heated`: only one whose steps heat the batch; `used` is said where it is used as it is, which `lost` bars too."""

    id: str
    when: Condition
    because: str
    sources: tuple[str, ...]
    heated: bool = False
    used: str = ""
    lost: bool = False


class Rescue(NamedTuple):
    """The bars, and the words by which a step tells that it heats."""

    bars: tuple[Bar, ...] = ()
    heating: tuple[str, ...] = ()


class Explains(NamedTuple):
    symptom: str
    strength: str
    when: tuple[str, ...] = ()


class Example(NamedTuple):
    """A tiny batch record for a card: `leads` says whether the cause must lead or must not be likely."""

    says: str
    leads: bool
    batch: Mapping[str, Any]
    instead: str = ""
    place: Place | None = None


class Closer(NamedTuple):
    """What a card holds for when its cause is looked at closely."""

    fixes: tuple[Fix, ...]
    fate: CardFate
    examples: tuple[Example, ...]


class Cause(NamedTuple):
    id: str
    title: str
    family: str
    because: str
    commonness: str                        # common | usual | rare
    part_of: str | None
    explains: tuple[Explains, ...]
    pieces: Mapping[str, Evidence]
    exceptions: tuple[str, ...]
    closer: Later[Closer]
    proof: str
    proof_test: str
    forward: bool                          # holds as a risk before anything is seen
    cautions: tuple[str, ...]
    sources: tuple[str, ...]
    place: Place | None = None

    @property
    def evidence(self) -> tuple[Evidence, ...]:
        """The pieces, for and then against, as they stand on the card."""
        return tuple(self.pieces.values())

    @property
    def fixes(self) -> tuple[Fix, ...]:
        return self.closer().fixes

    @property
    def fate(self) -> CardFate:
        return self.closer().fate

    @property
    def examples(self) -> tuple[Example, ...]:
        return self.closer().examples


class Caution(NamedTuple):
    id: str
    says: str
    when: Condition | None = None          # shown when this is yes
    sources: tuple[str, ...] = ()
    words: tuple[str, ...] = ()            # shown when any text of the record says one of these


class BaseRates(NamedTuple):
    """How many accounts of a family of trouble told of each cause; `weight` scales the logarithm, `pull` is in accounts."""

    weight: float = 0.0
    pull: float = 0.0
    counts: Mapping[str, Mapping[str, float]] = NONE


class QuantityCard(NamedTuple):
    """Title, unit and formula of a quantity.  `share_of` names classes (or a share word) that Python sums generically, `in_phase` over the lines of one phase, `beside` as a part of both."""

    id: str
    title: str
    unit: str
    formula: str
    sources: tuple[str, ...]
    share_of: str = ""
    in_phase: str = ""
    beside: str = ""


class Rung(NamedTuple):
    id: str
    title: str
    rank: int
    viscosity: Figure                      # mPa.s at 20 to 25 C
    words: tuple[str, ...]
    suits: str = ""
