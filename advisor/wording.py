"""Plain words understood: complaints to symptoms, times to words of time, free text to the choices of a question.

Weighted overlap of stems with each symptom's wordings; no language model.  Rather nothing than something wrong.
"""

from __future__ import annotations

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
from advisor.knowledge.records import Choice, Question, Symptom
from advisor.phrases import said, stem, tokens

LITTLE = 0.12                # what common words lose, sliding, as a weight of 1.9 falls to 1.3
FULL, FAIR = 0.85, 0.55      # shares of a wording's weight that count as understood, and as half understood
OFTEN, ALONE = 3, 0.5        # a word in so many wordings of one family of symptoms, with so great a share of all, tells it alone
_STOP = frozenset(["a", "an", "the", "it", "its", "is", "was", "are", "were", "be", "been", "has", "have", "had", "of", "in", "on", "to", "and", "or", "my", "i", "me", "this", "that", "when", "after", "with", "from", "so", "very", "as", "at", "by", "for", "but", "they", "them", "there", "just", "quite", "some", "all", "up", "out", "into", "then", "than", "do", "does", "did", "will", "would", "can", "could", "if", "what", "why", "how", "which", "poured"])
_CLAUSE = re.compile(r"[.;:!?\n]+|,\s+(?!as )| but | and then | then |, and | and (?=there |i |we |it |its |it's |the |has |[a-z]+ (?:is|are|was|came|comes|sits|floats|on|at) )| although | though ")
_QUESTION = re.compile(r"(?<![^.;!?\n])[^.;!?\n]*\?")
_TURN = re.compile(r"(?:^|[,:]|\bbut|\band|\bso)\s*(?:(?:is|are|was|were|do|does|did|has|have|had|can|could|should|shall|will|would|may|might|how|what|which|where|when|who|any|anyone|anybody) )")      # where a sentence begins to ask
_WHY = re.compile(r"\bwhy (?:is|are|was|were|does|do|did|has|have) ")      # asks for the reason of what it tells
_ASKS = re.compile(r"(?:(?:can|could)(?! (?:not|barely|hardly|never|only))|how|will (it|this|that|the|my|i|they)|should|shall|is it|what|which|where|has any|does any|may) ")
# What a maker wishes or planned is no complaint, unless it names what is to stop.
_WISHES = re.compile(r"(?:i|we)(?:'d| would| was| were| am)? (?:like|want|wanted|hope|hoped|hoping|need|wish|aiming|planned)\b|(?:it|this|there) (?:should|(?:has to|must|needs to) (?:be|stay|remain|pour|spray)|(?:was|is) (?:meant|supposed)) ")
_STOPS = re.compile(r"\b(?:stop|prevent|avoid)")
_TOO = re.compile(r"\b(?:too|very|more|much|far|not|never)\b")      # beside these a word of what was wanted is a complaint all the same
_WORD = re.compile(r"[a-z\u00e0-\u00ff']+")
_PASSED = re.compile(r"(?<![^,.;:!?\n])(?:(?!at first)[^,.;:!?\n])*,\s+(?:all |now )?(?:gone|vanished|disappeared|cleared)\s+(?:after|by|within|over)\b[^,.;:!?\n]*")      # bubbles, gone after a day
_DURATION = re.compile(r"(\d+(?:[.,]\d+)?)\s*(min|minute|hour|hr|h|day|d|week|wk|month|year)s?\b")
_NONE_OF = re.compile(r"\b(?:no|without)(?: [a-z'-]+){1,3}(?:, [a-z'-]+(?: [a-z'-]+){0,2})*,? (?:or|nor)\b")      # no oil, creaming or water
_NOT = re.compile(r"\b(do|does|did|is|are|was|were|has|have|had|wo|would|ca|could|should)n'?t\b")      # one word with a denial in it, with or without its mark
_NOT_BEHIND = {"wo": "will", "ca": "can"}
_HOURS = {"min": 1 / 60, "minute": 1 / 60, "hour": 1.0, "hr": 1.0, "h": 1.0, "day": 24.0, "d": 24.0, "week": 168.0, "wk": 168.0, "month": 730.0, "year": 8760.0}


