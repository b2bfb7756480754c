"""One consultation of the rules: facts in, firings out, with the degree to which each rule fired."""

from collections.abc import Mapping
from typing import NamedTuple

from advisor.engine import MATCHER, engine
from advisor.engine.compiled import compiled
from advisor.facts import Degree, atom_degrees
from advisor.knowledge.load import Knowledge
from advisor.situation import Situation


class Fired(NamedTuple):
    """A rule that fired: how far (0..1), and the literals that made it fire best."""

    rule: str
    degree: float
    literals: tuple[str, ...]


class Consultation(NamedTuple):
    """What one run concluded: rules by name, findings, and of the rules the pieces of evidence by their cause and id."""

    fired: Mapping[str, Fired]
    findings: Mapping[str, Degree]
    pieces: Mapping[str, Mapping[str, Fired]]


class RuleBase:
    """The knowledge compiled once for as many consultations as one likes."""

    def __init__(self, knowledge: Knowledge, plain: bool = False) -> None:
        self.knowledge = knowledge
        self.table, self.atoms, self.order, self.touched = compiled(knowledge.findings, knowledge.causes, knowledge.index.get("checksum", ""))
        self.place = {name: number for number, name in enumerate(self.order)}      # of each finding in the order
        self.engine = engine(plain)

    def consult(self, situation: Situation, quick: bool = False) -> Consultation:
        """Run the rules on one situation; `quick` by the matcher, which defines what the engine must find and is the faster one for many small runs."""
        known = atom_degrees(self.atoms, situation, self.knowledge)
        degrees = {f"+{k}": d.yes for k, d in known.items() if d.yes > 0} | {f"-{k}": d.no for k, d in known.items() if d.no > 0}
        by_rule: dict[str, list[tuple[str, ...]]] = {}
        for rule, used in (MATCHER if quick else self.engine).run(self.table.may_fire(degrees), degrees):
            by_rule.setdefault(rule, []).append(used)
        fired: dict[str, Fired] = {}
        for name in self.order:
            for rule, literal in ((name, f"+finding {name}"), (f"{name} (not)", f"-finding {name}")):
                if rule in by_rule:
                    fired[rule] = best = _best(rule, by_rule.pop(rule), degrees)
                    degrees[literal] = best.degree
        findings = {name: Degree(degrees.get(f"+finding {name}", 0.0), degrees.get(f"-finding {name}", 0.0)) for name in self.order}
        pieces: dict[str, dict[str, Fired]] = {}
        for rule, alternatives in by_rule.items():
            fired[rule] = best = _best(rule, alternatives, degrees)
            cause, _, piece = rule.partition("/")
            pieces.setdefault(cause, {})[piece] = best
        return Consultation(fired, findings, pieces)


def rule_base(knowledge: Knowledge) -> RuleBase:
    """The compiled rules of this knowledge, compiled at the first call."""
    found: RuleBase | None = knowledge.index.get("rule base")
    if found is None:
        found = knowledge.index["rule base"] = RuleBase(knowledge)
    return found


def _best(rule: str, alternatives: list[tuple[str, ...]], degrees: Mapping[str, float]) -> Fired:
    """The alternative that holds furthest; ties go to the first in the alphabet, so that no order matters."""
    held = [(-min([degrees.get(literal, 0.0) for literal in used]), used) for used in alternatives]
    degree, used = min(held) if len(held) > 1 else held[0]
    return Fired(rule, -degree, used)


__all__ = ["Consultation", "Fired", "RuleBase", "rule_base"]
