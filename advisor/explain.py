"""Every conclusion questioned, as data: how it was reached, why not another cause, what would change it, what if."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from advisor.batch.model import Batch
from advisor.consultation import Consultation
from advisor.diagnosis import Examination, Ranked, examine
from advisor.errors import InputError, Place, Problem
from advisor.facts import judge_condition
from advisor.grounds import Grounds, grounds
from advisor.knowledge.conditions import atoms
from advisor.knowledge.load import Knowledge
from advisor.knowledge.records import Atom, Evidence
from advisor.situation import NOT_SURE, Situation
from advisor.supposing import Suppose, applied, smallest_change

OTHERS = 3
_MET = "met"
_FAILED = "failed"
_UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Step:
    """One link of the chain: what it says, what kind of thing it is, its sources, and what it rests on.

    `kind`: said (the maker's words or answer) | formula | number (computed) | finding | evidence | cause.
    """

    kind: str
    says: str
    sources: tuple[str, ...] = ()
    rests_on: tuple[Step, ...] = ()
    strength: str = ""


@dataclass(frozen=True, slots=True)
class Tested:
    """One piece of a card's evidence against this batch: met, failed, or unknown; `lacks` says what is not known or does not hold."""

    says: str
    against: bool
    strength: str
    state: str
    lacks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WhyNot:
    """Another cause beside the leader: how it stands, and every condition of its card."""

    cause: str
    title: str
    standing: str
    sentence: str
    conditions: tuple[Tested, ...]


@dataclass(frozen=True, slots=True)
class Verdict:
    """What stands first, how firmly, and the certainty; empty where nothing stands out."""

    cause: str
    title: str
    standing: str
    certainty: float


@dataclass(frozen=True, slots=True)
class Change:
    """The smallest change of answers or readings found that puts another cause first, with both verdicts; replay proves it."""

    changes: tuple[Suppose, ...]
    says: str
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class Explanation:
    batch: str
    verdict: Verdict
    sentence: str
    how: tuple[Step, ...]
    why_not: tuple[WhyNot, ...]
    change: Change | None
    what_if: tuple[Suppose, ...] = ()
    then: Verdict | None = None
    unexplained: tuple[str, ...] = ()
    grounds: Grounds | None = None


def explain(batch: Batch, knowledge: Knowledge, cause: str | None = None, what_if: Sequence[Suppose] = (), quick: bool = False) -> Explanation:
    """Explain what stands first (or `cause`); `quick` leaves out the search for what would change it."""
    if cause is not None and cause not in knowledge.causes:
        from advisor.knowledge.forms import nearest

        near = nearest(cause, knowledge.causes)
        raise InputError(Problem(Place(batch.file or "--cause"), f"there is no cause {cause!r}", f"Did you mean {near!r}?" if near else "advisor diagnose names those that stand."))
    examination = examine(batch, knowledge)
    leader = examination.leader
    asked = next((r for r in examination.ranked if r.id == cause), leader)
    if asked is None:
        asked = next((r for r in examination.ranked if r.explains), None)
    others = [asked] if asked and asked is not leader else [r for r in examination.ranked if r is not leader and (r.explains or r.reasons)][:OTHERS]
    change = None if quick or not examination.ranked else _change(batch, examination, asked, knowledge)
    then = verdict_of(examine(applied(batch, what_if, knowledge), knowledge)) if what_if else None
    return Explanation(
        batch.name, verdict_of(examination), _sentence(leader, examination), _chain(asked, examination, knowledge) if asked else (),
        tuple(_why_not(r, leader, examination, knowledge) for r in others if r is not None), change, tuple(what_if), then, examination.unexplained,
        grounds(asked, examination, knowledge) if asked else None)


def verdict_of(examination: Examination) -> Verdict:
    """The first cause of an examination, also where it hardly stands."""
    first = examination.ranked[0] if examination.ranked else None
    return Verdict(first.id, first.cause.title, first.standing, first.certainty) if first else Verdict("", "", "ruled out", 0.0)


def _sentence(leader: Ranked | None, examination: Examination) -> str:
    if leader is None:
        return "Nothing that is known speaks clearly for one cause."
    own = [r for r in leader.reasons if not r.group.startswith("seen:")] or list(leader.reasons)
    because = f", because: {own[0].says[0].lower()}{own[0].says[1:].rstrip('.')}" if own else ""
    return f"{leader.cause.title} ({leader.standing}){because}."


def _chain(ranked: Ranked, examination: Examination, knowledge: Knowledge) -> tuple[Step, ...]:
    """The reasons for a cause and against it, each down to words, answers, lines and numbers."""
    out = []
    for reason in (*ranked.reasons, *ranked.doubts):
        rests = tuple(s for f in reason.facts if (s := _fact(f, examination.situation, examination.consultation, knowledge, ())) is not None)
        says = reason.says if reason.weight > 0 else f"Against it: {reason.says}"
        out.append(Step("evidence", says, _titles(reason.source, knowledge), rests, reason.strength))
    return tuple(out)


def _fact(literal: str, situation: Situation, consultation: Consultation, knowledge: Knowledge, above: tuple[str, ...]) -> Step | None:
    """One literal (`+finding x`, `-listed wax`) in words, with what it rests on."""
    holds, about, name = literal[0] == "+", *literal[1:].split(" ", 1)
    if about == "untold":
        about, name = name.split(" ", 1)
        if holds:
            return Step("said", f"Not told: {_subject(about, name.split()[0], knowledge)}")
        holds = True
    if about == "finding":
        finding = knowledge.findings[name]
        fired = consultation.fired.get(name if holds else f"{name} (not)")
        below = () if fired is None or literal in above else tuple(
            s for f in fired.literals if (s := _fact(f, situation, consultation, knowledge, (*above, literal))) is not None)
        return Step("finding", finding.says if holds else f"Not so: {finding.says[0].lower()}{finding.says[1:]}", _titles(finding.sources, knowledge), below)
    if about == "quantity":
        key = name.split()[0]
        found = situation.measures.quantities.get(key)
        card = knowledge.quantities.get(key)
        return Step("number", f"{found.title}: {found.value:.3g} {found.unit}".strip() + (f", from {', '.join(_named(o, knowledge) for o in found.origin[:4])}" if found.origin else ""),
                    _titles(card.sources, knowledge) if card else ()) if found else None
    return Step("formula" if about in ("class", "listed", "kind") else "said", _words(holds, about, name, situation, knowledge))


def _named(origin: str, knowledge: Knowledge) -> str:
    """What a number came from in words: a line as it was written, another number by its title, a field of the record without its marks."""
    if origin in knowledge.quantities:
        title = knowledge.quantities[origin].title
        return f"{title[0].lower()}{title[1:]}" if title[1:2].islower() else title
    return origin.rpartition(".")[2].replace("_", " ") if " " not in origin and "_" in origin else origin


def _subject(about: str, key: str, knowledge: Knowledge) -> str:
    if about == "symptom":
        return knowledge.symptoms[key].title
    if about == "quantity":
        return knowledge.quantities[key].title
    return knowledge.questions[key].text if key in knowledge.questions else key


def _words(holds: bool, about: str, name: str, situation: Situation, knowledge: Knowledge) -> str:
    if about == "symptom":
        said = dict.fromkeys(s.said for s in situation.signs if s.symptom == name.split()[0]) or dict.fromkeys(s.said for s in situation.signs)
        title = knowledge.symptoms[name.split()[0]].title
        return f"You said: {'; '.join(said)} ({title[0].lower()}{title[1:]}{'' if holds else ': not so'})"
    if about in ("answer", "tried"):
        key, _, words = name.partition(" ")
        question = knowledge.questions.get(key) or next((q for q in knowledge.questions.values() if q.reads == "tried"), None)
        if question is None:
            return name
        labels = {c.id: c.label for c in question.choices}
        given = situation.answers.get(key, ()) if about == "answer" else (key,)
        outcome = f": {situation.tried.get(key, words)}" if about == "tried" else ""
        source = "You answered" if about == "tried" or key in situation.batch.answers else "Your record says"
        return f"{source}: {question.text} {', '.join(labels.get(g, g) for g in given)}{outcome}"
    if about == "kind":
        return f"It is {'' if holds else 'not '}of the kind: {name.split(' ', 1)[-1].replace('|', ' or ')}"
    title = knowledge.classes[name].title if name in knowledge.classes else name
    lines = [x.line.name for x in situation.measures.lines if any(name == i.inci or name in i.classes for i in x.ingredients)]
    return f"The formula lists {title}: {', '.join(lines)}" if holds and lines else f"The formula {'holds' if holds else 'holds no'} {title}"


def _why_not(ranked: Ranked, leader: Ranked | None, examination: Examination, knowledge: Knowledge) -> WhyNot:
    tested = tuple(_tested(piece, ranked, examination, knowledge) for piece in ranked.cause.evidence)
    if leader is ranked:
        sentence = "It stands first."
    elif not ranked.explains and examination.situation.complaints:
        sentence = "It does not explain what was seen."
    elif ranked.doubts:
        sentence = ranked.doubts[0].says
    elif not any(not r.group.startswith("seen:") for r in ranked.reasons):
        sentence = "Nothing but what was seen speaks for it" + (", and the first cause has more than that." if leader else ".")
    else:
        sentence = "Less speaks for it than for the first cause."
    return WhyNot(ranked.id, ranked.cause.title, ranked.standing, sentence, tested)


def _tested(piece: Evidence, ranked: Ranked, examination: Examination, knowledge: Knowledge) -> Tested:
    findings = examination.consultation.findings
    degree = judge_condition(piece.when, examination.situation, knowledge, findings)
    state = _MET if degree.yes > 0 else _FAILED if degree.no > 0 else _UNKNOWN
    lacks = [] if state == _MET else [_open(a, examination, knowledge, state) for a in dict.fromkeys(atoms(piece.when))]
    return Tested(piece.says, piece.against, piece.strength, state, tuple(dict.fromkeys(x for x in lacks if x)))


def _open(atom: Atom, examination: Examination, knowledge: Knowledge, state: str) -> str:
    """What an unmet condition looks at, in words; empty where this part is not what is missing."""
    degree = judge_condition(atom, examination.situation, knowledge, examination.consultation.findings)
    if (state == _UNKNOWN) != (degree.yes == 0 and degree.no == 0) and state == _UNKNOWN:
        return ""
    if atom.about == "finding":
        return knowledge.findings[atom.name].says
    if atom.about == "answer":
        given = examination.situation.answers.get(atom.name, ())
        return knowledge.questions[atom.name].text + (" not sure" if NOT_SURE in given else " not answered" if not given else f" {', '.join(given)}")
    if atom.about == "quantity":
        found = examination.situation.measures.quantities.get(atom.name)
        card = knowledge.quantities[atom.name]
        return f"{card.title}: {found.value:.3g} {card.unit}".strip() if found else f"{card.title}: not known"
    if atom.about == "tried":
        return f"tried: {atom.name.replace('-', ' ')}"
    if atom.about == "symptom":
        return knowledge.symptoms[atom.name].title
    return f"in the formula: {knowledge.classes[atom.name].title if atom.name in knowledge.classes else atom.name}" if atom.about != "kind" else f"kind: {' or '.join(atom.words)}"


def _change(batch: Batch, examination: Examination, asked: Ranked | None, knowledge: Knowledge) -> Change | None:
    goal = asked.id if asked and asked is not examination.ranked[0] else None
    found = smallest_change(batch, examination, knowledge, goal)
    if found is None:
        return None
    changes, after = found
    says = " and ".join(_suppose_says(c, knowledge) for c in changes)
    return Change(changes, f"If {says}, this would stand first: {after.ranked[0].cause.title}.", verdict_of(after))


def _suppose_says(change: Suppose, knowledge: Knowledge) -> str:
    question = knowledge.questions.get(change.what)
    if question is None:
        return f"{change.what} were {change.value}"
    label = next((c.label for c in question.choices if c.id == change.value), f"{change.value:g} {question.unit}".strip() if isinstance(change.value, float) else change.value)
    return f"the answer to {question.text!r} were {label!r}" + (f" ({change.helped})" if change.helped else "")


def _titles(keys: Sequence[str], knowledge: Knowledge) -> tuple[str, ...]:
    return tuple(knowledge.sources[k].title if k in knowledge.sources else k for k in keys)


__all__ = ["Change", "Explanation", "Step", "Verdict", "WhyNot", "explain", "verdict_of"]
