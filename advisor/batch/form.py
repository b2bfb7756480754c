"""The form of a batch record, said once: for checking with positions and for the nearest key."""

from __future__ import annotations

from advisor.knowledge.forms import Anything, Either, Flag, Form, Many, Map, Number, Open, Text

# What is reasoned on is bounded, so that a file from anywhere costs no more time than a person's words do.
TEXT = Text(most=4000)
LONG = Text()
FREE: Form = Either((TEXT, Number()), help="text or a number")
YES_NO: Form = Either((Flag(), TEXT, Number()), help="true, false or text")
AMOUNT: Form = Either((Number(0, 1_000_000, help="an amount from 0 to 1,000,000"), TEXT), help="a number, `rest`, or a range such as 0.5-1")
LINE = Map(
    {"name": TEXT, "amount": AMOUNT, "phase": TEXT, "strength": FREE, "lot": FREE, "is": TEXT, "hlb": Number(0, 45), "required_hlb": Number(0, 30),
     "charge": TEXT, "melting": FREE, "level": FREE, "density": Number(0.1, 25), "note": TEXT},
    needs=("name",),
)
FORMULA = Map({"unit": Text(choices=("percent", "g", "kg", "oz", "lb", "part", "ml")), "complete": Flag(), "lines": Many(LINE)}, needs=("lines",))
PROCESS = Map({
    "oil_phase_temperature": FREE, "water_phase_temperature": FREE, "held": FREE, "order": TEXT, "mixer": TEXT, "mixer_speed": FREE, "mixed": FREE,
    "stirred_while_cooling": YES_NO, "cool_down_added_at": FREE, "cooled": TEXT, "weight_before": FREE, "weight_after": FREE, "topped_up": YES_NO,
    "covered": YES_NO,
})
SEEN: Form = Either((Map({"what": TEXT, "when": FREE}, needs=("what",)), TEXT))
TRIED: Form = Either((Map({"what": TEXT, "changed": Either((Flag(), TEXT), help="true, false, or how it went: helped, no change, worse")}, needs=("what",)), TEXT))
RECORD = Map({
    "format": Number(1, 1, help="1, the only format so far"), "name": FREE,
    "kind": Text(choices=("oil-in-water", "water-in-oil", "anhydrous", "surfactant", "gel")), "wanted": TEXT, "complaint": TEXT, "made": FREE,
    "batch_size": FREE, "scale_reads_to": FREE, "formula": FORMULA, "process": PROCESS,
    "measured": Map({"ph": Either((Number(0, 14), TEXT), help="a pH from 0 to 14, or a range such as 4.5-5"), "viscosity": FREE, "density": FREE, "temperature": FREE, "weight": FREE}),
    "observed": Many(SEEN, single=True, most=100), "history": Map({"worked_before": YES_NO, "changed": Many(TEXT, single=True, most=100)}),
    "tried": Many(TRIED, single=True, most=100), "storage": Map({"temperature": FREE, "container": TEXT, "used_with": TEXT, "place": TEXT}),
    "water": TEXT, "answers": Open(Anything(), most=1000), "notes": LONG, "known": Open(Anything()),
})
