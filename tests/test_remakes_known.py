"""Remakes that makers or experienced answerers report to have worked (or to be what cures it) clear the cause on paper too."""

from __future__ import annotations

from typing import Any

import pytest

from advisor.batch.reading import record_batch
from advisor.diagnosis import LIKELY, SETTLED
from advisor.fixes.proof import Court, unseen
from advisor.knowledge.load import Knowledge
from advisor.outcome import diagnose

pytestmark = pytest.mark.outside

Lines = dict[str, float]
WAX = "Emulsifying wax (composition not stated)"

# source, kind, wanted, what was seen, formula (%), cause, lines of the remake that differ ("Aqua" takes the rest where it is there)
REMAKES: list[tuple[str, str, str | None, list[Any], Lines, str, Lines]] = [
    ("thesage_fluid_lotion", "oil-in-water", "fluid lotion", ["comes out as a thick cream, not a lotion"],
     {"Aqua": 75.5, "Persea Gratissima Oil": 6, "Simmondsia Chinensis Seed Oil": 5, "Glycerin": 4, WAX: 4, "Stearic Acid": 2, "Dimethicone": 2, "Hippophae Rhamnoides Oil": 0.5,
      "Propylene Glycol (and) Diazolidinyl Urea (and) Iodopropynyl Butylcarbamate": 0.5, "Parfum": 0.5},
     "too-much-thickener-or-structure", {"Stearic Acid": 0, WAX: 3, "Persea Gratissima Oil": 9}),
    ("smf_sugar_scrub", "anhydrous", None, [{"what": "slimy film that takes very long to rinse off", "when": "immediately"}],
     {"Butyrospermum Parkii Butter": 34, WAX: 23, "Cera Alba": 11, "Stearic Acid": 18, "Prunus Amygdalus Dulcis Oil": 141, "Preservative (not stated)": 5, "Sucrose": 454},
     "too-much-thickener-or-structure", {"Butyrospermum Parkii Butter": 36, WAX: 27, "Cera Alba": 0, "Stearic Acid": 23, "Prunus Amygdalus Dulcis Oil": 143, "Tocopherol": 2}),
    ("cc_shampoo_quat", "surfactant", None, ["separates"],
     {"Aqua": 61.5, "Sodium Lauryl Sulfoacetate": 10, "Cocamide MEA": 10, "Cocamidopropyl Betaine": 10, "Sodium Chloride": 0.3, "Polysorbate 80": 0.5, "Parfum": 0.5,
      "Polyquaternium-7": 0.5, "Cetrimonium Chloride": 5, "Preservative (not stated)": 0.5, "Sodium Gluconate": 0.5, "Propylene Glycol": 0.7},
     "charge-conflict", {"Cetrimonium Chloride": 0}),
    ("cc_leave_in", "oil-in-water", "watery leave-in", ["white particles floating in it"],
     {"Aqua": 86.55, "Glycerin": 3, "Prunus Amygdalus Dulcis Oil": 2, "Simmondsia Chinensis Seed Oil": 2, "Tocopherol": 0.5, "Cetrimonium Chloride": 0.25, "Cetearyl Alcohol": 4,
      "Sodium Benzoate": 1.5, "Citric Acid": 0.2},
     "emulsifier-underdosed", {"Prunus Amygdalus Dulcis Oil": 0.25, "Simmondsia Chinensis Seed Oil": 0.25, "Cetearyl Alcohol": 1.5, "Ceteareth-20": 0.5}),
    ("cc_magnesium_cream", "oil-in-water", "smooth body cream", [{"what": "part of the water phase settled at the bottom of the jar", "when": "next day"}],
     {"Aqua": 57.0, "Glycerin": 4.1, "Hydroxyethylcellulose": 0.7, "Phenoxyethanol": 0.9, "Linum Usitatissimum Seed Oil": 8.1, "Persea Gratissima Oil": 8.1, "Isopropyl Myristate": 3.6,
      "Cetearyl Alcohol (and) Polysorbate 60": 6.4, "Tocopherol": 0.9, "Parfum": 0.9, "Magnesium Sulfate": 9.1},
     "electrolyte-load", {"Magnesium Sulfate": 0.9}),
    ("cc_wo_visc", "water-in-oil", "firm cream", [{"what": "extra stirring thins it"}],
     {"Glyceryl Oleate": 2, "Polyglyceryl-3 Diisostearate": 4, "Hydrogenated Microcrystalline Wax": 4, "Paraffinum Liquidum": 15, "Aluminum Distearate": 0.25, "Glycerin": 3, "Magnesium Sulfate": 0.7,
      "Aqua": 71.05},
     "water-phase-wrong-for-wo", {"Polyglyceryl-3 Diisostearate": 6, "Paraffinum Liquidum": 22}),
]


def made(lines: Lines, kind: str, wanted: str | None, seen: list[Any]) -> dict[str, Any]:
    return {"kind": kind, "observed": [s if isinstance(s, dict) else {"what": s} for s in seen], **({"wanted": wanted} if wanted else {}),
            "formula": {"unit": "part", "complete": True, "lines": [{"name": n, "amount": a} for n, a in lines.items() if a > 0]}}


NOT_SHOWN = {"smf_sugar_scrub": "the beeswax goes and more stearic acid comes: on paper as stiff as before"}


def marked(row: tuple[Any, ...]) -> Any:
    reason = NOT_SHOWN.get(row[0])
    return pytest.param(*row, id=row[0], marks=pytest.mark.xfail(strict=True, reason=reason) if reason else ())


@pytest.mark.parametrize(("source", "kind", "wanted", "seen", "lines", "cause", "changed"), [marked(r) for r in REMAKES])
def test_a_remake_known_to_cure_clears_the_cause(source: str, kind: str, wanted: str | None, seen: list[Any], lines: Lines, cause: str, changed: Lines,
                                                 knowledge: Knowledge) -> None:
    assert source in knowledge.sources
    batch = record_batch(made(lines, kind, wanted, seen))
    standing = {r.id: r.standing for r in diagnose(batch, knowledge).examination.ranked}
    assert standing[cause] in (SETTLED, LIKELY)
    new = {**lines, **changed}
    if "Aqua" in lines:
        new["Aqua"] += sum(lines.values()) - sum(new.values())
    verdict = Court(batch, knowledge).judge(unseen(record_batch(made(new, kind, wanted, seen)), knowledge), (cause,))
    assert verdict.proved, verdict
