"""Commands and options; results to exit codes.  The only module that exits."""

from __future__ import annotations

import gc
import json
import sys
from importlib import import_module
from pathlib import Path
from typing import Any

import click

from advisor import __version__
from advisor.errors import InputError

OK, FAULT, WRONG_INPUT, INTERRUPTED = 0, 1, 2, 130


_ELSEWHERE = {"remake": "advisor.cli_remake", "rules": "advisor.cli_rules", "swap": "advisor.cli_remake"}     # imported when asked for


class _Group(click.Group):
    """Turns our errors into one clear message and the right exit code; brings in commands of other modules when they are asked for."""

    def list_commands(self, context: click.Context) -> list[str]:
        return sorted({*super().list_commands(context), *_ELSEWHERE})

    def get_command(self, context: click.Context, name: str) -> click.Command | None:
        if name not in _ELSEWHERE:
            return super().get_command(context, name)
        found: click.Command = getattr(import_module(_ELSEWHERE[name]), name)
        return found

    def main(self, *args: Any, **kwargs: Any) -> Any:
        kwargs["standalone_mode"] = False
        gc.set_threshold(100_000)     # a short life with many small records: collecting rarely starts quicker
        try:
            sys.exit(super().main(*args, **kwargs) or OK)
        except InputError as error:
            for problem in error.problems:
                click.echo(str(problem), err=True)
            sys.exit(WRONG_INPUT)
        except click.exceptions.Abort:
            click.echo("Interrupted.", err=True)
            sys.exit(INTERRUPTED)
        except KeyboardInterrupt:
            click.echo("Interrupted.", err=True)
            sys.exit(INTERRUPTED)
        except click.ClickException as error:
            error.show()
            sys.exit(WRONG_INPUT)
        except BrokenPipeError:
            sys.stderr.close()
            sys.exit(OK)


def _version(context: click.Context, _parameter: click.Parameter, wanted: bool) -> None:
    if wanted and not context.resilient_parsing:
        from advisor.engine import engine_name

        click.echo(f"advisor {__version__}, rules by {engine_name()}")
        context.exit()


@click.group(cls=_Group, invoke_without_command=True, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.option("--version", is_flag=True, callback=_version, expose_value=False, is_eager=True, help="Version, and which engine reads the rules.")
@click.pass_context
def main(context: click.Context) -> None:
    """Find out why a batch of lotion, cream or butter failed, and what to weigh out next time.

    Start with: advisor diagnose my-batch.yaml
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

    asks = not (no_ask or as_json) and sys.stdin.isatty() and sys.stdout.isatty()
    if asks and batch != "-":
        from advisor.screens.talk import talk

        return talk(batch, load_knowledge(), plain)
    if batch is None:
        raise click.UsageError("Name a batch record, a CSV or a pasted list (or - for standard input); without a terminal nothing is asked.")
    from advisor.batch.reading import read_batch

    record = read_batch(batch)
    knowledge = load_knowledge()
    _print_outcome(run(record, knowledge), knowledge, as_json, plain)
    return OK


def _print_outcome(outcome: Any, knowledge: Any, as_json: bool, plain: bool) -> None:
    if as_json:
        from advisor.screens.data import outcome_data

        _echo_json(outcome_data(outcome, knowledge))
        return
    from advisor.screens import lines, terminal

    blocks = [*lines.first_screen(outcome, knowledge), *lines.rest(outcome, knowledge)]
    if plain or not sys.stdout.isatty():
        click.echo(terminal.plain_text(blocks))
    else:
        terminal.show(blocks)
    for remark in outcome.remarks:
        click.echo(f"Remark, {terminal.safe(remark.about)}: {terminal.safe(remark.says)}", err=True)


def _echo_json(data: Any) -> None:
    click.echo(json.dumps(data, ensure_ascii=False, indent=2, allow_nan=False))


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
    from advisor.screens import ahead, terminal

    knowledge = load_knowledge()
    found = forecast(read_batch(batch), knowledge)
    if as_json:
        from advisor.screens.data import forecast_data

        _echo_json(forecast_data(found))
    elif plain or not sys.stdout.isatty():
        click.echo(terminal.plain_text(ahead.forecast_blocks(found, knowledge)))
    else:
        terminal.show(ahead.forecast_blocks(found, knowledge))
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
    from advisor.screens import ahead, terminal

    knowledge = load_knowledge()
    found = run([read_batch(b) for b in batch], tries, knowledge)
    if as_json:
        from advisor.screens.data import forecast_data

        _echo_json({"format": 1, "batches": [forecast_data(f) for f in found]})
    elif plain or not sys.stdout.isatty():
        click.echo(terminal.plain_text(ahead.comparison_blocks(found, knowledge, drawing=not plain)))
    else:
        terminal.show(ahead.comparison_blocks(found, knowledge, drawing=True))
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

    found = run(Path(folder), load_knowledge())
    if as_json:
        _echo_json(found)
        return OK
    click.echo(f"{found['cases']} cases: {found['faults']} faults, {found['controls']} sound formulas")
    for key, title in (("first", "right first"), ("first_three", "in the first three"), ("any_listed_in_three", "any listed cause in the first three")):
        s = found[key]
        click.echo(f"{title}: {s['n']} ({s['share']}; 95 % Wilson interval {s['low']} to {s['high']})")
    click.echo(f"sound formulas accused: {', '.join(found['accused_controls']) or 'none'}; without an answer: {found['abstained']}")
    for miss in found["misses"]:
        click.echo(f"missed {miss['id']}: wanted {miss['wanted']}, got {', '.join(miss['got']) or 'nothing'}")
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
    from advisor.screens.shelf import ingredient_data, ingredient_lines

    data = ingredient_data(name, load_knowledge())
    if as_json:
        _echo_json(data)
    else:
        click.echo("\n".join(ingredient_lines(data)))
    return OK


@main.command()
@click.argument("batch")
@click.option("--cause", metavar="ID", help="Explain this cause instead of the first one: what speaks for it, and why it is not first.")
@click.option("--what-if", "what_if", multiple=True, metavar="QUESTION=CHOICE", help="Suppose another answer (or INGREDIENT=AMOUNT); both verdicts are shown. May be given more than once.")
@_json
@_plain
def explain(batch: str, cause: str | None, what_if: tuple[str, ...], as_json: bool, plain: bool) -> int:
    """Say how the verdict on BATCH was reached, why not another cause, and what would change it.

    Example: advisor explain cases/demo-heel-cream.yaml --what-if worked-before=yes
    """
    from advisor.batch.reading import read_batch
    from advisor.explain import explain as run
    from advisor.knowledge.load import load_knowledge
    from advisor.screens.explaining import explanation_blocks, explanation_data
    from advisor.supposing import read_suppose

    record, knowledge = read_batch(batch), load_knowledge()
    found = run(record, knowledge, cause, [read_suppose(text, record, knowledge) for text in what_if])
    if as_json:
        _echo_json(explanation_data(found))
        return OK
    from advisor.screens import terminal

    blocks = explanation_blocks(found, knowledge)
    if plain or not sys.stdout.isatty():
        click.echo(terminal.plain_text(blocks))
    else:
        terminal.show(blocks)
    return OK
