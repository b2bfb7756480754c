"""How thick a product will be: decades of viscosity from what gives body, by the coefficients of rules/textures.yaml.

In water: the liquid with its thickeners and packed drops, beside the swollen network of fatty alcohols and emulsifiers; the thicker decides.
In oil: the oil with its packed drops, beside what is solid in it.  An estimate, give or take a rung.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any, NamedTuple

from advisor.knowledge.materials import Ingredient
from advisor.quantities.liquids import drops_log, oil_log, water_log

STATE_SOLID = {"solid": 100.0, "powder": 100.0, "soft": 40.0, "liquid": 0.0}
Points = Sequence[tuple[float, float]]


class Part(NamedTuple):
    """One material that bears on thickness: the line it is on, percent of the product, and how much of a polymer's thickening is left."""

    label: str
    item: Ingredient
    percent: float
    left: float = 1.0


class Body(NamedTuple):
    """All of them, with what is known of the product as a whole (percent; `drops` is a volume fraction)."""

    parts: tuple[Part, ...]
    kind: str
    drops: float
    oil: float
    emulsifier: float
    soap: float
    salt: float
    alkali: bool

    def without(self, label: str) -> "Body":
        return self._replace(parts=tuple(p for p in self.parts if p.label != label))

    def without_drops(self) -> "Body":
        return self._replace(drops=0.0, oil=0.0)


def key_of(item: Ingredient, table: Mapping[str, Any]) -> str | None:
    """The entry of a table that speaks of this material: its name first, then its classes in the table's order."""
    return item.inci if item.inci in table else next((k for k in table if k in item.classes), None)


def between(points: Points, at: float) -> float:
    """A curve given at some temperatures, straight between them."""
    if at <= points[0][0]:
        return points[0][1]
    for (t0, s0), (t1, s1) in zip(points, points[1:], strict=False):
        if at <= t1:
            return s0 + (s1 - s0) * (at - t0) / (t1 - t0)
    return points[-1][1]


def solid_share(item: Ingredient, at: float) -> float:
    """Percent of a fat that is solid at C: by its curve, or by its melting range, or by its state at room temperature."""
    if item.solid_fat:
        return between(item.solid_fat, at)
    share = STATE_SOLID[item.state]
    if share and item.melting and at > 25.0:
        low = max(25.0, item.melting.low)
        share *= min(1.0, max(0.0, 1.0 - (at - low) / max(1.0, item.melting.high - low)))
    return share


def log_viscosity(body: Body, model: Mapping[str, Any], at: float | None = None, same_day: bool = False) -> float:
    """log10 of mPa.s, fully set (or on the day of making)."""
    at = model["room"] if at is None else at
    days = model["days"]
    lag = (days["same_day_solid"], days["same_day_network"]) if same_day else (1.0, 1.0)
    found = _in_oil(body, model, at, lag[0]) if body.kind in ("anhydrous", "water-in-oil") else _in_water(body, model, at, lag)
    solid = model["solids"]
    return found if found <= solid["from"] else float(solid["from"] + solid["slope"] * (found - solid["from"]))


def _in_water(body: Body, model: Mapping[str, Any], at: float, lag: tuple[float, float]) -> float:
    outer = max(5.0, 100.0 - body.oil)
    gel = _polymers(body, model["polymers"], outer, at, model)
    packed = drops_log(_crowd(body, body.drops, model["drops"]), model["drops"])
    liquid = _thin_liquid(body, model, outer, at) + gel + packed * (1 - model["drops"]["thinning"] * min(1.0, gel / model["drops"]["thinned_at"]) / 2)
    net = network(body, model)
    decades = 0.0
    if net > 0:
        table = model["network"]
        c = 100 * net / outer
        set_by = between(sorted((float(t), float(s)) for t, s in table["melts"].items()), at)
        decades = table["top"] * c / (c + table["half"]) * set_by * lag[1] * max(0.0, 1.0 - _loosened(body, table["loosens"], outer))
    solid = lag[0] * math.fsum(p.percent * _solid_drop(p.item, at, model["solid_drops"]["soft"]) / 100 for p in body.parts
                               if "oil" in p.item.classes and key_of(p.item, model["network"]["of"]) is None)
    decades += model["solid_drops"]["top"] * solid / (solid + model["solid_drops"]["half"])
    return _both(liquid, decades)


