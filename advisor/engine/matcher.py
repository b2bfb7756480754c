"""The plain matcher: the definition of what a rule base concludes, and the stand-in when the engine is missing."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence

from advisor.engine.clauses import Clause

Firing = tuple[str, tuple[str, ...]]     # rule, the literals that made it fire


class Matcher:
    """Forward chaining by counting what each clause still lacks."""

    name = "plain matcher"

    def __init__(self, clauses: Sequence[Clause]) -> None:
        self._clauses = tuple(clauses)
        self._users: dict[str, list[int]] = defaultdict(list)
        self._lacking: list[int] = []
        self._firings: list[Firing] = []
        for index, clause in enumerate(self._clauses):
            self._lacking.append(len(clause.literals))
            self._firings.append((clause.rule, clause.literals))
            for literal in clause.literals:
                self._users[literal].append(index)

    def run(self, literals: Iterable[str]) -> frozenset[Firing]:
        """Every (rule, literals) that fires from these literals, with what their conclusions add."""
        lacking = self._lacking.copy()
        known: set[str] = set()
        agenda = list(literals)
        fired: set[Firing] = set()
        while agenda:
            literal = agenda.pop()
            if literal in known:
                continue
            known.add(literal)
            for index in self._users.get(literal, ()):
                lacking[index] -= 1
                if not lacking[index]:
                    fired.add(self._firings[index])
                    if concludes := self._clauses[index].concludes:
                        agenda.append(concludes)
        return frozenset(fired)
