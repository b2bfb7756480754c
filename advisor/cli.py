"""Commands and options; results to exit codes.  The only module that exits."""

from __future__ import annotations

import atexit
import contextlib
import gc
import io
import os
import sys
from importlib import import_module
from pathlib import Path
from typing import Any

import click

from advisor import __version__
from advisor.errors import InputError

OK, FAULT, WRONG_INPUT, INTERRUPTED = 0, 1, 2, 130
MOST_SHOWN, MOST_TEXT, MAX_NAME = 20, 1200, 300
_ELSEWHERE = {"explain": "advisor.cli_explain", "remake": "advisor.cli_remake", "rules": "advisor.cli_rules", "swap": "advisor.cli_remake"}     # imported when asked for


class _Group(click.Group):
    """Turns our errors into one clear message and the right exit code; brings in commands of other modules when they are asked for."""

    def list_commands(self, context: click.Context) -> list[str]:
        return sorted({*super().list_commands(context), *_ELSEWHERE})

    def get_command(self, context: click.Context, name: str) -> click.Command | None:
        if name not in _ELSEWHERE:
            return super().get_command(context, name)
        found: click.Command = getattr(import_module(_ELSEWHERE[name]), name)
        return found

    def invoke(self, ctx: click.Context) -> Any:
        with contextlib.suppress(BrokenPipeError):       # before click makes a fault of it
            return super().invoke(ctx)
        _drop_output()
        return OK

    def main(self, *args: Any, **kwargs: Any) -> Any:
        kwargs["standalone_mode"] = False
        gc.set_threshold(1_000_000)     # a short life with many small records: collecting rarely starts quicker
        atexit.register(gc.freeze)      # and at its end nothing is left that would be worth collecting
        if isinstance(sys.stdout, io.TextIOWrapper):
            sys.stdout.reconfigure(errors="replace")     # a name that this terminal cannot show is no reason to stop
        try:
            code = super().main(*args, **kwargs) or OK
            if sys.stdout is not None:
                sys.stdout.flush()
            sys.exit(code)
        except InputError as error:
            for problem in error.problems[:MOST_SHOWN]:
                _complain(str(problem))
            if len(error.problems) > MOST_SHOWN:
                _complain(f"... and {len(error.problems) - MOST_SHOWN} more like these.")
            sys.exit(WRONG_INPUT)
        except (click.exceptions.Abort, KeyboardInterrupt):
            _complain("Interrupted.")
            sys.exit(INTERRUPTED)
        except click.ClickException as error:
            told = io.StringIO()
            error.show(file=told)
            _complain("\n".join(map(_shown, told.getvalue().splitlines())))
            sys.exit(WRONG_INPUT)
        except BrokenPipeError:
            _drop_output()
            sys.exit(OK)
        except Exception as error:
            if os.environ.get("ADVISOR_DEBUG"):
                raise
            _drop_output()
            _complain(f"A fault of ours, not of your input: {type(error).__name__}: {error}" if not isinstance(error, OSError) else
                      f"The result could not be written: {error.strerror or error}. Make room or name another place, and run it again.")
            if not isinstance(error, OSError):
                _complain("Nothing of yours was changed but answers already saved. ADVISOR_DEBUG=1 before the command shows where it happened; please report it.")
            sys.exit(FAULT)


def _shown(text: str) -> str:
    """A complaint of one sensible length, in which nothing steers the terminal."""
    from advisor.screens.terminal import safe

    return safe(text if len(text) <= MOST_TEXT else f"{text[: MOST_TEXT // 2]} ... {text[-MOST_TEXT // 4:]}")


def _complain(text: str) -> None:
    with contextlib.suppress(OSError, ValueError):
        import_module("advisor.screens.output").complain(_shown(text))


