"""Nothing a maker can write makes a traceback: random formulas, words and texts down the whole road."""

from __future__ import annotations

from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from advisor.batch.reading import read_text_batch, record_batch
from advisor.batch.writing import batch_text, replace_blocks
from advisor.errors import InputError
from advisor.knowledge.load import Knowledge, load_knowledge
from advisor.knowledge.strict_yaml import load
from advisor.outcome import diagnose
from advisor.screens.data import outcome_data
from advisor.screens.lines import first_screen, rest
from advisor.screens.terminal import plain_text

KNOWN = load_knowledge()
NAMES = st.one_of(st.sampled_from(sorted(KNOWN.ingredients)), st.text(min_size=1, max_size=30).filter(str.strip))
AMOUNTS = st.one_of(st.none(), st.floats(0, 60, allow_nan=False).map(lambda x: round(x, 3)), st.just("rest"), st.just("0.5-1"))
WORDS = st.one_of(st.sampled_from([w for s in KNOWN.symptoms.values() for w in s.wordings]), st.text(min_size=1, max_size=60).filter(str.strip))
RECORDS = st.fixed_dictionaries(
    {"formula": st.fixed_dictionaries({"complete": st.booleans(), "unit": st.sampled_from(["percent", "g", "oz", "part", "ml"]),
                                       "lines": st.lists(st.fixed_dictionaries({"name": NAMES}, optional={"amount": AMOUNTS}), max_size=12)})},
    optional={"observed": st.lists(st.fixed_dictionaries({"what": WORDS}, optional={"when": st.sampled_from(["next day", "3 months", "whenever"])}), max_size=3),
              "wanted": st.sampled_from(["lotion", "firm cream", "nice"]), "measured": st.fixed_dictionaries({"ph": st.floats(0, 14)}),
              "batch_size": st.sampled_from(["200 g", "8 oz"]), "scale_reads_to": st.sampled_from(["1 g", "0.1 g"]),
              "process": st.fixed_dictionaries({}, optional={"oil_phase_temperature": st.sampled_from(["75 C", "160 F", "warm"]), "water_phase_temperature": st.just(30),
                                                             "mixer": WORDS, "mixed": st.sampled_from(["3 min", "long"])})})


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(RECORDS)
def test_the_whole_road(record: dict[str, Any]) -> None:
    try:
        batch = record_batch(record)
    except InputError:
        return
    outcome = diagnose(batch, KNOWN)
    data = outcome_data(outcome, KNOWN)
    assert all(0 <= c["certainty"] <= 1 for c in data["causes"])
    assert "\x1b" not in plain_text([*first_screen(outcome, KNOWN), *rest(outcome, KNOWN)])
    for fix in outcome.fixes:
        if fix.record is not None and fix.changes and fix.record.formula.unit == "percent":
            assert abs(sum(line.amount[0] for line in fix.record.formula.lines if line.amount) - 100) < 0.5
    if any(KNOWN.symptoms[s.symptom].family == "spoiled" for s in outcome.examination.situation.complaints):
        assert outcome.fate.verdict == "discard"


@settings(max_examples=150, deadline=None)
@given(st.one_of(st.text(max_size=300), st.text(alphabet="abc:-[]{}&*!|>'\"\n 019.,;%", max_size=200)))
def test_any_text_is_read_or_refused_clearly(text: str) -> None:
    for file in ("x.yaml", "x.csv", "pasted"):
        try:
            read_text_batch(text, file)
        except InputError as error:
            assert all(p.says and p.mend for p in error.problems)


@settings(max_examples=60, deadline=None)
@given(RECORDS)
def test_what_is_written_is_read_back_the_same(record: dict[str, Any]) -> None:
    try:
        batch = record_batch(record)
    except InputError:
        return
    again = read_text_batch(batch_text(batch), "again.yaml")
    assert again.observed == batch.observed
    assert [line.name for line in again.formula.lines] == [line.name for line in batch.formula.lines]


def test_only_the_named_block_changes(knowledge: Knowledge) -> None:
    text = "# top\nname: a   # mine\nanswers:\n  mixer: spoon\n\n# between\nobserved:\n  - it split\nnotes: |\n  long\n\n  text\n"
    new = replace_blocks(text, {"answers": {"mixer": "stick-blender", "worked-before": "no"}})
    assert new == text.replace("  mixer: spoon\n", '  mixer: stick-blender\n  worked-before: "no"\n')
    assert load(new, "x").data["answers"]["worked-before"] == "no"
