"""What the conditions of the knowledge come to before any batch is seen: clauses, atoms, the order of the findings and what rests on each fact."""

from __future__ import annotations

import json
from collections.abc import Mapping
from itertools import chain
from pathlib import Path
from typing import NamedTuple
from zlib import crc32

from advisor.engine import clauses as code_of_clauses
from advisor.engine.clauses import Clause, clauses_of
from advisor.knowledge import conditions as code_of_conditions
from advisor.knowledge.conditions import atom_key, atoms, finding_order
from advisor.knowledge.kept import keep, read_kept
from advisor.knowledge.records import Atom, Cause, Condition, Finding


class Touched(NamedTuple):
    """The findings and the evidence (cause : ids of pieces) that rest on one fact, directly or through findings."""

    findings: list[str]
    pieces: dict[str, list[str]]


class Compiled(NamedTuple):
    """The clauses for the engine; every atom by its key; the ids of the findings, each after those it rests on; what rests on each fact.

    A fact is what an answer, a quantity or something tried tells: `answer mixer`, `quantity oil-share`, `tried reheating`.
    """

    clauses: list[Clause]
    atoms: dict[str, Atom]
    order: list[str]
    touched: dict[str, Touched]


def compiled(findings: Mapping[str, Finding], causes: Mapping[str, Cause], checksum: str = "") -> Compiled:
    """The conditions compiled; kept from run to run under the `checksum` of the files they stand in, if one is given, and of this code.

    Raises InputError for findings in a circle and for a condition too large.
    """
    key = _key(checksum)
    found = _read(read_kept("clauses", key) or "") if key else None
    if found is None:
        found = _compiled(findings, causes)
        if key:
            keep("clauses", key, _text(found))
    return found


def _compiled(findings: Mapping[str, Finding], causes: Mapping[str, Cause]) -> Compiled:
    conditions = chain((f.when for f in findings.values()), (e.when for c in causes.values() for e in c.evidence))
    every = dict.fromkeys(chain.from_iterable(map(atoms, conditions)))
    order = finding_order(findings)
    return Compiled(clauses_of(findings, causes), {atom_key(a): a for a in every}, order, _touched(order, findings, causes))


def _touched(order: list[str], findings: Mapping[str, Finding], causes: Mapping[str, Cause]) -> dict[str, Touched]:
    found: dict[str, Touched] = {}
    under: dict[str, set[str]] = {}
    for name in order:
        under[name] = _facts(findings[name].when, under)
        for fact in sorted(under[name]):
            found.setdefault(fact, Touched([], {})).findings.append(name)
    for cause in causes.values():
        for piece in cause.evidence:
            for fact in sorted(_facts(piece.when, under)):
                found.setdefault(fact, Touched([], {})).pieces.setdefault(cause.id, []).append(piece.id)
    return found


def _facts(condition: Condition, under: Mapping[str, set[str]]) -> set[str]:
    out: set[str] = set()
    for atom in atoms(condition):
        if atom.about == "finding":
            out |= under.get(atom.name, set())
        elif atom.about in ("answer", "quantity", "tried"):
            out.add(f"{atom.about} {atom.name}")
    return out


def _key(checksum: str) -> str:
    try:
        code = b"".join(Path(f).read_bytes() for f in (__file__, code_of_clauses.__file__, code_of_conditions.__file__))
    except OSError:      # code that is no file of its own
        return ""
    return f"{checksum}{crc32(code):08x}" if checksum else ""


def _text(found: Compiled) -> str:
    """As JSON, each literal written once and named by its number."""
    number = {literal: n for n, literal in enumerate(dict.fromkeys(chain.from_iterable(c.literals for c in found.clauses)))}
    rules = [(c.rule, [number[literal] for literal in c.literals], c.concludes) for c in found.clauses]
    return json.dumps([list(number), rules, list(found.atoms.items()), found.order, found.touched], separators=(",", ":"))


def _read(text: str) -> Compiled | None:
    """What `_text` wrote; None where it is not that."""
    try:
        literals, rules, every, order, touched = json.loads(text)
        clauses = [Clause(rule, tuple([literals[n] for n in numbers]), concludes) for rule, numbers, concludes in rules]
        known = {key: Atom(about, name, tuple(words), tuple(edge), form) for key, (about, name, words, edge, form) in every}
        return Compiled(clauses, known, order, {fact: Touched(*both) for fact, both in touched.items()})
    except (LookupError, ValueError, TypeError, AttributeError):
        return None
