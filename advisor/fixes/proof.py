"""Proof on paper: the amended batch judged forward from scratch, against the batch as it was judged the same way."""

from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

from advisor.batch.model import Batch
from advisor.batch.units import process_value
from advisor.diagnosis import LIKELY, POSSIBLE, RULED_OUT, SETTLED, Examination, Ranked, examine
from advisor.knowledge.conditions import atoms
from advisor.knowledge.load import Knowledge
from advisor.situation import read_field, write_field

RANK = {RULED_OUT: 0, POSSIBLE: 1, LIKELY: 2, SETTLED: 3}
RUNG_TOLERANCE = 0.75      # rungs: as near as the estimate tells (rules/textures.yaml says give or take a rung)
_KEPT = ("process.", "storage.", "batch_size", "scale_reads_to", "water", "kind", "wanted")     # fields that a new batch keeps


class Verdict(NamedTuple):
    """What the run shows: causes of those asked about that are gone, that are left, and new ones that come.

    `also` are causes cured besides the own ones: such as stood as a risk of the formula before, and are ruled out now.
    """

    proved: bool
    gone: tuple[str, ...]
    leaves: tuple[str, ...]
    brings: tuple[str, ...]
    also: tuple[str, ...] = ()


def unseen(batch: Batch, knowledge: Knowledge) -> Batch:
    """The batch before it is made: nothing observed, tried, measured or seen in the jar, and no history of another recipe."""
    answers = {k: v for k, v in batch.answers.items()
               if (q := knowledge.questions.get(k)) and not q.test and q.reads.startswith(_KEPT)}
    return batch._replace(observed=(), complaint=None, measured={}, tried=(), worked_before=None, changed=(), notes=None, answers=answers, known=None,
                   made=None, remarks=())


def with_process(batch: Batch, process: Mapping[str, Any], knowledge: Knowledge) -> Batch:
    """The batch made otherwise; an earlier answer about the same field gives way."""
    fields = set(process)
    answers = {k: v for k, v in batch.answers.items() if not ((q := knowledge.questions.get(k)) and q.reads in fields)}
    batch = batch._replace(answers=answers)
    for path, value in process.items():
        batch = write_field(batch, path, process_value(path, value))
    return batch


def changes_a_fact(batch: Batch, process: Mapping[str, Any], knowledge: Knowledge) -> bool:
    """Whether something that is known of how the batch was made becomes different."""
    for path, value in process.items():
        before = read_field(batch, path)
        answered = any(q.reads == path and k in batch.answers for k, q in knowledge.questions.items())
        if answered or (before is not None and before != process_value(path, value)):
            return True
    return False


class Court:
    """Judges amended batches; runs are counted, and none is done twice."""

    def __init__(self, batch: Batch, knowledge: Knowledge) -> None:
        self.knowledge = knowledge
        self.runs = 0
        self.before = self._run(unseen(batch, knowledge))
        self.base = {r.id: r for r in self.before.ranked}

    def _run(self, batch: Batch) -> Examination:
        self.runs += 1
        return examine(batch, self.knowledge, with_signs=False, quick=True)

    def judge(self, batch: Batch, own: Iterable[str], others: Iterable[str] = ()) -> Verdict:
        """Whether `own` causes are gone in this batch and nothing new comes; `others` are the causes that may be left, the leading one first.

        Left is an own cause, a risk of the formula, or the leading cause; its mere rivals explain the same complaint and need no cure beside it.
        """
        after = self._run(batch)
        now = {r.id: r for r in after.ranked}
        own, others = tuple(own), tuple(others)
        gone = tuple(i for i in dict.fromkeys((*own, *others)) if self._gone(now[i]))
        left = tuple(i for i in dict.fromkeys((*own, *others)) if i not in gone and (i in own or i in others[:1] or RANK[self.base[i].standing] > 0))
        brings = tuple(sorted(i for i, r in now.items() if RANK[r.standing] > RANK[self.base[i].standing] and i not in own))
        proved = set(own) <= set(gone) and not brings and self._texture(after, [now[i] for i in own])
        also = tuple(i for i in gone if i not in own and RANK[self.base[i].standing] > 0 and self._texture(after, [now[i]]))
        return Verdict(proved, gone, left, brings, also)

    def _gone(self, now: Ranked) -> bool:
        was = self.base[now.id]
        least = 1e-9 if was.standing != RULED_OUT else self.knowledge.weights.adjust["evidence-lost"] - 1e-9     # what was no risk before must lose some evidence
        return now.standing == RULED_OUT and was.log_odds - now.log_odds >= least

    def _texture(self, after: Examination, own: list[Ranked]) -> bool:
        """Whether the wanted texture is reached, or (where the cause is not about texture) at least not left."""
        gap, had = (e.situation.measures.quantities.get("rung-gap") for e in (after, self.before))
        if gap is None or abs(gap.value) <= RUNG_TOLERANCE:
            return True
        return not any(map(_about_texture, own)) and had is not None and abs(gap.value) <= abs(had.value) + RUNG_TOLERANCE / 3


def _about_texture(ranked: Ranked) -> bool:
    """Whether the cause is judged by the texture wanted."""
    return any(a.name == "rung-gap" for piece in ranked.cause.evidence if not piece.against for a in atoms(piece.when))
