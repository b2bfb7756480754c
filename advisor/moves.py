"""What each answer to a question would do to the causes: only the evidence that the answer touches is weighed again."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from advisor.certainty import Weight, total
from advisor.diagnosis import Examination, Ranked
from advisor.facts import Degree, judge_condition
from advisor.knowledge.conditions import atoms, finding_order
from advisor.knowledge.load import Knowledge
from advisor.knowledge.records import Condition, Evidence, Finding, Question
from advisor.quantities.measure import measure
from advisor.situation import NOTHING, Situation, write_field

HELPED = ("helped", "no-change")


class Option(NamedTuple):
    """One possible answer: a choice id, a number, or (for what was tried) a choice with whether it helped."""

    value: str | float
    helped: str = ""


class Touched(NamedTuple):
    """The findings (in the order of their chain) and the evidence that rest on one fact."""

    findings: dict[str, Finding]
    pieces: dict[str, list[Evidence]]


def options(question: Question) -> tuple[Option, ...]:
    """The answers to reckon with; for a number, its typical values."""
    if question.kind == "number":
        return tuple(Option(v) for v in question.typical)
    if question.reads == "tried":
        return tuple(Option(c.id, h) for c in question.choices if c.id != NOTHING for h in HELPED)
    return tuple(Option(c.id) for c in question.choices)


def supposed(question: Question, option: Option, situation: Situation, knowledge: Knowledge) -> tuple[Situation, list[str]]:
    """The situation if that were the answer, and the facts it touches."""
    if option.helped:
        return situation._replace(tried={**situation.tried, str(option.value): option.helped}), [f"tried {option.value}"]
    value = f"{option.value:g}" if isinstance(option.value, float) else str(option.value)
    after = situation._replace(answers={**situation.answers, question.id: (value,)})
    facts = [f"answer {question.id}"]
    if question.kind == "number" and question.reads:
        batch = write_field(situation.batch, question.reads, option.value)
        mate = knowledge.questions.get(question.beside)
        if mate and mate.typical and mate.id not in situation.answers:      # the number tells only beside another: suppose a usual one
            batch = write_field(batch, mate.reads, mate.typical[-1])
        measures = measure(batch, knowledge)
        old = situation.measures.quantities
        facts += [f"quantity {k}" for k, q in measures.quantities.items() if k not in old or (old[k].low, old[k].high) != (q.low, q.high)]
        after = after._replace(batch=batch, measures=measures)
    return after, facts


def touches(question: Question, knowledge: Knowledge) -> bool:
    """Whether any card or finding looks at the answer at all."""
    if question.kind == "number":
        return bool(question.typical)
    index = touched(knowledge)
    return f"answer {question.id}" in index or (question.reads == "tried" and any(f"tried {c.id}" in index for c in question.choices))


def shifted(live: Sequence[Ranked], question: Question, option: Option, examination: Examination, knowledge: Knowledge) -> dict[str, float]:
    """Cause : log-odds after that answer, for the causes that it moves."""
    after, facts = supposed(question, option, examination.situation, knowledge)
    index = touched(knowledge)
    there = [index[f] for f in facts if f in index]
    if not any(r.cause.id in t.pieces for t in there for r in live):
        return {}
    findings: dict[str, Degree] = dict(examination.consultation.findings)
    hit = {name for t in there for name in t.findings}
    for name in knowledge.index["finding order"]:
        if name in hit:
            findings[name] = judge_condition(knowledge.findings[name].when, after, knowledge, findings)
    out = {}
    for ranked in live:
        name = ranked.cause.id
        pieces = {p.id: p for t in there if name in t.pieces for p in t.pieces[name]}
        if pieces:
            out[name] = ranked.log_odds + _difference(ranked, pieces.values(), after, findings, knowledge)
    return out


def _difference(ranked: Ranked, pieces: Iterable[Evidence], after: Situation, findings: Mapping[str, Degree], knowledge: Knowledge) -> float:
    """How far the sum moves when these pieces are judged anew."""
    have = {r.rule: Weight(r.group, r.weight) for r in (*ranked.reasons, *ranked.doubts)}
    before = total(have.values())
    for piece in pieces:
        rule = f"{ranked.id}/{piece.id}"
        degree = judge_condition(piece.when, after, knowledge, findings).yes
        have.pop(rule, None)
        if degree > 0:
            have[rule] = Weight(piece.group, knowledge.weights.evidence[piece.strength] * degree * (-1 if piece.against else 1))
    return total(have.values()) - before


def touched(knowledge: Knowledge) -> Mapping[str, Touched]:
    """Fact (`answer mixer`, `quantity oil-share`, `tried reheating`) : what rests on it, through findings too."""
    found: dict[str, Touched] | None = knowledge.index.get("touched")
    if found is None:
        found = {}
        order = finding_order(knowledge.findings)
        under: dict[str, set[str]] = {}
        for name in order:
            finding = knowledge.findings[name]
            under[name] = _facts(finding.when, under)
            for fact in under[name]:
                found.setdefault(fact, Touched({}, {})).findings[name] = finding
        for cause in knowledge.causes.values():
            for piece in cause.evidence:
                for fact in _facts(piece.when, under):
                    found.setdefault(fact, Touched({}, {})).pieces.setdefault(cause.id, []).append(piece)
        knowledge.index["finding order"] = order
        knowledge.index["touched"] = found
    return found


def _facts(condition: Condition, under: Mapping[str, set[str]]) -> set[str]:
    out: set[str] = set()
    for atom in atoms(condition):
        if atom.about == "finding":
            out |= under.get(atom.name, set())
        elif atom.about in ("answer", "quantity", "tried"):
            out.add(f"{atom.about} {atom.name}")
    return out

