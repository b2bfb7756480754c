"""What the scale can tell, and what was lost on the way."""

from __future__ import annotations

from advisor.quantities.board import Board

MATTERS = ("emulsifier", "preservative", "polymer", "ph-adjuster", "active")


def measure(board: Board) -> None:
    """Batch size, the error of the scale's step on the smallest line that matters, and water lost."""
    batch = board.batch
    board.put("batch-grams", batch.batch_size, ("batch_size",))
    board.put("scale-step", batch.scale_step, ("scale_reads_to",))
    small = [(x.grams, x.line.name) for x in board.lines if x.grams and any(set(MATTERS) & i.classes for i in x.ingredients)]
    if small:
        board.put("smallest-line-grams", min(small)[0], (min(small)[1],))
        if batch.scale_step:
            board.put("scale-error", 100 * batch.scale_step / 2 / min(small)[0], ("scale_reads_to", min(small)[1]),
                      note="half a step of the scale, against the line")
    before, after = batch.process.get("weight_before"), batch.process.get("weight_after")
    if isinstance(before, (int, float)) and isinstance(after, (int, float)) and before > 0:
        board.put("water-lost", max(0.0, 100 * (before - after) / before), ("process.weight_before", "process.weight_after"))
