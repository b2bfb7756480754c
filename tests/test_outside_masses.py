"""Molar masses of acids and alkalis against a general chemistry library: molmass (registry), from atomic weights and the molecular formula."""

from __future__ import annotations

import re

import pytest
from molmass import Formula

from advisor.knowledge.load import Knowledge
from advisor.quantities.soap import salt_formed

pytestmark = pytest.mark.outside

# Molecular formulas: textbook facts; the library adds up IUPAC atomic weights.
FORMULAS = {
    "Stearic Acid": "C18H36O2", "Palmitic Acid": "C16H32O2", "Lauric Acid": "C12H24O2", "Myristic Acid": "C14H28O2", "Behenic Acid": "C22H44O2",
    "Oleic Acid": "C18H34O2", "Linoleic Acid": "C18H32O2", "Arachidic Acid": "C20H40O2", "Capric Acid": "C10H20O2", "Caprylic Acid": "C8H16O2",
    "Ricinoleic Acid": "C18H34O3", "Ascorbic Acid": "C6H8O6", "Azelaic Acid": "C9H16O4", "Glycolic Acid": "C2H4O3", "Mandelic Acid": "C8H8O3",
    "Gluconolactone": "C6H10O6", "Citric Acid": "C6H8O7", "Lactic Acid": "C3H6O3", "Acetic Acid": "C2H4O2", "Tartaric Acid": "C4H6O6", "Malic Acid": "C4H6O5",
    "Phosphoric Acid": "H3PO4", "Hydrochloric Acid": "HCl", "Boric Acid": "H3BO3", "Succinic Acid": "C4H6O4", "Sodium Hydroxide": "NaOH",
    "Potassium Hydroxide": "KOH", "Triethanolamine": "C6H15NO3", "Aminomethyl Propanol": "C4H11NO", "Tromethamine": "C4H11NO3", "Arginine": "C6H14N4O2",
    "Sodium Bicarbonate": "NaHCO3", "Sodium Carbonate": "Na2CO3", "Sodium Borate": "Na2B4O7(H2O)10", "Calcium Hydroxide": "CaO2H2", "Magnesium Hydroxide": "MgO2H2",
    "Benzoic Acid": "C7H6O2", "Sodium Benzoate": "C7H5NaO2", "Sorbic Acid": "C6H8O2", "Potassium Sorbate": "C6H7KO2", "Salicylic Acid": "C7H6O3",
    "Dehydroacetic Acid": "C8H8O4", "Levulinic Acid": "C5H8O3", "Propionic Acid": "C3H6O2", "Sodium Propionate": "C3H5NaO2",
}


def known(knowledge: Knowledge) -> dict[str, float]:
    return {name: body.molar_mass for name in FORMULAS if name in knowledge.ingredients
            for body in (knowledge.ingredients[name].acid or knowledge.ingredients[name].alkali,) if body}


def test_most_of_them_are_in_the_knowledge(knowledge: Knowledge) -> None:
    assert len(known(knowledge)) >= 40


def test_molar_masses(knowledge: Knowledge) -> None:
    """To half a unit in a hundred: technical fatty acids are given to a tenth of a gram."""
    wrong = {name: (mass, Formula(FORMULAS[name]).mass) for name, mass in known(knowledge).items() if abs(mass - Formula(FORMULAS[name]).mass) > 0.005 * mass}
    assert wrong == {}


# Hydrophobes of ethoxylates; the name says how many units of ethylene oxide stand on one.
HYDROPHOBES = {"Laureth": ("C12H26O",), "Ceteth": ("C16H34O",), "Steareth": ("C18H38O",), "Isosteareth": ("C18H38O",), "Oleth": ("C18H36O",),
               "Ceteareth": ("C16H34O", "C18H38O"), "Stearate": ("C18H36O2",), "Oleate": ("C18H34O2",), "Laurate": ("C12H24O2",)}


def by_griffin(name: str) -> float | None:
    """HLB = 20 x mass of the ethylene oxide / molar mass (Griffin 1954; Pasquali 2008 finds it for alkyl ethers), masses by molmass; None for no plain ethoxylate."""
    found = re.fullmatch(r"(\w+eth)-(\d+)|PEG-(\d+) (\w+)", name)
    tail = HYDROPHOBES.get(found[1] or found[4]) if found else None
    if not found or not tail:
        return None
    water_loving = int(found[2] or found[3]) * Formula("C2H4O").mass
    return 20 * water_loving / (water_loving + sum(Formula(t).mass for t in tail) / len(tail))


def test_hlb_of_ethoxylates(knowledge: Knowledge) -> None:
    """Within half a unit, which is what makers' tables differ by among themselves."""
    found = {n: (i.emulsifier.hlb, g) for n, i in knowledge.ingredients.items() if i.emulsifier and i.emulsifier.hlb and (g := by_griffin(n)) is not None}
    assert len(found) >= 24
    assert {n: g for n, (f, g) in found.items() if not f.low - 0.5 <= g <= f.high + 0.5} == {}


def test_salt_formed_in_the_pot() -> None:
    """Salicylic acid with less sodium hydroxide than it takes: the sodium salicylate by the library's masses, limited by the alkali."""
    acid, base, salt = (Formula(f).mass for f in ("C7H6O3", "NaOH", "C7H5NaO3"))
    assert salt_formed([(2.0, acid)], [(0.45, base)]) == pytest.approx(0.45 / base * salt, rel=1e-3)
    assert salt_formed([(0.5, acid)], [(0.45, base)]) == pytest.approx(0.5 / acid * salt, rel=1e-3)
