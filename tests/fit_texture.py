"""Refits a few coefficients of the texture model to measured figures and says what that would bring: python tests/fit_texture.py

Every source is left out once; what is fitted to the others is judged on the one left out, beside the coefficients as they stand in
rules/textures.yaml, which were set by hand.  Series count by their shape (their own mean taken off, since shear rates and instruments
differ), whole formulas by their value.  Nothing is written: a refit that does not win on sources it has not seen is not worth having.
"""

from __future__ import annotations

import copy
import math
from collections.abc import Mapping
from typing import Any

from series import DATA, body, points

from advisor.knowledge.load import load_knowledge
from advisor.quantities.texture import Body, log_viscosity

FITTED = (("network", "top"), ("network", "half"), ("drops", "soft_slope"), ("drops", "exponent"), ("polymers", "of", "gum", "top"),
          ("polymers", "of", "carbomer-type", "top"), ("oil_body", "top"))
STEPS = (1.25, 1.1, 1.03)
Case = tuple[str, list[tuple[Body, float | None, float]], bool]


def cases() -> list[Case]:
    """(source, points as log10, by shape) of all that was measured in numbers."""
    knowledge = load_knowledge()
    out: list[Case] = [(s["source"], [(b, at, math.log10(v)) for b, at, v in points(s, knowledge)], True) for s in DATA["series"]
                       if s["group"] in ("physics", "food")]
    out += [(f["source"], [(body(f["lines"], f["kind"], knowledge), None, (math.log10(f["low"]) + math.log10(f["high"])) / 2)], False) for f in DATA["formulas"]]
    return out


def error(found: list[Case], model: Mapping[str, Any]) -> float:
    """Root mean square error in decades; every series or formula counts once."""
    means = []
    for _, rows, shape in found:
        gaps = [log_viscosity(b, model, at) - v for b, at, v in rows]
        middle = sum(gaps) / len(gaps) if shape else 0.0
        means.append(math.fsum((g - middle) ** 2 for g in gaps) / len(gaps))
    return math.sqrt(math.fsum(means) / len(means))


def _at(model: dict[str, Any], path: tuple[str, ...]) -> dict[str, Any]:
    for key in path[:-1]:
        model = model[key]
    return model


def fit(found: list[Case], start: Mapping[str, Any]) -> dict[str, Any]:
    """One coefficient after another, up or down by ever smaller steps, as long as it helps; each within a factor of two of its start."""
    best = copy.deepcopy(dict(start))
    least = error(found, best)
    for step in STEPS:
        for path in FITTED * 2:
            for factor in (step, 1 / step):
                trial = copy.deepcopy(best)
                _at(trial, path)[path[-1]] *= factor
                if not 0.5 <= _at(trial, path)[path[-1]] / _at(dict(start), path)[path[-1]] <= 2:
                    continue
                now = error(found, trial)
                if now < least - 1e-6:
                    best, least = trial, now
    return best


def main() -> None:
    start = load_knowledge().texture_model
    found = cases()
    print(f"{len(found)} series and formulas of {len({c[0] for c in found})} sources; error as it stands {error(found, start):.2f} decades")
    print(f"{'left out':32}{'as it stands':>14}{'refitted':>10}")
    stands, refits = [], []
    for source in sorted({c[0] for c in found}):
        out = [c for c in found if c[0] == source]
        new = fit([c for c in found if c[0] != source], start)
        stands.append(error(out, start))
        refits.append(error(out, new))
        print(f"{source:32}{stands[-1]:14.2f}{refits[-1]:10.2f}")
    print(f"{'mean over sources':32}{sum(stands) / len(stands):14.2f}{sum(refits) / len(refits):10.2f}")
    best = fit(found, start)
    print("fitted to all: " + ", ".join(f"{'.'.join(p)} {_at(dict(start), p)[p[-1]]:g} -> {_at(best, p)[p[-1]]:.2f}" for p in FITTED) + f"; error {error(found, best):.2f}")


if __name__ == "__main__":
    main()
