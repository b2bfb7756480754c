"""The arithmetic against printed results from outside the project; each row names its source (a key of rules/sources.yaml)."""

from __future__ import annotations

import pytest

from advisor.knowledge.load import Knowledge
from advisor.quantities.acids import undissociated
from advisor.quantities.dissolving import solubility
from advisor.quantities.heat import mixing_temperature
from advisor.quantities.hlb import blend, split_pair
from advisor.quantities.soap import neutralise
from advisor.scoring import wilson

pytestmark = pytest.mark.outside

BLENDS = [   # (amount, HLB) pairs, printed HLB, tolerance, source
    ([(9, 15.0), (1, 4.3)], 13.93, 0.01, "pmc4137601_t2"),
    ([(8, 15.0), (2, 4.3)], 12.86, 0.01, "pmc4137601_t2"),
    ([(7, 15.0), (3, 4.3)], 11.79, 0.01, "pmc4137601_t2"),
    ([(10, 4.7), (20, 14.9)], 11.5, 0.05, "lecture_2007"),
    ([(1.64, 15), (1.36, 4.7)], 10.33, 0.01, "ocl2022_t5"),
    ([(1.56, 15), (1.44, 4.7)], 10.06, 0.01, "ocl2022_t5"),
    ([(1.35, 15), (1.65, 4.7)], 9.33, 0.01, "ocl2022_t5"),
    ([(50, 1), (50, 15.2)], 8.1, 0.01, "scm_sub2011"),
    ([(29, 3.8), (71, 18.8)], 14.45, 0.01, "scm_garnier2011"),
    ([(84, 16.0), (16, 3.8)], 14.02, 0.05, "cc_ceteareth25"),
]
REQUIRED = [   # (amount, required HLB) pairs, printed required HLB, tolerance, source
    ([(30, 12), (1.5, 10), (1, 15)], 12.0, 0.01, "lecture_2007"),
    ([(10, 7), (7.5, 6), (7.5, 8)], 7.0, 0.01, "scm_answers2011"),
]
ACIDS = [   # pKa, printed percent undissociated at pH 3, 4, 5, 6, 7; source steinberg2005
    (5.27, (100, 95, 65, 16, 2)), (4.18, (94, 61, 13, 1.5, 0)), (4.76, (98, 85, 37, 5.5, 0)), (3.75, (85, 36, 5, 1, 0)), (4.87, (99, 88, 43, 7, 1)),
]
SORBIC = [   # pH, printed g of sorbic acid in 100 mL at 20 C; source food_additives_sorbic
    (3.1, 0.15), (4.4, 0.22),
]
MIXTURES = [   # (g, heat capacity, C), printed C, tolerance, source
    ([(270, 4.18, 25), (100, 4.18, 95)], 43.92, 0.02, "wyzant_mix"),
    ([(100, 4.18, 60), (100, 4.18, 20)], 40.0, 0.01, "pf_mix"),
    ([(40, 4.18, 20), (100, 4.18, 80)], 62.9, 0.05, "kudo_mix"),
]


@pytest.mark.parametrize(("parts", "printed", "tolerance", "source"), [*BLENDS, *REQUIRED])
def test_hlb(parts: list[tuple[float, float]], printed: float, tolerance: float, source: str, knowledge: Knowledge) -> None:
    assert source in knowledge.sources
    assert blend(parts) == pytest.approx(printed, abs=tolerance)


def test_alligation() -> None:
    """Required 12 from 4.7 and 14.9: 7.3 parts high to 2.9 low (lecture_2007)."""
    shares = split_pair(4.7, 14.9, 12)
    assert shares is not None
    assert shares[1] / shares[0] == pytest.approx(7.3 / 2.9, abs=0.01)
    assert split_pair(4.7, 14.9, 3) is None


@pytest.mark.parametrize(("pka", "printed"), ACIDS)
def test_undissociated_share(pka: float, printed: tuple[float, ...]) -> None:
    assert [undissociated(ph, pka) for ph in (3, 4, 5, 6, 7)] == pytest.approx(printed, abs=1.0)


@pytest.mark.parametrize(("parts", "printed", "tolerance", "source"), MIXTURES)
def test_mixing_temperature(parts: list[tuple[float, float, float]], printed: float, tolerance: float, source: str, knowledge: Knowledge) -> None:
    assert source in knowledge.sources
    assert mixing_temperature(parts) == pytest.approx(printed, abs=tolerance)


def test_neutralisation() -> None:
    """0.74 g potassium hydroxide turns a quarter of 15 g stearic acid to soap (flip_pt405_32)."""
    found = neutralise([(15, 284.5)], [], [(0.74, 56.11)])
    assert found is not None
    assert found.degree == pytest.approx(25, abs=0.2)


def test_a_stronger_acid_takes_the_alkali_first() -> None:
    found = neutralise([(5, 284.5)], [(1, 90.08, 3.86)], [(0.4, 40.0)])
    assert found is not None
    assert found.degree == 0


@pytest.mark.parametrize(("k", "n", "low", "high"), [(40, 45, 0.765, 0.952)])
def test_wilson(k: int, n: int, low: float, high: float) -> None:
    """88.9 %, 95 % CI 76.5 to 95.2 (abstract of medRxiv 2025.08.21.25333628)."""
    assert wilson(k, n) == pytest.approx((low, high), abs=0.0005)


@pytest.mark.parametrize(("ph", "printed"), SORBIC)
def test_solubility_of_an_acid_by_ph(ph: float, printed: float, knowledge: Knowledge) -> None:
    held = solubility(knowledge.ingredients["Sorbic Acid"], 0.0, ph)
    assert held and held.best == pytest.approx(printed, rel=0.1) and held.low <= printed * 1.1


def test_far_above_the_pka_the_law_is_too_high_but_not_by_much(knowledge: Knowledge) -> None:
    held = solubility(knowledge.ingredients["Sorbic Acid"], 0.0, 5.9)
    assert held and 1.02 < held.best < 2.5 * 1.02      # printed 1.02; source food_additives_sorbic
