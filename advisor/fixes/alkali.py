"""An alkali goes with what it was there to neutralise: no fix leaves a formula more caustic than it was."""

from __future__ import annotations

from advisor.batch.model import Batch
from advisor.fixes.amend import Portion, as_batch, matching
from advisor.knowledge.load import Knowledge
from advisor.quantities.measure import measure
from advisor.quantities.names import resolve

SOAP, SLACK = 25.0, 0.01      # meq per 100 g from which alkali that no acid takes up is there for the fat, and how far its share may shift
BORNE = 0.5     # meq per 100 g more than before, which a formula is taken to bear: 0.02 % of sodium hydroxide (from memory)


def with_its_acid(before: list[Portion], after: list[Portion], batch: Batch, knowledge: Knowledge) -> tuple[list[Portion], tuple[str, ...]]:
    """The lines after a change with their alkalis brought down by what has lost its acid, water taking the rest; and their names.

    Nothing is done where the change itself brings alkali: then it is meant.
    """
    places = {i: p.percent * strength for i, p in enumerate(after) if (strength := _strength(p, knowledge))}
    old = {p.line.name: p.percent for p in before}
    water = matching(after, "water-like")
    if not places or not water or any(after[i].percent > old.get(after[i].line.name, 0.0) + 1e-9 for i in places):
        return after, ()
    more = _left_over(after, batch, knowledge) - _left_over(before, batch, knowledge)
    if more <= BORNE:
        return after, ()
    whole = sum(places.values())
    new = list(after)
    for i in places:
        new[i] = new[i]._replace(percent=new[i].percent * max(0.0, 1 - more / whole))
    spare = sum(p.percent for p in after) - sum(p.percent for p in new)
    new[water[0]] = new[water[0]]._replace(percent=new[water[0]].percent + spare)
    return [p for p in new if p.percent > 1e-9], tuple(after[i].line.name for i in places)


def starves_lye(before: list[Portion], after: list[Portion], batch: Batch, knowledge: Knowledge) -> bool:
    """Whether a change takes fat from alkali that no acid takes up, and which only the fat can: a soap would be left caustic."""
    def fat(parts: list[Portion]) -> float:
        return sum(p.percent for p in parts if "oil" in p.holds)

    if not any(_strength(p, knowledge) for p in before):
        return False
    free, now = _left_over(before, batch, knowledge), _left_over(after, batch, knowledge)
    return free > SOAP and now * fat(before) > (1 + SLACK) * free * fat(after)


def _strength(p: Portion, knowledge: Knowledge) -> float:
    """Meq of alkali in a gram of a line that is an alkali or a solution of one; 0 for any other."""
    items = resolve(p.line.name, knowledge).ingredients
    if len(items) != 1:
        return 0.0
    pieces = [(1.0, items[0].alkali), *((part.share.best / 100, item.alkali) for part in items[0].parts if (item := knowledge.ingredients.get(part.inci)))]
    return sum(1000 * share * alkali.equivalents / alkali.molar_mass for share, alkali in pieces if alkali)


def _left_over(parts: list[Portion], batch: Batch, knowledge: Knowledge) -> float:
    """Meq per 100 g of alkali that no acid among these lines takes up."""
    found = measure(as_batch(parts, batch), knowledge).quantities.get("excess-alkali")
    return found.value if found else 0.0