class Heard(NamedTuple):
    """A symptom understood in one clause; `sure` is full or fair, `denied` and `history` say it is no present complaint."""

    symptom: str
    sure: str
    score: float
    clause: str
    denied: bool = False
    history: bool = False
    words: frozenset[str] = frozenset()      # the stems it was heard in


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

    wordings: tuple[tuple[str, frozenset[str]], ...]
    weight: Mapping[str, float]
    sense: Sense
    negations: frozenset[str]
    history: tuple[str, ...]
    plain: frozenset[str]
    telling: Mapping[str, frozenset[str]]      # by family of symptoms, the stems that tell it even alone
    beside: tuple[tuple[Symptom, tuple[tuple[str, ...], ...]], ...]      # narrower symptoms and the phrases that tell them from what they belong under


def stems(text: str, sense: Sense) -> list[str]:
    """The meaning words of a text as stems, synonyms made one."""
    return _stemmed(_evened(text, sense), sense)


def _evened(text: str, sense: Sense) -> str:
    """A text in small letters, with denials apart and sayings as what they mean."""
    apart = _NOT.sub(lambda m: f"{_NOT_BEHIND.get(m[1], m[1])} not", text.lower().replace("\u2019", "'"))
    there = [saying for saying in sense.sayings if saying in apart]
    return (_any_of(there).sub(lambda m: sense.sayings[m[0]], apart) if there else apart).replace("'s ", " ")


def _stemmed(evened: str, sense: Sense) -> list[str]:
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
        wordings = tuple((symptom, frozenset(line.split())) for (symptom, _), line in zip(written, _stem_lines([w for _, w in written], sense, knowledge), strict=True))
        spread: dict[str, set[str]] = {}
        for symptom, words in wordings:
            for w in words:
                spread.setdefault(w, set()).add(symptom)
        plain = frozenset(stems(" ".join(knowledge.words["plain"]), sense))
        told: dict[str, list[str]] = {}
        for symptom, words in wordings:
            told.setdefault(knowledge.symptoms[symptom].family, []).extend(words)
        uses = Counter(chain.from_iterable(told.values()))
        telling = {family: frozenset(w for w, n in Counter(found).items() if n >= OFTEN and n >= ALONE * uses[w] and w not in plain) for family, found in told.items()}
        count = len(knowledge.symptoms)
        weight = {w: 0.4 + math.log(count / len(s)) for w, s in spread.items()}
        found = WordIndex(wordings, weight, sense, frozenset(knowledge.words["negations"]), tuple(knowledge.words["history"]),
                          plain, telling,
                          tuple((s, tuple(map(tokens, s.beside))) for s in knowledge.symptoms.values() if s.beside))
        knowledge.index["words"] = found
    return found


def _stem_lines(texts: list[str], sense: Sense, knowledge: Knowledge) -> list[str]:
    """The stems of each text, a line each; kept from run to run under a checksum of all that they follow from, this code among it."""
    text = "\n".join(texts)
    try:
        code = b"".join(Path(f).read_bytes() for f in (__file__, phrases.__file__))
    except OSError:      # code that is no file of its own
        return _all_stemmed(text, sense)
    key = f"{crc32(code, crc32(repr(knowledge.words).encode(), crc32(text.encode()))):08x}{len(text):x}"
    known = (read_kept("words", key) or "").split("\n")
    if len(known) != len(texts):
        known = _all_stemmed(text, sense)
        keep("words", key, "\n".join(known))
    return known


def _all_stemmed(text: str, sense: Sense) -> list[str]:
    return [" ".join(_stemmed(line, sense)) for line in _evened(text, sense).split("\n")]      # all at once: thousands of lines are slow one by one


def _any_of(phrases: Iterable[str]) -> re.Pattern[str]:
    """One pattern for whole phrases, the longest first; sorted by their first letter, so that a text is read four times as fast."""
    by_letter: dict[str, list[str]] = {}
    for phrase in sorted(phrases, key=len, reverse=True):
        by_letter.setdefault(phrase[0], []).append(re.escape(phrase[1:]))
    return re.compile(rf"\b(?:{'|'.join(f'{re.escape(letter)}(?:{chr(124).join(rest)})' for letter, rest in by_letter.items())})\b")


