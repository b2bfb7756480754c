"""What each open question or bench test is worth: the expected change of the leading advice per effort.  Asks nothing itself."""

import math
from collections.abc import Mapping
from typing import NamedTuple

from advisor.certainty import certainty
from advisor.diagnosis import LIKELY, RULED_OUT, SETTLED, Examination, Ranked
from advisor.facts import is_under, judge_condition
from advisor.information import advice_gain, information_gain
from advisor.knowledge.load import Knowledge
from advisor.knowledge.records import Question
from advisor.moves import options, shifted, touches

WORTH_ASKING = 0.015
LIVE = 10
REACH = 7.0          # log-odds behind the leader from which one answer hardly brings a cause to the front
FORESIGHT = 0.2     # what one bit counts beside a change of advice: two answers may together do what neither does alone


class OpenQuestion(NamedTuple):
    """A question that could change the advice, with its gain per effort."""

    question: Question
    gain: float


def open_questions(examination: Examination, knowledge: Knowledge) -> tuple[OpenQuestion, ...]:
    """The questions worth asking, best first; empty when no answer could change the advice."""
    live = Field(live_causes(examination))
    if not live.ranked:
        return ()
    out = []
    for question in knowledge.questions.values():
        if not askable(question, examination, knowledge):
            continue
        value = gain(question, live, examination, knowledge)
        if value > WORTH_ASKING:
            out.append(OpenQuestion(question, value))
    return tuple(sorted(out, key=lambda q: (-q.gain, q.question.id)))


class Field:
    """The live causes, leader first, with what is needed of them again and again."""

    def __init__(self, ranked: list[Ranked]) -> None:
        self.ranked = ranked
        self.odds = {r.cause.id: r.log_odds for r in ranked}
        self.sure = {r.cause.id: max(r.certainty, 1e-6) for r in ranked}
        self.whole = math.fsum(self.sure.values())
        self.leader = ranked[0].cause.id if ranked else ""
        self.second = max((r.certainty for r in ranked[1:]), default=0.0)

    def closed(self, edges: Mapping[str, float]) -> bool:
        """Whether the first is well settled and no other is likely: then only an answer that could change that by itself is asked for."""
        return self.sure[self.leader] >= (edges[SETTLED] + 1.0) / 2 and self.second < edges[LIKELY]


def live_causes(examination: Examination) -> list[Ranked]:
    """The causes that an answer could still bring to the front."""
    top = [r for r in examination.ranked if r.explains or r.standing != RULED_OUT]
    return [r for r in top if r.log_odds > top[0].log_odds - REACH][:LIVE] if top else []


def askable(question: Question, examination: Examination, knowledge: Knowledge) -> bool:
    """Whether it is still open, makes sense for this batch, and some card looks at it."""
    situation = examination.situation
    if situation.answers.get(question.id) or question.id in situation.batch.answers or not touches(question, knowledge):
        return False
    if question.reads == "tried" and situation.batch.tried:
        return False
    if question.seen and not any(is_under(sign.symptom, s, knowledge) for sign in situation.complaints for s in question.seen):
        return False
    return question.when is None or judge_condition(question.when, situation, knowledge, examination.consultation.findings).no < 1


def gain(question: Question, live: Field, examination: Examination, knowledge: Knowledge) -> float:
    """Expected change of the leading advice by one answer, times the chance of a known answer, by effort.

    Every cause has advice of its own (its fate and its first fix), so the advice changes where another cause comes first.
    """
    after = [shifted(live.ranked, question, option, examination, knowledge) for option in options(question)]
    if not any(after):
        return 0.0
    rarity = [math.exp(-max((odds - live.odds[name] for name, odds in moved.items() if odds > live.odds[name]), default=0.0)) for moved in after]
    chances = {name: _chances(name, live.odds[name], after, rarity) for name in live.odds}
    cases = []
    for index, moved in enumerate(after):
        chance = sum(live.sure[name] * row[index] for name, row in chances.items()) / live.whole
        cases.append((chance, live.sure | {name: certainty(odds) for name, odds in moved.items()}))
    told = information_gain(live.sure, {name: dict(enumerate(row)) for name, row in chances.items()})
    worth = advice_gain(cases, live.leader)
    if not live.closed(knowledge.weights.standing):
        worth += FORESIGHT * told
    return worth * (1.0 - knowledge.weights.unsure[question.unsure]) / knowledge.weights.effort[question.effort]


def _chances(name: str, odds: float, after: list[dict[str, float]], rarity: list[float]) -> list[float]:
    """P(answer | cause): its rarity tilted by the evidence that the answer is, normalised.

    What speaks ten times for one cause can be seen in at most one of ten batches that failed from another: that is its rarity.
    """
    tilt = [rare * (math.exp(moved[name] - odds) if name in moved else 1.0) for rare, moved in zip(rarity, after, strict=True)]
    whole = sum(tilt)
    return [t / whole for t in tilt]


__all__ = ["OpenQuestion", "Field", "gain", "live_causes", "open_questions"]
