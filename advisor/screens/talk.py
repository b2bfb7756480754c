"""The interview on a terminal: one thing at a time, saved after every answer."""

from __future__ import annotations

from pathlib import Path

import click

from advisor.batch.model import Batch
from advisor.batch.reading import read_batch
from advisor.batch.writing import batch_text, replace_blocks, save
from advisor.interview import Ask, Interview
from advisor.knowledge.load import Knowledge
from advisor.screens import lines, terminal
from advisor.situation import NOT_SURE

_HELP = "Type a number, or: b back, w why, s stop and tell me."


def talk(path: str | None, knowledge: Knowledge) -> int:
    """Ask, save, ask again; then show the outcome.  Returns the exit code (130 when interrupted)."""
    batch = read_batch(path) if path else Batch(name="")
    target = _target(path)
    own = path is not None and target == Path(path)
    state = Interview(knowledge, batch)
    if batch.answers:
        click.echo(f"Going on where you stopped: {len(batch.answers)} answers are kept in {target}.")
    click.echo(f"Your answers are saved in {target} as you give them. {_HELP}\n")
    try:
        _questions(state, target, own)
    except (KeyboardInterrupt, click.exceptions.Abort, EOFError):
        click.echo(f"\nStopped. Your answers are kept in {target}; the same command goes on from there.", err=True)
        return 130
    outcome = state.outcome()
    terminal.show([*lines.first_screen(outcome, knowledge), *lines.rest(outcome, knowledge)])
    return 0


def _questions(state: Interview, target: Path, own: bool) -> None:
    while (ask := state.next()) is not None:
        said = _ask_text(ask) if ask.question is None else _ask_choice(ask)
        if said == "s":
            return
        if said == "b":
            if state.back() is None:
                click.echo("This is the first question.")
        elif said == "":
            state.skip(ask)
        else:
            state.answer(ask, said)
            _heard(state, ask)
        _save(state, target, own)


def _heard(state: Interview, ask: Ask) -> None:
    """Show back what was understood of free text."""
    if ask.kind == "complaint":
        signs = state.outcome().examination.situation.complaints
        titles = ", ".join(dict.fromkeys(state.knowledge.symptoms[s.symptom].title for s in signs))
        click.echo(f"Understood: {titles}.\n" if titles else "That was not understood as a complaint; it is kept. Say it in other words with b.\n")
    elif ask.kind == "formula":
        click.echo(f"Understood: {len(state.batch.formula.lines)} ingredients.\n")


def _ask_text(ask: Ask) -> str:
    click.echo(f"{ask.text}\n({ask.why})")
    if ask.kind == "complaint":
        return _line("> ")
    typed: list[str] = []
    while True:
        line = _line("> ")
        if line in ("b", "s") and not typed:
            return line
        if not line:
            return "\n".join(typed)
        typed.append(line)


def _ask_choice(ask: Ask) -> str:
    question = ask.question
    assert question is not None
    click.echo(f"{question.text}\n({question.why})")
    for step in question.steps:
        click.echo(f"  - {step}")
    for number, choice in enumerate(question.choices, 1):
        meaning = question.tells.get(choice.id)
        click.echo(f"  {number}  {choice.label}" + (f" ({meaning})" if meaning else ""))
    last = len(question.choices) + 1
    click.echo(f"  {last}  not sure")
    while True:
        said = _line("> ").lower()
        if said in ("b", "s"):
            return said
        if said == "w":
            click.echo(question.why)
        elif said.isdigit() and 1 <= int(said) < last:
            click.echo("")
            return question.choices[int(said) - 1].id
        elif said in (str(last), "not sure", "?"):
            click.echo(f"How to find out: {question.how}\n" if question.how else "")
            return NOT_SURE
        else:
            click.echo(_HELP)


def _line(prompt: str) -> str:
    return input(prompt).strip()


def _target(path: str | None) -> Path:
    """Where answers go: the maker's own YAML record, or a new record beside."""
    if path and Path(path).suffix in (".yaml", ".yml"):
        return Path(path)
    stem = Path(path).stem if path else "batch"
    number = 1
    while (found := Path(path).parent / f"{stem}-record{number}.yaml" if path else Path(f"{stem}-record{number}.yaml")).exists():
        number += 1
    return found


def _save(state: Interview, target: Path, own: bool) -> None:
    """Only the blocks the interview owns change in the maker's own file; a new record is written whole."""
    if own and not any(a.kind == "formula" for a, _ in state.past):
        save(target, replace_blocks(target.read_text(encoding="utf-8"), state.owned_blocks()))
    else:
        save(target, batch_text(state.batch))
