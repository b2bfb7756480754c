"""Phrases in running text: words in order, endings apart, with few others between and nothing that denies them."""

from __future__ import annotations

import re
from collections.abc import Collection
from functools import lru_cache

BEFORE = 3      # words before a phrase in which a denial still denies it
SLACK = 3       # other words that may stand between the words of a phrase, all told; one fewer than its words where that is less
_ENDS = ("iness", "ation", "ings", "ness", "edly", "ing", "ied", "ies", "ers", "ed", "es", "er", "ly", "s", "y")
_WORD = re.compile(r"[a-z\u00e0-\u00ff0-9]+")


@lru_cache(maxsize=20_000)
def stem(word: str) -> str:
    """A word without its usual English endings; short words stay."""
    for end in _ENDS if word.endswith(_ENDS) else ():
        if word.endswith(end) and len(word) - len(end) >= 3:
            if end in ("er", "ers") and word[2:6] == "tter" and len(word) == 4 + len(end):
                end = end[2:]       # butter is not but, nor matters mat
            word = word.removesuffix(end)
            break
    if len(word) > 3 and word[-1] == word[-2] and word[-1] not in "sl":
        word = word[:-1]
    return word[:-1] if len(word) > 4 and word.endswith("e") else word


@lru_cache(maxsize=20_000)
def tokens(text: str) -> tuple[str, ...]:
    """Every word of a text as a stem, in order; a denial written as one word comes apart."""
    return tuple(stem(w) for w in words(text))


def words(text: str) -> list[str]:
    """Every word of a text in small letters, in order, as `tokens` stems them."""
    return _WORD.findall(text.lower().replace("n't", " not"))


def said(phrase: tuple[str, ...], clause: tuple[str, ...], denying: Collection[str] = ()) -> bool:
    """Whether a phrase (stems) is said in a clause (stems), and neither before nor within it a denying word that is not its own."""
    return span(phrase, clause, denying) is not None


def span(phrase: tuple[str, ...], clause: tuple[str, ...], denying: Collection[str] = ()) -> tuple[int, int] | None:
    """Where a phrase is last said in a clause, as the places of its first word and of its last."""
    if not set(phrase) <= set(clause):
        return None
    denials = set(denying) - set(phrase)
    reach = len(phrase) + min(SLACK, len(phrase) - 1)
    for start in (i for i in range(len(clause) - 1, -1, -1) if clause[i] == phrase[0]):
        at = start
        for word in phrase[1:]:
            at = next((j for j in range(at + 1, min(start + reach, len(clause))) if clause[j] == word), len(clause))
        if at < len(clause) and not denials & set(clause[max(0, start - BEFORE): at]):
            return start, at
    return None
