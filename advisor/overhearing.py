"""Answers given by the way: phrases of a question's choices in any text of a batch record."""

import re
from collections.abc import Collection, Iterator, Mapping
from functools import lru_cache
from typing import NamedTuple

from advisor.batch.model import Batch
from advisor.knowledge.load import Knowledge
from advisor.knowledge.materials import Ingredient
from advisor.knowledge.records import Question
from advisor.phrases import said, span, stem, tokens, words
from advisor.quantities.names import named_in
from advisor.sentences import is_telling, told_sentences, without_what_stayed

START = 3            # letters that no ending is cut from
LONGEST = 200        # words of a clause that are listened to
BEYOND = 5           # words behind a phrase of something going in within which its name is looked for
REMEMBERED = 2000    # clauses kept, so that no proof listens anew
_CLAUSE = re.compile(r"[.;:!\n()]+| but ")


class Phrase(NamedTuple):
    question: str
    choice: str
    words: tuple[str, ...]


def overheard(batch: Batch, knowledge: Knowledge, with_signs: bool = True, seen: Collection[str] = ()) -> Mapping[str, tuple[str, ...]]:
    """Question id: the one choice heard in what was written; none where two choices of a question were heard.

    `seen`: the symptoms that were.  What was tried afterwards tells how a test went, not how the batch was made; how it was made does not tell what it gave way with.
    """
    trouble = [c for text in _trouble(batch, with_signs) for c in _clauses(text)]
    making = [c for text in _making(batch) for c in _clauses(text)]
    after = [c for item in batch.tried for c in _clauses(item.what)] if with_signs else []
    found: dict[str, set[str]] = {}
    for clause in dict.fromkeys((*making, *trouble, *after)):
        for phrase in _heard(clause, knowledge):
            question = knowledge.questions[phrase.question]
            if question.reads != "tried" and (question.test or clause in trouble or (clause in making and not question.of_trouble)):
                found.setdefault(phrase.question, set()).add(phrase.choice)
    for asked, choices in _by_names(batch, knowledge, seen) if with_signs else ():
        found.setdefault(asked, set()).update(choices)
    told = {q: {c.id for c in knowledge.questions[q].choices if c.id in choices and not c.fallback} or choices for q, choices in found.items()}
    return {question: tuple(choices) for question, choices in told.items() if len(choices) == 1}


def _by_names(batch: Batch, knowledge: Knowledge, seen: Collection[str]) -> Iterator[tuple[str, set[str]]]:
    """Choices told by a material named beside a phrase that tells a sign of their question, if it was seen: it split as soon as the lactic acid went in."""
    for question in knowledge.questions.values():
        if not set(seen) & set(question.seen) or not any(c.named for c in question.choices):
            continue
        phrases = dict.fromkeys(tokens(p) for s in question.seen for p in knowledge.symptoms[s].beside)
        denying = _denying(knowledge)
        for clause in (c for text in _trouble(batch, True) for c in _told_clauses(text)):
            told = words(clause)[:LONGEST]
            items: dict[int, Ingredient] = {}
            for at, end, item in reversed(list(named_in(told, knowledge))):      # a name counts as one word
                items = {at: item} | {i - (end - at - 1): other for i, other in items.items()}
                told[at:end] = told[at:at + 1]
            stems = tuple(map(stem, told))
            for at, end in filter(None, (span(p, stems, denying) for p in phrases) if items else ()):
                near = [items[i] for i in range(at, end + 1 + BEYOND) if i in items]
                yield question.id, {c.id for i in near if (c := next((c for c in question.choices if set(c.named) & i.classes), None))}


def heard_in(text: str, question: Question, knowledge: Knowledge) -> tuple[str, ...]:
    """Every choice of one question that is heard in one text."""
    return tuple(dict.fromkeys(p.choice for clause in _clauses(text) for p in _heard(clause, knowledge) if p.question == question.id))


def _heard(clause: tuple[str, ...], knowledge: Knowledge) -> list[Phrase]:
    """The phrases said in a clause; nothing is heard that is denied or was replaced, or where the clause tells of something else."""
    known: dict[tuple[str, ...], list[Phrase]] = knowledge.index.setdefault("heard", {})
    if clause not in known:
        if len(known) >= REMEMBERED:
            known.clear()
        known[clause] = _listen(clause, knowledge)
    return known[clause]


def _listen(clause: tuple[str, ...], knowledge: Knowledge) -> list[Phrase]:
    aside: tuple[tuple[str, ...], ...] = knowledge.index.setdefault("aside", tuple(map(tokens, knowledge.words["aside"])))
    if any(said(phrase, clause) for phrase in aside):
        return []
    denying = _denying(knowledge)
    begins = dict.fromkeys(w[:START] for w in clause)
    found = [p for start in begins for p in _phrases(start, begins, knowledge) if said(p.words, clause, denying)]
    return [p for p in found if not any(set(p.words) < set(o.words) and o.question == p.question for o in found)]      # the fuller phrase counts


def _denying(knowledge: Knowledge) -> set[str]:
    """The stems beside which a phrase is not meant."""
    if "denying" not in knowledge.index:
        knowledge.index["denying"] = {stem(w) for w in (*knowledge.words["negations"], *knowledge.words["replaced"])}
    found: set[str] = knowledge.index["denying"]
    return found


def _phrases(start: str, begins: Collection[str], knowledge: Knowledge) -> list[Phrase]:
    """The phrases whose first word begins with these letters and whose others begin as words that were met; no other is taken apart."""
    written: dict[str, list[tuple[str, str, str]]] | None = knowledge.index.get("phrases")
    if written is None:
        written = knowledge.index["phrases"] = {}
        for question in knowledge.questions.values():
            for choice in question.choices:
                for text in choice.overheard:
                    written.setdefault(text.split(" ", 1)[0][:START].lower(), []).append((question.id, choice.id, text))
    return [Phrase(q, c, words) for q, c, text in written.get(start, ()) if all(w[:START] in begins for w in text.lower().split()) and (words := tokens(text))]


def _making(batch: Batch) -> Iterator[str]:
    yield from (v for v in batch.process.values() if isinstance(v, str))
    yield from (v for v in batch.storage.values() if isinstance(v, str))
    yield batch.notes or ""


def _trouble(batch: Batch, with_signs: bool) -> Iterator[str]:
    yield from map(without_what_stayed, batch.changed)
    if with_signs:
        yield batch.complaint or ""
        yield from (seen.what for seen in batch.observed)


@lru_cache(maxsize=2000)
def _clauses(text: str) -> tuple[tuple[str, ...], ...]:
    """The clauses of a text that tell something, as stems in their order."""
    return tuple(tokens(c)[:LONGEST] for c in _told_clauses(text))


def _told_clauses(text: str) -> Iterator[str]:
    """The clauses of a text that tell something, in small letters."""
    parts = (c.strip() for c in _CLAUSE.split(told_sentences(text.lower())))
    yield from (c for c in parts if c and is_telling(c))
