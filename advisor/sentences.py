"""What a text tells: without what it asks, wishes, or says has passed."""

from __future__ import annotations

import re
from collections.abc import Mapping
from itertools import pairwise

NOISE = 0.02      # by so small a share two readings differ by themselves
FAR = 2.5         # numbers so many times apart are no two readings of one thing

# What only some texts need is compiled when first met, as patterns cost start-up time.
_QUESTION = re.compile(r"(?<![^.;!?\n])[^.;!?\n]*\?")
_TURN = r"(?:^|[,:]|\s[-\u2013\u2014]|\bbut|\band|\bso)\s*(?:(?:is|are|was|were|do|does|did|has|have|had|can|could|should|shall|will|would|may|might|how|what|which|where|when|who|any|anyone|anybody) )"      # where a sentence begins to ask
_WHY = r"\bwhy (?:is|are|was|were|does|do|did|has|have) "      # asks for the reason of what it tells
_TO_MEND = r"\b(?:how (?:do|can|could|would|should) (?:i|we|you|one)|can (?:i|we|one)|(?:is there )?(?:a|any) way to)(?: still| best)? (?:stop (?=it|this|them|these|my|the )|(?:fix|save|rescue|get rid of|cure) )"      # asks how to mend what it tells
_LESS = r"\bmake (?:it|this|them|(?:my|the|this) [a-z ]{1,30}?) less (?=[a-z])"
_AND_IS = r",\s*((?:it|they|this|(?:my|the) [a-z]+)(?: just| still| now)? (?:is|are|was|were|has|have|keeps?|came|comes?|went|goes|looks?|feels?|stays?) [^,?]*)\??$"      # how do I thicken it, it is like water?
_ASKS = re.compile(r"(?:(?:can|could)(?! (?:not|barely|hardly|never|only))|how|will (it|this|that|the|my|i|they)|should|shall|is it|what|which|where|has any|does any|may|(?:i |we )?(?:only |just |do |am |are )?wonder(?:ing)?) ")
# What a maker wishes or planned is no complaint, unless it names what is to stop.
_WISHES = re.compile(r"(?:i|we)(?:'d| would| was| were| am)? (?:like|want|wanted|hope|hoped|hoping|need|wish|aiming|planned)\b|(?:it|this|there) (?:should|(?:has to|must|needs to) (?:be|stay|remain|pour|spray)|(?:was|is) (?:meant|supposed)) ")
_WOULD = r"\b(?:i|we)(?:'d| would) (?:like|love)\b[^.;!?\n]*"
_STOPS = re.compile(r"\b(?:stop|prevent|avoid)")
_PASSED = re.compile(r"(?<![^,.;:!?\n])(?:(?!at first)[^,.;:!?\n])*,\s+(?:all |now )?(?:gone|vanished|disappeared|cleared)\s+(?:after|by|within|over|the next|next|in the)\b[^,.;:!?\n]*")      # bubbles, gone after a day
_FOUND_NONE = r"\b(?:looked|looking|checked|checking) (?:it |them )?(?:carefully |well )?for [a-z' ]{3,40}(?:[:;,.]| and| but)\s+(?:i )?(?:(?:found|saw|see|could see|there (?:is|was|were)) )?(?:none|nothing)\b[^,.;:!?\n]*"      # I looked for mould and found none
_THEY_WENT = r"[^.;!?\n]*[.;!]\s*(?:they|these|those|all of them)(?: (?:were|are|had|have))?(?: all)? (?:gone|vanished|disappeared|cleared)(?=[.;,]|$| (?:by|within|after|over|overnight|in|when|the next)\b)(?![^\n]*\b(?:back|return\w*|again)\b)[^.;!?\n]*"      # full of bubbles. They were gone by the next day
_SO_THAT = re.compile(r"\bso (?:that )?(?:it|they|this|the [a-z]+) (?:would|will|could|can|might|may)\b(?! not\b)[^,.;:!?\n]*")      # in cold water, so it would set faster
_SAME = r"(?i)(?:^|[,;(]|\band\b|\bbut\b)\s*(?:and |but |with |on |in |from )*(?:all |just |exactly )?(?:the )?same\b[^,;)]*"      # ten times the batch, same blender
_FROM_TO = r"(?i)([a-z][a-z ()-]{0,60}?):? (?:(?:was|were|went|goes|up|down|raised|lowered|increased|reduced|cut|changed) )*from (\d+(?:\.\d+)?) ?(?:%|percent|per cent|grams?|g|ml)? (?:up |down )?to (\d+(?:\.\d+)?)"      # flakes from 5 to 20 %
_ARROW = r"\s*(?:->|=>|→)\s*"

