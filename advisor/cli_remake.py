"""Commands that write the next batch: remake and swap."""

from __future__ import annotations

import os
import sys
from pathlib import Path

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

    grams, ounces = _size(size)
    targets = [Path(f) for f in (page, table, record) if f is not None]
    if len({os.path.realpath(t) for t in targets}) < len(targets) or any(batch != "-" and _same(t, Path(batch)) for t in targets):
        raise click.UsageError("Give every file a name of its own, other than that of the batch.")
    knowledge = load_knowledge()
    old = read_batch(batch)
    found = run(old._replace(ounces=old.in_ounces or ounces), knowledge, fix, grams)
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
    from advisor.screens.output import blocks_out, json_out, remarks_out

    if as_json:
        json_out(remaking.remake_data(found))
    elif not targets:
        blocks_out(remaking.remake_blocks(found, knowledge), plain)
    if not as_json:
        remarks_out(found.remarks)
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
    from advisor.screens.output import blocks_out, json_out, remarks_out

    knowledge = load_knowledge()
    record = read_batch(batch)
    found = run(record, old, new, knowledge)
    if as_json:
        json_out(remaking.swap_data(found, record.name))
    else:
        blocks_out(remaking.swap_blocks(found, knowledge), plain)
        remarks_out(found.remarks)
    return 0


def _same(one: Path, other: Path) -> bool:
    """Whether two names lead to one file, also by a link or in other letters' case."""
    try:
        return os.path.samefile(one, other)
    except OSError:
        return os.path.realpath(one) == os.path.realpath(other)


def _size(text: str | None) -> tuple[float | None, bool]:
    """The size in grams, and whether it was told in ounces."""
    if text is None:
        return None, False
    from advisor.batch.units import grams, is_ounces

    found = grams(text)
    if found is None or not 0 < found <= 1_000_000:
        raise click.UsageError(f"{text!r} is no batch size: write it as 500g, 8 oz or 1 kg.")
    return found, is_ounces(text)


def _may_write(targets: list[Path], force: bool, ask: bool) -> None:
    """Files that are there are kept, unless forced or (in a terminal) agreed to."""
    from advisor.screens.output import attended

    for path in targets:
        if not path.parent.is_dir():
            raise click.UsageError(f"The folder {path.parent} is not there.")
        if path.exists() and not path.is_file():
            raise click.UsageError(f"{path} is no plain file; name another.")
        if os.path.lexists(path) and not force:
            asked = ask and attended(sys.stdin, sys.stdout)
            if not (asked and click.confirm(f"{path} is there already. Overwrite it?", default=False)):
                raise click.UsageError(f"{path} is there already; name another file, or give --force.")


def _write(path: str, text: str) -> None:
    from advisor.batch.writing import save
    from advisor.screens.output import say

    try:
        save(Path(path), text)
    except OSError as error:
        raise click.UsageError(f"{path} cannot be written: {error.strerror}.") from None
    say(f"Written: {path}", err=True)
