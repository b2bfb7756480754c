"""Checks over the whole knowledge: what one card says against what the others hold.  Form problems come first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Mapping
from pathlib import Path

from advisor.errors import InputError, Place, Problem
from advisor.knowledge.conditions import atom_key, atoms, finding_order, normal_clauses
from advisor.knowledge.files import data_folder, form_problems, read_documents
from advisor.knowledge.forms import nearest
from advisor.knowledge.load import Knowledge, load_knowledge
from advisor.knowledge.naming import normal_name
from advisor.knowledge.records import SPOKEN_SOURCES, Atom, Condition, Group
from advisor.knowledge.sheet import sheet_conditions, sheet_of
from advisor.knowledge.strict_yaml import Document


def audit(folder: Path | None = None, own: Path | None = None) -> tuple[int, list[Problem]]:
    """Number of cards and every problem found, each with file, line and mend; `own` is laid over the rest."""
    base = folder or data_folder("rules")
    try:
        documents = read_documents(base)
        mine = read_documents(own) if own else {}
    except InputError as error:
        return 0, list(error.problems)
    problems = [p for d in documents.values() for p in form_problems(d, base)]
    problems += [p for d in mine.values() for p in form_problems(d, own or base)]
    documents |= {f"own/{k}": d for k, d in mine.items()}
    if not problems:
        try:
            knowledge = load_knowledge(base, own)
            finding_order(knowledge.findings)
        except InputError as error:
            return len(documents), list(error.problems)
        problems = [_placed(p, documents) for p in _across(knowledge)]
    return len(documents), sorted(problems, key=lambda p: (p.place.file, p.place.line, p.place.column))


def _placed(problem: Problem, documents: dict[str, Document]) -> Problem:
    """The problem with the line of the id that it names, found in the file's positions."""
    for document in documents.values():
        if document.file != problem.place.file:
            continue
        wanted = problem.place.field.split("/")[-1]
        for path, (line, column) in document.marks.items():
            if _value(document, path) == wanted and path and path[-1] in ("id", "inci"):
                return Problem(Place(document.file, line, column, problem.place.field), problem.says, problem.mend, problem.check)
    return problem


def _value(document: Document, path: tuple[object, ...]) -> object:
    data = document.data
    for step in path:
        data = data[step]
    return data


def _across(k: Knowledge) -> Iterator[Problem]:
    used_questions: set[str] = set()
    used_findings: set[str] = set()
    names = _names_to_ask_for(k)
    for place, condition in _conditions(k):
        yield from _names(k, names, place, condition)
        yield from _impossible(place, condition)
        for atom in atoms(condition):
            if atom.about in ("answer", "tried"):
                used_questions.add(atom.name)
            if atom.about == "finding":
                used_findings.add(atom.name)
    for finding in k.findings.values():
        if finding.id not in used_findings:
            yield Problem(finding.place or Place(""), f"nothing uses the finding {finding.id!r}", "Use it in a card or take it out.", "dead-end-finding")
    for question in k.questions.values():
        for key, times in Counter(c.id for c in question.choices).items():
            if times > 1:
                yield Problem(question.place or Place(question.id), f"the question {question.id!r} has the choice {key!r} twice", "Make one of the two, or rename one.", "double-id")
        if question.reads not in ("tried", "wanted") and question.kind == "choice" and question.id not in used_questions:
            yield Problem(question.place or Place(""), f"no card uses the question {question.id!r}", "Use its answer in a card or take it out.", "unused-question")
    yield from _causes(k)
    yield from _counted_twice(k)
    yield from _two_words(k)
    yield from _sources(k)


def _conditions(k: Knowledge) -> Iterator[tuple[Place, Condition]]:
    for finding in k.findings.values():
        yield finding.place or Place(finding.id), finding.when
    for cause in k.causes.values():
        for piece in cause.evidence:
            yield piece.place or Place(cause.id), piece.when
        for fix in cause.fixes:
            if fix.when:
                yield cause.place or Place(cause.id), fix.when
        for fate in cause.fate.where:
            if fate.when:
                yield cause.place or Place(cause.id), fate.when
    for question in k.questions.values():
        if question.when:
            yield question.place or Place(question.id), question.when
        for clash in question.clashes:
            yield question.place or Place(question.id), clash.when
        for choice in question.choices:
            for name in choice.named:
                yield question.place or Place(question.id), Atom("class", name)
        for symptom in question.seen:
            yield question.place or Place(question.id), Atom("symptom", symptom)
    for card in k.symptoms.values():
        for symptom in card.until:
            yield card.place or Place(card.id), Atom("symptom", symptom)
    for caution in k.cautions.values():
        if caution.when:
            yield Place(f"{k.folder}/cautions.yaml", field=caution.id), caution.when
    yield from sheet_conditions(k)
    for bar in k.rescue.bars:
        yield Place(f"{k.folder}/rescue.yaml", field=bar.id), bar.when