def _drop_output() -> None:
    """Nobody reads any more, or there is no room: let the interpreter end without trying again."""
    with contextlib.suppress(OSError, ValueError, AttributeError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _version(context: click.Context, _parameter: click.Parameter, wanted: bool) -> None:
    if wanted and not context.resilient_parsing:
        from advisor.engine import engine

        click.echo(f"advisor {__version__}, rules by {engine().name}")
        context.exit()


@click.group(cls=_Group, invoke_without_command=True, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.option("--version", is_flag=True, callback=_version, expose_value=False, is_eager=True, help="Version, and which engine reads the rules.")
@click.pass_context
def main(context: click.Context) -> None:
    """Find out why a batch of lotion, cream or butter failed, and what to weigh out next time.

    \b
    With nothing written down yet: advisor diagnose (it asks one thing at a time and keeps your answers).
    With a record, a CSV or a pasted list: advisor diagnose my-batch.yaml
    To see an example first: advisor diagnose cases/demo-heel-cream.yaml --no-ask
    """
    if context.invoked_subcommand is None:
        click.echo(context.get_help())


_json = click.option("--json", "as_json", is_flag=True, help="Print one JSON object; implies --no-ask.")
_plain = click.option("--plain", is_flag=True, help="One fact a line, no colour, no drawing.")


@main.command()
@click.argument("batch", required=False)
@click.option("--no-ask", is_flag=True, help="Answer from what the record says; ask nothing.")
@_json
@_plain
def diagnose(batch: str | None, no_ask: bool, as_json: bool, plain: bool) -> int:
    """Say why BATCH (a record, a CSV, a pasted list, or - for standard input) failed, and write the fix list.

    Example: advisor diagnose cases/demo-heel-cream.yaml --no-ask
    """
    from advisor.knowledge.load import load_knowledge
    from advisor.outcome import diagnose as run
    from advisor.screens.output import attended

    asks = not (no_ask or as_json) and attended(sys.stdin, sys.stdout)
    if asks and batch != "-":
        from advisor.batch.reading import bundled
        from advisor.screens.talk import talk

        if batch and (example := bundled(batch)):
            raise click.UsageError(f"{batch} is an example that comes with advisor. Copy it from {example} to talk about it, or add --no-ask.")
        return talk(batch, load_knowledge(), plain)
    if batch is None:
        raise click.UsageError("Name a batch record, a CSV or a pasted list (or - for standard input); without a terminal nothing is asked.")
    from advisor.batch.reading import read_batch

    record = read_batch(batch)
    knowledge = load_knowledge()
    _print_outcome(run(record, knowledge), knowledge, as_json, plain)
    return OK


def _print_outcome(outcome: Any, knowledge: Any, as_json: bool, plain: bool) -> None:
    from advisor.screens.output import blocks_out, json_out, remarks_out

    if as_json:
        from advisor.screens.data import outcome_data

        json_out(outcome_data(outcome, knowledge))
        return
    from advisor.screens import lines

    blocks_out([*lines.first_screen(outcome, knowledge), *lines.rest(outcome, knowledge)], plain)
    remarks_out(outcome.remarks)


@main.command()
@click.argument("batch")
@_json
@_plain
def check(batch: str, as_json: bool, plain: bool) -> int:
    """Say before making whether BATCH will hold and how thick it will be.

    Example: advisor check cases/demo-thin-hand-cream.yaml
    """
    from advisor.batch.reading import read_batch
    from advisor.forecast import forecast
    from advisor.knowledge.load import load_knowledge
    from advisor.screens import ahead
    from advisor.screens.output import blocks_out, json_out, remarks_out

    knowledge = load_knowledge()
    found = forecast(read_batch(batch), knowledge)
    if as_json:
        from advisor.screens.data import forecast_data

        json_out(forecast_data(found))
    else:
        blocks_out(ahead.forecast_blocks(found, knowledge), plain)
        remarks_out(found.outcome.remarks)
    return OK


@main.command()
@click.argument("batch", nargs=-1, required=True)
@click.option("--try", "tries", multiple=True, metavar="NAME", help="One formula with this emulsifier in place of its own; may be repeated.")
@_json
@_plain
def compare(batch: tuple[str, ...], tries: tuple[str, ...], as_json: bool, plain: bool) -> int:
    """Set two or more formulas side by side, or one BATCH with several emulsifiers.

    Example: advisor compare cases/demo-thin-hand-cream.yaml --try "glyceryl stearate SE"
    """
    from advisor.batch.reading import read_batch
    from advisor.comparison import compare as run
    from advisor.knowledge.load import load_knowledge
    from advisor.screens import ahead
    from advisor.screens.output import blocks_out, json_out

    knowledge = load_knowledge()
    found = run([read_batch(b) for b in batch], tries, knowledge)
    if as_json:
        from advisor.screens.data import forecast_data

        json_out({"format": 1, "batches": [forecast_data(f) for f in found]})
    else:
        blocks_out(ahead.comparison_blocks(found, knowledge, drawing=not plain), plain)
    return OK


@main.command()
@click.argument("folder", type=click.Path())
@_json
@_plain
def score(folder: str, as_json: bool, plain: bool) -> int:
    """Say how often the advisor is right on the cases of FOLDER.

    Example: advisor score cases
    """
    from advisor.knowledge.load import load_knowledge
    from advisor.scoring import score as run
    from advisor.screens.output import json_out, say

    found = run(Path(folder), load_knowledge())
    if as_json:
        json_out(found)
        return OK
    say(f"{found['cases']} cases: {found['faults']} faults, {found['controls']} sound formulas")
    for key, title in (("first", "right first"), ("first_three", "in the first three"), ("any_listed_in_three", "any listed cause in the first three")):
        s = found[key]
        say(f"{title}: {s['n']} ({s['share']}; 95 % Wilson interval {s['low']} to {s['high']})")
    say(f"sound formulas accused: {', '.join(found['accused_controls']) or 'none'}; without an answer: {found['abstained']}")
    for miss in found["misses"]:
        say(f"missed {miss['id']}: wanted {miss['wanted']}, got {', '.join(miss['got']) or 'nothing'}")
    return OK


@main.command()
@click.argument("name")
@_json
@_plain
def ingredient(name: str, as_json: bool, plain: bool) -> int:
    """Say what is known of an ingredient NAME, with sources.

    Example: advisor ingredient "cetyl alcohol"
    """
    from advisor.knowledge.load import load_knowledge
    from advisor.screens.output import json_out, say
    from advisor.screens.shelf import ingredient_data, ingredient_lines

    if not name.strip():
        raise click.UsageError("Name an ingredient, such as \"cetyl alcohol\".")
    data = ingredient_data(name[:MAX_NAME], load_knowledge())
    if as_json:
        json_out(data)
    else:
        say("\n".join(ingredient_lines(data)))
    return OK
