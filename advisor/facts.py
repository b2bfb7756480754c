"""Every atom of the knowledge judged against one situation: how far it holds and how far its contrary does.

Both degrees lie in 0..1; known plain facts give (1, 0) or (0, 1), a ramp gives degrees that add to 1, unknown gives (0, 0);
what an unknown line could hide is absent to some degree.
"""

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from advisor.knowledge.conditions import atom_key
from advisor.knowledge.load import Knowledge
from advisor.knowledge.records import Atom, Condition
from advisor.situation import NOT_SURE, Situation


class Degree(NamedTuple):
    """How far a statement holds and how far its contrary holds."""

    yes: float
    no: float


YES, NO, UNKNOWN = Degree(1.0, 0.0), Degree(0.0, 1.0), Degree(0.0, 0.0)


def judge(atom: Atom, situation: Situation, knowledge: Knowledge, findings: Mapping[str, Degree]) -> Degree:
    """The degrees of one atom."""
    if atom.about == "finding":
        return findings.get(atom.name, UNKNOWN)
    return _untold(atom, situation, knowledge) if atom.form == "untold" else _JUDGES[atom.about](atom, situation, knowledge)


def judge_condition(condition: Condition, situation: Situation, knowledge: Knowledge, findings: Mapping[str, Degree]) -> Degree:
    """The degrees of a whole condition: least for all, greatest for any, turned round for not."""
    if isinstance(condition, Atom):
        return judge(condition, situation, knowledge, findings)
    if condition.kind == "not":
        part = judge_condition(condition.of[0], situation, knowledge, findings)
        return Degree(part.no, part.yes)
    together = condition.kind == "all"
    least, most = 1.0, 0.0      # of what must be known of every part, and of what one part is enough for
    for one in condition.of:
        part = judge_condition(one, situation, knowledge, findings)
        holds, fails = part if together else (part.no, part.yes)
        least, most = min(least, holds), max(most, fails)
        if most == 1.0 and least == 0.0:      # no other part changes that
            break
    return Degree(least, most) if together else Degree(most, least)


class Findings(dict[str, Degree]):
    """The findings of a situation, each judged by its own condition when first asked for."""

    def __init__(self, situation: Situation, knowledge: Knowledge) -> None:
        super().__init__()
        self._situation, self._knowledge = situation, knowledge

    def __missing__(self, name: str) -> Degree:
        self[name] = UNKNOWN      # for one that would rest on itself
        self[name] = judge_condition(self._knowledge.findings[name].when, self._situation, self._knowledge, self)
        return self[name]

    def get(self, name: str, default: Any = None) -> Any:
        return self[name]


def atom_degrees(atoms: Mapping[str, Sequence[tuple[str, Atom]]], situation: Situation, knowledge: Knowledge) -> dict[str, Degree]:
    """The degrees by key of all atoms (by the fact they look at) of which something is known; no findings are among them."""
    told = {"answer": situation.answers, "tried": situation.tried, "quantity": situation.measures.quantities}
    out: dict[str, Degree] = {}
    for fact, under in atoms.items():
        about, _, name = fact.partition(" ")
        if about not in told or name in told[about]:
            judged = _JUDGES.get(about, _untold)
            for key, atom in under:
                out[key] = judged(atom, situation, knowledge)
    return out


def ramp(atom: Atom, value: float) -> float:
    """How far a number meets a quantity atom: 0 at none, 1 at full, straight between."""
    if atom.form == "between":
        low, high, margin = atom.edge
        outside = max(low - value, value - high, 0.0)
        return max(0.0, 1.0 - outside / margin)
    none_at, full_at = atom.edge
    return min(1.0, max(0.0, (value - none_at) / (full_at - none_at)))


def _untold(atom: Atom, situation: Situation, knowledge: Knowledge) -> Degree:
    degree = _JUDGES[atom.about](atom, situation, knowledge)
    return Degree(1.0 - degree.yes, degree.yes)


def _quantity(atom: Atom, situation: Situation, _knowledge: Knowledge) -> Degree:
    found = situation.measures.quantities.get(atom.name)
    if found is None:
        return UNKNOWN
    if atom.form == "untold":
        return YES
    if found.low == found.high:
        degree = ramp(atom, found.value)
        return Degree(degree, 1.0 - degree)
    ends = [ramp(atom, found.low), ramp(atom, found.high)]
    if atom.form == "between" and found.low < atom.edge[1] and found.high > atom.edge[0]:
        ends.append(1.0)
    return Degree(min(ends), 1.0 - max(ends))


def _symptom(atom: Atom, situation: Situation, knowledge: Knowledge) -> Degree:
    best = UNKNOWN
    for sign in situation.signs:
        if not is_under(sign.symptom, atom.name, knowledge):
            continue
        if sign.denied:
            best = max(best, NO) if best == UNKNOWN else best
        elif not atom.words or sign.when in atom.words:
            return YES
        elif sign.when is not None:
            best = NO
    return best


def is_under(symptom: str, broader: str, knowledge: Knowledge) -> bool:
    """Whether a symptom is the other one, or a narrower form of it."""
    probe: str | None = symptom
    while probe:
        if probe == broader:
            return True
        probe = knowledge.symptoms[probe].under if probe in knowledge.symptoms else None
    return False


def _answer(atom: Atom, situation: Situation, _knowledge: Knowledge) -> Degree:
    given = situation.answers.get(atom.name, ())
    if not given or NOT_SURE in given:
        return UNKNOWN
    return YES if set(given) & set(atom.words) else NO


def _tried(atom: Atom, situation: Situation, _knowledge: Knowledge) -> Degree:
    given = situation.tried.get(atom.name)
    return UNKNOWN if given is None else YES if given in atom.words else NO


def _kind(atom: Atom, situation: Situation, _knowledge: Knowledge) -> Degree:
    kind = situation.measures.kind
    return UNKNOWN if not kind else YES if kind in atom.words else NO


def _class(atom: Atom, situation: Situation, _knowledge: Knowledge) -> Degree:
    return _STATES[situation.measures.class_state(atom.name)]


def _listed(atom: Atom, situation: Situation, _knowledge: Knowledge) -> Degree:
    measures = situation.measures
    if not measures.lines:
        return UNKNOWN
    if atom.name in measures.present:
        return YES
    return Degree(0.0, measures.unlisted(atom.name)) if measures.unread else NO


_STATES = {"yes": YES, "no": NO, "unknown": UNKNOWN}
_JUDGES = {"quantity": _quantity, "symptom": _symptom, "answer": _answer, "tried": _tried, "kind": _kind, "class": _class,
           "listed": _listed}

__all__ = ["NO", "UNKNOWN", "YES", "Degree", "Findings", "atom_degrees", "atom_key", "is_under", "judge", "judge_condition", "ramp"]
