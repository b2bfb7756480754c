"""What each open question or bench test is worth: the expected change of the leading advice per effort.  Asks nothing itself."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from advisor.certainty import certainty
from advisor.diagnosis import RULED_OUT, Examination, Ranked
from advisor.facts import judge_condition
from advisor.knowledge.conditions import atoms
from advisor.knowledge.load import Knowledge
from advisor.knowledge.records import Question

WORTH_ASKING = 0.01
LIVE = 8


@dataclass(frozen=True, slots=True)
class OpenQuestion:
    """A question that could change the advice, with its gain per effort."""

    question: Question
    gain: float


def open_questions(examination: Examination, knowledge: Knowledge) -> tuple[OpenQuestion, ...]:
    """The questions worth asking, best first; empty when no answer could change the advice."""
    live = [r for r in examination.ranked if r.standing != RULED_OUT][:LIVE]
    if not live:
        live = [r for r in examination.ranked if r.explains][:LIVE]
    moves = _moves(live, knowledge)
    out = []
    for question in knowledge.questions.values():
        given = examination.situation.answers.get(question.id) or question.id in examination.situation.batch.answers
        if given or question.id not in moves or not question.choices:
            continue
        if question.when is not None and judge_condition(question.when, examination.situation, knowledge,
                                                         examination.consultation.findings).no >= 1:
            continue
        value = gain(question, live, moves[question.id], knowledge)
        if value > WORTH_ASKING:
            out.append(OpenQuestion(question, value))
    return tuple(sorted(out, key=lambda q: (-q.gain, q.question.id)))


def gain(question: Question, live: list[Ranked], moves: Mapping[str, Mapping[str, float]], knowledge: Knowledge) -> float:
    """Expected change of the leading advice by one answer, times the chance of a known answer, by effort."""
    if not live:
        return 0.0
    w = knowledge.weights
    choices = [c.id for c in question.choices]
    weight = {r.id: max(r.certainty, 1e-6) for r in live}
    whole = sum(weight.values())
    expected = 0.0
    advice = _advice(live[0])
    for choice in choices:
        chance = sum(weight[r.id] / whole * _chance(choice, choices, moves.get(r.id, {})) for r in live)
        after = sorted(live, key=lambda r: (-(r.log_odds + moves.get(r.id, {}).get(choice, 0.0)), r.id))
        top = after[0]
        shift = certainty(top.log_odds + moves.get(top.id, {}).get(choice, 0.0)) - \
            certainty(live[0].log_odds + moves.get(live[0].id, {}).get(choice, 0.0))
        if _advice(top) != advice:
            expected += chance * max(shift, 0.02)
        else:
            expected += 0.15 * chance * abs(certainty(top.log_odds + moves.get(top.id, {}).get(choice, 0.0)) - live[0].certainty)
    return expected * (1.0 - w.unsure[question.unsure]) / w.effort[question.effort]


def _advice(ranked: Ranked) -> tuple[str, str]:
    """What the maker would be told: the fate and the first fix."""
    return ranked.cause.fate.verdict, f"{ranked.id}/{ranked.cause.fixes[0].id}"


def _chance(choice: str, choices: list[str], moves: Mapping[str, float]) -> float:
    """P(answer | cause): even odds tilted by the evidence that the answer is, normalised."""
    tilt = {c: math.exp(moves.get(c, 0.0)) for c in choices}
    return tilt[choice] / sum(tilt.values())


def _moves(live: list[Ranked], knowledge: Knowledge) -> dict[str, dict[str, dict[str, float]]]:
    """Question : cause : choice : log-odds that this answer adds, as the cards say it."""
    w = knowledge.weights
    reach = _answers_of_findings(knowledge)
    out: dict[str, dict[str, dict[str, float]]] = {}
    for ranked in live:
        for piece in ranked.cause.evidence:
            value = w.evidence[piece.strength] * (-1 if piece.against else 1)
            for atom in atoms(piece.when):
                pairs = [(atom.name, atom.words)] if atom.about == "answer" else reach.get(atom.name, []) if atom.about == "finding" else []
                for name, words in pairs:
                    here = out.setdefault(name, {}).setdefault(ranked.id, {})
                    for word in words:
                        if abs(value) > abs(here.get(word, 0.0)):
                            here[word] = value
    return out


def _answers_of_findings(knowledge: Knowledge) -> dict[str, list[tuple[str, tuple[str, ...]]]]:
    """Finding : the answers it rests on, through other findings too."""
    found: dict[str, list[tuple[str, tuple[str, ...]]]] | None = knowledge.index.get("answers of findings")
    if found is None:
        found = {}
        for _ in range(3):
            for f in knowledge.findings.values():
                own = [(a.name, a.words) for a in atoms(f.when) if a.about == "answer"]
                own += [p for a in atoms(f.when) if a.about == "finding" for p in found.get(a.name, [])]
                found[f.id] = own
        knowledge.index["answers of findings"] = found
    return found


__all__ = ["OpenQuestion", "gain", "open_questions"]
