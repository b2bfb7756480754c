"""Conditions of findings and evidence as clauses: conjunctions of plain words, the form that both engines read.

A literal is `+` or `-` before the key of an atom: the atom holds, or its contrary holds.  Unknown is neither.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

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
