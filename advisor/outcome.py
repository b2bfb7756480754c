"""The result of a diagnosis as one typed record; every screen and the JSON are made from it."""

from __future__ import annotations

from dataclasses import dataclass

from advisor.batch.model import Batch, Remark
from advisor.diagnosis import LIKELY, SETTLED, Examination, examine
from advisor.facts import judge_condition
from advisor.fixes.fate import Fate, fate_of
from advisor.fixes.planner import PlannedFix, plan
from advisor.knowledge.load import Knowledge
from advisor.questions import OpenQuestion, open_questions


@dataclass(frozen=True, slots=True)
class Outcome:
    name: str
    examination: Examination
    fate: Fate
    fixes: tuple[PlannedFix, ...]
    questions: tuple[OpenQuestion, ...]
    cautions: tuple[str, ...]
    remarks: tuple[Remark, ...]


def diagnose(batch: Batch, knowledge: Knowledge) -> Outcome:
    """From a batch record to ranked causes, this batch's fate, the fix list and the questions worth asking."""
    examination = examine(batch, knowledge)
    return conclude(examination, knowledge)


def conclude(examination: Examination, knowledge: Knowledge) -> Outcome:
    """Fate, fixes, questions and cautions for an examination."""
    situation = examination.situation
    leader = examination.leader
    worth_fixing = leader is not None and (situation.complaints or leader.standing in (SETTLED, LIKELY))
    fixes = plan(examination, knowledge) if worth_fixing else ()
    return Outcome(situation.batch.name, examination, fate_of(examination, knowledge), fixes, open_questions(examination, knowledge),
                   _cautions(examination, fixes, knowledge),
                   (*situation.remarks, *(Remark("your own rules", text) for text in knowledge.overrides)))


def _cautions(examination: Examination, fixes: tuple[PlannedFix, ...], knowledge: Knowledge) -> tuple[str, ...]:
    """What is due by its own condition, what the ingredients carry, and what the leading cards name; each once."""
    situation = examination.situation
    due = [c.id for c in knowledge.cautions.values() if c.when is not None and
           judge_condition(c.when, situation, knowledge, examination.consultation.findings).yes > 0]
    for line in situation.measures.lines:
        for item in line.ingredients:
            due += item.cautions
    leader = examination.leader
    if leader and (situation.complaints or leader.standing in (SETTLED, LIKELY)):
        due += leader.cause.cautions
    return tuple(knowledge.cautions[c].says for c in dict.fromkeys(due) if c in knowledge.cautions)