def _names_to_ask_for(k: Knowledge) -> Mapping[str, Collection[str]]:
    """What a condition may name, by what it is about."""
    attempts = {c.id for q in k.questions.values() if q.reads == "tried" for c in q.choices}
    materials = {*k.classes, *k.ingredients}
    return {"finding": k.findings, "symptom": k.symptoms, "answer": k.questions, "quantity": k.quantities, "tried": attempts,
            "class": materials, "listed": materials}


def _names(k: Knowledge, known: Mapping[str, Collection[str]], place: Place, condition: Condition) -> Iterator[Problem]:
    for atom in atoms(condition):
        if atom.about in known and atom.name not in known[atom.about]:
            near = nearest(atom.name, known[atom.about])
            yield Problem(place, f"no {atom.about} is called {atom.name!r}", f"Did you mean {near!r}?" if near else "Add it or correct the name.", "dead-end-condition")
        elif atom.about == "answer":
            choices = {c.id for c in k.questions[atom.name].choices}
            for word in atom.words:
                if choices and word not in choices:
                    yield Problem(place, f"the question {atom.name!r} has no choice {word!r}", f"Its choices: {', '.join(sorted(choices))}.", "impossible-answer")


def _impossible(place: Place, condition: Condition) -> Iterator[Problem]:
    """A conjunction that asks for a thing and its contrary can never hold."""
    if isinstance(condition, Atom):
        return
    if isinstance(condition, Group) and condition.kind == "all":
        positive = {atom_key(c) for c in condition.of if isinstance(c, Atom)}
        negative = {atom_key(c.of[0]) for c in condition.of if isinstance(c, Group) and c.kind == "not" and isinstance(c.of[0], Atom)}
        untold = {key.removeprefix("untold ") for key in positive if key.startswith("untold ")}
        unread = {key for key in positive for u in untold if u.startswith("quantity ") and key.startswith(f"{u} ")}
        for key in (positive & (negative | untold)) | unread:
            yield Problem(place, f"asks for {key!r} and its contrary", "Take one of the two out.", "contradiction-within-rule")
    for part in condition.of:
        yield from _impossible(place, part)


def _causes(k: Knowledge) -> Iterator[Problem]:
    for cause in k.causes.values():
        place = cause.place or Place(cause.id)
        if cause.part_of and cause.part_of not in k.causes:
            yield Problem(place, f"part_of names {cause.part_of!r}, which is no cause", "Correct the id or write null.", "dead-end-condition")
        for entry in cause.explains:
            if entry.symptom not in k.symptoms:
                yield Problem(place, f"explains {entry.symptom!r}, which is no symptom", f"Did you mean {nearest(entry.symptom, k.symptoms)!r}?", "dead-end-condition")
        if cause.proof_test and cause.proof_test not in k.questions:
            yield Problem(place, f"proof_test names {cause.proof_test!r}, which is no question", "Name a bench test.", "dead-end-condition")
        if cause.fate.verdict == "discard" and cause.family == "spoilage" and cause.fate.where:
            yield Problem(place, "what may be spoiled is thrown out, whatever else holds", "Take `where` out of its fate.", "spoiled-kept")
        for key in cause.cautions:
            if key not in k.cautions:
                yield Problem(place, f"the caution {key!r} is not known", f"Did you mean {nearest(key, k.cautions)!r}?", "dead-end-condition")
        seen: dict[object, str] = {}
        for piece in cause.evidence:
            twin = seen.setdefault((piece.when, piece.against), piece.id)
            if twin != piece.id:
                yield Problem(piece.place or place, f"{piece.id!r} repeats the condition of {twin!r}", "Keep one of the two.", "redundant")
            other = seen.get((piece.when, not piece.against))
            if other:
                yield Problem(piece.place or place, f"{piece.id!r} and {other!r} count one condition for and against", "Keep one of the two.", "conflicting")
        for fix in cause.fixes:
            if not fix.changes and not fix.process and not fix.steps:
                yield Problem(place, f"the fix {fix.id!r} changes nothing", "Give changes, process or steps.", "empty-fix")
            if not fix.sources and not set(cause.sources) & set(SPOKEN_SOURCES) and any(c.isdigit() for c in "".join((fix.title, *fix.steps))):
                yield Problem(place, f"the fix {fix.id!r} gives figures, and nothing says where they are from",
                              "Give the fix its sources, or add common practice or from memory to those of the card.", "figure-without-source")
            for change in fix.changes:
                for name in (change.target, change.balance, *change.new):
                    if name and name not in k.classes and name not in k.ingredients:
                        yield Problem(place, f"the fix {fix.id!r} names {name!r}, neither a class nor an INCI name known here", f"Did you mean {nearest(name, {**k.classes, **k.ingredients})!r}?", "dead-end-condition")
                if change.quantity and change.quantity not in k.quantities:
                    yield Problem(place, f"the fix {fix.id!r} solves for {change.quantity!r}, which is no quantity", f"Did you mean {nearest(change.quantity, k.quantities)!r}?", "dead-end-condition")


