"""Consulting the rules: the durable_rules engine where it can be imported, the plain matcher otherwise."""

import os
from collections.abc import Callable, Iterable, Sequence
from typing import NamedTuple

from advisor.engine import matcher
from advisor.engine.clauses import Clause
from advisor.engine.matcher import Firing

NO_ENGINE = "ADVISOR_PLAIN_MATCHER"


class Engine(NamedTuple):
    """What both engines offer: a name, and every firing of some clauses on some literals."""

    name: str
    run: Callable[[Sequence[Clause], Iterable[str]], frozenset[Firing]]


MATCHER = Engine(matcher.NAME, matcher.run)


def engine(plain: bool = False) -> Engine:
    """The durable_rules engine if it is there and not declined (`plain`, or the variable NO_ENGINE set), else the matcher."""
    if not plain and not os.environ.get(NO_ENGINE):
        try:
            from advisor.engine import durable
        except ImportError:
            return MATCHER
        return Engine(durable.NAME, durable.run)
    return MATCHER
