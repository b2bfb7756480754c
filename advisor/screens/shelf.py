"""What is known of one ingredient, as data and as lines; near names when it is not known."""

from __future__ import annotations

import difflib
from typing import Any

from advisor.knowledge.load import Knowledge
from advisor.knowledge.materials import Figure, Ingredient
from advisor.knowledge.naming import normal_name

_FIGURES = {"level": "usual level, %", "maximum": "legal maximum, %", "maximum_rinse_off": "legal maximum where it is rinsed off, %", "required_hlb": "required HLB", "required_hlb_wo": "required HLB, water-in-oil",
            "melting": "melting range, C", "ph": "works at pH", "own_ph": "own pH", "salt_limit": "salt limit, %", "max_temperature": "not above, C",
            "solubility": "100 g of water hold, g", "density": "density, g/mL"}


def ingredient_data(name: str, knowledge: Knowledge) -> dict[str, Any]:
    """The object of `advisor ingredient NAME --json`; `near` holds the nearest names when it is unknown."""
    inci = knowledge.names.get(normal_name(name))
    if inci is None:
        near = difflib.get_close_matches(normal_name(name), list(knowledge.names), n=5, cutoff=0.6)
        return {"format": 1, "inci": name, "known": False, "near": list(dict.fromkeys(knowledge.names[n] for n in near))}
    item = knowledge.ingredients[inci]
    data: dict[str, Any] = {
        "format": 1, "inci": inci, "known": True, "names": list(item.names), "classes": sorted(item.classes), "phase": item.phase, "state": item.state,
        "purpose": item.purpose, "note": item.note, "maximum_rule": item.maximum_rule,
        "figures": {k: _figure(f, knowledge) for k in _FIGURES if (f := getattr(item, k))},
        "emulsifier": _emulsifier(item, knowledge), "parts": [{"inci": p.inci, "share": _figure(p.share, knowledge)} for p in item.parts],
        "cautions": [knowledge.cautions[c].says for c in item.cautions if c in knowledge.cautions],
    }
    return data


def _emulsifier(item: Ingredient, knowledge: Knowledge) -> dict[str, Any] | None:
    e = item.emulsifier
    if e is None:
        return None
    return {"favours": e.favours, "charge": e.charge, "alone": e.alone, "judged_by": e.judged_by,
            **{k: _figure(f, knowledge) for k in ("hlb", "oil_limit", "oil_per_part", "ph", "salt_limit") if (f := getattr(e, k))}}


def _figure(figure: Figure, knowledge: Knowledge) -> dict[str, Any]:
    sources = [knowledge.sources[s].title if s in knowledge.sources else s for s in figure.sources]
    return {"low": figure.low, "high": figure.high, "best": figure.best, "sources": sources}


def ingredient_lines(data: dict[str, Any]) -> list[str]:
    """The same in lines of plain text."""
    if not data["known"]:
        near = ", ".join(data["near"])
        return [f"{data['inci']}: not known here." + (f" Near names: {near}." if near else " Look for the INCI name on its label.")]
    lines = [data["inci"], f"also called: {', '.join(data['names'])}" if data["names"] else "", data["purpose"]]
    if data["emulsifier"]:
        e = data["emulsifier"]
        words = {"complete": "holds an emulsion by itself at its usual level", "partner": "needs a partner", "helper": "helps, but does not emulsify alone"}
        lines.append(f"emulsifier: {e['favours']}, {e['charge']}, {words[e['alone']]}")
        lines += [f"  {k.replace('_', ' ')}: {_text(e[k])}" for k in ("hlb", "oil_limit", "oil_per_part", "ph", "salt_limit") if k in e]
    lines += [f"{_FIGURES[k]}: {_text(f)}" for k, f in data["figures"].items()]
    lines += [f"part: {p['inci']}, {_text(p['share'])}" for p in data["parts"]]
    lines += [data["maximum_rule"], data["note"], *(f"Caution: {c}" for c in data["cautions"])]
    return [line for line in lines if line]


def _text(figure: dict[str, Any]) -> str:
    low, high, best = figure["low"], figure["high"], figure["best"]
    number = f"{best:g}" if low == high else f"{low:g} to {high:g}"
    return f"{number} ({'; '.join(figure['sources'])})"