def liquid_log(body: Body, model: Mapping[str, Any], at: float) -> float:
    """log10 of mPa.s of the water phase alone, with its glycols, thickeners and surfactants."""
    outer = max(5.0, 100.0 - body.oil)
    return _thin_liquid(body, model, outer, at) + _polymers(body, model["polymers"], outer, at, model)


def _thin_liquid(body: Body, model: Mapping[str, Any], outer: float, at: float) -> float:
    water = model["water"]
    shares = [(p.percent * (1 - _share(p.item, "water")), water["as_glycerin"].get(k, 1.0)) for p in body.parts
              if (k := key_of(p.item, water["as_glycerin"]))]
    glycerin = math.fsum(p * (w if w < 1 else 1.0) for p, w in shares)
    return water_log(min(0.999, glycerin / outer), at, water) + _surfactants(body, model["surfactants"])


def _polymers(body: Body, table: Mapping[str, Any], outer: float, at: float, model: Mapping[str, Any]) -> float:
    found = [(p, table["of"][k]) for p in body.parts if (k := key_of(p.item, table["of"]))]
    terms = []
    for p, entry in found:
        idle = table["idle"] if entry["needs_alkali"] and not body.alkali else 1.0
        terms.append((100 * p.percent / outer / entry["half"], entry["top"] * p.left * idle, p.item))
    x = math.fsum(t[0] for t in terms)
    if x <= 0:
        return 0.0
    top = math.fsum(t[0] * t[1] for t in terms) / x
    gums = [t[0] for t in terms if "gum" in t[2].classes]
    if len(gums) > 1:
        whole = math.fsum(gums)
        x *= 1 + 2 * table["synergy"] * (1 - math.fsum((g / whole) ** 2 for g in gums))
    return max(0.0, float(top * x / (1 + x) - table["falls"] * (at - model["room"])))


def _surfactants(body: Body, table: Mapping[str, Any]) -> float:
    active = math.fsum(p.percent * (1 - _share(p.item, "water")) for p in body.parts if "surfactant" in p.item.classes)
    if active <= 0 or body.kind != "surfactant":
        return 0.0
    worth = active / (active + table["half"])
    return float(worth) * float(table["top"] + table["salt_adds"] * math.exp(-(((body.salt - table["salt_best"]) / table["salt_width"]) ** 2)))


def network(body: Body, model: Mapping[str, Any]) -> float:
    """Parts of complete emulsifying wax that the fatty materials are worth together, percent of the product."""
    table = model["network"]
    own = [(p, table["of"][k]) for p in body.parts if p.item.state != "liquid" and (k := key_of(p.item, table["of"]))]
    helpers = math.fsum(p.percent for p, e in own if e["alone"] != e["mated"])
    mates = body.soap + math.fsum(p.percent for p in body.parts if p.item.classes & set(table["mates"]))
    mates += 0.2 * math.fsum(p.percent for p, e in own if e["alone"] == e["mated"] > 0.8)
    degree = min(1.0, mates / (table["mate_share"] * helpers)) if helpers > 0 else 0.0
    acids = math.fsum(p.percent for p in body.parts if "fatty-acid" in p.item.classes)
    free = max(0.0, 1.0 - (1 - table["soap_worth"]) * body.soap / acids) if acids > 0 else 1.0
    worth = math.fsum(p.percent * (free if "fatty-acid" in p.item.classes else 1.0) * (e["alone"] + (e["mated"] - e["alone"]) * degree) for p, e in own)
    loose = math.fsum(p.percent for p in body.parts if "high-hlb-surfactant" in p.item.classes and key_of(p.item, table["of"]) is None)
    return float(max(table["thinned_to"] * worth, worth - table["thins"] * max(0.0, loose - table["spare"] * worth)))


def _loosened(body: Body, table: Mapping[str, float], outer: float) -> float:
    return math.fsum(100 * p.percent / outer * table[k] for p in body.parts if (k := key_of(p.item, table)))


def _solid_drop(item: Ingredient, at: float, soft: float) -> float:
    """Percent solid in a drop: what is soft without a known curve is taken as mostly flowing."""
    return solid_share(item, at) * (soft if item.state == "soft" and not item.solid_fat else 1.0)


