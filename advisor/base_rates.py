"""How often a cause was the answer where published accounts told of the same kind of trouble, as a shift of its prior."""

import math
from collections import Counter
from collections.abc import Collection, Mapping
from typing import NamedTuple

from advisor.knowledge.load import Knowledge
from advisor.knowledge.records import BaseRates, Cause

_FLOOR = 0.5       # half an account for a cause that none told of (Jeffreys), so that nothing is impossible


class Accounts(NamedTuple):
    """How many published accounts told of a cause (or of the one it is part of), and how many there are of such trouble."""

    of_it: float
    all: float


def shift(cause: Cause, families: Collection[str], knowledge: Knowledge) -> float:
    """What accounts of these families of trouble add to the log-odds of a cause; 0 where no trouble was seen.

    The mean share of the cause over the families, against an even share, as a natural logarithm times the weight said in the file.
    A cause and the finer ones that are part of it share what was told of it.  A family with few accounts is drawn towards all accounts.
    """
    if not families or not knowledge.base_rates.counts:
        return 0.0
    tables: dict[str, Mapping[str, float]] | None = knowledge.index.get("base rates")
    if tables is None:
        tables = knowledge.index["base rates"] = _tables(knowledge.base_rates, Counter(c.part_of or c.id for c in knowledge.causes.values()))
    key = cause.part_of or cause.id
    share = math.fsum(tables.get(f, tables[""])[key] for f in families) / len(families)
    return knowledge.base_rates.weight * math.log(share * len(knowledge.causes))


def told(cause: Cause, families: Collection[str], knowledge: Knowledge) -> Accounts:
    """The accounts of these families of trouble."""
    counts = [knowledge.base_rates.counts.get(f, {}) for f in families]
    return Accounts(math.fsum(c.get(cause.part_of or cause.id, 0.0) for c in counts), math.fsum(n for c in counts for n in c.values()))


def _tables(rates: BaseRates, causes: Mapping[str, int]) -> dict[str, Mapping[str, float]]:
    """The share of one card of each cause (id: how many cards it has) by family of trouble, and under "" of all accounts."""
    every = {c: _FLOOR + math.fsum(counts.get(c, 0.0) for counts in rates.counts.values()) for c in causes}
    whole = math.fsum(every.values())
    tables: dict[str, Mapping[str, float]] = {"": {c: every[c] / whole / cards for c, cards in causes.items()}}
    for family, counts in rates.counts.items():
        heard = math.fsum(counts.get(c, 0.0) for c in causes) + rates.pull
        tables[family] = {c: (counts.get(c, 0.0) / cards + rates.pull * tables[""][c]) / heard for c, cards in causes.items()}
    return tables
