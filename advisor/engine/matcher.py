"""The plain matcher: the definition of what a rule base concludes, and the stand-in when the engine is missing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from advisor.engine.clauses import Clause

Firing = tuple[str, tuple[str, ...]]     # rule, the literals that made it fire
NAME = "plain matcher"


def run(clauses: Sequence[Clause], literals: Iterable[str]) -> frozenset[Firing]:
    """Every (rule, literals) that fires from these literals, with what their conclusions add: looked through until nothing more does."""
    known = set(literals)
    fired: set[Firing] = set()
    waiting, before = clauses, -1
    while len(known) != before:
        before, left = len(known), []
        for clause in waiting:
            if known.issuperset(clause.literals):
                fired.add((clause.rule, clause.literals))
                if clause.concludes:
                    known.add(clause.concludes)
            else:
                left.append(clause)
        waiting = left
    return frozenset(fired)
