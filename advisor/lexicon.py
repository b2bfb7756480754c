"""How words are read: a text in small letters with its sayings as what they mean, its words as stems, and the wordings of every symptom so."""

from __future__ import annotations

import contextlib
import json
import math
import re
from collections import Counter
from collections.abc import Iterable, Mapping
from itertools import chain
from pathlib import Path
from typing import NamedTuple
from zlib import crc32

from advisor import phrases
from advisor.knowledge.kept import keep, read_kept
from advisor.knowledge.load import Knowledge
from advisor.knowledge.records import Symptom
from advisor.phrases import stem, tokens

OFTEN, ALONE = 3, 0.5        # a word in so many wordings of one family of symptoms, with so great a share of all, tells it alone
_STOP = frozenset(["a", "an", "the", "it", "its", "is", "was", "are", "were", "be", "been", "has", "have", "had", "of", "in", "on", "to", "and", "or", "my", "i", "me", "this", "that", "when", "after", "with", "from", "so", "very", "as", "at", "by", "for", "but", "they", "them", "there", "just", "quite", "some", "all", "up", "out", "into", "then", "than", "do", "does", "did", "will", "would", "can", "could", "if", "what", "why", "how", "which", "poured"])
_WORD = re.compile(r"[a-z\u00e0-\u00ff']+")
_NOT = re.compile(r"\b(do|does|did|is|are|was|were|has|have|had|wo|would|ca|could|should)n'?t\b")      # one word with a denial in it, with or without its mark
_NOT_BEHIND = {"wo": "will", "ca": "can"}


class Stems(dict[str, str]):
    """The stem that stands for each word, empty where it means nothing here; a word is worked out once, as most of them come often."""

    def __init__(self, same: Mapping[str, str]) -> None:
        """`same`: stems, and whole words with `=` before them, as the synonym that stands for them."""
        super().__init__()
        self._same = same

    def __missing__(self, word: str) -> str:
        own = stem(word)
        found = "" if len(word) == 1 or word in _STOP else self._same.get(f"={word}") or self._same.get(own, own)
        self[word] = found
        return found


class Sense(NamedTuple):
    """How words are read: sayings as what they mean, and words as their stems."""

    sayings: Mapping[str, str]
    stems: Stems


class Wording(NamedTuple):
    """A wording of a symptom as stems, and these in their order."""

    symptom: str
    stems: frozenset[str]
    line: str


class WordIndex(NamedTuple):
    """Wordings as stems, with the weight of each stem (rarer over the symptoms weighs more)."""

    wordings: tuple[Wording, ...]
    weight: Mapping[str, float]
    sense: Sense
    negations: frozenset[str]
    history: tuple[str, ...]
    plain: frozenset[str]
    telling: Mapping[str, frozenset[str]]      # by family of symptoms, the stems that tell it even alone
    beside: tuple[tuple[Symptom, tuple[tuple[str, ...], ...]], ...]      # narrower symptoms and the phrases that tell them from what they belong under


def stems(text: str, sense: Sense) -> list[str]:
    """The meaning words of a text as stems, synonyms made one."""
    return stemmed(evened(text, sense), sense)


def evened(text: str, sense: Sense) -> str:
    """A text in small letters, with denials apart and sayings as what they mean."""
    apart = _NOT.sub(lambda m: f"{_NOT_BEHIND.get(m[1], m[1])} not", text.lower().replace("\u2019", "'"))
    there = [saying for saying in sense.sayings if saying in apart]
    return (_any_of(there).sub(lambda m: sense.sayings[m[0]], apart) if there else apart).replace("'s ", " ")


def stemmed(evened: str, sense: Sense) -> list[str]:
    return [s for w in _WORD.findall(evened) if (s := sense.stems[w])]


def word_index(knowledge: Knowledge) -> WordIndex:
    """The index of this knowledge, built once."""
    found: WordIndex | None = knowledge.index.get("words")
    if found is None:
        same = {stem(w): stem(group[0]) for group in knowledge.words["synonyms"] for w in group}
        # A word that must not be cut down to another one (creaming is not cream, watery is not water); `=` keeps it apart from every stem.
        same |= {f"={w}": same.get(stem(group[0]), f"={group[0]}") for group in knowledge.words["whole"] for w in group}
        sense = Sense({**knowledge.words["sayings"], **dict.fromkeys(knowledge.words["fillers"], "")}, Stems(same))
        written = [(s.id, w) for s in knowledge.symptoms.values() for w in (*s.wordings, s.title)]
        found = knowledge.index["words"] = _index(written, sense, knowledge)
    return found


