"""Names that say what a material is made up in: one oil with something steeped in it, one material of a said strength in another."""

from __future__ import annotations

import re
from collections.abc import Callable

from advisor.knowledge.materials import Figure, Ingredient, Part

Find = Callable[[str], Ingredient | None]

_INFUSED = re.compile(r".*\binfused\s+(?:in(?:to)?\s+|with\s+\w+\s+)?(?P<carrier>.+)", re.I)
_STRENGTH = re.compile(r"\(?\b(?P<strength>[0-9]+(?:[.,][0-9]+)?)\s*%\s*(?:active|w/w|w/v|aqueous)?\)?", re.I)
_CARRIER = re.compile(r"\s+\(?(?:dissolved\s+|dispersed\s+)?in\s+(?P<carrier>[a-z][a-z -]+?)\s*\)?$", re.I)
_FORM = re.compile(r"\b(?:aqueous|stock|water)?\s*(?:solution|gel)\b|[(),]", re.I)
_EXTRACT = re.compile(r"\b(?:extract|powder)\b", re.I)


def made_up(name: str, find: Find, water: Ingredient | None) -> tuple[Ingredient, str] | None:
    """What such a name means and what was assumed; None where it says no such thing.

    `find` looks a plain name up; a solution that names no carrier is one in `water`.
    """
    if (steeped := _INFUSED.fullmatch(name)) and (oil := find(steeped["carrier"])) and not oil.stands_for:
        return oil, f"read as {oil.inci}, with something steeped in it"
    ends = _CARRIER.search(name)
    strength = _STRENGTH.search(name)
    bare = strength is not None and strength.end() == len(name) and ends is None      # a plain percentage behind a name
    carrier = find(ends["carrier"]) if ends else water if strength and (bare or _FORM.search(_STRENGTH.sub(" ", name))) else None
    if carrier is None:
        return None
    rest = name[: ends.start()] if ends else name
    if strength is None:
        return (carrier, f"read as {carrier.inci}, with a little else in it") if _EXTRACT.search(rest) else None
    pure = find(" ".join(_FORM.sub(" ", _STRENGTH.sub(" ", rest)).split()))
    percent = float(strength["strength"].replace(",", "."))
    if bare and pure is not None and (pure.phase == "oil" or pure.stands_for or pure.parts or pure.shares.get("water")):
        return pure, f"read as {pure.inci}"
    if pure is None or pure.stands_for or pure.shares.get("water") or pure.parts or not 0 < percent < 100:
        return None
    share = [Part(i.inci, Figure(p, p, p, ("the record",))) for i, p in ((pure, percent), (carrier, 100 - percent))]
    both = Ingredient(name, (), pure.classes | carrier.classes, carrier.phase, carrier.state, parts=tuple(share), sources=("the record",))
    return both, f"read as {percent:g} % {pure.inci} in {carrier.inci}"