# Two readings of one thing, and what says which of them is the newer; beside a word of setting they tell what the maker did.
_READING = r"(?<![\d.,])\d+(?:[.,]\d+)?(?![\d%]|[.,]\d| ?(?:%|c\b|degrees|percent|min|hours?|days?|weeks?|months?|years?))"
_NOW = r"\b(?:now|today|later|currently|shows|reads|at the end|after (?:[a-z0-9]+ ){0,3}(?:hours?|days?|weeks?|fortnight|months?|years?|standing|storage))\b"
_THEN = r"\b(?:was|were|had|went in|filled (?:at|with)|at (?:the )?(?:filling|first|start|making|bottling)|(?:when|as) (?:i |we |it was )?(?:filled|made|fresh|new|bottled)|freshly made|originally|before|from the start|on the first day)\b"
_SETTING = r"\b(?:set|setting|adjust\w*|brought|bring|correct\w*|lower\w*|raised?|raising|recipe|drops?|target|wanted|supposed|should|must|add\w*|at ph|with|other batch|last batch)\b"


def told_sentences(text: str) -> str:
    """A text without what asks; who asks why tells what is so."""
    return _QUESTION.sub(lambda m: f"{_before_asking(m[0])}. ", text)


def _before_asking(sentence: str) -> str:
    """What a sentence that ends in a question mark tells before it asks."""
    why, turn = re.search(_WHY, sentence), re.search(_TURN, sentence)
    if why and (turn is None or why.start() <= turn.start()):
        told = sentence[why.end():-1]
        turn = re.compile(_TURN).search(told, 1)      # why does it part, and will it keep
        return f"{sentence[:why.start()]} {told[:turn.start()] if turn else told}"
    before = sentence[:turn.start()] if turn else ""
    if mend := re.search(_TO_MEND, sentence):
        before = f"{before}. {sentence[mend.end():-1]}"
    elif less := re.search(_LESS, sentence):
        before = f"{before}. it is too {sentence[less.end():-1]}"
    elif behind := re.search(_AND_IS, sentence):
        before = f"{before}. {behind[1]}"
    return before


def is_telling(clause: str) -> bool:
    """Whether a clause in small letters tells what is, and neither asks nor wishes."""
    return not _ASKS.match(clause) and (not _WISHES.match(clause) or bool(_STOPS.search(clause)))


def without_past_and_purpose(text: str) -> str:
    """A text in small letters without what was gone again by itself or looked for in vain, and what something was done for."""
    text = re.sub(_THEY_WENT, " ", text) if "gone" in text or "vanished" in text or "disappeared" in text or "cleared" in text else text
    text = re.sub(_FOUND_NONE, " ", text) if "look" in text or "check" in text else text
    return _SO_THAT.sub(" ", _PASSED.sub(" ", text))


def without_what_stayed(text: str) -> str:
    """What was changed without the parts of it that were the same."""
    return re.sub(_SAME, "", text)


def with_directions(text: str) -> str:
    """What was changed with what its numbers and arrows tell: the salt from 5 to 20 % is more salt, almond -> olive is changed to olive."""
    text = re.sub(_ARROW, " changed to ", re.sub(rf"(?:from )?(\d+(?:\.\d+)?) ?(%|g|ml)?{_ARROW}(?=\d)", r"from \1 \2 to ", text))
    return "; ".join((text, *(f"{'more' if float(m[3]) > float(m[2]) else 'less'} {m[1].strip()}" for m in re.finditer(_FROM_TO, text) if m[2] != m[3])))


def with_readings(text: str, means: Mapping[str, str]) -> str:
    """A text in small letters with what its two readings of one thing tell: it was 5.2 at filling and is 6.4 now.

    `means`: by a word (a pattern) and `rises` or `falls`, what that tells.
    """
    there = [(word, way, says) for key, says in means.items() for word, way in (key.rsplit(" ", 1),) if re.search(rf"\b{word}", text)]
    if not there or not re.search(r"\d", text):
        return text
    sentences = [s for s in re.split(r"[!?\n]|\.(?!\d)", text) if not re.search(_SETTING, s)]
    pairs = [f"{first}; {second}" for first, second in pairwise(sentences) if not _change(first) and not _change(second)]      # it was 5.2. Now it is 4.6
    told = [says for told in (*sentences, *pairs) for change in (_change(told),) if change for word, way, says in there if re.search(rf"\b{word}", told) and way == change]
    return "; ".join((text, *told))


def _change(sentence: str) -> str:
    """Whether the newer of two readings in a sentence is higher or lower than the older; nothing where that is not clear."""
    ages: dict[str, list[float]] = {"now": [], "then": []}
    for part in re.split(r",(?!\d)|[;:(]| and | but ", sentence):
        if found := re.findall(_READING, part):
            age = "now" if re.search(_NOW, part) else "then" if re.search(_THEN, part) else ""
            if not age or len(found) > 1:
                return ""
            ages[age].append(float(found[0].replace(",", ".")))
    if [len(a) for a in ages.values()] != [1, 1]:
        return ""
    now, then = ages["now"][0], ages["then"][0]
    return "" if abs(now - then) <= NOISE * then or max(now, then) > FAR * min(now, then) else "rises" if now > then else "falls"


def without_hopes(text: str) -> str:
    """A text in small letters without what one would like: it is cloudy and I'd like it clear is no liking."""
    return re.sub(_WOULD, " ", text)
