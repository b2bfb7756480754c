"""What a verdict rests on: how many of its statements and of the ingredient figures behind its numbers are published, common practice or memory."""

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from advisor.base_rates import Accounts, told
from advisor.diagnosis import Examination, Ranked, families
from advisor.knowledge.load import Knowledge
from advisor.knowledge.materials import Figure, Ingredient
from advisor.knowledge.records import SPOKEN_SOURCES


class Share(NamedTuple):
    """Counts by the best source that each has."""

    published: int
    common: int
    memory: int

    @property
    def total(self) -> int:
        return sum(self)


class Grounds(NamedTuple):
    """Of the rules that fired for or against a cause, of the figures kept on the ingredients that its numbers come from; and what accounts told of it."""

    rules: Share
    figures: Share
    accounts: Accounts


def grounds(ranked: Ranked, examination: Examination, knowledge: Knowledge) -> Grounds:
    """The grounds of one cause."""
    rules = {r.rule: r.source for r in (*ranked.reasons, *ranked.doubts)}
    lines: set[str] = set()
    for literal in _literals(ranked, examination):
        about, name = literal[1:].split(" ", 1)
        if about == "finding":
            rules[name] = knowledge.findings[name].sources
        elif about == "quantity":
            found = examination.situation.measures.quantities.get(name.split()[0])
            lines |= set(found.origin) if found else set()
    items = {i.inci: i for x in examination.situation.measures.lines if x.line.name in lines for i in x.ingredients}
    return Grounds(_share(rules.values()), _share(f.sources for i in items.values() for f in _figures(i)),
                  told(ranked.cause, families(examination.situation, knowledge), knowledge))


def _literals(ranked: Ranked, examination: Examination) -> Iterator[str]:
    """Everything that its fired rules rest on, down through the findings."""
    todo = [f for r in (*ranked.reasons, *ranked.doubts) for f in r.facts]
    seen: set[str] = set()
    while todo:
        literal = todo.pop()
        if literal in seen:
            continue
        seen.add(literal)
        yield literal
        if literal[1:].startswith("finding "):
            fired = examination.consultation.fired.get(literal[9:] + ("" if literal[0] == "+" else " (not)"))
            todo += fired.literals if fired else ()


def _figures(item: Ingredient) -> Iterator[Figure]:
    for value in (*item, *(item.emulsifier or ())):
        if isinstance(value, Figure):
            yield value


def _share(sources: Iterable[tuple[str, ...]]) -> Share:
    kinds = ["published" if set(keys) - set(SPOKEN_SOURCES) else "memory" if set(keys) == {"from memory"} else "common" for keys in sources if keys]
    return Share(*(kinds.count(k) for k in Share._fields))
