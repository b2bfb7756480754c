"""Commands that write the next batch: remake and swap."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import click

_json = click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
_plain = click.option("--plain", is_flag=True, help="One fact a line, no colour, no drawing.")
_FILE = click.Path(dir_okay=False)


@click.command()
@click.argument("batch")
@click.option("--fix", help="The id of the fix to make (as advisor diagnose --json names it); the best one otherwise.")
@click.option("--size", help="Size of the new batch, such as 500g or 1 kg.")
@click.option("--page", type=_FILE, help="Write the sheet as one HTML page to this file.")
@click.option("--csv", "table", type=_FILE, help="Write the corrected formula as a table to this file.")
@click.option("--record", type=_FILE, help="Write the record of the new batch to this file.")
@click.option("--force", is_flag=True, help="Overwrite files that are there already.")
@_json
@_plain
def remake(batch: str, fix: str | None, size: str | None, page: str | None, table: str | None, record: str | None, force: bool, as_json: bool,
           plain: bool) -> int:
    """Write the sheet for making BATCH again: corrected weights, procedure, checks.

    Example: advisor remake cases/demo-heel-cream.yaml --size 500g
    """
    from advisor.batch.reading import read_batch
    from advisor.fixes.remake import remake as run
    from advisor.knowledge.load import load_knowledge

    grams = _size(size)
    targets = [Path(f) for f in (page, table, record) if f]
    if len({t.resolve() for t in targets}) < len(targets) or any(batch != "-" and t.resolve() == Path(batch).resolve() for t in targets):
        raise click.UsageError("Give every file a name of its own, other than that of the batch.")
    knowledge = load_knowledge()
    found = run(read_batch(batch), knowledge, fix, grams)
    _may_write(targets, force, ask=not as_json and batch != "-")
    if table and not found.weights:
        raise click.UsageError("Not every line has an amount, so there is no table to write.")
    if page:
        from advisor.screens.page import page as make

        _write(page, make(found, knowledge))
    if table:
        from advisor.screens.remaking import csv_text

        _write(table, csv_text(found))
    if record:
        from advisor.batch.writing import batch_text

        _write(record, batch_text(found.record))
    from advisor.screens import remaking

    if as_json:
        _echo_json(remaking.remake_data(found))
    elif not targets:
        _show(remaking.remake_blocks(found, knowledge), plain)
    if not as_json:
        _remark(found.remarks)
    return 0


@click.command()
@click.argument("batch")
@click.argument("old")
@click.argument("new")
@_json
@_plain
def swap(batch: str, old: str, new: str, as_json: bool, plain: bool) -> int:
    """Say what changes in BATCH if NEW replaces the ingredient OLD, and rebalance the formula.

    Example: advisor swap cases/demo-heel-cream.yaml "sweet almond oil" "sunflower oil"
    """
    from advisor.batch.reading import read_batch
    from advisor.fixes.swap import swap as run
    from advisor.knowledge.load import load_knowledge
    from advisor.screens import remaking

    knowledge = load_knowledge()
    record = read_batch(batch)
    found = run(record, old, new, knowledge)
    if as_json:
        _echo_json(remaking.swap_data(found, record.name))
    else:
        _show(remaking.swap_blocks(found, knowledge), plain)
        _remark(found.remarks)
    return 0


def _size(text: str | None) -> float | None:
    if text is None:
        return None
    from advisor.batch.units import grams

    found = grams(text)
    if found is None or not 0 < found <= 1_000_000:
        raise click.UsageError(f"{text!r} is no batch size: write it as 500g, 8 oz or 1 kg.")
    return found


def _may_write(targets: list[Path], force: bool, ask: bool) -> None:
    """Files that are there are kept, unless forced or (in a terminal) agreed to."""
    for path in targets:
        if not path.parent.is_dir():
            raise click.UsageError(f"The folder {path.parent} is not there.")
        if path.exists() and not force:
            asked = ask and sys.stdin.isatty() and sys.stdout.isatty()
            if not (asked and click.confirm(f"{path} is there already. Overwrite it?", default=False)):
                raise click.UsageError(f"{path} is there already; name another file, or give --force.")


def _write(path: str, text: str) -> None:
    from advisor.batch.writing import save

    try:
        save(Path(path), text)
    except OSError as error:
        raise click.UsageError(f"{path} cannot be written: {error.strerror}.") from None
    click.echo(f"Written: {path}", err=True)


def _show(blocks: list[Any], plain: bool) -> None:
    from advisor.screens import terminal

    if plain or not sys.stdout.isatty():
        click.echo(terminal.plain_text(blocks))
    else:
        terminal.show(blocks)


def _remark(remarks: tuple[Any, ...]) -> None:
    from advisor.screens.terminal import safe

    for r in remarks:
        click.echo(f"Remark, {safe(r.about)}: {safe(r.says)}", err=True)


def _echo_json(data: Any) -> None:
    click.echo(json.dumps(data, ensure_ascii=False, indent=2, allow_nan=False))
