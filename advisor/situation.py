"""What is known of one batch: its record with the answers laid in, its quantities, what was heard, and the answers found in its words."""

import re
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from advisor.batch.model import Batch, Remark
from advisor.batch.units import GRAMS, temperatures
from advisor.knowledge.load import Knowledge
from advisor.knowledge.records import Question
from advisor.overhearing import heard_in, overheard
from advisor.phrases import said, tokens
from advisor.quantities.measure import Measures, measure
from advisor.quantities.names import with_kinds
from advisor.sentences import with_directions, without_what_stayed
from advisor.wording import Heard, as_wanted, is_beyond, is_wished, match_choice, match_symptoms, when_word

NEAR = 0.05                 # share by which a stated size may miss what was weighed in, and be the same batch
NOT_SURE = "not-sure"
WANTED = "wanted"
CHANGED = "history.changed"
SEEN_WHEN = "observed.when"      # a question that reads it is answered by the time that was told with what was seen
FIRST = ("immediately", "on-cooling")
HELPED = "helped"
NOTHING = "nothing"         # the choice of a question on what was tried or changed that says: nothing
_FIELDS = {"batch_size": "batch_size", "scale_reads_to": "scale_step", "water": "water", "history.worked_before": "worked_before",
           "wanted": "wanted", "kind": "kind"}


class Sign(NamedTuple):
    """One symptom as understood: the maker's words, when it showed, whether half understood or said not to be there."""

    symptom: str
    said: str
    when: str | None
    full: bool
    denied: bool = False
    headline: bool = False      # of the family that the complaint itself is about


class Situation(NamedTuple):
    batch: Batch
    measures: Measures
    signs: tuple[Sign, ...]
    answers: Mapping[str, tuple[str, ...]]     # question id: choices (or the number as text)
    tried: Mapping[str, str]                   # what was tried: helped | no-change
    remarks: tuple[Remark, ...]
    unread: tuple[str, ...] = ()               # what was said to be wrong, but in which nothing was understood
    praised: bool = False                      # it was said to have come out right

    @property
    def complaints(self) -> tuple[Sign, ...]:
        """The signs that are there, without what was said to be absent."""
        return tuple(s for s in self.signs if not s.denied)


def assess(batch: Batch, knowledge: Knowledge, with_signs: bool = True) -> Situation:
    """Read, measure and understand one batch; `with_signs=False` judges formula and process alone."""
    batch = _with_size(_with_answers(batch, knowledge))
    measures = measure(batch, knowledge)
    remarks = [*batch.remarks, *measures.remarks, *_unread_answers(batch, knowledge)]
    unread: list[str] = []
    told = _signs(batch, knowledge, remarks, unread) if with_signs else []
    signs = [s for s in told if not knowledge.symptoms[s.symptom].fine]
    heard = overheard(batch, knowledge, with_signs, {s.symptom for s in signs if not s.denied})
    answers: dict[str, tuple[str, ...]] = {}
    for question in knowledge.questions.values():
        found = _answer(question, batch, knowledge) or _by_time(question, signs)
        vague = question.id not in batch.answers and all(c.fallback for c in question.choices if c.id in found)
        if vague and heard.get(question.id):      # nothing was told in its place, or only what any other answer outweighs
            found = heard[question.id]
            label = next(c.label for c in question.choices if c.id == found[0])
            remarks.append(Remark("your words", f"taken as an answer to {question.text!r}: {label}"))
        if found:
            answers[question.id] = found
    return Situation(batch, measures, tuple(signs), answers, _tried(batch, knowledge) if with_signs else {}, tuple(remarks), tuple(unread),
                     any(s.full and not s.denied for s in told if knowledge.symptoms[s.symptom].fine))


def read_field(batch: Batch, path: str) -> Any:
    """The value of a record field such as `process.mixer` or `batch_size`; None if it is not there."""
    if path in _FIELDS:
        return getattr(batch, _FIELDS[path])
    head, _, rest = path.partition(".")
    if path == CHANGED:
        return "; ".join(_changes(batch)) or None
    if path == "formula.unit":
        return batch.formula.unit
    if head == "formula" or head == "tried":
        return None
    block = getattr(batch, head, None)
    return block.get(rest) if isinstance(block, Mapping) else None