def _in_oil(body: Body, model: Mapping[str, Any], at: float, lag: float) -> float:
    table, oils = model["oil_body"], model["oils"]
    of = oils["of"]
    liquid = [(p.percent, float(of[k]) if (k := key_of(p.item, of)) else float(oils["base"])) for p in body.parts
              if "oil" in p.item.classes and p.item.state == "liquid"]
    whole = math.fsum(p.percent for p in body.parts if p.item.phase == "oil") or 1.0
    solid = math.fsum(p.percent * table["of"][k] * solid_share(p.item, at) / 100 for p in body.parts if (k := key_of(p.item, table["of"])))
    s = lag * 100 * solid / whole
    base = oil_log(liquid, at, oils)
    crowd = drops_log(_crowd(body, body.drops, model["drops"]), model["drops"])
    return _both(base + crowd, base + table["top"] * s / (s + table["half"])) if s > 0 else base + crowd


def _crowd(body: Body, drops: float, model: Mapping[str, Any]) -> float:
    """The volume that drops and powders take up: a little more with more emulsifier, whose layer and finer drops fill space."""
    powder = math.fsum(p.percent for p in body.parts if "powder" in p.item.classes) / model["powder_density"] / 100
    shell = model["shell"] * body.emulsifier / (body.emulsifier + model["shell_half"])
    return float(drops * (1 + shell) + powder)


def _share(item: Ingredient, name: str) -> float:
    return item.shares[name].best / 100 if name in item.shares else 0.0


def _both(one: float, other: float) -> float:
    """Two structures side by side, as log10: their viscosities add up."""
    return math.log10(10**one + 10**other - 1) if max(one, other) < 300 and 10**one + 10**other > 1.1 else max(one, other)


def contributions(body: Body, model: Mapping[str, Any], at: float | None = None) -> dict[str, float]:
    """By how many decades the product would be thinner without each line, and without its drops."""
    whole = log_viscosity(body, model, at)
    out = {label: whole - log_viscosity(body.without(label), model, at) for label in dict.fromkeys(p.label for p in body.parts)}
    if body.drops > 0:
        out["drops packed together"] = whole - log_viscosity(body.without_drops(), model, at)
    return {label: gain for label, gain in out.items() if gain > 0.01}


def drift(body: Body, model: Mapping[str, Any]) -> float:
    """Decades by which the first days firm (or slacken) a cream, by what its network is made of."""
    days = model["days"]
    shares: list[tuple[float, float]] = []
    for p in body.parts:
        key = next((k for k in ("fatty-alcohol", "glyceryl-ester") if k in p.item.classes), None)
        shares.append((p.percent if key or key_of(p.item, model["network"]["of"]) else 0.0, float(days[key]) if key else 0.0))
    whole = math.fsum(s for s, _ in shares)
    return math.fsum(s * d for s, d in shares) / whole if whole > 0 else 0.0


def feel_of(body: Body, model: Mapping[str, Any]) -> tuple[str, ...]:
    """Words for the feel on the skin, by how much of which classes there is."""
    out = []
    for entry in model["feel"]["of"]:
        share = math.fsum(p.percent for p in body.parts if p.item.classes & set(entry["sum"]) and not p.item.classes & set(entry["but"]))
        if entry["from"] <= share < entry["to"]:
            out.append(str(entry["says"]))
    return tuple(out)


Left = Callable[[Ingredient], float]


def polymer_left(ph: float | None, salt: float | None, limits: Mapping[str, float]) -> Left:
    """How much of a polymer's thickening is left (1 all, 0 none) at the batch's pH and salt; both fall off as the model's `limits` say."""

    def left(item: Ingredient) -> float:
        rest = 1.0
        if "polymer" in item.classes and item.ph and ph is not None:
            rest *= max(0.0, 1.0 - max(item.ph.low - ph, ph - item.ph.high, 0.0) / limits["ph"])
        if "polymer" in item.classes and item.salt_limit and item.salt_limit.best > 0 and salt:
            rest *= min(1.0, max(0.0, 1.0 - (salt / item.salt_limit.best - 1.0) / limits["salt"]))
        return rest

    return left

