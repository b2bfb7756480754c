"""Plain words understood: complaints to symptoms, times to words of time, free text to the choices of a question.

Weighted overlap of stems with each symptom's wordings; no language model.  Rather nothing than something wrong.
"""

import re
from collections import Counter
from collections.abc import Mapping
from typing import NamedTuple

from advisor.knowledge.load import Knowledge
from advisor.knowledge.records import Choice, Question
from advisor.lexicon import WordIndex, evened, parted, stemmed, stems, word_index
from advisor.phrases import said, stem, tokens, words
from advisor.sentences import is_telling, told_sentences, with_readings, without_hopes, without_past_and_purpose

LITTLE = 0.12                # what common words lose, sliding, as a weight of 1.9 falls to 1.3
FULL, FAIR = 0.85, 0.55      # shares of a wording's weight that count as understood, and as half understood
SLIGHT = 0.61                # share below which two words or more must have one among them that tells their family
BETWEEN, APART, TURNED = 1, 0.15, 0.3      # words let pass between those of a wording, what each further one costs, and what it costs that two so parted come the other way round
NEAR = 2                     # words before what it denies within which `no` and `without` deny it
BEFORE, BEHIND = 5, 4        # words around what it denies within which a denial that a wording needs is looked for
REMEMBERED = 2000            # texts kept as understood, so that no proof listens anew
_CLAUSE = re.compile(r"(?:[;:!?\n]|\.(?!\d))+|,\s+(?!as )| but | and then | then |, and | and (?=there |i |we |it |its |it's |the |has |stays |stayed |remains |remained |turns |turned |goes |went |smells |smelled |smelt |got |gets |get |[a-z]+ (?:is|are|was|came|comes|sits|floats|on|at) )| although | though ")
_SO = re.compile(r"\b(so (?!worried|afraid|scared|nervous|sure|glad|happy)[a-z]+) (?=(?:that )?(?:it|they) )")      # so thin it runs off my hand: two clauses
_LEADS = re.compile(r"^(?:and |but |then )?(?:when|whenever|after|once|upon|as soon as|the moment) |\buntil\b")      # says when what the next clause tells of came: when the acid went in, it split
_TOO = re.compile(r"\b(?:too|very|more|much|far|not|never)\b")      # beside these a word of what was wanted is a complaint all the same
_THAN = r"\b(?!rather|other)[a-z]+er than\b"      # thinner than bought ones: a fault, though thin was wanted
_COPULAS = frozenset(["is", "are", "was", "were"])      # what I had not washed was thick: the denial is of something else
_AHEAD = frozenset(["no", "without"])      # deny what follows them alone: it spreads well without dragging
_MEANT = re.compile(r"(?:wanted|hoped for|hoping for|(?:(?:it|they|this|these|that) (?:is |are )?)?(?:meant|intended|supposed) (?:as|to be)|if (?:ever|one|any)|(?:(?:i|we) (?:was|were|had been) |(?:i|we) )?(?:half )?(?:expect(?:ed|ing)|feared|dreaded) (?!it|this|more|better|less))\b")      # a clause that begins so tells a wish, or what was expected or might have been
_FEARED = re.compile(r"(?:(?:i|we) (?:was|were|had been) )?(?:afraid|worried|scared) .*\b(?:would|might|could)\b|(?:people|customers|everyone|everybody|many|some|they|most)(?: always| often| sometimes)? ask(?:ed)?(?: me)? (?:whether|if)\b|(?:the|my|some) (?:book|books|recipe|leaflet|instructions|supplier|people) says? .*\b(?:may|might|can|could|will|would)\b")      # what was feared, was asked by others or is said in books
_OF_MATERIAL = re.compile(r"(?:the |my |our |this )?([a-z][a-z' -]*?) (?:is|was|are|were) (an? )?")      # what a clause is about, and whether it says what that is
_DURATION = re.compile(r"(\d+(?:[.,]\d+)?)\s*(min|minute|hour|hr|h|day|d|week|wk|month|year)s?\b")
_WENT = ("rose out", "gone", "vanished", "disappeared", "went away", "cleared")
_GONE = rf"(?<!not )(?<!never )\b(?:{'|'.join(_WENT)})(?=$|,| (?:again|altogether|and|before|completely|for good|now|overnight|today|when it|once it|(?:after|by|in|over|the|within) (?:itself|themselves|an? |one|the |next |night|morning|standing|resting|some|[0-9]))\b)"      # the foam was gone; not the foam has gone grey
_ACT = r"\b(?<!from )(?:re)?(?:heat|melt|warm|stir|shak|shook|blend|mix|skim|strain|pour|scoop)"      # went by what was done to it
_BACK = r"\b(?:back|return(?:s|ed)?|reappear(?:s|ed)?)\b"      # and the foam came back
_NONE_OF = re.compile(r"\b(?:no|without)(?! (?:changes?|differences?) )(?: [a-z'-]+){1,3}(?:, [a-z'-]+(?: [a-z'-]+){0,2})*,? (?:or|nor)\b")      # no oil, creaming or water; not no change in smell or thickness
_HOURS = {"min": 1 / 60, "minute": 1 / 60, "hour": 1.0, "hr": 1.0, "h": 1.0, "day": 24.0, "d": 24.0, "week": 168.0, "wk": 168.0, "month": 730.0, "year": 8760.0}


