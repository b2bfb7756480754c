"""The forms of all knowledge files, said once: for checking, for near-miss suggestions, for JSON Schema."""

from __future__ import annotations

from advisor.knowledge.conditions import flaw, flaw_untold
from advisor.knowledge.forms import Anything, Either, Flag, Form, Lazy, Many, Map, Number, Open, Text

PHASE = Text(choices=("water", "oil", "cool-down"))
STRENGTHS = ("certain", "strong", "fair", "slight")
TIMES = ("immediately", "on-cooling", "next-day", "days", "weeks", "months")
KINDS = ("oil-in-water", "water-in-oil", "anhydrous", "surfactant", "gel")
EFFORTS = ("glance", "minute", "strip", "hour", "day")
FIX_EFFORTS = ("step", "weighing", "buying", "remaking")
VERDICTS = ("use", "wait", "rescue", "discard", "unsure")

TEXT = Text()
IDENT = Text(ident=True)
TEXTS = Many(TEXT, single=True)
SOURCE = Many(TEXT, least=1, single=True, help="a key of rules/sources.yaml, common practice or from memory")
NUMBER = Number()
FIGURE = Map({"is": NUMBER, "from": NUMBER, "to": NUMBER, "source": SOURCE, "note": TEXT}, needs=("source",),
             help="a figure such as {is: 15, from: 14, to: 16, source: key}")
WORDS_OF_TIME = Many(Text(choices=TIMES), single=True)

_CHOICES = Many(Either((TEXT, NUMBER)), single=True)
_TOLD = Map({"symptom": IDENT, "seen": WORDS_OF_TIME, "answer": IDENT, "tried": IDENT, "is": _CHOICES, "quantity": IDENT},
            one_of=("symptom", "answer", "tried", "quantity"), help="what a maker can tell, such as {answer: question, is: choice}, or a quantity, such as {quantity: ph}", flaw=flaw_untold)
CONDITION = Lazy("condition", lambda: _CONDITION)
_CONDITION: Map = Map(
    {
        "finding": IDENT, "symptom": IDENT, "seen": WORDS_OF_TIME, "answer": IDENT, "tried": IDENT,
        "is": _CHOICES, "has": TEXT, "listed": TEXT, "quantity": IDENT, "above": NUMBER,
        "below": NUMBER, "full": NUMBER, "between": Many(NUMBER, least=2), "margin": Number(low=0),
        "kind": Many(Text(choices=KINDS), single=True), "all": Many(CONDITION, least=1), "any": Many(CONDITION, least=1),
        "not": CONDITION, "untold": _TOLD,
    },
    one_of=("finding", "symptom", "answer", "tried", "has", "listed", "quantity", "kind", "all", "any", "not", "untold"),
    help="a condition such as {finding: some-id}", flaw=flaw,
)

_EMULSIFIER = Map(
    {
        "favours": Text(choices=("oil-in-water", "water-in-oil", "either")),
        "charge": Text(choices=("nonionic", "anionic", "cationic", "amphoteric")),
        "alone": Text(choices=("complete", "partner", "helper")), "judged_by": Text(choices=("hlb", "level")),
        "hlb": FIGURE, "oil_limit": FIGURE, "oil_per_part": FIGURE, "ph": FIGURE, "salt_limit": FIGURE,
    },
    needs=("favours", "charge", "alone", "judged_by"),
)
_FIGURE_FIELDS = ("level", "maximum", "maximum_rinse_off", "required_hlb", "required_hlb_wo", "melting", "ph", "own_ph", "salt_limit",
                  "max_temperature", "solubility", "density", "heat_capacity")
INGREDIENT = Map(
    {
        "inci": TEXT, "names": TEXTS, "is": Many(IDENT, single=True), "phase": PHASE,
        "state": Text(choices=("liquid", "soft", "solid", "powder")), "purpose": TEXT, "emulsifier": _EMULSIFIER,
        **dict.fromkeys(_FIGURE_FIELDS, FIGURE), "maximum_rule": TEXT,
        "solid_fat": Map({"at": Open(Number(0, 100)), "source": SOURCE, "note": TEXT}, needs=("at", "source")),
        "shares": Open(FIGURE),
        "acid": Map({"molar_mass": Number(1), "protons": Number(1, 10, whole=True), "pka": FIGURE, "fatty": Flag(), "source": SOURCE},
                    needs=("molar_mass", "protons", "pka", "source")),
        "alkali": Map({"molar_mass": Number(1), "equivalents": Number(1, 10, whole=True), "source": SOURCE},
                      needs=("molar_mass", "equivalents", "source")),
        "parts": Many(Map({"inci": TEXT, "share": FIGURE}, needs=("inci", "share"))),
        "cautions": Many(IDENT, single=True), "note": TEXT, "sources": SOURCE, "stands_for": IDENT,
    },
    needs=("inci", "is", "phase", "state", "purpose"),
)
_CLASS = Map({"id": IDENT, "title": TEXT, "under": Many(IDENT, single=True), "words": TEXTS, "density": FIGURE,
              "heat_capacity": FIGURE, "shares": Open(FIGURE), "bulk": Flag(help="true: it does its work by percents, so an unknown line of a percent is none"), "most": FIGURE, "branded": Flag(help="true: it is mostly sold under trade names, so an unknown line may well be one")}, needs=("id", "title"))
