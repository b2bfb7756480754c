"""How words are read: a text in small letters with its sayings as what they mean, its words as stems, and the wordings of every symptom so."""

import contextlib
import json
import math
import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
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


class WordIndex(NamedTuple):
    """Wordings as stems, with the weight of each stem (rarer over the symptoms weighs more)."""

    wordings: tuple[str, ...]                  # the symptom, a tab, and its stems in their order: taken apart only where one of them is heard
    uses: Mapping[str, str]                    # by stem, the numbers of the wordings that it stands in
    weight: Mapping[str, float]
    sense: Sense
    negations: frozenset[str]
    history: tuple[str, ...]
    plain: frozenset[str]
    telling: Mapping[str, frozenset[str]]      # by family of symptoms, the stems that tell it even alone
    quiet: frozenset[str]                      # these, and the everyday ones: out of a longer wording they tell no family alone
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
        found = knowledge.index["words"] = _index(sense, knowledge)
    return found


def parted(wording: str) -> tuple[str, str]:
    """A wording of the index as its symptom and its stems."""
    symptom, _, line = wording.partition("\t")
    return symptom, line


def _uses(wordings: Iterable[tuple[str, list[str]]]) -> dict[str, str]:
    """By stem, the numbers of the wordings it stands in, as one text: read back faster than lists, and few are looked at."""
    found: dict[str, list[str]] = {}
    for number, (_, words) in enumerate(wordings):
        for word in dict.fromkeys(words):
            found.setdefault(word, []).append(str(number))
    return {word: " ".join(numbers) for word, numbers in found.items()}


def weighed(wordings: Sequence[tuple[str, list[str]]], quiet: frozenset[str], knowledge: Knowledge) -> tuple[dict[str, float], dict[str, frozenset[str]]]:
    """What each stem of these wordings (symptom, stems) weighs, and by family those that tell it even alone."""
    return _weights(wordings, len(knowledge.symptoms)), _telling(wordings, quiet, knowledge)


def _weights(wordings: Iterable[tuple[str, list[str]]], count: int) -> dict[str, float]:
    """What each stem weighs: more, the fewer of the symptoms it stands under."""
    under: dict[str, set[str]] = {}
    for symptom, words in wordings:
        under.setdefault(symptom, set()).update(words)
    return {w: 0.4 + math.log(count / n) for w, n in Counter(chain.from_iterable(under.values())).items()}


def _telling(wordings: Iterable[tuple[str, list[str]]], quiet: frozenset[str], knowledge: Knowledge) -> dict[str, frozenset[str]]:
    """By family of symptoms, the stems that stand in many of its wordings and in few others."""
    said: dict[str, list[str]] = {}
    for symptom, words in wordings:
        said.setdefault(knowledge.symptoms[symptom].family, []).extend(dict.fromkeys(words))
    uses = Counter(chain.from_iterable(said.values()))
    return {family: frozenset(w for w, n in Counter(found).items() if n >= OFTEN and n >= ALONE * uses[w] and w not in quiet) for family, found in said.items()}


def _index(sense: Sense, knowledge: Knowledge) -> WordIndex:
    """The index of all wordings; what takes long is kept from run to run under a checksum of all that it follows from, this code among it."""
    key = _key(knowledge)
    plain = frozenset(stems(" ".join(knowledge.words["plain"]), sense))
    quiet = plain | frozenset(stems(" ".join(knowledge.words["everyday"]), sense))
    found = _kept(key)
    if found is None:
        written = [(s.id, w) for s in knowledge.symptoms.values() for w in (*s.wordings, s.title)]
        lines = _all_stemmed("\n".join(w for _, w in written), sense)
        apart = [(symptom, line.split()) for (symptom, _), line in zip(written, lines, strict=True)]
        weight, telling = weighed(apart, quiet, knowledge)
        found = tuple(f"{symptom}\t{line}" for (symptom, _), line in zip(written, lines, strict=True)), _uses(apart), weight, telling
        if key:
            keep("words", key, "\n".join([*found[0], json.dumps([len(lines), found[1], weight, {f: sorted(w) for f, w in telling.items()}], separators=(",", ":"))]))
    beside = tuple((s, tuple(map(tokens, s.beside))) for s in knowledge.symptoms.values() if s.beside)
    return WordIndex(*found[:3], sense, frozenset(knowledge.words["negations"]), tuple(knowledge.words["history"]), plain, found[3], quiet, beside)


def _kept(key: str) -> tuple[tuple[str, ...], dict[str, str], dict[str, float], dict[str, frozenset[str]]] | None:
    *lines, figures = ((key and read_kept("words", key)) or "").split("\n")
    with contextlib.suppress(ValueError, TypeError, AttributeError):
        count, uses, weight, telling = json.loads(figures)
        if count == len(lines):
            return tuple(lines), uses, weight, {f: frozenset(w) for f, w in telling.items()}
    return None


def _key(knowledge: Knowledge) -> str:
    try:
        code = crc32(b"".join(Path(f).read_bytes() for f in (__file__, phrases.__file__)))
    except OSError:      # code that is no file of its own
        return ""
    content = knowledge.index.get("checksum") or f"{crc32(repr([knowledge.words, *((s.id, s.family, s.title, s.wordings) for s in knowledge.symptoms.values())]).encode()):08x}"
    return f"{content}{code:08x}"


def _all_stemmed(text: str, sense: Sense) -> list[str]:
    return [" ".join(stemmed(line, sense)) for line in evened(text, sense).split("\n")]      # all at once: thousands of lines are slow one by one


def _any_of(phrases: Iterable[str]) -> re.Pattern[str]:
    """One pattern for whole phrases, the longest first; sorted by their first letter, so that a text is read four times as fast."""
    by_letter: dict[str, list[str]] = {}
    for phrase in sorted(phrases, key=len, reverse=True):
        by_letter.setdefault(phrase[0], []).append(re.escape(phrase[1:]))
    return re.compile(rf"\b(?:{'|'.join(f'{re.escape(letter)}(?:{chr(124).join(rest)})' for letter, rest in by_letter.items())})\b")
