"""Interviews started from the complaint and the formula of a case alone: python -m tests.makers.from_cases FOLDER

Asked something that the record of the case tells, the maker says it; else they are not sure.  Prints how many questions it took and
whether the advice is that of the whole record.
"""

from __future__ import annotations

import statistics
import sys
from pathlib import Path

from advisor.batch.model import Batch
from advisor.batch.reading import read_batch
from advisor.interview import DOUBT, QUESTION, Interview
from advisor.knowledge.load import Knowledge, load_knowledge
from advisor.outcome import Outcome, diagnose
from advisor.situation import NOT_SURE, assess


def bare(batch: Batch) -> Batch:
    """The case as a maker would bring it: what they saw, what was in it, and what they wanted."""
    return Batch(name=batch.name, kind=batch.kind, wanted=batch.wanted, observed=batch.observed, complaint=batch.complaint, formula=batch.formula)


def first(outcome: Outcome) -> str:
    """The cause that the advice is for; empty where nothing stands out."""
    leader = outcome.examination.leader
    return (leader.cause.part_of or leader.id) if leader else ""


def played(batch: Batch, knowledge: Knowledge) -> tuple[int, bool]:
    """How many questions were asked, and whether the cause first advised on is that of the whole record."""
    whole = batch._replace(known=None)
    told = assess(whole, knowledge).answers
    state = Interview(knowledge, bare(batch))
    count = 0
    while (ask := state.next()) is not None:
        if ask.kind == QUESTION and ask.question is not None:
            count += 1
            said = next(iter(told.get(ask.question.id, ())), NOT_SURE)
            state.answer(ask, said)
        elif ask.kind == DOUBT and ask.doubt is not None:
            state.answer(ask, ask.doubt.choices[0][0])
        else:
            state.skip(ask)
    return count, first(state.outcome()) == first(diagnose(whole, knowledge))


if __name__ == "__main__":
    rules = load_knowledge()
    found = [played(read_batch(p), rules) for p in sorted(Path(sys.argv[1]).glob("*.yaml"))]
    counts = sorted(n for n, _ in found)
    print(f"{len(found)} cases: median {statistics.median(counts):g} questions, nine in ten at most {counts[int(0.9 * (len(counts) - 1))]}, "
          f"the advice of the whole record in {sum(same for _, same in found)}")
