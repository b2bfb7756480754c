"""Consulting the rules: the durable_rules engine where it can be imported, the plain matcher otherwise."""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from typing import Protocol

from advisor.engine.clauses import Clause
from advisor.engine.matcher import Firing, Matcher

NO_ENGINE = "ADVISOR_PLAIN_MATCHER"


class Engine(Protocol):
    """What both engines offer."""

    name: str

    def run(self, literals: Iterable[str]) -> frozenset[Firing]: ...


def make_engine(clauses: Sequence[Clause], plain: bool = False) -> Engine:
    """The durable_rules engine if it is there and not declined (`plain`, or the variable NO_ENGINE set), else the matcher."""
    if not plain and not os.environ.get(NO_ENGINE):
        try:
            from advisor.engine.durable import DurableEngine
        except ImportError:
            return Matcher(clauses)
        return DurableEngine(clauses)
    return Matcher(clauses)


def engine_name() -> str:
    """Which engine is in use on this machine."""
    return make_engine([]).name
