"""What the law lets a material be in a product, by whether the product is rinsed off."""

from __future__ import annotations

from advisor.batch.model import Batch
from advisor.knowledge.load import Knowledge
from advisor.knowledge.materials import Figure, Ingredient
from advisor.phrases import said, tokens


def rinsed_off(batch: Batch, knowledge: Knowledge) -> bool:
    """Whether the record says that the product is washed off: by its kind or by its name; where that is open, it stays on."""
    name = tokens(batch.name)
    denials = knowledge.words["negations"]
    if any(said(tokens(p), name) for p in knowledge.words["stays_on"]):
        return False
    return batch.kind == "surfactant" or any(said(tokens(p), name, denials) for p in knowledge.words["rinsed_off"])


def legal_maximum(item: Ingredient, rinsed: bool) -> Figure | None:
    """The highest share (% of the product) that the law allows of it."""
    return item.maximum_rinse_off or item.maximum if rinsed else item.maximum
