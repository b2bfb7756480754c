"""Conditions of findings and evidence as clauses: conjunctions of plain words, the form that both engines read.

A literal is `+` or `-` before the key of an atom: the atom holds, or its contrary holds.  Unknown is neither.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import product

from advisor.errors import InputError, Place, Problem
from advisor.knowledge.conditions import atom_key, atoms
from advisor.knowledge.records import Atom, Cause, Condition, Finding

MAX_LITERALS = 12     # the engine takes 16 conditions a rule
MAX_CLAUSES = 200     # of one condition, once its alternatives are multiplied out


@dataclass(frozen=True, slots=True, order=True)
class Clause:
    """All literals together fire `rule`; `concludes` is the literal that then holds too (findings), or empty."""

    rule: str
    literals: tuple[str, ...]
    concludes: str = ""


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


def finding_order(findings: Mapping[str, Finding]) -> list[str]:
    """Ids of findings so that each comes after those it rests on; raises InputError for a circle."""
    needs = {name: {a.name for a in atoms(f.when) if a.about == "finding" and a.name in findings} for name, f in findings.items()}
    out: list[str] = []
    while needs:
        free = sorted(name for name, rest in needs.items() if rest <= set(out))
        if not free:
            circle = sorted(needs)
            place = findings[circle[0]].place or Place("rules/findings")
            raise InputError(Problem(place, "these findings rest on each other in a circle: " + ", ".join(circle),
                                     "Take one of them out of the other's condition.", "circular"))
        out += free
        for name in free:
            del needs[name]
    return out


def _normal(condition: Condition, positive: bool, rule: str, place: Place | None) -> list[tuple[str, ...]]:
    found = sorted({tuple(sorted(c)) for c in _alternatives(condition, positive)})
    kept = [c for c in found if not any(set(d) < set(c) for d in found)]
    if len(kept) > MAX_CLAUSES or any(len(c) > MAX_LITERALS for c in kept):
        raise InputError(Problem(place or Place(rule), f"the condition of {rule} is too large",
                                 "Name a part of it as a finding and use that.", "too-large"))
    return kept


def _alternatives(condition: Condition, positive: bool) -> Iterable[frozenset[str]]:
    if isinstance(condition, Atom):
        return [frozenset({("+" if positive else "-") + atom_key(condition)})]
    if condition.kind == "not":
        return _alternatives(condition.of[0], not positive)
    parts = [list(_alternatives(part, positive)) for part in condition.of]
    if (condition.kind == "any") == positive:
        return [c for part in parts for c in part]
    return [frozenset().union(*combo) for combo in product(*parts)]
