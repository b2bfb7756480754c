"""Two or more formulas side by side, or one formula with one emulsifier after another in the place of its own."""

from __future__ import annotations

import difflib
from collections.abc import Sequence

from advisor.batch.model import Batch, Line
from advisor.errors import InputError, Place, Problem
from advisor.forecast import Forecast, forecast
from advisor.knowledge.load import Knowledge
from advisor.knowledge.materials import Ingredient
from advisor.quantities.names import resolve


def compare(batches: Sequence[Batch], tries: Sequence[str], knowledge: Knowledge) -> list[Forecast]:
    """A forecast of every batch; with `tries`, of the one batch as it is and with each emulsifier named."""
    if tries and len(batches) != 1:
        raise _wrong("", "an emulsifier can be tried in one formula at a time", "Name one batch with --try, or several batches without it.")
    if not tries and len(batches) < 2:
        raise _wrong("", "there is only one formula to compare", "Name two or more batches, or one with --try NAME.")
    made = [(b._replace(name=b.name or b.file), None) for b in batches] + [(tried(batches[0], name, knowledge), name) for name in tries]
    return [forecast(batch, knowledge) for batch, _ in made]


def tried(batch: Batch, name: str, knowledge: Knowledge) -> Batch:
    """The batch with its emulsifiers taken out and this one in their place, at their level (or at its usual level)."""
    match = resolve(name, knowledge)
    if len(match.ingredients) != 1 or not match.ingredients[0].emulsifier:
        near = difflib.get_close_matches(name.lower(), [i.inci for i in knowledge.ingredients.values() if i.emulsifier], n=1, cutoff=0.6)
        hint = match.suggestion or (near[0] if near else "")
        raise _wrong(name, f"{name!r} is no emulsifier known here", f"Did you mean {hint!r}?" if hint else "Copy its INCI name from the label.")
    item = match.ingredients[0]
    lines = batch.formula.lines
    own = [x for x in lines if any(_emulsifies(i) for i in resolve(x.name, knowledge).ingredients)]
    amount = sum((x.amount[0] + x.amount[1]) / 2 for x in own if x.amount) or (item.level.best if item.level and batch.formula.unit in (None, "percent") else 0.0)
    if not amount:
        raise _wrong(name, "the formula shows no amount of emulsifier to put it in place of", "Give the emulsifier's line an amount.")
    new = Line(item.inci, (amount, amount), phase=item.phase)
    place = lines.index(own[0]) if own else len(lines)
    kept = [*(x for x in lines[:place]), new, *(x for x in lines[place:] if x not in own)]
    return batch._replace(name=f"{batch.name or batch.file} with {item.inci}", formula=batch.formula._replace(lines=tuple(kept)))


def _emulsifies(item: Ingredient) -> bool:
    return item.emulsifier is not None and item.emulsifier.alone != "helper"


def _wrong(field: str, says: str, mend: str) -> InputError:
    return InputError([Problem(Place("compare", field=field), says, mend)])
