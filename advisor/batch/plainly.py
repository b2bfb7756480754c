"""Answers in a maker's own words: not known, about so much, it helped.  The words themselves are in rules/words.yaml."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from advisor.phrases import said, stem, tokens

YES, NO = ("yes", "y", "true", "always"), ("no", "n", "false", "never")


def yes_or_no(value: Any) -> bool | None:
    """True, false or a plain yes or no; None where it is neither."""
    if isinstance(value, bool) or value is None:
        return value
    word = str(value).strip().lower().rstrip(".!")
    return True if word in YES else False if word in NO else None


def is_unsure(text: str, words: Mapping[str, Any], number: bool = False) -> bool:
    """Whether an answer says that one does not know: `no idea, sorry`; of a `number` also that it was not measured."""
    clause = tokens(_evened(text))
    phrases = (*words.get("unsure", ()), *(words.get("unmeasured", ()) if number else ()))
    return (bool(text.strip()) and not text.strip(" ?")) or any(said(tokens(p), clause) for p in phrases)


def bare_number(text: str, words: Mapping[str, Any]) -> str:
    """An answer that is a number without the words that only say that it is about right: `I think about 70 C` is `70 C`."""
    apart = re.sub(r"[,;.!](?=\s|\Z)", " ", _evened(text).lower())
    out = f" {' '.join(apart.split())} "
    for phrase in sorted(words.get("roughly", ()), key=len, reverse=True):
        out = out.replace(f" {phrase} ", "  ")
    return re.sub(r"(?<=\d)\s?ish\b", "", " ".join(out.split())).replace("degrees", "").strip(" ~")


def helped(text: str, words: Mapping[str, Any]) -> bool | None:
    """Whether what was tried helped, in plain words: `no change`, `much better`, `worse`; None where they do not tell."""
    clause = tokens(_evened(text))
    no = (*words.get("helped_not", ()), *words["unchanged"])
    denials = {stem(w) for w in (*words["negations"], *no) if " " not in w}
    good = [tokens(p) for p in words.get("helped", ())]
    if any(said(tokens(p), clause, denials) for p in words["worse"]):
        return False
    well, ill = any(said(p, clause, denials) for p in good), any(said(tokens(p), clause) for p in no)
    if well and ill:
        return None
    return True if well else False if ill or any(said(p, clause) for p in good) else None


def _evened(text: str) -> str:
    return text.replace("\u2019", "'").replace("'nt", "n't")
