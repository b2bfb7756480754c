"""The emulsifier system: its level against the oil, HLB where it applies, soap, charges, salt against limits."""

from __future__ import annotations

import math

from advisor.knowledge.materials import Ingredient
from advisor.quantities import hlb
from advisor.quantities.board import Board
from advisor.quantities.composition import Material, ResolvedLine
from advisor.quantities.soap import neutralise, salt_formed

PAIR_OF_OIL = 0.15       # a pair of partners wants about a seventh to a fifth of the oil (common practice)
NETWORK = 4.0            # parts of fatty alcohol that one part of a water-loving surfactant makes into emulsifying wax (common practice)
SOAP_COUNTS = 0.1        # % of soap formed in the pot beside which the HLB of the others says little (from memory)
ACIDS_SALT = "salt"      # salts of acids bring no proton


def measure(board: Board) -> None:
    """Everything about the emulsifier system that the listed lines allow."""
    if not board.lines:
        return
    real = [(x, i) for x in board.lines for i in x.ingredients if i.emulsifier and i.emulsifier.alone != "helper"]
    _soap(board)
    _salt_in_the_pot(board)
    _salt_left_dry(board)
    _level(board, real)
    _hlb(board)
    _ratios(board)
    _charges(board)
    _salt(board)


def _level(board: Board, real: list[tuple[ResolvedLine, Ingredient]]) -> None:
    amounts = [x.sole for x, _ in real]
    if any(a is None for a in amounts):
        return
    names = [x.line.name for x, _ in real]
    share = math.fsum(a or 0.0 for a in amounts)
    board.put("emulsifier-share", share, names, not board.whole, slack=board.unread)
    oil = board.value("oil-share")
    if oil is None or oil < 0.5 or (not board.whole and (not real or board.value("fatty-alcohol-share") is None or not all(x.read for x in board.lines))):
        return
    reacts = [m for m in board.parts if m.item.acid or m.item.alkali]
    if any(m.item.alkali for m in reacts) and any(m.percent is None for m in reacts):
        return      # how much soap there is cannot be told
    more = board.unread > 0
    soap = board.value("soap-share") or 0.0
    ionic = math.fsum(a or 0.0 for (_, i), a in zip(real, amounts, strict=True) if {"high-hlb-surfactant", "anionic-emulsifier"} & i.classes) + soap
    wax = min(board.value("fatty-alcohol-share") or 0.0, NETWORK * ionic)      # fatty alcohol that becomes emulsifying wax in the pot
    complete = [(a or 0.0, i) for (_, i), a in zip(real, amounts, strict=True) if i.emulsifier and i.emulsifier.alone == "complete"]
    partners = share - math.fsum(a for a, _ in complete) + soap
    met = (partners + wax) / max(0.5, PAIR_OF_OIL * oil) + math.fsum(amount / _needed(item, oil) for amount, item in complete)
    origin = [*names, "oil-share", *(("soap-share",) if soap else ())]
    if not board.whole:
        if board.kind != "water-in-oil":
            board.put("listed-emulsifier-of-usual", met, origin)
        return
    board.put("emulsifier-to-oil", 100 * (share + wax) / oil, [*names, "oil-share"], more)
    if board.kind == "water-in-oil":
        held = [((a or 0.0) / i.level.low, x.line.name) for (x, i), a in zip(real, amounts, strict=True)
                if i.emulsifier and i.emulsifier.favours != "oil-in-water" and i.level and i.level.low > 0]
        board.put("emulsifier-of-usual", math.fsum(v for v, _ in held) if held else None, [n for _, n in held], more)
        return
    if not real and not soap:
        board.put("emulsifier-of-usual", 0.0, ("formula",), more)
        return
    board.put("emulsifier-of-usual", met, origin, more)
    limits = [i.emulsifier.oil_limit.high for _, i in complete if i.emulsifier and i.emulsifier.oil_limit]
    if limits:
        board.put("oil-over-limit", oil / max(limits), names)


