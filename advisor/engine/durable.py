"""The adapter to durable_rules: the only module that knows it, and the fence round what it does wrongly.

Only equality of short words crosses the border.  Each literal gets a code; codes are spread over shards so that few tests
stand side by side, and a literal that many clauses share gets several codes, so that no limit of the engine is reached.
Clauses are split into rule sets run in order; conclusions are carried from one to the next.  Compiling costs more than running,
so a run compiles only what joins conclusions: words given from outside are looked up.
"""

import json
import threading
from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

import durable_rules_engine as native

from advisor.engine.clauses import Clause
from advisor.engine.matcher import Firing

SHARD = 100          # distinct tests side by side (the engine hangs above 512)
SHARED = 150         # clauses on one and the same condition (the engine dies at 256)
CHUNK = 120          # clauses in one rule set (the engine takes 4096, but compiles small sets faster)
NAME = "durable_rules"
_ONE_AT_A_TIME = threading.Lock()
_SID = "s"
_WARM = {"k": "warm", "l": "warm", "id": "warm", "sid": _SID}


class _RuleSet(NamedTuple):
    """One compiled rule set with the codes of its literals."""

    handle: Any
    groups: Sequence[list[Clause]]
    codes: dict[str, list[int]]


Joins = dict[tuple[str, ...], list[Clause]]      # clauses by the concluded literals that they still wait for


def run(clauses: Sequence[Clause], literals: Iterable[str]) -> frozenset[Firing]:
    """Every (rule, literals) that fires, by the engine's C module: no threads, its rule sets deleted after; the same set as the plain matcher gives."""
    known = set(literals)
    fired: set[Firing] = set()
    joins = _joins(clauses, known)
    _take(joins, known, fired)
    waiting = [item for item in joins.items() if len(item[0]) > 1 or (not known.issuperset(item[0]) and any(clause.concludes for clause in item[1]))]
    with _ONE_AT_A_TIME:
        for start in range(0, len(waiting), CHUNK):
            rule_set = _compile(start, dict(waiting[start:start + CHUNK]))
            try:
                fired |= _consult(rule_set, known)
            finally:
                native.delete_ruleset(rule_set.handle)
    _take(joins, known, fired)
    return frozenset(fired)


def _joins(clauses: Sequence[Clause], known: set[str]) -> Joins:
    """The clauses that could fire, by what of them is for the engine: one rule of it serves all that wait for the same conclusions."""
    concluded = {clause.concludes for clause in clauses if clause.concludes}
    may_hold = known | concluded
    joins: Joins = {}
    for clause in clauses:
        if may_hold.issuperset(clause.literals):
            joins.setdefault(tuple([literal for literal in clause.literals if literal in concluded]), []).append(clause)
    return joins


def _take(joins: Joins, known: set[str], fired: set[Firing]) -> None:
    """Fire what waits for one literal or none, and has it: nothing is to be joined there."""
    before = -1
    while len(known) != before:
        before = len(known)
        for literals, clauses in joins.items():
            if len(literals) <= 1 and known.issuperset(literals):
                fired.update((clause.rule, clause.literals) for clause in clauses)
                known.update(clause.concludes for clause in clauses if clause.concludes)


def _compile(start: int, joins: Joins) -> _RuleSet:
    uses: Counter[str] = Counter()
    codes: dict[str, list[int]] = {}
    count = 0
    rules: dict[str, Any] = {"warm": {"all": [{"c0": {"$and": [{"k": "warm"}, {"l": "warm"}]}}]}}
    for number, literals in enumerate(joins):
        tests = []
        for position, literal in enumerate(literals):
            if uses[literal] % SHARED == 0:
                codes.setdefault(literal, []).append(count)
                count += 1
            uses[literal] += 1
            code = codes[literal][-1]
            tests.append({f"c{position}": {"$and": [{"k": f"k{code // SHARD}"}, {"l": f"l{code}"}]}})
        rules[f"r{number}"] = {"all": tests}
    groups = list(joins.values())
    try:
        handle = native.create_ruleset(f"advisor{start}", json.dumps(rules))
    except Exception as error:
        raise RuntimeError(f"the rule engine refused the rules around {groups[0][0].rule!r} to {groups[-1][-1].rule!r}: {error}") from error
    return _RuleSet(handle, groups, codes)


def _consult(rule_set: _RuleSet, known: set[str]) -> set[Firing]:
    """Fire one rule set to the end; adds its conclusions to `known`."""
    fired: set[Firing] = set()
    handle = rule_set.handle
    _, offset = native.assert_fact(handle, json.dumps(_WARM))
    asserted: set[str] = set()
    try:
        for literal in sorted(known & rule_set.codes.keys()):
            _assert(rule_set, literal, asserted)
        found = native.start_action_for_state(handle, offset)
        message = found and found[1]
        while message:
            (name,) = json.loads(message)
            if name != "warm":
                for clause in rule_set.groups[int(name[1:])]:
                    fired.add((clause.rule, clause.literals))
                    if clause.concludes and clause.concludes not in known:
                        known.add(clause.concludes)
                        if clause.concludes in rule_set.codes:
                            _assert(rule_set, clause.concludes, asserted)
            message = native.complete_and_start_action(handle, offset)
    finally:
        native.delete_state(handle, _SID)
    return fired


def _assert(rule_set: _RuleSet, literal: str, asserted: set[str]) -> None:
    if literal in asserted:
        return
    asserted.add(literal)
    for code in rule_set.codes[literal]:
        native.assert_fact(rule_set.handle, f'{{"k":"k{code // SHARD}","l":"l{code}","id":"f{code}","sid":"{_SID}"}}')
