"""What the conditions of the knowledge come to before any batch is seen: clauses, atoms, the order of the findings and what rests on each fact."""

import json
from collections.abc import Mapping
from itertools import chain
from pathlib import Path
from typing import NamedTuple
from zlib import crc32

from advisor.engine import clauses as code_of_clauses
from advisor.engine.clauses import Table, clauses_of, table_of
from advisor.knowledge import conditions as code_of_conditions
from advisor.knowledge.conditions import atom_key, atoms, finding_order
from advisor.knowledge.kept import keep, read_kept
from advisor.knowledge.lazy import Lazy
from advisor.knowledge.records import Atom, Cause, Condition, Finding


class Touched(NamedTuple):
    """The findings and the evidence (cause : ids of pieces) that rest on one fact, directly or through findings."""

    findings: list[str]
    pieces: dict[str, list[str]]


class Compiled(NamedTuple):
    """The clauses for the engine; every atom that is no finding with its key, by the fact it looks at; the ids of the findings, each after
    those it rests on; what rests on each fact.

    A fact is what an answer, a quantity or something tried tells: `answer mixer`, `quantity oil-share`, `tried reheating`; for atoms also
    the others (`kind kind`, `listed Aqua`), and that nothing is told: `untold answer mixer`.
    """

    table: Table
    atoms: Mapping[str, list[tuple[str, Atom]]]
    order: list[str]
    touched: Mapping[str, Touched]


def compiled(findings: Mapping[str, Finding], causes: Mapping[str, Cause], checksum: str = "") -> Compiled:
    """The conditions compiled; kept from run to run under the `checksum` of the files they stand in, if one is given, and of this code.

    Raises InputError for findings in a circle and for a condition too large.
    """
    key = _key(checksum)
    text = (read_kept("clauses", key) if key else None) or ""
    if not _is_whole(text):
        text = _text(findings, causes)
        if key:
            keep("clauses", key, text)
    return _read(text)


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


def _text(findings: Mapping[str, Finding], causes: Mapping[str, Cause]) -> str:
    """All of it as a checksum and a line of JSON."""
    conditions = chain((f.when for f in findings.values()), (e.when for c in causes.values() for e in c.evidence))
    every: dict[str, list[tuple[str, Atom]]] = {}
    for atom in dict.fromkeys(chain.from_iterable(map(atoms, conditions))):
        if atom.about != "finding":
            every.setdefault("untold " * (atom.form == "untold") + f"{atom.about} {atom.name}", []).append((atom_key(atom), atom))
    order = finding_order(findings)
    body = json.dumps([table_of(clauses_of(findings, causes)), every, order, _touched(order, findings, causes)], separators=(",", ":"))
    return f"{crc32(body.encode()):08x}{body}"


def _is_whole(text: str) -> bool:
    return text[:8] == f"{crc32(text[8:].encode()):08x}"


def _read(text: str) -> Compiled:
    """What `_text` wrote; what rests on a fact is made when asked for, as few are."""
    table, every, order, touched = json.loads(text[8:])
    known = {fact: [(key, Atom(about, name, tuple(words), tuple(edge), form)) for key, (about, name, words, edge, form) in raw] for fact, raw in every.items()}
    return Compiled(Table(*table), known, order, Lazy(touched, lambda _, raw: Touched(*raw)))