def _needed(item: Ingredient, oil: float) -> float:
    """The level of a complete emulsifier for this much oil: by the oil one part holds, and never less than a third of its usual level."""
    usual = item.level.low if item.level else 2.0
    per_part = item.emulsifier.oil_per_part.best if item.emulsifier and item.emulsifier.oil_per_part else None
    limit = item.emulsifier.oil_limit.best if item.emulsifier and item.emulsifier.oil_limit else 30.0
    return max(usual * 0.34, oil / per_part if per_part else usual * oil / limit)


def _hlb(board: Board) -> None:
    nonionic = [m for m in board.parts if m.item.emulsifier and m.item.emulsifier.judged_by == "hlb" and m.item.emulsifier.hlb]
    lone = all(not (i.emulsifier and i.emulsifier.alone == "complete") for x in board.lines for i in x.ingredients)
    other = board.members("anionic-emulsifier", "cationic-emulsifier", "polymeric-emulsifier", "soap", "lecithin", "lactylate")
    parts = [(m.percent, m.item.emulsifier.hlb.best) for m in nonionic if m.percent is not None and m.item.emulsifier and m.item.emulsifier.hlb]
    if board.whole:
        oils = [(m.percent, m.item.required_hlb) for m in board.members("oil", "fatty-alcohol", "fatty-acid") if m.percent and m.item.required_hlb]
        covered, oil = math.fsum(m.percent for m in board.members("oil") if m.percent and m.item.required_hlb), board.value("oil-share") or 0.0
        if oils and covered > 0.7 * oil > 0:
            for name, pick in (("hlb-required", "best"), ("hlb-required-low", "low"), ("hlb-required-high", "high")):
                board.put(name, hlb.blend([(p, getattr(f, pick)) for p, f in oils if p]), [m.via.line.name for m in board.members("oil", "fatty-alcohol", "fatty-acid") if m.item.required_hlb])
    soap_made = (board.value("soap-share") or 0.0) > SOAP_COUNTS
    if not parts or len(parts) != len(nonionic) or not lone or other or soap_made:
        return
    board.put("hlb-offered", hlb.blend(parts), [m.via.line.name for m in nonionic])
    offered, low, high = (board.value(n) for n in ("hlb-offered", "hlb-required-low", "hlb-required-high"))
    if offered is not None and low is not None and high is not None and len(parts) > 1:
        board.put("hlb-gap", hlb.gap(offered, low, high), ("hlb-offered", "hlb-required-low", "hlb-required-high"))


def _ratios(board: Board) -> None:
    high = board.sum_class("high-hlb-surfactant")
    for name, kind in (("fatty-alcohol-per-high-hlb", "fatty-alcohol"), ("low-hlb-per-high-hlb", "low-hlb-surfactant")):
        amount = board.sum_class(kind)
        if high and amount is not None:
            board.put(name, amount / high, [m.via.line.name for m in board.members("high-hlb-surfactant", kind)], not board.whole)


def _free_acids(board: Board) -> list[Material]:
    """Acids that still have their proton; their salts have not."""
    return [m for m in board.parts if m.item.acid and ACIDS_SALT not in m.item.classes and not any(word.endswith("ate") for word in (m.item.inci.split()[0], m.item.inci.split()[-1]))]


def _soap(board: Board) -> None:
    every = _free_acids(board)
    acids = [m for m in every if "organic-acid-preservative" not in m.item.classes]
    bases = [m for m in board.parts if m.item.alkali]
    if any(m.percent is None for m in (*every, *bases)):
        return
    fatty = [(m.percent or 0.0, m.item.acid.molar_mass / m.item.acid.protons) for m in acids if m.item.acid and m.item.acid.fatty]
    others = [(m.percent or 0.0, m.item.acid.molar_mass / m.item.acid.protons, m.item.acid.pka.best) for m in acids if m.item.acid and not m.item.acid.fatty]
    alkali = [(m.percent or 0.0, m.item.alkali.molar_mass / m.item.alkali.equivalents) for m in bases if m.item.alkali]
    base = sum(1000 * p / e for p, e in alkali)
    found = neutralise(fatty, others, alkali)
    _acid_polymer(board, every, base)
    names = [m.via.line.name for m in (*acids, *bases)]
    if found is None and bases and board.whole:
        board.put("excess-alkali", max(0.0, base - _milliequivalents(every)), names)
    if found:
        board.put("soap-degree", found.degree, names, not board.whole and not bases)
        board.put("soap-share", found.soap, names, not board.whole)
        board.put("excess-alkali", found.excess, names)


