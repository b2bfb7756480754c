"""A card as readable lines, with its sources in full and where its parts are used; and an empty card to fill in."""

from __future__ import annotations

from itertools import chain
from typing import Any

from advisor.knowledge.conditions import atoms
from advisor.knowledge.load import Knowledge
from advisor.knowledge.records import Atom, Cause, Condition

_JOIN = {"all": " and ", "any": " or "}


def condition_text(condition: Condition, knowledge: Knowledge) -> str:
    """A condition in words."""
    if isinstance(condition, Atom):
        return _atom_text(condition, knowledge)
    if condition.kind == "not":
        return f"not ({condition_text(condition.of[0], knowledge)})"
    return _JOIN[condition.kind].join(f"({condition_text(c, knowledge)})" if not isinstance(c, Atom) else condition_text(c, knowledge) for c in condition.of)


def _atom_text(atom: Atom, knowledge: Knowledge) -> str:
    title = knowledge.quantities[atom.name].title if atom.name in knowledge.quantities else atom.name
    if atom.form == "untold":
        return f"untold: {title if atom.about == 'quantity' else _atom_text(atom._replace(form=''), knowledge)}"
    words = " or ".join(atom.words)
    if atom.about == "quantity":
        edge = [f"{e:g}" for e in atom.edge]
        if atom.form == "between":
            return f"{title} between {edge[0]} and {edge[1]} (fading over {edge[2]})"
        return f"{title} {atom.form} {edge[0]} (in full at {edge[1]})"
    if atom.about == "symptom":
        title = knowledge.symptoms[atom.name].title if atom.name in knowledge.symptoms else atom.name
        return f"seen: {title}" + (f" ({words})" if words else "")
    return {"finding": f"finding {atom.name}", "answer": f"answer to {atom.name}: {words}", "tried": f"tried {atom.name}: {words}",
            "class": f"has {atom.name}", "listed": f"lists {atom.name}", "kind": f"kind is {words}"}[atom.about]


def card_data(key: str, knowledge: Knowledge) -> dict[str, Any] | None:
    """What is known under this id, whatever it is, and where it is used; None if nothing is."""
    shelves: tuple[tuple[str, Any], ...] = (("cause", knowledge.causes), ("finding", knowledge.findings), ("symptom", knowledge.symptoms),
                                            ("question", knowledge.questions), ("quantity", knowledge.quantities), ("caution", knowledge.cautions))
    for kind, shelf in shelves:
        if key in shelf:
            card = shelf[key]
            lines = _cause_lines(card, knowledge) if isinstance(card, Cause) else _plain_lines(card, knowledge)
            return {"format": 1, "kind": kind, "id": key, "lines": lines, "used_by": used_by(key, knowledge)}
    return None


def used_by(key: str, knowledge: Knowledge) -> list[str]:
    """Rules whose conditions speak of this id."""
    out = [f"finding {f.id}" for f in knowledge.findings.values() if any(a.name == key for a in atoms(f.when))]
    for cause in knowledge.causes.values():
        out += [f"{cause.id}/{e.id}" for e in cause.evidence if any(a.name == key for a in atoms(e.when))]
        out += [f"{cause.id} explains it" for x in cause.explains if x.symptom == key]
        out += [f"{cause.id} carries it" for x in cause.cautions if x == key]
    return out


def _fate_lines(cause: Cause, knowledge: Knowledge) -> list[str]:
    where = [f"  but when {condition_text(f.when, knowledge)}: {f.verdict}. {f.because}" for f in cause.fate.where if f.when]
    return [f"this batch: {cause.fate.verdict}. {cause.fate.because}", *where]


def _cause_lines(cause: Cause, knowledge: Knowledge) -> list[str]:
    lines = [f"{cause.title} ({cause.family}, {cause.commonness}{', part of ' + cause.part_of if cause.part_of else ''})", cause.because, ""]
    lines += [f"explains {knowledge.symptoms[x.symptom].title if x.symptom in knowledge.symptoms else x.symptom}: {x.strength}" for x in cause.explains]
    for sign, title in ((False, "for"), (True, "against")):
        for e in cause.evidence:
            if e.against == sign:
                lines += ["", f"{title}, {e.strength}: {e.says}", f"  when {condition_text(e.when, knowledge)}", f"  source: {_sources(e.sources, knowledge)}"]
    lines += ["", *(f"except: {x}" for x in cause.exceptions)]
    for fix in cause.fixes:
        lines += [f"fix: {fix.title}", *([f"  when {condition_text(fix.when, knowledge)}"] if fix.when else []), *(f"  {s}" for s in fix.steps),
                  *([f"  source: {_sources(fix.sources, knowledge)}"] if fix.sources else [])]
    every = dict.fromkeys(chain(cause.sources, *(e.sources for e in cause.evidence), *(f.sources for f in cause.fixes)))
    lines += [*_fate_lines(cause, knowledge), f"proof: {cause.proof}", f"sources: {_sources(tuple(every), knowledge)}",
              f"kept in {cause.place.file if cause.place else '?'}"]
    return lines


def _plain_lines(card: Any, knowledge: Knowledge) -> list[str]:
    out = []
    for name in ("title", "says", "text", "why", "because", "look", "unit", "formula", "how"):
        if getattr(card, name, ""):
            out.append(f"{name}: {getattr(card, name)}")
    if getattr(card, "when", None) is not None:
        out.append(f"when {condition_text(card.when, knowledge)}")
    out += [f"choice {c.id}: {c.label}" for c in getattr(card, "choices", ())]
    out += [f"step: {s}" for s in getattr(card, "steps", ())]
    out += [f"wording: {w}" for w in getattr(card, "wordings", ())]
    if getattr(card, "sources", ()):
        out.append(f"sources: {_sources(card.sources, knowledge)}")
    return out


def _sources(keys: tuple[str, ...], knowledge: Knowledge) -> str:
    return "; ".join(f"{knowledge.sources[k].title} ({k})" if k in knowledge.sources else k for k in keys)


EMPTY_CARD = """\
# A cause of your own.  Fill every line; `advisor rules check --own FOLDER` says what is missing.
format: 1
id: my-cause
title: What went wrong, in a few words
family: separated
part_of: null
because: |
  What happens in the jar, in two to four plain sentences.
commonness: usual            # common | usual | rare
forward: false               # true: it holds as a risk before anything is seen
explains:
  - {symptom: separated, strength: fair}          # strong | fair | slight
for:
  - {id: first-sign, when: {listed: emulsifier}, strength: slight, says: "What speaks for it.", source: from memory}
against:
  - {id: worked-before, when: {finding: worked-before-unchanged}, strength: strong, says: "What speaks against it.", source: from memory}
fixes:
  - id: first-fix
    title: What to do next time
    effort: step             # step | weighing | buying | remaking
    steps: ["One action."]
fate: {verdict: unsure, because: "What becomes of this batch, and why."}
proof: How to prove it.
sources: from memory
examples:
  - says: a batch in which it must lead
    leads: true
    batch: {formula: {complete: false, lines: [{name: Emulsifying wax}]}, observed: [{what: it separated}]}
  - says: a look-alike in which it must not be likely
    leads: false
    batch: {observed: [{what: it is grainy}]}
"""
