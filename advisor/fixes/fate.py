"""What becomes of the batch in front of the maker: use, wait, rescue, discard, or unsure."""

from typing import NamedTuple

from advisor.diagnosis import LIKELY, POSSIBLE, SETTLED, Examination, Ranked
from advisor.facts import is_under, judge_condition
from advisor.knowledge.load import Knowledge
from advisor.knowledge.records import CardFate, Condition

LATE = ("days", "weeks", "months")
SPOILAGE = "spoilage"
KEEP_COLD = "keep it cold and use it within days, or throw it away."
KEEPS_ITSELF = ("keeps-itself", "dry-washing-bar")     # schema: the findings that a product needs no preservative
SPOILS_SLOWLY = "slow-to-spoil"                        # schema: the finding that germs grow in it slowly, though they can
BARE = "It holds water and no preservative"
KEEP_SHORT = "germs grow slowly in such a product, but they can: keep it cool, closed and undiluted, use it within weeks, and throw it out at the first off smell, slime, spot or new cloud."

UNREAD = "What you told was not understood, so silence here is no all-clear. If it stings, smells or grows anything, throw it out."


class Fate(NamedTuple):
    verdict: str
    because: str
    steps: tuple[str, ...] = ()
    until: str = ""
    spoiled: bool = False                  # thrown out because it is, or may well be, spoiled


def fate_of(examination: Examination, knowledge: Knowledge) -> Fate:
    """The verdict on this batch; what may be spoiled is never rescued."""
    lost = _lost(examination, knowledge)
    if lost:
        spoiled = lost.cause.family == SPOILAGE
        return Fate("discard", _on_card(lost, examination, knowledge).because, _next_batch(examination, knowledge) if spoiled else (), spoiled=spoiled)
    if bar := next((b for b in knowledge.rescue.bars if b.lost and _degree(b.when, examination, knowledge) >= 0.5), None):
        return Fate("discard", bar.because)
    leader = examination.leader
    seen = examination.situation.complaints
    open_to_germs = BARE if _unpreserved(examination) else _ill_kept(examination)
    slowly = open_to_germs == BARE and _found(SPOILS_SLOWLY, examination) >= 0.5
    care = f" {open_to_germs}: {KEEP_SHORT if slowly else KEEP_COLD}" if open_to_germs else ""
    if not seen:
        if examination.situation.unread:
            return Fate("unsure", UNREAD)
        if leader and leader.standing in (SETTLED, LIKELY):
            return Fate("unsure", f"Nothing amiss was reported, but the formula or the process speaks for trouble: {leader.cause.title}.")
        return Fate("use", f"Nothing amiss was reported.{care}" if care else "Nothing amiss was reported and nothing was found.")
    if open_to_germs and not slowly and any(s.when in LATE for s in seen):
        return Fate("discard", f"{open_to_germs}, and it has stood for days: it may be spoiled without showing it.")
    if leader is None:
        return Fate("unsure", "What was seen does not point to one cause yet.")
    card = _on_card(leader, examination, knowledge)
    because = card.because if leader.standing != POSSIBLE else f"If it is this ({leader.cause.title[0].lower()}{leader.cause.title[1:]}): {card.because}"
    if card.verdict != "discard":
        because += care
    verdict = card.verdict if leader.standing != POSSIBLE or card.verdict == "wait" else "unsure"
    return Fate(verdict, because, card.steps, card.until)


def _next_batch(examination: Examination, knowledge: Knowledge) -> tuple[str, ...]:
    """What the cards of spoilage say a fresh batch needs; nothing of it saves this one."""
    fixes = [f for r in examination.ranked if r.cause.family == SPOILAGE and r.standing in (SETTLED, LIKELY) for f in r.cause.fixes
             if f.when is None or _degree(f.when, examination, knowledge) > 0]
    return tuple(f"For a fresh batch: {f.title[0].lower()}{f.title[1:]}." for f in fixes)


def _lost(examination: Examination, knowledge: Knowledge) -> Ranked | None:
    """The cause for which it must go: one of spoilage whose sign was seen, or a leader whose card says so."""
    for ranked in examination.ranked:
        if ranked.cause.family != SPOILAGE or ranked.cause.fate.verdict != "discard":
            continue
        for sign in examination.situation.complaints:
            if sign.full and any(e.strength == "strong" and is_under(sign.symptom, e.symptom, knowledge) for e in ranked.cause.explains):
                return ranked
    leader = examination.leader
    return leader if leader and leader.standing in (SETTLED, LIKELY) and _on_card(leader, examination, knowledge).verdict == "discard" else None


def _on_card(ranked: Ranked, examination: Examination, knowledge: Knowledge) -> CardFate:
    """What its card says of this batch: the first of `where` whose condition is met at least half, else what it says of all; no rescue that is barred (what is `lost` is told before it comes to a card)."""
    fate = next((f for f in ranked.cause.fate.where if f.when and _degree(f.when, examination, knowledge) >= 0.5), ranked.cause.fate)
    if fate.verdict not in ("rescue", "use"):
        return fate
    bars = [b for b in knowledge.rescue.bars if _degree(b.when, examination, knowledge) >= 0.5]
    if fate.verdict == "use":
        return fate._replace(because=" ".join((fate.because, *(b.used for b in bars if b.used))))
    heats = any(word in step.lower() for step in fate.steps for word in knowledge.rescue.heating)
    bar = next((b for b in bars if heats or not b.heated), None)
    return CardFate("discard", bar.because) if bar else fate


def _degree(condition: Condition, examination: Examination, knowledge: Knowledge) -> float:
    return judge_condition(condition, examination.situation, knowledge, examination.consultation.findings).yes


def _ill_kept(examination: Examination) -> str:
    """What makes it likely that the batch does not keep, where that is not what leads."""
    found = next((r for r in examination.ranked if r.cause.family == SPOILAGE and r.cause.fate.verdict == "discard" and r.standing in (SETTLED, LIKELY)), None)
    return f"It may not keep ({found.cause.title[0].lower()}{found.cause.title[1:]})" if found else ""


def _found(finding: str, examination: Examination) -> float:
    found = examination.consultation.findings.get(finding)
    return found.yes if found else 0.0


def _unpreserved(examination: Examination) -> bool:
    measures = examination.situation.measures
    water = measures.quantities.get("water-share")
    keeps = max(_found(i, examination) for i in KEEPS_ITSELF)
    return water is not None and water.value > 5 and measures.class_state("preservative") == "no" and keeps < 0.5
