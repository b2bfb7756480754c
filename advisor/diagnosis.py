"""Ranking the causes: for and against, standing, what each explains, what stays unexplained, which causes act together."""

from typing import NamedTuple

from advisor.base_rates import shift
from advisor.batch.model import Batch
from advisor.certainty import Weight, certainty, total
from advisor.consultation import Consultation, rule_base
from advisor.facts import is_under
from advisor.knowledge.load import Knowledge
from advisor.knowledge.records import Cause, Explains
from advisor.situation import Sign, Situation, assess

SETTLED, LIKELY, POSSIBLE, RULED_OUT = "settled", "likely", "possible", "ruled out"


class Reason(NamedTuple):
    """One piece of evidence that counted: its rule, words, strength, facts, source and weight in log-odds."""

    rule: str
    says: str
    strength: str
    facts: tuple[str, ...]
    source: tuple[str, ...]
    weight: float
    group: str


class Ranked(NamedTuple):
    """A cause as it stands for one batch."""

    cause: Cause
    log_odds: float
    certainty: float
    standing: str
    explains: tuple[str, ...]
    reasons: tuple[Reason, ...]            # for, strongest first
    doubts: tuple[Reason, ...]             # against, strongest first
    contradiction: bool = False            # certain evidence both ways
    stepped_back: bool = False

    @property
    def id(self) -> str:
        return self.cause.id


class Examination(NamedTuple):
    """Everything concluded on one batch before fate, fixes and questions."""

    situation: Situation
    consultation: Consultation
    ranked: tuple[Ranked, ...]             # every cause, best first
    unexplained: tuple[str, ...]           # symptoms that the leader does not explain
    partner: str | None                    # the cause that explains what the leader leaves

    @property
    def shown(self) -> tuple[Ranked, ...]:
        """Causes worth showing: what stands, then what was ruled out by evidence."""
        return tuple(r for r in self.ranked if r.standing != RULED_OUT or r.doubts or r.reasons)

    @property
    def leader(self) -> Ranked | None:
        return self.ranked[0] if self.ranked and self.ranked[0].standing != RULED_OUT else None

    def concerns(self, ranked: Ranked) -> bool:
        """Whether a cause explains something that was seen, or stands without that."""
        return bool(ranked.explains) or ranked.standing != POSSIBLE or not self.situation.complaints


def examine(batch: Batch, knowledge: Knowledge, with_signs: bool = True, quick: bool = False) -> Examination:
    """The whole road from record to ranked causes; `with_signs=False` runs it forward, as before making; `quick` by the matcher."""
    situation = assess(batch, knowledge, with_signs)
    return rank(situation, rule_base(knowledge).consult(situation, quick), knowledge)


def rank(situation: Situation, consultation: Consultation, knowledge: Knowledge) -> Examination:
    """Weigh every cause of the knowledge against what was concluded."""
    first = [weigh(cause, situation, consultation, knowledge) for cause in knowledge.causes.values()]
    ranked = sorted(_step_back(first, knowledge), key=lambda r: (-r.log_odds, r.id))
    seen = list(dict.fromkeys(s.symptom for s in situation.complaints))
    left: tuple[str, ...] = ()
    partner = None
    if ranked and ranked[0].standing != RULED_OUT:
        left = tuple(s for s in seen if s not in ranked[0].explains)
        also = [r for r in ranked[1:] if r.standing != RULED_OUT and set(left) & set(r.explains)]
        partner = next((r.id for r in also if _explains_well(r, left)), next((r.id for r in also), None))
    return Examination(situation, consultation, tuple(ranked), left, partner)


def _explains_well(ranked: Ranked, symptoms: tuple[str, ...]) -> bool:
    """Whether one of these symptoms is more than slightly explained."""
    wanted = {f"+symptom {s}" for s in symptoms}
    return any(r.strength != "slight" and wanted & set(r.facts) for r in ranked.reasons if r.group.startswith("seen:"))


def standing(value: float, knowledge: Knowledge) -> str:
    """The word for a certainty."""
    edges = knowledge.weights.standing
    return next((word for word in (SETTLED, LIKELY, POSSIBLE) if value >= edges[word]), RULED_OUT)


