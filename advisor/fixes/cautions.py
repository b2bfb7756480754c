"""What must be said with any advice, and the claims for which none is given here."""

from __future__ import annotations

import re
from collections.abc import Iterable

from advisor.batch.model import Batch
from advisor.diagnosis import LIKELY, SETTLED, Examination
from advisor.facts import judge_condition
from advisor.knowledge.load import Knowledge


def cautions_of(examination: Examination, knowledge: Knowledge) -> tuple[str, ...]:
    """What is referred to others, what is due by its own condition, what the ingredients carry, and what the leading cards name; each once."""
    situation = examination.situation
    batch = situation.batch
    told = f"{batch.name}. {batch.wanted or ''}. {batch.complaint or ''}. {batch.notes or ''}"
    due = [*referred(batch, knowledge), *(c.id for c in knowledge.cautions.values() if _says(told, c.words))]
    due += [c.id for c in knowledge.cautions.values() if c.when is not None and
            judge_condition(c.when, situation, knowledge, examination.consultation.findings).yes > 0]
    for line in situation.measures.lines:
        for item in line.ingredients:
            due += item.cautions
    leader = examination.leader
    if leader and (situation.complaints or leader.standing in (SETTLED, LIKELY)):
        due += leader.cause.cautions
    return tuple(knowledge.cautions[c].says for c in dict.fromkeys(due) if c in knowledge.cautions)


def referred(batch: Batch, knowledge: Knowledge) -> tuple[str, ...]:
    """The cautions of claims that belong to others, told by the name of the product and by what was wanted."""
    claimed = f"{batch.name} {batch.wanted or ''}"
    return tuple(r["caution"] for r in knowledge.procedure.get("refer", ()) if _says(claimed, r["words"]))


def _says(text: str, words: Iterable[str]) -> bool:
    """Whether a text has one of these words or phrases, whole."""
    plain = f" {_plain(text)} "
    return any(f" {_plain(w)} " in plain for w in words)


def _plain(text: str) -> str:
    return re.sub(r"[^a-z0-9]+", " ", text.lower()).strip()
