"""The outcome in a maker's words, as headed blocks of lines; the terminal and the plain screen both show these."""

from collections.abc import Iterable
from typing import NamedTuple

from advisor.batch.units import GRAMS
from advisor.diagnosis import LIKELY, RULED_OUT, SETTLED, Ranked, Reason
from advisor.fixes.cautions import referred
from advisor.fixes.planner import LineChange, PlannedFix
from advisor.knowledge.load import Knowledge
from advisor.outcome import Outcome

_STANDING = {"settled": "settled", "likely": "likely", "possible": "possible, not shown yet", "ruled out": "ruled out"}
_VERDICT = {"use": "Use it.", "wait": "Wait.", "rescue": "It can be rescued.", "discard": "Throw it out.", "unsure": "Not sure yet."}
FIXES = 5        # as many fixes as a maker will read
HELPFUL = 3      # questions named at the end
PROVED = "Judged anew with the change, what spoke for the cause falls below the mark and no new cause comes."


class Block(NamedTuple):
    """A heading and its lines; `tone` is a word that the theme knows."""

    heading: str
    lines: tuple[str, ...]
    tone: str = "plain"


def first_screen(outcome: Outcome, knowledge: Knowledge) -> list[Block]:
    """At most twelve lines: what happened, the leading cause with its reasons, this batch's fate, the first fix."""
    examination = outcome.examination
    seen = examination.situation.complaints
    titles = list(dict.fromkeys(knowledge.symptoms[s.symptom].title for s in seen))
    blocks = [Block("What happened", (" ".join(f"{t}." for t in titles) if titles else _unheard(examination.situation.unread),))]
    leader = _shown(outcome)
    if leader is None:
        blocks.append(Block("Cause", ("Nothing in what is known speaks for a fault.",) if not seen and not examination.situation.unread else
                            ("No cause stands out yet; the questions below would help.",)))
    else:
        blocks.append(Block(f"Cause ({_STANDING[leader.standing]})", (f"{leader.cause.title}.",) + tuple(_decisive(leader, outcome)), "cause"))
    blocks.append(Block("This batch", (f"{_VERDICT[outcome.fate.verdict]} {outcome.fate.because}",), outcome.fate.verdict))
    if outcome.fixes:
        fix = outcome.fixes[0]
        blocks.append(Block("First fix for the next one", (f"{fix.title}.{'' if fix.proved else ' (not proved on paper)'}", *_weights(fix, examination.situation.batch.in_ounces)[:3], *_aside(fix, leader, knowledge)), "fix"))
    elif leader is not None and referred(examination.situation.batch, knowledge):
        blocks.append(Block("No fix list", ("What this product is for belongs to qualified makers: show them this page.",), "caution"))
    return blocks


def _aside(fix: PlannedFix, leader: Ranked | None, knowledge: Knowledge) -> tuple[str, ...]:
    """Where the first fix is for another cause than the one that leads: which, so that the two are not taken for one."""
    if leader is None or leader.id in fix.causes or not fix.causes:
        return ()
    title = knowledge.causes[fix.causes[0]].title
    return (f"For another cause: {title[0].lower()}{title[1:]}.",)


def _unheard(unread: tuple[str, ...]) -> str:
    return "; ".join(f"{said!r} was not understood as something that went wrong" for said in unread) + "." if unread else "Nothing amiss was reported."


def _first(reasons: Iterable[Reason], count: int) -> list[str]:
    """What the first reasons say, each once."""
    return list(dict.fromkeys(r.says for r in reasons))[:count]


def rest(outcome: Outcome, knowledge: Knowledge) -> list[Block]:
    """Everything after the first screen: other causes, the fix list, questions, cautions, remarks."""
    examination = outcome.examination
    blocks: list[Block] = []
    leader = _shown(outcome)
    if leader and examination.unexplained:
        left = titles(examination.unexplained, knowledge)
        partner = next((r.cause.title for r in examination.ranked if r.id == examination.partner), None)
        blocks.append(Block("Not explained by that", (f"{left}." + (f" A second cause may act too: {partner}." if partner else ""),)))
    if leader:
        blocks.append(Block("What happens in the jar", (leader.cause.because,)))
        if leader.doubts:
            blocks.append(Block("What speaks against it", tuple(d.says for d in leader.doubts)))
        blocks.append(Block("How to prove it", (leader.cause.proof,)))
    others = [r for r in examination.ranked if r is not leader and r.standing != RULED_OUT and _has_own_reason(r) and examination.concerns(r)][:4]
    for ranked in others:
        blocks.append(Block(f"Also {_STANDING[ranked.standing]}: {ranked.cause.title}",
                            (*(f"for: {says}" for says in _first(ranked.reasons, 3)), *(f"against: {says}" for says in _first(ranked.doubts, 2)))))
    for number, fix in enumerate(outcome.fixes[:FIXES], 1):
        blocks.append(Block(f"Fix {number}: {fix.title}", tuple(_fix_lines(fix, knowledge, examination.situation.batch.in_ounces)), "fix"))
    if len(outcome.fixes) > FIXES:
        blocks.append(Block("More fixes", (f"{len(outcome.fixes) - FIXES} more, less promising, are listed with --json.",)))
    if any(f.proved for f in outcome.fixes[:FIXES]):
        blocks.append(Block("Proved on paper means", (PROVED,)))
    if outcome.fate.steps:
        blocks.append(Block("Steps for this batch", outcome.fate.steps))
    if outcome.questions:
        blocks.append(Block("What would help to know", tuple(f"{q.question.text} ({q.question.why})" for q in outcome.questions[:HELPFUL])))
    if outcome.cautions:
        blocks.append(Block("Cautions", outcome.cautions, "caution"))
    return blocks


