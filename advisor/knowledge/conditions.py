"""Conditions of cards: plain data to closed records, and the canonical name by which each atom is known."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import product
from typing import Any

from advisor.errors import InputError, Place, Problem
from advisor.knowledge.records import Atom, Condition, Finding, Group

TOLD = ("answer", "symptom", "tried")      # what an atom asks of the maker


def listed(value: Any) -> tuple[Any, ...]:
    """A bare item or a list as a tuple."""
    if value is None:
        return ()
    return tuple(value) if isinstance(value, (list, tuple)) else (value,)


def build(data: Mapping[str, Any]) -> Condition:
    """A map as a Condition; that it fits its form and has no flaw was checked when its file was read."""
    for kind in ("all", "any"):
        if kind in data:
            return Group(kind, tuple(build(item) for item in data[kind]))
    if "not" in data:
        return Group("not", (build(data["not"]),))
    if "untold" in data:
        told = data["untold"]
        return Atom("quantity", told["quantity"], form="untold") if "quantity" in told else next(atoms(build(told)))._replace(form="untold")
    if "quantity" in data:
        return _quantity(data)
    if "symptom" in data:
        return Atom("symptom", data["symptom"], tuple(map(str, listed(data.get("seen")))))
    if "kind" in data:
        return Atom("kind", "kind", listed(data["kind"]))
    for about in ("answer", "tried"):
        if about in data:
            return Atom(about, data[about], tuple(map(_word, listed(data["is"]))))
    if "has" in data:
        return Atom("class", data["has"])
    return Atom("listed", data["listed"]) if "listed" in data else Atom("finding", data["finding"])


def _word(value: Any) -> str:
    return {True: "yes", False: "no"}.get(value, str(value)) if isinstance(value, bool) else str(value)


def flaw(data: Mapping[str, Any]) -> tuple[str, str, str] | None:
    """What is wrong with one map of a condition though its keys fit, how to mend it, and the check that finds it; what stands in it is not looked into."""
    for about in ("answer", "tried"):
        if about in data and "is" not in data:
            return f"the condition on {about} {data[about]} lacks `is`", "Add is: CHOICE.", "form"
    if "quantity" not in data:
        return None
    name = f"the condition on {data['quantity']}"
    if "between" in data:
        low, high = map(float, data["between"][:2])
        sound = low < high and float(data.get("margin", 0)) > 0
        return None if sound else (f"{name} needs low < high and a margin above 0", "Write between: [4, 6], margin: 0.5.", "ramp")
    form = _side(data)
    if not form or "full" not in data:
        return f"{name} needs above or below, and full", "Write above: 30, full: 40.", "ramp"
    none_at, full_at = float(data[form]), float(data["full"])
    if (full_at <= none_at) if form == "above" else (full_at >= none_at):
        return (f"{name} is a cliff or runs backwards ({form} {none_at:g}, full {full_at:g})",
                "For above, full is the larger number; for below, the smaller one.", "ramp")
    return None


def flaw_untold(data: Mapping[str, Any]) -> tuple[str, str, str] | None:
    """The same of what is untold: a quantity is named alone."""
    return None if "quantity" in data else flaw(data)


def _side(data: Mapping[str, Any]) -> str:
    return "above" if "above" in data else "below" if "below" in data else ""


def _quantity(data: Mapping[str, Any]) -> Atom:
    if "between" in data:
        low, high = map(float, data["between"][:2])
        return Atom("quantity", data["quantity"], (), (low, high, float(data["margin"])), "between")
    form = _side(data)
    return Atom("quantity", data["quantity"], (), (float(data[form]), float(data["full"])), form)


def atoms(condition: Condition) -> Iterator[Atom]:
    """Every atom of a condition, left to right."""
    waiting: list[Condition] = [condition]      # no generator in a generator: thousands of conditions are walked at every start
    while waiting:
        part = waiting.pop()
        if isinstance(part, Atom):
            yield part
        else:
            waiting.extend(reversed(part.of))


def atom_key(atom: Atom) -> str:
    """A short text that names the atom; equal atoms have equal keys."""
    if atom.about == "quantity" and atom.form != "untold":
        return f"quantity {atom.name} {atom.form} {' '.join(f'{e:g}' for e in atom.edge)}"
    return "untold " * (atom.form == "untold") + f"{atom.about} {atom.name}" + (f" {'|'.join(sorted(atom.words))}" if atom.words else "")


def default_group(condition: Condition) -> str:
    """The observation a condition rests on: what its first atom looks at."""
    first = next(atoms(condition))
    return f"{first.about}:{first.name}"


def normal_clauses(condition: Condition, positive: bool = True) -> list[tuple[str, ...]]:
    """The alternatives of a condition (or of its contrary) as sorted literals, `+` or `-` before an atom's key; none contains another."""
    plain = [_literal(condition, positive)] if isinstance(condition, Atom) or condition.kind == "not" else [_literal(part, positive) for part in condition.of]
    if None not in plain:      # most conditions nest no further
        apart = isinstance(condition, Atom) or (condition.kind == "any") == positive
        return sorted({(x,) for x in plain if x}) if apart else [tuple(sorted({x for x in plain if x}))]
    found = sorted({tuple(sorted(c)) for c in _alternatives(condition, positive)})
    if len({len(c) for c in found}) == 1:
        return found
    return [c for c in found if not any(set(d) < set(c) for d in found)]


def _literal(condition: Condition, positive: bool) -> str | None:
    """An atom, or the contrary of one, as a literal; None for what holds more than that."""
    if isinstance(condition, Atom):
        return ("+" if positive else "-") + atom_key(condition)
    return _literal(condition.of[0], not positive) if condition.kind == "not" else None


def _alternatives(condition: Condition, positive: bool) -> Iterable[frozenset[str]]:
    if isinstance(condition, Atom):
        return [frozenset({("+" if positive else "-") + atom_key(condition)})]
    if condition.kind == "not":
        return _alternatives(condition.of[0], not positive)
    parts = [list(_alternatives(part, positive)) for part in condition.of]
    if (condition.kind == "any") == positive:
        return [c for part in parts for c in part]
    return [frozenset().union(*combo) for combo in product(*parts)]


def finding_order(findings: Mapping[str, Finding]) -> list[str]:
    """Ids of findings so that each comes after those it rests on; raises InputError for a circle."""
    needs = {name: {a.name for a in atoms(f.when) if a.about == "finding" and a.name in findings} for name, f in findings.items()}
    out: list[str] = []
    while needs:
        free = sorted(name for name, rest in needs.items() if rest <= set(out))
        if not free:
            circle = sorted(needs)
            place = findings[circle[0]].place or Place("rules/findings")
            raise InputError(Problem(place, "these findings rest on each other in a circle: " + ", ".join(circle),
                                     "Take one of them out of the other's condition.", "circular"))
        out += free
        for name in free:
            del needs[name]
    return out