def _acid_polymer(board: Board, acids: list[Material], alkali: float) -> None:
    """How much of its acid an alkali (meq per 100 g) takes up of a polymer that thickens only then; stronger acids take it first."""
    own = [m for m in acids if "polymer" in m.item.classes]
    weakest = min((m.item.acid.pka.best for m in own if m.item.acid), default=0.0)
    stronger = [m for m in acids if m not in own and m.item.acid and m.item.acid.pka.best < weakest]
    acid = _milliequivalents(own)
    if acid > 0:
        left = max(0.0, alkali - _milliequivalents(stronger))
        board.put("polymer-neutralised", 100 * min(1.0, left / acid), [m.via.line.name for m in acids], not board.whole)


def _milliequivalents(acids: list[Material]) -> float:
    """Acid of these materials, meq per 100 g of product."""
    return math.fsum(1000 * (m.percent or 0.0) * m.item.acid.protons / m.item.acid.molar_mass for m in acids if m.item.acid)


def _salt_in_the_pot(board: Board) -> None:
    """What an alkali makes of the acids beside it counts with the salts that were put in."""
    acids = [m for m in _free_acids(board) if m.item.acid and not m.item.acid.fatty]
    bases = [m for m in board.parts if m.item.alkali]
    found = board.found.get("electrolyte-share")
    if not acids or not bases or found is None or any(m.percent is None for m in (*acids, *bases)):
        return
    if board.members("carbomer-type"):      # such a polymer takes the alkali
        return
    more = salt_formed([(m.percent or 0.0, m.item.acid.molar_mass / m.item.acid.protons) for m in acids if m.item.acid],
                       [(m.percent or 0.0, m.item.alkali.molar_mass / m.item.alkali.equivalents) for m in bases if m.item.alkali])
    names = (m.via.line.name for m in (*acids, *bases))
    board.found["electrolyte-share"] = found._replace(value=found.value + more, low=found.low + more, high=found.high + more, origin=tuple(dict.fromkeys((*found.origin, *names))))


def _salt_left_dry(board: Board) -> None:
    """Of a salt there is dissolved no more than the water holds; the grains of a scrub stay what they are."""
    found, water = board.found.get("electrolyte-share"), board.value("water-share")
    if found is None or water is None or not board.whole:
        return
    dry = math.fsum(max(0.0, m.percent - m.item.solubility.high * (water + board.unread) / 100) * m.item.shares["electrolyte"].best / 100
                    for m in board.parts if "electrolyte" in m.item.shares and m.item.solubility and m.percent and m.item.state == "powder")
    if dry > 0:
        board.found["electrolyte-share"] = found._replace(value=found.value - dry, low=max(0.0, found.low - dry), high=found.high - dry)


def _charges(board: Board) -> None:
    anionic, cationic = board.sum_class("anionic"), board.sum_class("cationic")
    if anionic is not None and cationic is not None:
        board.put("charge-clash", min(anionic, cationic), [m.via.line.name for m in board.members("anionic", "cationic")], not board.whole)


def _salt(board: Board) -> None:
    salt = board.value("electrolyte-share")
    if salt is None:
        return
    names = [m.via.line.name for m in board.parts if "electrolyte" in m.item.shares]
    limits = [m.item.salt_limit.best for m in board.members("polymer", "clay-thickener") if m.item.salt_limit and m.item.salt_limit.best > 0]
    if limits:
        board.put("salt-of-polymer-limit", salt / min(limits), names, not board.whole)
    held = [i.emulsifier.salt_limit.best for x in board.lines for i in x.ingredients if i.emulsifier and i.emulsifier.salt_limit and i.emulsifier.salt_limit.best > 0]
    if held:
        board.put("salt-of-emulsifier-limit", salt / min(held), names, not board.whole)
