"""Conditions of findings and evidence as clauses: conjunctions of plain words, the form that both engines read.

A literal is `+` or `-` before the key of an atom: the atom holds, or its contrary holds.  Unknown is neither.
"""

from collections import Counter
from collections.abc import Container, Iterable, Mapping
from itertools import chain
from typing import Any, NamedTuple

from advisor.errors import InputError, Place, Problem
from advisor.knowledge.conditions import finding_order, normal_clauses
from advisor.knowledge.records import Cause, Condition, Finding

MAX_LITERALS = 12     # the engine takes 16 conditions a rule
MAX_CLAUSES = 200     # of one condition, once its alternatives are multiplied out


class Clause(NamedTuple):
    """All literals, each there once, together fire `rule`; `concludes` is the literal that then holds too (findings), or empty."""

    rule: str
    literals: tuple[str, ...]
    concludes: str = ""


class Table(NamedTuple):
    """All clauses with each literal written once and named by its number: of thousands, a batch needs some hundreds.

    A row is the literals that must hold together, and the rules (numbers in `names`) that they fire, each with the literal it concludes or None.
    `rows` has the rows by the rarest of their literals that nothing concludes, or, as the last, those without one.
    """

    literals: list[str]
    names: list[str]
    rows: list[list[list[list[Any]]]]
    concluded: list[int]

    def may_fire(self, known: Container[str]) -> list[Clause]:
        """The clauses that could fire where these literals are known: a literal that nothing concludes holds or does not from the start."""
        held = [number for number, literal in enumerate(self.literals) if literal in known]
        may_hold = {*held, *self.concluded}
        rows = [row for number in (*held, -1) for row in self.rows[number] if may_hold.issuperset(row[0])]
        may_hold = {*held, *[number for row in rows for _, number in row[1] if number is not None]}      # what nothing left concludes cannot hold either; a third look would hardly take more away
        return [Clause(self.names[rule], tuple([self.literals[n] for n in row[0]]), "" if number is None else self.literals[number])
                for row in rows if may_hold.issuperset(row[0]) for rule, number in row[1]]


def table_of(clauses: Iterable[Clause]) -> Table:
    """The clauses as a table."""
    numbers: dict[str, int] = {}
    names: dict[str, int] = {}
    rows: dict[tuple[int, ...], list[list[Any]]] = {}
    for clause in clauses:
        row = tuple([numbers.setdefault(literal, len(numbers)) for literal in clause.literals])
        rows.setdefault(row, []).append([names.setdefault(clause.rule, len(names)), numbers.setdefault(clause.concludes, len(numbers)) if clause.concludes else None])
    concluded = dict.fromkeys(number for rules in rows.values() for _, number in rules if number is not None)
    uses = Counter(chain.from_iterable(rows))
    under: list[list[list[list[Any]]]] = [[] for _ in range(len(numbers) + 1)]
    for row, rules in rows.items():
        rarest = min((n for n in row if n not in concluded), key=lambda n: (uses[n], n), default=-1)
        under[rarest].append([list(row), rules])
    return Table(list(numbers), list(names), under, list(concluded))


def clauses_of(findings: Mapping[str, Finding], causes: Mapping[str, Cause]) -> list[Clause]:
    """Every clause of the knowledge, findings first and in an order in which none comes before what it needs."""
    out: list[Clause] = []
    for name in finding_order(findings):
        finding = findings[name]
        for sign, positive in (("+", True), ("-", False)):
            out += [Clause(f"{name}{'' if positive else ' (not)'}", literals, f"{sign}finding {name}")
                    for literals in _normal(finding.when, positive, name, finding.place)]
    for cause in causes.values():
        for piece in cause.evidence:
            rule = f"{cause.id}/{piece.id}"
            out += [Clause(rule, literals) for literals in _normal(piece.when, True, rule, piece.place)]
    return out


def _normal(condition: Condition, positive: bool, rule: str, place: Place | None) -> list[tuple[str, ...]]:
    kept = normal_clauses(condition, positive)
    if len(kept) > MAX_CLAUSES or any(len(c) > MAX_LITERALS for c in kept):
        raise InputError(Problem(place or Place(rule), f"the condition of {rule} is too large",
                                 "Name a part of it as a finding and use that.", "too-large"))
    return kept