def weigh(cause: Cause, situation: Situation, consultation: Consultation, knowledge: Knowledge) -> Ranked:
    """One cause against one consultation, before others are looked at."""
    w = knowledge.weights
    weights = [Weight("prior", w.prior[cause.commonness]), Weight("base rate", shift(cause, families(situation, knowledge), knowledge))]
    explained, why = _explained(cause, situation, knowledge)
    reasons = list(why)
    doubts: list[Reason] = []
    weights += [Weight(r.group, r.weight) for r in why]
    if situation.complaints:
        weights.append(Weight("seen", _unexplained(explained, situation, knowledge)))
    else:
        weights.append(Weight("seen", w.adjust["risk-only" if not cause.forward else "came-out-well" if situation.praised else "nothing-seen"]))
    bearing = w.adjust["slightly-explained"] if why and all(r.strength == "slight" for r in why) else 1.0
    for name, fired in consultation.pieces.get(cause.id, {}).items():
        piece = cause.pieces.get(name)
        if piece is None:      # taken away on trial
            continue
        value = w.evidence[piece.strength] * fired.degree * (-1 if piece.against else bearing)
        weights.append(Weight(piece.group, value))
        (doubts if piece.against else reasons).append(
            Reason(fired.rule, piece.says, piece.strength, fired.literals, piece.sources, value, piece.group))
    log_odds = total(weights)
    sure = certainty(log_odds)
    both = any(r.strength == "certain" for r in reasons) and any(r.strength == "certain" for r in doubts)
    return Ranked(cause, log_odds, sure, standing(sure, knowledge), explained, tuple(sorted(reasons, key=lambda r: (-r.weight, r.rule))),
                  tuple(sorted(doubts, key=lambda r: (r.weight, r.rule))), both)


def families(situation: Situation, knowledge: Knowledge) -> set[str]:
    """The families of trouble that were seen."""
    return {knowledge.symptoms[s.symptom].family for s in situation.complaints}


def _unexplained(explained: tuple[str, ...], situation: Situation, knowledge: Knowledge) -> float:
    """What it costs a cause to leave kinds of trouble that were seen unexplained: all of them, or its share of some."""
    w = knowledge.weights
    if not explained:
        return w.adjust["explains-nothing-seen"]
    seen = {knowledge.symptoms[s.symptom].family for s in situation.complaints if s.headline} or families(situation, knowledge)
    return w.adjust["leaves-unexplained"] * (1 - len(seen & {knowledge.symptoms[s].family for s in explained}) / len(seen))


def _explained(cause: Cause, situation: Situation, knowledge: Knowledge) -> tuple[tuple[str, ...], list[Reason]]:
    """The observed symptoms that this cause explains, and one reason for each."""
    explained: list[str] = []
    reasons: list[Reason] = []
    w = knowledge.weights
    for sign in situation.complaints:
        best = max((e for e in cause.explains if _covers(e, sign, knowledge)), key=lambda e: w.explains[e.strength], default=None)
        narrow = None if best else next((e for e in cause.explains if e.strength != "slight" and is_under(e.symptom, sign.symptom, knowledge) and _in_time(e, sign, knowledge)), None)
        entry = best or narrow
        if entry is None:
            continue
        if sign.symptom not in explained:
            explained.append(sign.symptom)
        untimed = sign.when is None and bool(entry.when)      # it explains this only at certain times, and no time was told
        value = w.explains[entry.strength] * (1.0 if sign.full and best and not untimed else w.adjust["unlikely-heard"])
        title = knowledge.symptoms[sign.symptom].title
        family = knowledge.symptoms[sign.symptom].family
        reasons.append(Reason(f"{cause.id}/explains/{entry.symptom}", f"It explains what was seen: {title[0].lower()}{title[1:]}.",
                              entry.strength, (f"+symptom {sign.symptom}",), cause.sources, value, f"seen:{family}"))
    return tuple(explained), reasons


def _covers(entry: Explains, sign: Sign, knowledge: Knowledge) -> bool:
    if not is_under(sign.symptom, entry.symptom, knowledge):
        return False
    return not entry.when or sign.when is None or sign.when in entry.when


def _in_time(entry: Explains, sign: Sign, knowledge: Knowledge) -> bool:
    """Whether the narrower symptom can be meant by what was seen at that time."""
    times = entry.when or knowledge.symptoms[entry.symptom].times
    return not times or sign.when is None or sign.when in times


def _step_back(ranked: list[Ranked], knowledge: Knowledge) -> list[Ranked]:
    """Explaining away, once: a cause with only the symptom in its favour steps back where another has more than that.

    By degrees, so that no small change of an amount makes a jump: the less of its own it has, and the surer the other.
    """
    full = knowledge.weights.evidence["slight"]
    likely = knowledge.weights.standing["likely"]
    backing: dict[str, float] = {}
    for r in ranked:
        strength = _more(r, full) * min(1.0, max(0.0, (r.certainty - likely + 0.1) / 0.2))
        for symptom in r.explains:
            backing[symptom] = max(backing.get(symptom, 0.0), strength)
    out = []
    for r in ranked:
        share = max((backing[s] for s in r.explains), default=0.0) * (1.0 - _more(r, full))
        if share > 0:
            log_odds = r.log_odds + knowledge.weights.adjust["stepped-back"] * share
            sure = certainty(log_odds)
            r = r._replace(log_odds=log_odds, certainty=sure, standing=standing(sure, knowledge), stepped_back=True)
        out.append(r)
    return out


def _more(r: Ranked, full: float) -> float:
    """How far a cause has evidence beyond what was seen: 0 none, 1 as much as slight evidence."""
    return min(1.0, max((reason.weight for reason in r.reasons if not reason.group.startswith("seen:")), default=0.0) / full)