_SYMPTOM = Map({"id": IDENT, "title": TEXT, "family": IDENT, "under": IDENT, "wordings": Many(TEXT, least=4), "look": TEXT,
                "unless": TEXTS, "beside": TEXTS, "until": Many(IDENT, single=True, help="symptoms: where one of them came later, this tells how it was while it was well"), "seen": WORDS_OF_TIME, "fine": Flag(), "either": Flag(help="true: where all else is said to be well it may be as it was meant to be"), "sources": SOURCE}, needs=("id", "title", "family", "wordings"))
_CHOICE = Map({"id": Text(ident=True), "label": TEXT, "words": TEXTS, "celsius": Map({"from": NUMBER, "to": NUMBER}, help="temperatures in C that mean this choice"),
               "overheard": Many(TEXT, help="phrases of two words or more that mean this choice in any text of the record"), "fallback": Flag(help="true: meant only where no other choice of the question is"),
               "named": Many(IDENT, single=True, help="classes: a material of one, named beside the phrase that tells a sign of the question, means this choice")}, needs=("id", "label"))
_QUESTION = Map(
    {
        "id": IDENT, "text": TEXT, "why": TEXT, "kind": Text(choices=("choice", "number", "text")), "effort": Text(choices=EFFORTS),
        "choices": Many(_CHOICE), "unit": TEXT, "reads": TEXT, "how": TEXT, "test": Flag(), "steps": TEXTS, "when": CONDITION,
        "unsure": Text(choices=("seldom", "sometimes", "often")), "tells": Open(TEXT), "cautions": Many(IDENT, single=True),
        "sources": SOURCE, "typical": Many(NUMBER), "limits": Many(NUMBER), "beside": IDENT, "seen": Many(IDENT, single=True),
        "of_trouble": Flag(help="true: overheard only in what tells of the trouble and what changed, not of the making"),
        "clashes": Many(Map({"is": Many(TEXT, single=True), "when": CONDITION, "says": TEXT}, needs=("is", "when", "says"))),
    },
    needs=("id", "text", "why", "kind", "effort"),
)
_FINDING = Map({"id": IDENT, "says": TEXT, "when": CONDITION, "because": TEXT, "sources": SOURCE}, needs=("id", "says", "when", "sources"))
_EVIDENCE = Map({"id": IDENT, "when": CONDITION, "strength": Text(choices=STRENGTHS), "says": TEXT, "group": TEXT, "source": SOURCE},
                needs=("id", "when", "strength", "says", "source"))
_CHANGE = Map({"do": Text(choices=("add", "raise", "lower", "remove", "replace", "pair")), "target": TEXT,
               "new": Many(TEXT, single=True), "quantity": IDENT, "reaches": Either((NUMBER, TEXT)), "level": Number(0, 100),
               "balance": TEXT}, needs=("do",))
_FIX = Map({"id": IDENT, "title": TEXT, "effort": Text(choices=FIX_EFFORTS), "changes": Many(_CHANGE, single=True),
            "process": Open(Either((TEXT, NUMBER, Flag()))), "steps": TEXTS, "feel": TEXT, "when": CONDITION, "sources": SOURCE},
           needs=("id", "title", "effort"))
_FATE = {"verdict": Text(choices=VERDICTS), "because": TEXT, "steps": TEXTS, "until": TEXT}
CAUSE = Map(
    {
        "format": Number(1, 1), "id": IDENT, "title": TEXT, "family": IDENT, "part_of": Either((IDENT, Anything())), "because": TEXT,
        "commonness": Text(choices=("common", "usual", "rare")), "forward": Flag(),
        "explains": Many(Map({"symptom": IDENT, "strength": Text(choices=STRENGTHS[1:]), "seen": WORDS_OF_TIME}, needs=("symptom", "strength")), least=1),
        "for": Many(_EVIDENCE, least=1), "against": Many(_EVIDENCE, least=1), "exceptions": TEXTS, "fixes": Many(_FIX, least=1),
        "fate": Map({**_FATE, "where": Many(Map({"when": CONDITION, **_FATE}, needs=("when", "verdict", "because")), help="what holds instead under a condition; the first that is met")},
                    needs=("verdict", "because")),
        "proof": TEXT, "proof_test": IDENT, "cautions": Many(IDENT, single=True), "sources": SOURCE,
        "examples": Many(Map({"says": TEXT, "leads": Flag(), "instead": IDENT, "batch": Anything()}, needs=("says", "leads", "batch")), least=2),
    },
    needs=("format", "id", "title", "family", "because", "commonness", "explains", "for", "against", "fixes", "fate", "proof",
           "sources", "examples"),
)
_CAUTION = Map({"id": IDENT, "says": TEXT, "when": CONDITION, "words": Many(TEXT, least=1, help="shown where any text of the record says one of these"), "sources": SOURCE}, needs=("id", "says"))
_QUANTITY = Map({"id": IDENT, "title": TEXT, "unit": TEXT, "formula": TEXT, "sources": SOURCE, "source": SOURCE, "share_of": TEXT, "in_phase": PHASE, "beside": TEXT, "note": TEXT},
                needs=("id", "title", "unit", "formula"))
