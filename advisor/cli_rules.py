"""Commands on the knowledge itself: check, show, new, schema."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import click

_own = click.option("--own", type=click.Path(file_okay=False), help="Your own folder of cards, laid over the built-in ones.")
_json = click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
_plain = click.option("--plain", is_flag=True, help="One fact a line, no colour, no drawing.")


@click.group()
def rules() -> None:
    """Look at the knowledge and check it."""


@rules.command("check")
@click.option("--folder", type=click.Path(file_okay=False), help="A folder of rules other than the built-in one.")
@_own
@click.option("--knock-out", is_flag=True, help="Also list the evidence that no example, contrast or case misses.")
@click.option("--cases", type=click.Path(file_okay=False), multiple=True, help="With --knock-out: a folder of cases with known answers that may miss it too.")
@_json
@_plain
def check(folder: str | None, own: str | None, knock_out: bool, cases: tuple[str, ...], as_json: bool, plain: bool) -> int:
    """Check every card: its form, its words, its sources, its examples, contrasts and fixes.

    Example: advisor rules check
    """
    from advisor.knowledge.audit import audit
    from advisor.screens.output import json_out, say

    cards, problems = audit(Path(folder) if folder else None, Path(own) if own else None)
    found = None
    if not problems:
        from advisor.contrasts import contrasts_of
        from advisor.knowledge.load import load_knowledge
        from advisor.scoring import labelled
        from advisor.vetting import knock_out as run
        from advisor.vetting import vet

        knowledge = load_knowledge(folder, own)
        contrasts = [] if folder else contrasts_of(knowledge)
        problems = vet(knowledge, contrasts)
        found = run(knowledge, contrasts, [c for f in cases for c in labelled(Path(f))]) if knock_out else None
    if as_json:
        data: dict[str, Any] = {"format": 1, "cards": cards, "problems": [
            {"file": p.place.file, "line": p.place.line, "column": p.place.column, "check": p.check, "says": p.says, "mend": p.mend} for p in problems]}
        if found:
            data["knock_out"] = {"idle": list(found.idle), "total": found.total, "share": round(found.share, 3)}
        json_out(data)
    else:
        for problem in problems:
            say(str(problem))
        if found:
            say("\n".join(f"nothing misses {rule}" for rule in found.idle))
            say(f"{len(found.idle)} of {found.total} pieces of evidence ({found.share:.0%}) are missed by no example, contrast or case")
        say(f"{cards} cards, {len(problems)} problems")
    return 2 if problems else 0


@rules.command("show")
@click.argument("card")
@_own
@_json
@_plain
def show(card: str, own: str | None, as_json: bool, plain: bool) -> int:
    """Show a CARD (a cause, finding, symptom, question, quantity or caution) with its sources and where it is used.

    Example: advisor rules show lone-fatty-acid
    """
    from advisor.knowledge.forms import nearest
    from advisor.knowledge.load import load_knowledge
    from advisor.screens.cards import card_data
    from advisor.screens.output import json_out, say

    knowledge = load_knowledge(own=own)
    data = card_data(card, knowledge)
    if data is None:
        known = [*knowledge.causes, *knowledge.findings, *knowledge.symptoms, *knowledge.questions, *knowledge.quantities]
        near = nearest(card, known)
        raise click.UsageError(f"No card is called {card!r}." + (f" Did you mean {near!r}?" if near else ""))
    if as_json:
        json_out(data)
    else:
        say("\n".join([f"{data['kind']} {data['id']}", *data["lines"], *(f"used by {u}" for u in data["used_by"])]))
    return 0


@rules.command("new")
@click.argument("file", required=False, type=click.Path(dir_okay=False))
def new(file: str | None) -> int:
    """Write an empty card to FILE, or print one, to be filled in.

    Example: advisor rules new
    """
    from advisor.screens.cards import EMPTY_CARD

    if file is None:
        click.echo(EMPTY_CARD)
        return 0
    path = Path(file)
    if os.path.lexists(path):
        raise click.UsageError(f"{file or 'this'} is there already; name another file.")
    from advisor.batch.writing import save
    from advisor.screens.output import say

    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        save(path, EMPTY_CARD)
    except OSError as error:
        raise click.UsageError(f"{file} cannot be written: {error.strerror}.") from None
    say(f"An empty card is in {file}.")
    return 0


@rules.command("schema")
@click.argument("kind")
def schema(kind: str) -> int:
    """Write the JSON Schema of one KIND of file (causes, ingredients, questions, ...), for an editor.

    Example: advisor rules schema causes
    """
    from advisor.knowledge.card_forms import FORMS
    from advisor.knowledge.forms import json_schema
    from advisor.screens.output import json_out

    known = {k.removesuffix(".yaml"): f for k, f in FORMS.items()}
    if kind not in known:
        raise click.UsageError(f"No form is called {kind!r}. Known: {', '.join(known)}.")
    json_out(json_schema(known[kind], f"rules/{kind}"))
    return 0
