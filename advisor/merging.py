"""Three records made one: what was changed here since a common start, laid over what was changed elsewhere."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from advisor.batch.model import Batch

MAPS = ("answers", "process", "measured", "storage")
LISTS = ("observed", "tried", "changed")
PLAIN = ("formula", "worked_before", "complaint", "batch_size", "scale_step", "water", "wanted", "kind")


def merged(base: Batch, mine: Batch, theirs: Batch) -> Batch:
    """`theirs` with every difference between `base` and `mine` made in it too; where both changed a thing, mine stands."""
    new: dict[str, Any] = {}
    for key in MAPS:
        new[key] = _maps(getattr(base, key), getattr(mine, key), getattr(theirs, key))
    for key in LISTS:
        a, b, c = (tuple(getattr(x, key)) for x in (base, mine, theirs))
        kept = [x for x in c if x not in a or x in b]
        new[key] = (*kept, *(x for x in b if x not in a and x not in c))
    for key in PLAIN:
        if getattr(base, key) != getattr(mine, key):
            new[key] = getattr(mine, key)
    return theirs._replace(**new)


def _maps(base: Mapping[str, Any], mine: Mapping[str, Any], theirs: Mapping[str, Any]) -> dict[str, Any]:
    out = dict(theirs)
    for key in {*base, *mine}:
        if key not in mine:
            out.pop(key, None)
        elif key not in base or base[key] != mine[key]:
            out[key] = mine[key]
    return out