def told_sentences(text: str) -> str:
    """A text without what asks; who asks why tells what is so."""
    return _QUESTION.sub(lambda m: f"{_before_asking(m[0])}. ", text)


def _before_asking(sentence: str) -> str:
    """What a sentence that ends in a question mark tells before it asks."""
    why, turn = _WHY.search(sentence), _TURN.search(sentence)
    if why and (turn is None or why.start() <= turn.start()):
        return f"{sentence[:why.start()]} {sentence[why.end():-1]}"
    return sentence[:turn.start()] if turn else ""


def is_telling(clause: str) -> bool:
    """Whether a clause in small letters tells what is, and neither asks nor wishes."""
    return not _ASKS.match(clause) and (not _WISHES.match(clause) or bool(_STOPS.search(clause)))


def match_symptoms(text: str, knowledge: Knowledge) -> tuple[Heard, ...]:
    """Every symptom heard in a text, best first; a question or a neutral sentence gives nothing."""
    index = word_index(knowledge)
    best: dict[str, Heard] = {}
    told = _NONE_OF.sub(lambda m: re.sub(r",? (?:or|nor)$|,", " or no", m[0]), _PASSED.sub(" ", told_sentences(_evened(text, index.sense))))
    for clause in filter(None, (c.strip() for c in _CLAUSE.split(f"{told} "))):
        if not is_telling(clause):
            continue
        in_clause = _in_clause(clause, index, knowledge)
        for heard in (*in_clause, *_narrowed(in_clause, clause, index, knowledge)):
            if heard.symptom not in best or heard.score > best[heard.symptom].score:
                best[heard.symptom] = heard
    narrower = {(knowledge.symptoms[h.symptom].under, h.sure) for h in best.values() if not h.denied}
    kept = [h for h in best.values() if not {(h.symptom, h.sure), (h.symptom, "full")} & narrower]      # gives way to what is as sure
    return tuple(sorted(kept, key=lambda h: (-h.score, h.symptom)))


def _in_clause(clause: str, index: WordIndex, knowledge: Knowledge) -> list[Heard]:
    words = set(_stemmed(clause, index.sense))
    raw = clause.split()
    history = any(marker in clause for marker in index.history)
    denials = {stem(n) for n in index.negations}
    scores: dict[str, float] = {}
    denies: dict[str, bool] = {}
    matched: dict[str, frozenset[str]] = {}
    for symptom, wording in index.wordings:
        common = wording & words
        if not common or not (wording & denials) <= words or _barred(symptom, clause, knowledge) or (common <= index.plain and words != wording and not (common == wording and len(wording) > 2)):
            continue
        if len(common) == 1 and len(wording) > 1 and not common & index.telling.get(knowledge.symptoms[symptom].family, frozenset()):
            continue
        whole = sum(index.weight[w] for w in wording)
        got = sum(index.weight[w] for w in common)
        score = got / whole - LITTLE * min(1.0, max(0.0, (1.9 - got) / 0.6)) + 0.02 * min(got, 8)
        if score > scores.get(symptom, 0.0):
            scores[symptom], matched[symptom] = score, frozenset(common)
            denies[symptom] = _denied(raw, common, index) and not wording & denials
    if not scores:
        return []
    top = max(scores.values())
    near = [s for s, v in scores.items() if v >= max(FAIR, top - 0.08)]
    out: list[Heard] = []
    for s in _prefer(near, scores, knowledge):
        if _barred(s, clause, knowledge):      # a parent that stood in
            continue
        kin = [n for n in near if n == s or knowledge.symptoms[n].under == s]   # a parent may stand in for narrower ones unheard itself
        sure = "full" if scores.get(s, 0.0) >= FULL else "fair"
        out.append(Heard(s, sure, max(scores[n] for n in kin), clause, all(denies[n] for n in kin), history, frozenset().union(*(matched[n] for n in kin))))
    return out


def _barred(symptom: str, clause: str, knowledge: Knowledge) -> bool:
    """Whether a phrase stands in the clause beside which this symptom is not meant."""
    return any(f" {phrase}" in f" {clause}" for phrase in knowledge.symptoms[symptom].unless)