def _shown(outcome: Outcome) -> Ranked | None:
    """The leading cause; none where nothing was seen and nothing is likely to fail."""
    leader = outcome.examination.leader
    seen = outcome.examination.situation.complaints
    return leader if leader and (seen or leader.standing in (SETTLED, LIKELY)) else None


def _has_own_reason(ranked: Ranked) -> bool:
    return any(not r.group.startswith("seen:") for r in ranked.reasons)


def _decisive(ranked: Ranked, outcome: Outcome) -> list[str]:
    known: list[str] = []
    groups: set[str] = set()
    for reason in sorted(ranked.reasons, key=lambda r: (r.group.startswith("seen:"), -r.weight)):
        if reason.group not in groups:
            groups.add(reason.group)
            known.append(f"- {reason.says}{_numbers(reason, outcome)}")
    return known[:3]


def _numbers(reason: Reason, outcome: Outcome) -> str:
    """The computed numbers that a reason rests on, in brackets, each with the line it follows from where that is one."""
    measures = outcome.examination.situation.measures
    names = {x.line.name for x in measures.lines}
    found = [measures.quantities.get(f.split()[1]) for f in reason.facts if f[1:].startswith("quantity ")]
    shown = [f"{q.title[0].lower()}{q.title[1:]}: {q.value:.3g} {q.unit}" + (f", {q.origin[0]}" if len(q.origin) == 1 and q.origin[0] in names else "") for q in found if q]
    return f" ({'; '.join(dict.fromkeys(shown))})" if shown else ""


def _weights(fix: PlannedFix, ounces: bool) -> list[str]:
    """The changed weights, what changes by the greatest share of itself first; a balance spread over many lines comes last."""
    return [weight_line(c, ounces) for c in sorted(fix.changes, key=lambda c: -_turned(c))]


def _turned(c: LineChange) -> float:
    before, after = c.from_percent or 0.0, c.to_percent or 0.0
    return abs(after - before) / max(before, after, 1e-9)


def titles(symptoms: Iterable[str], knowledge: Knowledge) -> str:
    """The titles of symptoms as one sentence without its full stop."""
    first, *others = (knowledge.symptoms[s].title for s in symptoms)
    return ", ".join((first, *(f"{t[0].lower()}{t[1:]}" for t in others)))


def weight_line(c: LineChange, ounces: bool = False) -> str:
    """One changed weight, in % and in grams (and `ounces`, for who weighs in them) where the batch size is known."""
    if c.to_percent is None and c.from_percent is not None:
        return f"- {c.ingredient}: it is {_percent(c.from_percent)} now; change it in small steps, or give the texture you want (`wanted` in the record) where that is the question"
    if c.to_percent is None:
        return f"- {c.ingredient}: the amount follows from your formula; give all lines with amounts"
    text = f"- {c.ingredient}: " + (f"from {_percent(c.from_percent)} to {_percent(c.to_percent)}" if c.from_percent is not None else f"about {_percent(c.to_percent)}" if c.to_percent else "leave it out")
    if c.from_g is not None and c.to_g is not None:
        text += f" ({in_grams(c.from_g)} to {in_grams(c.to_g)}{f'; {in_ounces(c.from_g)} to {in_ounces(c.to_g)}' if ounces else ''})"
    return text


def _percent(value: float) -> str:
    """To a hundredth, a small one to a thousandth: nobody weighs closer."""
    return f"{round(value, 2 if value >= 0.1 else 3):g} %"


def in_grams(value: float) -> str:
    """To a tenth of a gram, a few grams to a hundredth: what scales at home can show."""
    return f"{round(value, 2 if value < 5 else 1):g} g"


def in_ounces(value: float) -> str:
    """Grams in ounces, to a hundredth, less than one to a thousandth."""
    found = value / GRAMS["oz"]
    return f"{round(found, 3 if found < 1 else 2):g} oz"


def _fix_lines(fix: PlannedFix, knowledge: Knowledge, ounces: bool) -> list[str]:
    lines = _weights(fix, ounces) + [f"- {s}" for s in fix.steps]
    if fix.feel:
        lines.append(f"Feel: {fix.feel}.")
    if fix.proved:
        lines.append("Proved on paper.")
    else:
        more = [knowledge.causes[b].title for b in fix.brings]
        lines.append("Not proved on paper" + (f"; it may bring: {'; '.join(more)}" if more else "") + "." + (" Try it in a small jar first." if fix.changes or more else ""))
    return lines