def indexed(wordings: tuple[Wording, ...], sense: Sense, knowledge: Knowledge) -> WordIndex:
    """The index of these wordings."""
    plain = _plain(sense, knowledge)
    return _with_words(wordings, _weights(wordings, len(knowledge.symptoms)), _telling(wordings, plain, knowledge), plain, sense, knowledge)


def _plain(sense: Sense, knowledge: Knowledge) -> frozenset[str]:
    return frozenset(stems(" ".join(knowledge.words["plain"]), sense))


def _with_words(wordings: tuple[Wording, ...], weight: Mapping[str, float], telling: Mapping[str, frozenset[str]], plain: frozenset[str],
                sense: Sense, knowledge: Knowledge) -> WordIndex:
    words = knowledge.words
    return WordIndex(wordings, weight, sense, frozenset(words["negations"]), tuple(words["history"]), plain, telling,
                     tuple((s, tuple(map(tokens, s.beside))) for s in knowledge.symptoms.values() if s.beside))


def _weights(wordings: Iterable[Wording], count: int) -> dict[str, float]:
    """What each stem weighs: more, the fewer of the symptoms it stands under."""
    under: dict[str, set[str]] = {}
    for symptom, words, _ in wordings:
        under.setdefault(symptom, set()).update(words)
    return {w: 0.4 + math.log(count / n) for w, n in Counter(chain.from_iterable(under.values())).items()}


def _telling(wordings: Iterable[Wording], plain: frozenset[str], knowledge: Knowledge) -> dict[str, frozenset[str]]:
    """By family of symptoms, the stems that stand in many of its wordings and in few others."""
    said: dict[str, list[str]] = {}
    for symptom, words, _ in wordings:
        said.setdefault(knowledge.symptoms[symptom].family, []).extend(words)
    uses = Counter(chain.from_iterable(said.values()))
    return {family: frozenset(w for w, n in Counter(found).items() if n >= OFTEN and n >= ALONE * uses[w] and w not in plain) for family, found in said.items()}


def _index(written: list[tuple[str, str]], sense: Sense, knowledge: Knowledge) -> WordIndex:
    """The index of these wordings (symptom, text); kept from run to run under a checksum of all that it follows from, this code among it."""
    text = "\n".join(f"{symptom}\t{knowledge.symptoms[symptom].family}\t{wording}" for symptom, wording in written)
    try:
        code = b"".join(Path(f).read_bytes() for f in (__file__, phrases.__file__))
    except OSError:      # code that is no file of its own
        code = b""
    key = f"{crc32(code, crc32(repr(knowledge.words).encode(), crc32(text.encode()))):08x}{len(text):x}"
    *lines, figures = ((code and read_kept("words", key)) or "").split("\n")
    if len(lines) == len(written):
        with contextlib.suppress(ValueError, TypeError, AttributeError):
            weight, telling = json.loads(figures)
            return _with_words(_wordings(written, lines), weight, {f: frozenset(w) for f, w in telling.items()}, _plain(sense, knowledge), sense, knowledge)
    lines = _all_stemmed("\n".join(w for _, w in written), sense)
    found = indexed(_wordings(written, lines), sense, knowledge)
    if code:
        keep("words", key, "\n".join([*lines, json.dumps([found.weight, {f: sorted(w) for f, w in found.telling.items()}])]))
    return found


def _wordings(written: list[tuple[str, str]], lines: list[str]) -> tuple[Wording, ...]:
    return tuple(Wording(symptom, frozenset(line.split()), line) for (symptom, _), line in zip(written, lines, strict=True))


def _all_stemmed(text: str, sense: Sense) -> list[str]:
    return [" ".join(stemmed(line, sense)) for line in evened(text, sense).split("\n")]      # all at once: thousands of lines are slow one by one


def _any_of(phrases: Iterable[str]) -> re.Pattern[str]:
    """One pattern for whole phrases, the longest first; sorted by their first letter, so that a text is read four times as fast."""
    by_letter: dict[str, list[str]] = {}
    for phrase in sorted(phrases, key=len, reverse=True):
        by_letter.setdefault(phrase[0], []).append(re.escape(phrase[1:]))
    return re.compile(rf"\b(?:{'|'.join(f'{re.escape(letter)}(?:{chr(124).join(rest)})' for letter, rest in by_letter.items())})\b")
