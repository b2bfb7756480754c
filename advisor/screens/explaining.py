"""An explanation as data and as lines: the reason first in one sentence, the tree behind it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from advisor.explain import Explanation, Step, Tested, Verdict, WhyNot
from advisor.knowledge.load import Knowledge
from advisor.screens.lines import Block, titles
from advisor.supposing import Suppose

MOST, FEW = 4, 3      # unmet conditions of another cause that are shown at once, and what each lacks
_STATE = {"met": "met", "failed": "does not hold", "unknown": "not known"}


def explanation_data(found: Explanation) -> dict[str, Any]:
    """The object of `advisor explain BATCH --json`."""
    change = found.change
    return {
        "format": 1, "batch": found.batch, "verdict": _verdict(found.verdict), "sentence": found.sentence, "how": [_step(s) for s in found.how],
        "why_not": [{"id": w.cause, "title": w.title, "standing": w.standing, "sentence": w.sentence,
                     "conditions": [{"says": c.says, "against": c.against, "strength": c.strength, "state": c.state, "lacks": list(c.lacks)}
                                    for c in w.conditions]} for w in found.why_not],
        "change": {"changes": [_suppose(c) for c in change.changes], "says": change.says, "verdict": _verdict(change.verdict)} if change else None,
        "what_if": {"changes": [_suppose(c) for c in found.what_if], "before": _verdict(found.verdict), "after": _verdict(found.then)} if found.then else None,
        "unexplained": list(found.unexplained),
        "grounds": {"rules": found.grounds.rules._asdict(), "figures": found.grounds.figures._asdict(),
                    "accounts": found.grounds.accounts._asdict()} if found.grounds else None,
    }


def explanation_blocks(found: Explanation, knowledge: Knowledge, whole: bool = True) -> list[Block]:
    """How it was concluded, why not the others, what would change it, what if; of other causes, unless `whole`, what tells most of each."""
    blocks = [Block("In one sentence", (found.sentence,), "cause")]
    if found.unexplained:
        blocks.append(Block("Not explained by that", (f"{titles(found.unexplained, knowledge)}.",)))
    if found.then:
        what = "; ".join(f"{c.what} = {c.value:g}" if isinstance(c.value, float) else f"{c.what} = {c.value}" + (f" ({c.helped})" if c.helped else "")
                         for c in found.what_if)
        blocks.append(Block(f"What if: {what}", (f"now: {_says(found.verdict)}", f"then: {_says(found.then)}")))
    if found.how:
        told: set[str] = set()
        blocks.append(Block("How this was concluded", tuple(line for step in found.how for line in _tree(step, told)) + _grounds(found)))
    blocks += [Block(f"Why not: {w.title} ({w.standing})", (w.sentence, *(_conditions(w, whole)))) for w in found.why_not]
    blocks.append(Block("What would change this", (found.change.says,) if found.change else
                        ("No change of one or two answers or readings that was tried puts another cause first.",)))
    return blocks


def _grounds(found: Explanation) -> tuple[str, ...]:
    """How much of it is published, common practice or memory, in a line or two."""
    if found.grounds is None:
        return ()
    said = [f"{what}: {share.published} of {share.total} from published sources, {share.common} common practice, {share.memory} from memory."
            for what, share in (("Rules behind this", found.grounds.rules), ("Figures of the ingredients its numbers come from", found.grounds.figures)) if share.total]
    of_it, every = found.grounds.accounts
    if every >= 1:
        said.append(f"Published accounts of such trouble: {f'about {of_it:.0f}' if of_it >= 1 else 'hardly any'} of {every:.0f} came to this cause or the one it is part of.")
    return tuple(said)


def short_lines(found: Explanation) -> list[str]:
    """What is thought so far, in a few lines."""
    return [found.sentence, *(f"- {s.says}" for s in found.how[:3]), *(f"Why not {w.title[0].lower()}{w.title[1:]}: {w.sentence}" for w in found.why_not[:2])]


def _order(w: WhyNot) -> list[Tested]:
    return sorted(w.conditions, key=lambda c: ("met", "failed", "unknown").index(c.state))


def _conditions(w: WhyNot, whole: bool) -> list[str]:
    """Every condition of a card; or all that are met and the first of those that are not, one that an answer would settle before others."""
    met, rest = ([c for c in _order(w) if (c.state == "met") == side] for side in (True, False))
    if whole or len(rest) <= MOST + 1:
        return [_condition(c) for c in (*met, *rest)]
    shown = sorted(rest, key=lambda c: (c.against, not any(x.endswith("not answered") for x in c.lacks)))[:MOST]
    more = f"- {len(rest) - MOST} more that do not hold or are not known: add --cause {w.cause} to read them all."
    return [*(_condition(c, FEW) for c in (*met, *shown)), more]


def _condition(c: Tested, most: int | None = None) -> str:
    side = "against" if c.against else "for"
    lacks = f" ({'; '.join(c.lacks[:most])}{'; and more' if most and len(c.lacks) > most else ''})" if c.lacks else ""
    return f"- {side}, {_STATE[c.state]}: {c.says}{lacks}"


def _tree(step: Step, told: set[str], depth: int = 0) -> Iterator[str]:
    """A step and what it rests on; a finding that was told before is not unfolded again."""
    sources = f" [{'; '.join(step.sources)}]" if step.sources and step.kind in ("evidence", "finding") else ""
    lead = "- " if depth == 0 else f"{'from' if depth == 1 else 'and that from'}: "
    yield f"{lead}{step.says}{sources}"
    for below in step.rests_on if step.kind != "finding" or step.says not in told else ():
        yield from _tree(below, told, depth + 1)
    told.add(step.says)


def _says(verdict: Verdict) -> str:
    return f"{verdict.title} ({verdict.standing})" if verdict.cause and verdict.standing != "ruled out" else "nothing stands out"


def _verdict(verdict: Verdict) -> dict[str, Any]:
    return {"id": verdict.cause or None, "title": verdict.title, "standing": verdict.standing, "certainty": round(verdict.certainty, 4)}


def _step(step: Step) -> dict[str, Any]:
    return {"kind": step.kind, "says": step.says, "strength": step.strength, "sources": list(step.sources), "rests_on": [_step(s) for s in step.rests_on]}


def _suppose(change: Suppose) -> dict[str, Any]:
    return {"what": change.what, "value": change.value, **({"helped": change.helped} if change.helped else {})}