def _changes(batch: Batch) -> list[str]:
    """What was told to be different this time, item by item, without what stayed; what is told of a line's lot with it."""
    return [told for item in (*batch.changed, *(line.lot for line in batch.formula.lines if line.lot)) if (told := with_directions(without_what_stayed(item)))]


def write_field(batch: Batch, path: str, value: Any) -> Batch:
    """The batch with one field changed."""
    if path in _FIELDS:
        field: dict[str, Any] = {_FIELDS[path]: value}
        return batch._replace(**field)
    head, _, rest = path.partition(".")
    block = getattr(batch, head, None)
    if not rest or not isinstance(block, Mapping):
        return batch
    changed: dict[str, Any] = {head: {**block, rest: value}}
    return batch._replace(**changed)


def with_answer(batch: Batch, question: Question, value: Any) -> Batch:
    """The batch with one question answered; an answer stands before what the record's own field says."""
    return batch._replace(answers={**batch.answers, question.id: value})


def _with_answers(batch: Batch, knowledge: Knowledge) -> Batch:
    """Numbers that were answered, and the texture wanted, take their place in the record, so that everything computed sees them."""
    for key, value in batch.answers.items():
        question = knowledge.questions.get(key)
        if question and question.reads == WANTED and (choice := next((c for c in question.choices if c.id == value), None)):
            batch = write_field(batch, WANTED, choice.label)
        if question and question.kind == "number" and question.reads and isinstance(value, (int, float)) and not isinstance(value, bool):
            batch = write_field(batch, question.reads, float(value))
    return batch


def _with_size(batch: Batch) -> Batch:
    """What was weighed in is the size of the batch, where none or nearly the same is told: then changes can be given in grams."""
    formula = batch.formula
    if formula.unit not in GRAMS or not formula.complete or any(line.rest or line.amount is None for line in formula.lines):
        return batch
    whole = sum(sum(line.amount) / 2 for line in formula.lines if line.amount) * GRAMS[formula.unit]
    return batch._replace(batch_size=whole) if whole and (batch.batch_size is None or abs(batch.batch_size - whole) <= NEAR * whole) else batch


def _answer(question: Question, batch: Batch, knowledge: Knowledge) -> tuple[str, ...]:
    given = batch.answers.get(question.id)
    if given is not None:
        values = given if isinstance(given, (list, tuple)) else [given]
        return tuple({True: "yes", False: "no"}.get(v, str(v)) if isinstance(v, bool) else str(v) for v in values)
    value = read_field(batch, question.reads) if question.reads else None
    if value is None:
        return ()
    if isinstance(value, bool):
        return ("yes" if value else "no",)
    if question.kind == "number":
        return (f"{value:g}",) if isinstance(value, (int, float)) else ()
    if question.kind == "choice":
        spans = [c for c in question.choices if c.celsius]
        within = [next((c.id for c in spans if c.celsius and c.celsius[0] <= degrees <= c.celsius[1]), "") for degrees in (temperatures(value) if spans else ())]
        texts = [f"{item}; {with_kinds(item, knowledge)}" for item in _changes(batch)] if question.reads == CHANGED else [str(value)]      # one by one: a fallback gives way to what the same change tells
        return tuple(dict.fromkeys(filter(None, within))) or tuple(dict.fromkeys(c.id for text in texts for c in match_choice(text, question)))
    return (str(value),)


def _by_time(question: Question, signs: Sequence[Sign]) -> tuple[str, ...]:
    """The one choice whose words are the times told of all that was seen; none where they differ or none was told."""
    times = {s.when for s in signs if s.when and not s.denied}
    fits = {c.id for c in question.choices if times & set(c.words)} if question.reads == SEEN_WHEN else set()
    return tuple(fits) if len(fits) == 1 and times <= {w for c in question.choices if c.id in fits for w in c.words} else ()


