"""Invented materials with round figures, so that what is computed of a batch can be worked by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from advisor.batch.model import Batch, Formula, Line
from advisor.knowledge.load import Knowledge
from advisor.knowledge.materials import Acid, Emulsifier, Figure, Ingredient, Part
from advisor.knowledge.naming import normal_name


def figure(low: float, high: float | None = None) -> Figure:
    return Figure(low, high or low, (low + (high or low)) / 2, ("invented",))


def material(inci: str, classes: str, phase: str = "oil", state: str = "liquid", **more: Any) -> Ingredient:
    return Ingredient(inci, (), frozenset(classes.split()), phase, state, **more)


def nonionic(hlb: float) -> Emulsifier:
    return Emulsifier("oil-in-water", "nonionic", "partner", "hlb", figure(hlb))


SHELF = (
    material("Aqua", "water water-like", "water", shares={"water": figure(100)}),
    material("Harbour glycerin", "humectant", "water"),
    material("Harbour gum", "polymer", "water", "powder", level=figure(0.2, 0.6), ph=figure(4, 9)),
    material("Acrylic gum", "polymer", "water", "powder", ph=figure(6, 10)),
    material("Harbour oil", "oil liquid-oil", required_hlb=figure(10)),
    material("Hazy oil", "oil liquid-oil", solid_fat=((20.0, 1.0), (24.0, 0.0))),
    material("Harbour butter", "oil butter", state="soft", solid_fat=((20.0, 60.0), (24.0, 40.0)), melting=figure(34, 38)),
    material("Harbour wax", "oil wax", state="solid", melting=figure(60, 64), heat_capacity=figure(3)),
    material("Harbour alcohol", "fatty-alcohol", state="solid", melting=figure(50, 54), level=figure(1, 4), heat_capacity=figure(2.5)),
    material("Harbour ester", "glyceryl-ester", state="solid"),
    material("Harbour acid", "fatty-acid solid-fatty-acid", state="solid"),
    material("Harbour scent", "fragrance", "cool-down"),
    material("Keeper", "preservative", "cool-down", level=figure(0.4, 1), ph=figure(3, 8), maximum=figure(0.8, 1), max_temperature=figure(40, 45)),
    material("Trace keeper", "preservative", "water", level=figure(0, 1), maximum=figure(0)),
    material("Strict keeper", "preservative", "cool-down", maximum=figure(0.97)),
    material("Weak acid", "preservative organic-acid-preservative", "water", level=figure(0.3, 0.6), ph=figure(2, 5), acid=Acid(120, 1, figure(4.2), False, ("invented",))),
    material("Strong acid", "preservative organic-acid-preservative", "water", acid=Acid(120, 1, figure(3.2), False, ("invented",))),
    material("Keeper mixture", "preservative", "cool-down", parts=(Part("Keeper", figure(80)), Part("Harbour glycerin", figure(20)))),
    material("Tender", "active", "water", max_temperature=figure(50, 60)),
    material("Low pair", "emulsifier low-hlb-surfactant", emulsifier=nonionic(4), melting=figure(50, 54)),
    material("High pair", "emulsifier high-hlb-surfactant", "water", emulsifier=nonionic(16)),
    material("Tender pair", "emulsifier", emulsifier=nonionic(12)._replace(ph=figure(5, 7))),
    material("Hardy pair", "emulsifier", emulsifier=nonionic(12)._replace(ph=figure(4, 9))),
    material("Tender helper", "emulsifier", emulsifier=nonionic(12)._replace(ph=figure(6, 6.5), alone="helper")),
    material("Lone pair", "emulsifier lone", emulsifier=nonionic(8)),
)


def shelf(knowledge: Knowledge) -> Knowledge:
    """The rules with these materials in place of all others."""
    return replace(knowledge, ingredients={i.inci: i for i in SHELF}, names={normal_name(i.inci): i.inci for i in SHELF}, index={})


def formula(amounts: dict[str, float], complete: bool = True, **more: Any) -> Batch:
    return Batch(formula=Formula(tuple(Line(n, (a, a)) for n, a in amounts.items()), "percent", complete), **more)