def _narrowed(heard: list[Heard], clause: str, index: WordIndex, knowledge: Knowledge) -> list[Heard]:
    """Narrower symptoms told by a phrase beside a broader one, or beside a sister of theirs: curdled, and that as something went in."""
    if not heard:
        return []
    words = tokens(clause)
    out = []
    for symptom, beside in index.beside:
        kin = next((h for h in heard if symptom.under in (h.symptom, knowledge.symptoms[h.symptom].under) and not h.history), None)
        if kin and kin.symptom != symptom.id and not _barred(symptom.id, clause, knowledge) and any(said(p, words) for p in beside):
            out.append(kin._replace(symptom=symptom.id, score=kin.score - 0.01))
    return out


def _denied(raw: list[str], common: frozenset[str] | set[str], index: WordIndex) -> bool:
    """Whether a denying word stands at most two words before the first word that was matched, or between those that were."""
    clean = [w.strip(",'\"") for w in raw]
    matched = [i for i, w in enumerate(clean) if set(_stemmed(w, index.sense)) & common] or [0]
    return any(w in index.negations for w in clean[max(0, matched[0] - 2): matched[-1]])


def _prefer(near: list[str], scores: Mapping[str, float], knowledge: Knowledge) -> list[str]:
    """Of near equals in one family: a lone narrower one before its parent; several narrower ones give way to the parent."""
    out: list[str] = []
    families = Counter(knowledge.symptoms[s].family for s in near)
    for family in families:
        group = sorted((s for s in near if knowledge.symptoms[s].family == family), key=lambda s: (-scores[s], s))
        narrow = [s for s in group if knowledge.symptoms[s].under]
        clear = [s for s in narrow if scores[s] >= scores[group[0]] - 0.02]
        if len(clear) == 1 or not narrow:
            out.append(clear[0] if clear else group[0])
        elif len(clear) > 1:
            parents = {knowledge.symptoms[s].under for s in clear}
            full = [s for s in clear if scores[s] >= 1.0]
            out += full[:2] if full else [p for p in parents if p]
        else:
            out.append(group[0])
    return out


def as_wanted(heard: Heard, wanted: str | None, knowledge: Knowledge) -> bool:
    """Whether what was heard only says in the words of what was wanted that it came out so: a thick cream, and thick was wanted."""
    index = word_index(knowledge)
    said = set(re.findall("[a-z]+", (wanted or "").lower()))
    return bool(said) and not said & index.negations and heard.words <= set(stems(wanted or "", index.sense)) and not _TOO.search(heard.clause)


def when_word(text: str | None, knowledge: Knowledge) -> str | None:
    """The word of time for a text such as `next day`, `36 h`, `3 months`; None where it names no time."""
    if not text:
        return None
    low = text.lower().replace("-", " ")
    times: Mapping[str, list[str]] = knowledge.words["times"]
    if low.replace(" ", "-") in times:
        return low.replace(" ", "-")
    found = _DURATION.search(low)
    if found:
        hours = float(found[1].replace(",", ".")) * _HOURS[found[2]]
        edges = (("immediately", 1.0), ("on-cooling", 10.0), ("next-day", 37.0), ("days", 160.0), ("weeks", 1000.0))
        return next((word for word, edge in edges if hours <= edge), "months")
    apart = f" {' '.join(re.findall('[a-z0-9]+', low))} "
    hits = [(len(w), key) for key, words in times.items() for w in words if f" {w} " in apart]
    return max(hits)[1] if hits else None


def match_choice(text: str, question: Question) -> tuple[Choice, ...]:
    """The choices that a free text names, longest wording first; a denied one is left out, and a fallback beside any other."""
    low = f" {re.sub(r'[^a-z0-9%]+', ' ', text.lower())} "
    hits: list[tuple[int, Choice]] = []
    for choice in question.choices:
        for word in (*choice.words, choice.label, choice.id.replace("-", " ")):
            key = f" {re.sub(r'[^a-z0-9%]+', ' ', word.lower()).strip()} "
            at = low.find(key)
            if at >= 0 and not re.search(r" (no|not|without|never) (use |used |using |had )?(a |the |any )?$", low[: at + 1]):
                hits.append((len(key), choice))
                break
    hits.sort(key=lambda h: -h[0])
    named = tuple(c for _, c in hits)
    return tuple(c for c in named if not c.fallback) or named