class Heard(NamedTuple):
    """A symptom understood in one clause; `sure` is full or fair, `denied` and `history` (`gone` among it) say it is no present complaint."""

    symptom: str
    sure: str
    score: float
    clause: str
    denied: bool = False
    history: bool = False
    words: frozenset[str] = frozenset()      # the stems it was heard in
    gone: bool = False                       # it was there, and went by itself


def match_symptoms(text: str, knowledge: Knowledge) -> tuple[Heard, ...]:
    """Every symptom heard in a text, best first; a question or a neutral sentence gives nothing."""
    known: dict[str, tuple[Heard, ...]] = knowledge.index.setdefault("understood", {})
    if text not in known:
        if len(known) >= REMEMBERED:
            known.clear()
        known[text] = _understood(text, knowledge)
    return known[text]


def _understood(text: str, knowledge: Knowledge) -> tuple[Heard, ...]:
    index = word_index(knowledge)
    best: dict[str, Heard] = {}
    told = _NONE_OF.sub(lambda m: re.sub(r",? (?:or|nor)$|,", " or no", m[0]), with_readings(without_past_and_purpose(told_sentences(evened(text, index.sense))), knowledge.words.get("readings", {})))
    told = _SO.sub(r"\1, ", told)
    for_good = any(word in told for word in _WENT) and not re.search(_BACK, told)      # patterns of what few tell are compiled where they are met
    lead = ""
    for clause in filter(None, (c.strip() for c in _CLAUSE.split(f"{told} "))):
        if is_telling(clause) and not _MEANT.match(clause) and not _FEARED.match(clause):
            in_clause = _in_clause(clause, index, knowledge, for_good)
            for heard in (*in_clause, *_narrowed(in_clause, f"{lead} {clause}", index, knowledge)):
                if heard.symptom not in best or heard.score > best[heard.symptom].score:
                    best[heard.symptom] = heard
        lead = clause if _LEADS.search(clause) else ""
    narrower = {(knowledge.symptoms[h.symptom].under, h.sure) for h in best.values() if not h.denied}
    kept = [h for h in best.values() if not {(h.symptom, h.sure), (h.symptom, "full")} & narrower]      # gives way to what is as sure
    return tuple(sorted(kept, key=lambda h: (-h.score, h.symptom)))


def _in_clause(clause: str, index: WordIndex, knowledge: Knowledge, for_good: bool) -> list[Heard]:
    found = stemmed(clause, index.sense)
    words = set(found)
    order = [w for w in found if w in index.weight]      # names of materials and the like part nothing
    raw = clause.split()
    history = any(marker in clause for marker in index.history)
    gone = re.search(_GONE, clause) if for_good and not re.search(_ACT, clause) else None
    well = len(clause[:gone.start()].split()) if gone else 0      # what was told before this word was there no more
    denials = {stem(n) for n in index.negations}
    scores: dict[str, float] = {}
    denies: dict[str, bool] = {}
    matched: dict[str, frozenset[str]] = {}
    for number in sorted({int(n) for word in words for n in index.uses.get(word, "").split()}):
        symptom, line = parted(index.wordings[number])
        wording = frozenset(line.split())
        common = wording & words
        if not (wording & denials) <= words or (common <= index.plain and words != wording and not (common == wording and len(wording) > 2)):
            continue
        if len(common) == 1 and len(wording) > 1 and not common & index.telling.get(knowledge.symptoms[symptom].family, frozenset()):
            continue
        whole = sum(index.weight[w] for w in wording)
        got = sum(index.weight[w] for w in common)
        score = got / whole - _scattered(common, order, line) - LITTLE * min(1.0, max(0.0, (1.9 - got) / 0.6)) + 0.02 * min(got, 8)
        if score < SLIGHT and len(common) < len(wording) and not common & index.telling.get(knowledge.symptoms[symptom].family, frozenset()):
            continue      # half of a wording without a word that tells its family: hair that feels soft is no film
        if score > scores.get(symptom, 0.0) and not (wording & denials and not _denied(raw, common - denials, index, BEFORE, BEHIND)):
            scores[symptom], matched[symptom] = score, frozenset(common)
            denies[symptom] = _denied(raw, common, index) and not wording & denials
    for symptom in [s for s in scores if _barred(s, clause, knowledge)]:
        del scores[symptom]
    if not scores:
        return []
    top = max(scores.values())
    near = [s for s, v in scores.items() if v >= max(FAIR, top - 0.08)]
    if " and " not in clause:      # thin and lumpy is both
        near = [s for s in near if not any(_says_more(o, s, matched, scores, knowledge) for o in near)]
    out: list[Heard] = []
    for s in _prefer(near, scores, knowledge):
        if _barred(s, clause, knowledge):      # a parent that stood in
            continue
        kin = [n for n in near if n == s or knowledge.symptoms[n].under == s]   # a parent may stand in for narrower ones unheard itself
        sure = "full" if scores.get(s, 0.0) >= FULL else "fair"
        went = any(_went(matched[n], raw[:well], index) for n in kin)
        out.append(Heard(s, sure, max(scores[n] for n in kin), clause, all(denies[n] for n in kin), history or went, frozenset().union(*(matched[n] for n in kin)), went))
    about = _OF_MATERIAL.match(clause) if out else None
    if about and _is_material(about[1], knowledge):      # the glycerin was thick as syrup
        out = [h for h in out if h.sure == "full" and not about[2]]
    return out