def _unread_answers(batch: Batch, knowledge: Knowledge) -> list[Remark]:
    """Answers of the record that no question can take; said, so that a slip of the pen is not silence."""
    out = []
    for key in batch.answers:
        question = knowledge.questions.get(key)
        if question is None:
            out.append(Remark("answers", f"no question is called {key!r}, so nothing is told by it"))
            continue
        known = {c.id for c in question.choices} | {NOT_SURE, NOTHING}
        for given in _answer(question, batch, knowledge) if question.kind == "choice" else ():
            if given not in known:
                out.append(Remark(f"answers, {key}", f"{given!r} is none of its answers ({', '.join(c.id for c in question.choices)}), so nothing is told by it"))
    return out


def _signs(batch: Batch, knowledge: Knowledge, remarks: list[Remark], unread: list[str]) -> list[Sign]:
    out: list[Sign] = []
    for seen in batch.observed:
        when = when_word(seen.when, knowledge) if seen.when else when_word(seen.what, knowledge)
        if seen.when and not when:
            remarks.append(Remark("observed", f"the time {seen.when!r} was not understood"))
        if seen.what in knowledge.symptoms:
            out.append(Sign(seen.what, seen.what, when, True))
            continue
        text = f"{seen.when}, {seen.what}" if seen.when and not when else seen.what      # after thawing: no word of time, and yet it tells
        heard = [h for h in match_symptoms(text, knowledge) if not as_wanted(h, batch.wanted, knowledge)]
        wished = is_wished(seen.what, knowledge)
        if wished:
            heard = [h for h in heard if not _may_be_wished(h.symptom, seen.what, knowledge)]
        if _opens(seen.what, knowledge.words["unchanged"]):      # no change, also after three nights in the freezer
            heard = [h for h in heard if knowledge.symptoms[h.symptom].fine]
        if _finds_no_fault(seen.what, knowledge):
            heard = [h for h in heard if _is_clear(h, knowledge)]
        if not heard and not wished:
            remarks.append(Remark("observed", f"{seen.what!r} was not understood as a complaint; it is kept as history"))
        if not _told(heard, knowledge) and not wished:
            unread.append(seen.what)
        gone = {h.symptom for h in heard if h.gone}
        out = [s for s in out if s.symptom not in gone]
        out += [Sign(h.symptom, seen.what, when, h.sure == "full", h.denied) for h in heard if not h.history]
    out = [s for i, s in enumerate(out) if not _was_well(s, out[i + 1:], knowledge)]
    if batch.complaint:
        have = {s.symptom for s in out}
        when = when_word(batch.complaint, knowledge)
        found = [h for h in match_symptoms(batch.complaint, knowledge) if not as_wanted(h, batch.wanted, knowledge)]
        if _finds_no_fault(batch.complaint, knowledge):
            found = [h for h in found if _is_clear(h, knowledge)]
        if not _told(found, knowledge) and not out:
            remarks.append(Remark("complaint", f"{batch.complaint!r} was not understood as something that went wrong"))
            unread.append(batch.complaint)
        if batch.observed and _tells_well(batch.observed[-1].what, knowledge) and _is_content(batch.complaint, found, knowledge):
            out = [s for s in out if s.denied or knowledge.symptoms[s.symptom].fine]
        if is_wished(batch.complaint, knowledge):
            out = [s for s in out if not _may_be_wished(s.symptom, s.said, knowledge)]
            found = [h for h in found if not _may_be_wished(h.symptom, h.clause, knowledge)]
        for h in found:
            if not h.history and h.symptom not in have and (h.sure == "full" or not have):
                out.append(Sign(h.symptom, batch.complaint, when, h.sure == "full", h.denied))
        headline = {knowledge.symptoms[h.symptom].family for h in found if h.sure == "full" and not h.history and not h.denied}
        out = [s._replace(headline=knowledge.symptoms[s.symptom].family in headline) for s in out]
    if any(s.full and not s.denied for s in out):      # what was half understood is mostly wrong (two of three, counted): it counts only where nothing else was heard
        out = [s for s in out if s.full]
    for sign in out:
        if not sign.full and not knowledge.symptoms[sign.symptom].fine:
            remarks.append(Remark("observed", f"{sign.said!r} was taken to mean: {knowledge.symptoms[sign.symptom].title}"))
    return out


