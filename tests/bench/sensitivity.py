"""How often the leading cause changes when every strength of every card moves one step at random: python -m tests.bench.sensitivity [FOLDER]

The cards' own leading examples, or the cases of a folder; a finer card and the one that it is part of count as one.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from advisor.batch.model import Batch
from advisor.batch.reading import read_batch, record_batch
from advisor.consultation import Consultation, rule_base
from advisor.diagnosis import rank
from advisor.knowledge.load import Knowledge, load_knowledge
from advisor.situation import Situation, assess

STEPS = ("slight", "fair", "strong")


def stepped(knowledge: Knowledge, seed: int) -> Knowledge:
    """The knowledge with each strength one step up or down (certain stays, and nothing leaves the scale)."""
    rng = random.Random(seed)

    def step(word: str) -> str:
        return STEPS[min(2, max(0, STEPS.index(word) + rng.choice((-1, 1))))] if word in STEPS else word

    causes = {key: c._replace(pieces={e.id: e._replace(strength=step(e.strength)) for e in c.evidence},
                           explains=tuple(x._replace(strength=step(x.strength)) for x in c.explains)) for key, c in knowledge.causes.items()}
    return replace(knowledge, causes=causes)


def leader(situation: Situation, consultation: Consultation, knowledge: Knowledge) -> str | None:
    first = rank(situation, consultation, knowledge).leader
    return (first.cause.part_of or first.id) if first else None


def changed(batches: Sequence[Batch], knowledge: Knowledge, rounds: int) -> float:
    """The share of batches and rounds in which another cause leads."""
    looked = [(s, rule_base(knowledge).consult(s)) for s in (assess(b, knowledge) for b in batches)]
    before = [leader(s, c, knowledge) for s, c in looked]
    moved = 0
    for seed in range(rounds):
        other = stepped(knowledge, seed)
        moved += sum(leader(s, c, other) != was for (s, c), was in zip(looked, before, strict=True))
    return moved / (rounds * len(batches))


def leading_examples(knowledge: Knowledge) -> list[Batch]:
    return [record_batch({"format": 1, **e.batch}) for c in knowledge.causes.values() for e in c.examples if e.leads]


if __name__ == "__main__":
    rules = load_knowledge()
    cases = [read_batch(p) for p in sorted(Path(sys.argv[1]).glob("*.yaml"))] if len(sys.argv) > 1 else leading_examples(rules)
    print(f"{changed(cases, rules, 20):.1%} of {len(cases)} batches and 20 rounds have another leader")