def _counted_twice(k: Knowledge) -> Iterator[Problem]:
    """Evidence that always fires with another of its sign and card, yet counts in another group: one observation, two weights."""
    for cause in k.causes.values():
        clauses = {e.id: [frozenset(c) for c in normal_clauses(e.when)] for e in cause.evidence}
        for piece in cause.evidence:
            for other in cause.evidence:
                if piece is other or piece.against != other.against or piece.group == other.group:
                    continue
                if all(any(wide <= narrow for wide in clauses[other.id]) for narrow in clauses[piece.id]):
                    yield Problem(piece.place or Place(cause.id), f"{piece.id!r} holds only where {other.id!r} does, and both count",
                                  f"Put both in one group (group: {other.group}), or make the conditions independent.", "subsumed")


def _two_words(k: Knowledge) -> Iterator[Problem]:
    """One wording or name for two things, and two ids with one title."""
    said: dict[str, str] = {}
    for symptom in k.symptoms.values():
        for wording in symptom.wordings:
            other = said.setdefault(normal_name(wording), symptom.id)
            if other != symptom.id:
                yield Problem(symptom.place or Place(symptom.id), f"the wording {wording!r} stands under {other!r} too", "Keep it under one of them.", "two-meanings")
    for kind, cards in (("causes", k.causes), ("symptoms", k.symptoms), ("quantities", k.quantities)):
        titles: dict[str, str] = {}
        for card in cards.values():
            other = titles.setdefault(card.title.lower(), card.id)
            if other != card.id:
                place = getattr(card, "place", None) or Place(f"{k.folder}/{kind}.yaml", field=card.id)
                yield Problem(place, f"{card.id!r} and {other!r} have one title", "Name them apart, or keep one of the two.", "two-words")
    names: dict[str, str] = {}
    for item in k.ingredients.values():
        for name in (item.inci, *item.names):
            other = names.setdefault(normal_name(name), item.inci)
            if other != item.inci:
                place = Place((item.place or Place("")).file, field=item.inci)
                yield Problem(place, f"the name {name!r} belongs to {other!r} too", "Keep it on one of the two.", "two-meanings")


def _sources(k: Knowledge) -> Iterator[Problem]:
    def unknown(place: Place, keys: tuple[str, ...]) -> Iterator[Problem]:
        for key in keys:
            if key not in k.sources and key not in SPOKEN_SOURCES:
                yield Problem(place, f"the source {key!r} is not in sources.yaml", f"Did you mean {nearest(key, k.sources)!r}? Else: common practice, from memory.", "unknown-source")

    for cause in k.causes.values():
        yield from unknown(cause.place or Place(cause.id), cause.sources)
        for piece in cause.evidence:
            yield from unknown(piece.place or Place(cause.id), piece.sources)
    sheet = sheet_of(k)
    for key, keys in (*((s.id, s.sources) for s in sheet.steps), *((c.id, c.sources) for c in sheet.checks)):
        yield from unknown(Place(f"{k.folder}/procedure.yaml", field=key), keys)
    for referral in sheet.referrals:
        if referral.caution not in k.cautions:
            yield Problem(Place(f"{k.folder}/procedure.yaml"), f"the caution {referral.caution!r} is not known", f"Did you mean {nearest(referral.caution, k.cautions)!r}?", "dead-end-condition")
    for finding in k.findings.values():
        yield from unknown(finding.place or Place(finding.id), finding.sources)
    for item in k.ingredients.values():
        place = Place((item.place or Place("")).file, field=item.inci)
        keys = item.sources + item.solid_fat_sources
        for name in ("level", "maximum", "maximum_rinse_off", "required_hlb", "required_hlb_wo", "melting", "ph", "own_ph", "salt_limit", "max_temperature", "solubility"):
            figure = getattr(item, name)
            keys += figure.sources if figure else ()
        yield from unknown(place, tuple(dict.fromkeys(keys)))
        for part in item.parts:
            if part.inci not in k.ingredients:
                yield Problem(place, f"its part {part.inci!r} has no record", f"Did you mean {nearest(part.inci, k.ingredients)!r}?", "dead-end-condition")
