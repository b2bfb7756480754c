"""One consultation of the rules: facts in, firings out, with the degree to which each rule fired."""

from collections.abc import Mapping
from typing import NamedTuple

from advisor.engine import MATCHER, engine
from advisor.engine.compiled import compiled
from advisor.facts import UNKNOWN, Degree, atom_degrees
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
        self.engine = engine(plain)

    def consult(self, situation: Situation, quick: bool = False) -> Consultation:
        """Run the rules on one situation; `quick` by the matcher, which defines what the engine must find and is the faster one for many small runs."""
        known = atom_degrees(self.atoms, situation, self.knowledge)
        degrees = {f"+{k}": d.yes for k, d in known.items() if d.yes > 0} | {f"-{k}": d.no for k, d in known.items() if d.no > 0}
        by_rule: dict[str, list[tuple[str, ...]]] = {}
        for rule, used in (MATCHER if quick else self.engine).run(self.table.may_fire(degrees), degrees):
            by_rule.setdefault(rule, []).append(used)
        findings: dict[str, Degree] = {}
        for name in self.order:
            yes = _best(by_rule.get(name, ()), degrees)
            no = _best(by_rule.get(f"{name} (not)", ()), degrees)
            findings[name] = Degree(yes[0], no[0])
            degrees[f"+finding {name}"], degrees[f"-finding {name}"] = yes[0], no[0]
        fired: dict[str, Fired] = {}
        pieces: dict[str, dict[str, Fired]] = {}
        for rule, alternatives in by_rule.items():
            degree, used = _best(alternatives, degrees)
            if degree > 0:
                fired[rule] = Fired(rule, degree, used)
                cause, _, piece = rule.partition("/")
                if piece:
                    pieces.setdefault(cause, {})[piece] = fired[rule]
        return Consultation(fired, findings, pieces)


def rule_base(knowledge: Knowledge) -> RuleBase:
    """The compiled rules of this knowledge, compiled at the first call."""
    found: RuleBase | None = knowledge.index.get("rule base")
    if found is None:
        found = knowledge.index["rule base"] = RuleBase(knowledge)
    return found


def _best(alternatives: list[tuple[str, ...]] | tuple[()], degrees: Mapping[str, float]) -> tuple[float, tuple[str, ...]]:
    """The alternative that holds furthest; ties go to the first in the alphabet, so that no order matters."""
    best: tuple[float, tuple[str, ...]] = (0.0, ())
    for used in sorted(alternatives) if len(alternatives) > 1 else alternatives:
        degree = min([degrees.get(literal, 0.0) for literal in used])      # a list, as most runs spend their time here
        if degree > best[0]:
            best = (degree, used)
    return best


__all__ = ["UNKNOWN", "Consultation", "Fired", "RuleBase", "rule_base"]
