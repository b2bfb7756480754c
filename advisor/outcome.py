"""The result of a diagnosis as one typed record; every screen and the JSON are made from it."""

from typing import NamedTuple

from advisor.batch.model import Batch, Remark
from advisor.diagnosis import LIKELY, SETTLED, Examination, examine
from advisor.fixes.cautions import cautions_of
from advisor.fixes.fate import Fate, fate_of
from advisor.fixes.planner import PlannedFix, plan
from advisor.knowledge.load import Knowledge
from advisor.questions import OpenQuestion, open_questions


class Outcome(NamedTuple):
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
                   cautions_of(examination, knowledge),
                   (*situation.remarks, *(Remark("your own rules", text) for text in knowledge.overrides)))