def _is_material(text: str, knowledge: Knowledge) -> bool:
    """Whether a text is the name of one material, and no bare class word such as oil or cream."""
    item = knowledge.ingredients.get(knowledge.names.get(" ".join(words(text)), ""))
    return item is not None and not item.stands_for


def _went(common: frozenset[str], before: list[str], index: WordIndex) -> bool:
    """Whether all the words that were matched stand among these, behind which it says that it was gone."""
    return bool(before) and common <= set(stemmed(" ".join(before), index.sense))


def _says_more(one: str, other: str, matched: Mapping[str, frozenset[str]], scores: Mapping[str, float], knowledge: Knowledge) -> bool:
    """Whether one symptom was understood, as surely, in all the words of one of another family and in more: hard flakes of wax are not hard."""
    return matched[other] < matched[one] and scores[one] >= max(FULL, scores[other]) and knowledge.symptoms[one].family != knowledge.symptoms[other].family


def _scattered(common: frozenset[str], order: list[str], line: str) -> float:
    """What it takes from a wording that its words stand apart in a clause: hard flakes that I rub are not hard to rub in."""
    if len(common) < 2:
        return 0.0
    last: dict[str, int] = {}
    start, end = 0, len(order)
    for place, word in enumerate(order):
        if word in common:
            last[word] = place
            if len(last) == len(common) and place - min(last.values()) <= end - start:
                start, end = min(last.values()), place
    between = end - start + 1 - len(common)
    turned = between > 0 and len(common) == 2 and line.split().index(order[start]) > line.split().index(order[end])
    return APART * max(0, between - BETWEEN) + TURNED * turned


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


def _denied(raw: list[str], common: frozenset[str] | set[str], index: WordIndex, before: int = NEAR, behind: int = 0) -> bool:
    """Whether a denying word stands between the words that were matched, or at most so many words before the first or behind the last."""
    clean = [w.strip(",'\"") for w in raw]
    matched = [i for i, w in enumerate(clean) if set(stemmed(w, index.sense)) & common] or [0]
    beyond = clean[matched[-1] + 1: matched[-1] + behind]
    behind = min(behind, beyond.index("and") + 1) if "and" in beyond else behind      # thick and will not emulsify: what is denied follows
    return any(clean[i] in index.negations and not (clean[i] == "not" and _COPULAS & set(clean[i + 1: matched[0]])) and not (clean[i] in _AHEAD and not matched[0] - NEAR <= i < matched[-1])
               for i in range(max(0, matched[0] - before), min(len(clean), matched[-1] + behind)))


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
    return bool(said) and not said & index.negations and heard.words <= set(stems(wanted or "", index.sense)) and not _TOO.search(heard.clause) and not re.search(_THAN, heard.clause)


def is_wished(text: str, knowledge: Knowledge) -> bool:
    """Whether a text says of what it tells that it is as was wanted, and turns to nothing else after that."""
    told = tokens(without_hopes(text.lower()))
    turns = set(tokens(" ".join(knowledge.words["turns"])))
    last = told[1 + max((i for i, word in enumerate(told) if word in turns), default=-1):]
    return any(said(tokens(p), last, knowledge.words["negations"]) for p in knowledge.words["wished"])


def is_beyond(text: str) -> bool:
    """Whether a text says that it is more than was wanted, or less."""
    return bool(_TOO.search(text.lower()))


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
    """The choices that a free text names, longest wording first; what a longer one says is not said by a shorter one in it, a denied one is left out, and a fallback beside any other."""
    low = f" {re.sub(r'[^a-z0-9%]+', ' ', text.lower())} "
    keys = ((f" {re.sub(r'[^a-z0-9%]+', ' ', word.lower()).strip()} ", choice) for choice in question.choices for word in (*choice.words, choice.label, choice.id.replace("-", " ")))
    hits: dict[str, Choice] = {}
    for key, choice in sorted((k for k in keys if k[0] in low), key=lambda k: -len(k[0])):
        at = low.find(key)
        if at >= 0:
            if not re.search(r" (no|not|without|never) (use |used |using |had )?(a |the |any )?$", low[: at + 1]):
                hits.setdefault(choice.id, choice)
            low = f"{low[:at + 1]}{'-' * (len(key) - 2)}{low[at + len(key) - 1:]}"
    named = tuple(hits.values())
    return tuple(c for c in named if not c.fallback) or named
