"""Answers given by the way: phrases of a question's choices in any text of a batch record.

A phrase is heard where its words stand in order in one clause with few others between, endings apart, and nothing denies it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from functools import lru_cache
from typing import NamedTuple

from advisor.batch.model import Batch
from advisor.knowledge.load import Knowledge
from advisor.knowledge.records import Question
from advisor.wording import is_telling, stem, told_sentences

REACH = 2       # other words that may stand between two words of a phrase
_CLAUSE = re.compile(r"[.;:!\n()]+| but ")
_WORD = re.compile(r"[a-z\u00e0-\u00ff0-9]+")


class Phrase(NamedTuple):
    question: str
    choice: str
    words: tuple[str, ...]


def overheard(batch: Batch, knowledge: Knowledge, with_signs: bool = True) -> Mapping[str, tuple[str, ...]]:
    """Question id: the one choice heard in what was written; none where two choices of a question were heard.

    What was tried afterwards tells how a test went, not how the batch was made.
    """
    told = [c for text in _told(batch, with_signs) for c in _clauses(text)]
    after = [c for item in batch.tried for c in _clauses(item.what)] if with_signs else []
    found: dict[str, set[str]] = {}
    for phrase in _phrases(knowledge):
        if any(_said(phrase.words, clause, knowledge) for clause in ([*told, *after] if knowledge.questions[phrase.question].test else told)):
            found.setdefault(phrase.question, set()).add(phrase.choice)
    return {question: tuple(choices) for question, choices in found.items() if len(choices) == 1}


def heard_in(text: str, question: Question, knowledge: Knowledge) -> tuple[str, ...]:
    """Every choice of one question that is heard in one text."""
    clauses = _clauses(text)
    return tuple(dict.fromkeys(p.choice for p in _phrases(knowledge) if p.question == question.id and any(_said(p.words, c, knowledge) for c in clauses)))


def _told(batch: Batch, with_signs: bool) -> Iterator[str]:
    yield from (v for v in batch.process.values() if isinstance(v, str))
    yield from (v for v in batch.storage.values() if isinstance(v, str))
    yield from batch.changed
    yield batch.notes or ""
    if with_signs:
        yield batch.complaint or ""
        yield from (seen.what for seen in batch.observed)


@lru_cache(maxsize=2000)
def _clauses(text: str) -> tuple[tuple[str, ...], ...]:
    """The clauses of a text that tell something, as stems in their order."""
    parts = (c.strip() for c in _CLAUSE.split(told_sentences(text.lower().replace("n't", " not"))))
    return tuple(tuple(stem(w) for w in _WORD.findall(c)) for c in parts if c and is_telling(c))


def _phrases(knowledge: Knowledge) -> tuple[Phrase, ...]:
    found: tuple[Phrase, ...] | None = knowledge.index.get("phrases")
    if found is None:
        found = tuple(Phrase(q.id, c.id, tuple(stem(w) for w in _WORD.findall(p.lower()))) for q in knowledge.questions.values() for c in q.choices for p in c.overheard)
        knowledge.index["phrases"] = found
    return found


def _said(words: tuple[str, ...], clause: tuple[str, ...], knowledge: Knowledge) -> bool:
    denying = {n for n in knowledge.words["negations"] if n not in words}
    for start in (i for i, w in enumerate(clause) if w == words[0]):
        at = start
        for word in words[1:]:
            at = next((j for j in range(at + 1, min(at + REACH + 2, len(clause))) if clause[j] == word), -1)
            if at < 0:
                break
        if at >= 0 and not denying & set(clause[max(0, start - 2): at]):
            return True
    return False
