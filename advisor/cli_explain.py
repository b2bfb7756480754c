"""The command that questions a verdict: explain."""

from __future__ import annotations

import click


@click.command()
@click.argument("batch")
@click.option("--cause", metavar="ID", help="Explain this cause instead of the first one: all that speaks for it and against it, and why it is not first.")
@click.option("--what-if", "what_if", multiple=True, metavar="QUESTION=CHOICE", help="Suppose another answer (or INGREDIENT=AMOUNT); both verdicts are shown. May be given more than once.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@click.option("--plain", is_flag=True, help="One fact a line, no colour, no drawing.")
def explain(batch: str, cause: str | None, what_if: tuple[str, ...], as_json: bool, plain: bool) -> int:
    """Say how the verdict on BATCH was reached, why not another cause, and what would change it.

    Example: advisor explain cases/demo-heel-cream.yaml --what-if worked-before=yes
    """
    from advisor.batch.reading import read_batch
    from advisor.explain import explain as run
    from advisor.knowledge.load import load_knowledge
    from advisor.screens.explaining import explanation_blocks, explanation_data
    from advisor.screens.output import blocks_out, json_out
    from advisor.supposing import read_suppose

    record, knowledge = read_batch(batch), load_knowledge()
    found = run(record, knowledge, cause, [read_suppose(text, record, knowledge) for text in what_if])
    if as_json:
        json_out(explanation_data(found))
    else:
        blocks_out(explanation_blocks(found, knowledge, whole=cause is not None), plain)
    return 0