_RUNG = Map({"id": IDENT, "title": TEXT, "rank": Number(1, 7, whole=True), "viscosity": FIGURE, "words": TEXTS, "suits": TEXT},
            needs=("id", "title", "rank", "viscosity", "words"))
_SOURCE = Map(dict.fromkeys(("title", "author", "year", "where", "url", "kind", "extent", "note"), TEXT), needs=("title",))
_STEP = Map({"id": IDENT, "stage": Text(choices=("before", "weigh", "heat", "join", "cool", "finish", "judge")), "says": TEXT, "look": TEXT,
             "when": CONDITION, "unless": CONDITION, "source": SOURCE}, needs=("id", "stage", "says", "source"))
_CHECK = Map({"id": IDENT, "title": TEXT, "says": TEXT, "shows": TEXT, "standard": TEXT, "when": CONDITION, "source": SOURCE},
             needs=("id", "title", "says", "shows", "source"))
_TRIAL_JAR = Map({"mixer": Many(IDENT, least=1), "grams": FIGURE}, needs=("mixer", "grams"))
_BAR = Map({"id": IDENT, "when": CONDITION, "because": TEXT, "source": SOURCE, "heated": Flag(help="true: bars only a rescue whose steps heat the batch"),
             "used": Text(help="said as well where the batch is used as it is"), "lost": Flag(help="true: bars its use as it is too")},
           needs=("id", "when", "because", "source"))
_REFER = Map({"caution": IDENT, "words": Many(TEXT, least=1)}, needs=("caution", "words"))
_JAR = Map({"jar": TEXT, "inci": TEXT, "hlb": FIGURE, "level": FIGURE, "note": TEXT}, needs=("jar", "inci"),
           help="a jar on your shelf: what its label says")
_FORMAT = {"format": Number(1, 1)}


def _file(**keys: Form) -> Map:
    return Map({**_FORMAT, **keys}, needs=("format", *keys))


# Which form a file has, by the first part of its path under rules/.
FORMS: dict[str, Map] = {
    "ingredients": _file(ingredients=Many(INGREDIENT)),
    "classes.yaml": _file(classes=Many(_CLASS)),
    "symptoms.yaml": _file(symptoms=Many(_SYMPTOM)),
    "questions": _file(questions=Many(_QUESTION)),
    "findings": _file(findings=Many(_FINDING)),
    "causes": CAUSE,
    "cautions.yaml": _file(cautions=Many(_CAUTION)),
    "quantities.yaml": _file(quantities=Many(_QUANTITY)),
    "textures.yaml": _file(rungs=Many(_RUNG), model=Anything()),
    "sources.yaml": _file(sources=Open(_SOURCE)),
    "words.yaml": _file(synonyms=Many(Many(TEXT)), whole=Many(Many(TEXT)), plain=Many(TEXT), everyday=Many(TEXT), no_fault=Many(TEXT), fillers=Many(TEXT), sayings=Open(TEXT), negations=Many(TEXT), aside=Many(TEXT), replaced=Many(TEXT), worse=Many(TEXT), unsure=Many(TEXT), unmeasured=Many(TEXT), roughly=Many(TEXT), helped=Many(TEXT), helped_not=Many(TEXT), history=Many(TEXT), unchanged=Many(TEXT), turns=Many(TEXT), wished=Many(TEXT), rinsed_off=Many(TEXT), stays_on=Many(TEXT), times=Open(Many(TEXT)), readings=Open(TEXT), soaps=Many(TEXT), endings=Open(Many(TEXT)), beginnings=Open(Many(TEXT)), kinds=Open(TEXT)),
    "procedure.yaml": _file(figures=Open(FIGURE), cold=CONDITION, steps=Many(_STEP, least=1), tests=Many(_CHECK), jars=Many(_TRIAL_JAR), jar=FIGURE, refer=Many(_REFER)),
    "rescue.yaml": _file(heating=Many(TEXT, least=1), bars=Many(_BAR)),
    "base-rates.yaml": _file(note=TEXT, source=SOURCE, weight=Number(0, 1), pull=Number(1), counts=Open(Open(Number(0)))),
    "shelf.yaml": _file(shelf=Many(_JAR)),
    "strengths.yaml": _file(strengths=Open(Text(choices=STRENGTHS))),
    "weights.yaml": Map({**_FORMAT, "evidence": Open(NUMBER), "explains": Open(NUMBER), "prior": Open(NUMBER), "adjust": Open(NUMBER),
                         "standing": Open(NUMBER), "effort": Open(NUMBER), "unsure": Open(NUMBER), "note": TEXT},
                        needs=("format", "evidence", "explains", "prior", "adjust", "standing", "effort", "unsure")),
}
