"""Frozen records of materials: their classes, their figures, what they are.  Shapes and units only, as in `records`."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, NamedTuple

from advisor.errors import Place

NONE: Mapping[str, Any] = MappingProxyType({})


class Figure(NamedTuple):
    """A number with its honest range and the keys of its sources (`common practice`, `from memory` or rules/sources)."""

    low: float
    high: float
    best: float
    sources: tuple[str, ...]


class IngredientClass(NamedTuple):
    """A class of ingredients; `ancestors` holds its parents, their parents and itself."""

    id: str
    title: str
    ancestors: frozenset[str]
    words: tuple[str, ...] = ()
    density: Figure | None = None          # g/mL
    heat_capacity: Figure | None = None    # J/(g K)
    shares: Mapping[str, Figure] = NONE   # % of the material that is water, salt, ...
    bulk: bool = False                     # does its work by percents: what is listed with a trace is none
    most: Figure | None = None             # % of the product above which a line is none of it
    branded: bool = False                  # mostly sold under trade names: an unknown line may well be one


class Emulsifier(NamedTuple):
    """How a material emulsifies.  `alone`: complete (holds by itself), partner (needs a mate), helper (never the emulsifier)."""

    favours: str                           # oil-in-water | water-in-oil | either
    charge: str                            # nonionic | anionic | cationic | amphoteric
    alone: str                             # complete | partner | helper
    judged_by: str                         # hlb | level
    hlb: Figure | None = None
    oil_limit: Figure | None = None        # % of the product that may be oil at the usual level
    oil_per_part: Figure | None = None     # parts of oil one part holds
    ph: Figure | None = None
    salt_limit: Figure | None = None       # % electrolyte in the product


class Acid(NamedTuple):
    """A material that takes alkali; `molar_mass` is g per mole, `protons` equivalents per mole."""

    molar_mass: float
    protons: int
    pka: Figure
    fatty: bool
    sources: tuple[str, ...]


class Alkali(NamedTuple):
    molar_mass: float
    equivalents: int
    sources: tuple[str, ...]


class Part(NamedTuple):
    """One part of a blend; share in % of the blend."""

    inci: str
    share: Figure


class Ingredient(NamedTuple):
    """What is known of one INCI name (or of a bare class word, then `stands_for` names the class)."""

    inci: str
    names: tuple[str, ...]
    classes: frozenset[str]                # with all ancestors
    phase: str                             # water | oil | cool-down
    state: str                             # liquid | soft | solid | powder (at 20 to 25 C)
    purpose: str = ""
    stands_for: str | None = None
    emulsifier: Emulsifier | None = None
    level: Figure | None = None            # usual % of the product
    maximum: Figure | None = None          # legal limit, % of a leave-on product
    maximum_rinse_off: Figure | None = None    # the same where the product is rinsed off, if that differs
    maximum_rule: str = ""                 # which law, which entry, for what
    required_hlb: Figure | None = None
    required_hlb_wo: Figure | None = None
    melting: Figure | None = None          # C
    solid_fat: tuple[tuple[float, float], ...] = ()   # (C, % solid)
    solid_fat_sources: tuple[str, ...] = ()
    ph: Figure | None = None               # works in
    own_ph: Figure | None = None
    salt_limit: Figure | None = None       # % electrolyte in the product at which it begins to fail
    max_temperature: Figure | None = None  # C
    solubility: Figure | None = None       # g that 100 g of water hold at 20 to 25 C; of an acid, while it has its proton
    density: Figure | None = None          # g/mL
    heat_capacity: Figure | None = None    # J/(g K)
    shares: Mapping[str, Figure] = NONE
    acid: Acid | None = None
    alkali: Alkali | None = None
    parts: tuple[Part, ...] = ()
    cautions: tuple[str, ...] = ()
    note: str = ""
    sources: tuple[str, ...] = ()
    place: Place | None = None