def _opens(text: str, phrases: Sequence[str]) -> bool:
    """Whether a text is one of these phrases, or begins with one as a clause of its own: `the same, in the fridge too`, not `the same oil layer`."""
    low = text.lower().strip()
    return any(low.startswith(p) and low[len(p):len(p) + 1] in ("", ",", ".", ";", ":") for p in phrases)


def _tells_well(text: str, knowledge: Knowledge) -> bool:
    return _opens(text, knowledge.words["unchanged"]) or any(knowledge.symptoms[h.symptom].fine and h.sure == "full" and not h.denied for h in match_symptoms(text, knowledge))


def _is_content(complaint: str, found: Sequence[Heard], knowledge: Knowledge) -> bool:
    """Whether a complaint is none: clearly all is well, nothing clearly amiss, and no turn to what came after."""
    told = [h for h in found if h.sure == "full" and not h.denied and not h.history]
    return bool(told) and all(knowledge.symptoms[h.symptom].fine for h in told) and not _turns(complaint, knowledge)


def _finds_no_fault(text: str, knowledge: Knowledge) -> bool:
    """Whether a text opens with that there is no fault, and turns to none after all."""
    return _opens(text, knowledge.words["no_fault"]) and not re.search(r"\b(?:but|however|except|though|although|until|unfortunately|sadly|suddenly|today|yesterday)\b", text.lower())


def _is_clear(heard: Heard, knowledge: Knowledge) -> bool:
    """Whether a sign stands though its text opened with no fault: a quick question, my lotion split; nothing wrong, rather thick does not."""
    symptom = knowledge.symptoms[heard.symptom]
    return heard.denied or symptom.fine or (heard.sure == "full" and not symptom.either)


def _turns(text: str, knowledge: Knowledge) -> bool:
    """Whether a text turns to something else: good, but."""
    return bool(set(tokens(text)) & set(tokens(" ".join(knowledge.words["turns"]))))


def _may_be_wished(symptom: str, text: str, knowledge: Knowledge) -> bool:
    """Whether a symptom may as well tell how it was meant to be, where all else is well: a thin milk, not one that is too thin."""
    return knowledge.symptoms[symptom].either and not is_beyond(text)


def _was_well(sign: Sign, later: Sequence[Sign], knowledge: Knowledge) -> bool:
    """Whether a sign only tells how it was before what was told after it: stiff at first, runny the next day."""
    until = set(knowledge.symptoms[sign.symptom].until)
    return bool(until) and sign.when in FIRST and any(s.said != sign.said and not s.denied and (s.symptom in until or knowledge.symptoms[s.symptom].under in until) for s in later)


def _told(heard: Sequence[Heard], knowledge: Knowledge) -> bool:
    """Whether something of the present was understood: a fault, that one is not there, or clearly that all is well."""
    return any(not h.history and (not knowledge.symptoms[h.symptom].fine or (h.sure == "full" and not h.denied)) for h in heard)


def _tried(batch: Batch, knowledge: Knowledge) -> dict[str, str]:
    out: dict[str, str] = {}
    worse = [tokens(w) for w in knowledge.words["worse"]]
    for question in knowledge.questions.values():
        if question.reads != "tried":
            continue
        for item in batch.tried:
            if item.changed is None:
                continue
            helped = item.changed and not any(said(w, tokens(item.what), knowledge.words["negations"]) for w in worse)
            text = f"{item.what}; {with_kinds(item.what, knowledge)}"
            for choice in [c.id for c in match_choice(text, question) if c.id != NOTHING] or heard_in(item.what, question, knowledge):
                out[choice] = HELPED if helped or out.get(choice) == HELPED else "no-change"      # what helped once, helps
    return out
