"""The names that a material is found by, in the one spelling in which names are looked up."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from advisor.knowledge.conditions import listed

_PLAIN = str.maketrans({**dict.fromkeys("-_,.", " "), **dict.fromkeys("\u00ae\u2122*"), "\u2019": "'"})


def normal_name(name: str) -> str:
    """A name as it is looked up: lower case, single spaces, no punctuation but what tells names apart."""
    return " ".join(name.lower().translate(_PLAIN).split())


def spoken(record: Mapping[str, Any]) -> tuple[str, ...]:
    """The names of an ingredient record as they are looked up, its INCI name first."""
    return tuple(map(normal_name, (record["inci"], *listed(record.get("names")))))
