"""What each answer to a question would do to the causes: only the evidence that the answer touches is weighed again."""

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from advisor.certainty import Weight, total
from advisor.consultation import rule_base
from advisor.diagnosis import Examination, Ranked
from advisor.facts import Degree, judge_condition
from advisor.knowledge.load import Knowledge
from advisor.knowledge.records import Evidence, Question
from advisor.quantities.measure import measure
from advisor.situation import NOTHING, Situation, write_field

HELPED = ("helped", "no-change")


class Option(NamedTuple):
    """One possible answer: a choice id, a number, or (for what was tried) a choice with whether it helped."""

    value: str | float
    helped: str = ""


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
    index = rule_base(knowledge).touched
    return f"answer {question.id}" in index or (question.reads == "tried" and any(f"tried {c.id}" in index for c in question.choices))


def shifted(live: Sequence[Ranked], question: Question, option: Option, examination: Examination, knowledge: Knowledge) -> dict[str, float]:
    """Cause : log-odds after that answer, for the causes that it moves."""
    after, facts = supposed(question, option, examination.situation, knowledge)
    base = rule_base(knowledge)
    there = [base.touched[f] for f in facts if f in base.touched]
    if not any(r.cause.id in t.pieces for t in there for r in live):
        return {}
    findings: dict[str, Degree] = dict(examination.consultation.findings)
    for name in sorted({name for t in there for name in t.findings}, key=base.place.__getitem__):
        findings[name] = judge_condition(knowledge.findings[name].when, after, knowledge, findings)
    out = {}
    for ranked in live:
        name = ranked.cause.id
        moved = dict.fromkeys(piece for t in there for piece in t.pieces.get(name, ()))
        if moved:
            out[name] = ranked.log_odds + _difference(ranked, [ranked.cause.pieces[p] for p in moved], after, findings, knowledge)
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
