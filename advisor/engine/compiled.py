"""What the conditions of the knowledge come to before any batch is seen: clauses, atoms and the order of the findings."""

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
from advisor.knowledge.records import Atom, Cause, Finding


class Compiled(NamedTuple):
    """The clauses for the engine; every atom by its key; the ids of the findings, each after those it rests on."""

    clauses: list[Clause]
    atoms: dict[str, Atom]
    order: list[str]


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
    return Compiled(clauses_of(findings, causes), {atom_key(a): a for a in every}, finding_order(findings))


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
    return json.dumps([list(number), rules, list(found.atoms.items()), found.order], ensure_ascii=False, separators=(",", ":"))


def _read(text: str) -> Compiled | None:
    """What `_text` wrote; None where it is not that."""
    try:
        literals, rules, every, order = json.loads(text)
        clauses = [Clause(rule, tuple([literals[n] for n in numbers]), concludes) for rule, numbers, concludes in rules]
        return Compiled(clauses, {key: Atom(about, name, tuple(words), tuple(edge), form) for key, (about, name, words, edge, form) in every}, order)
    except (LookupError, ValueError, TypeError):
        return None
