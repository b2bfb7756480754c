"""Fixes: solved, settled to 100 %, lawful, proved from scratch; most causes that a formula can cure get one."""

from __future__ import annotations

import math
from itertools import permutations
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.batch.model import Batch, Line
from advisor.batch.reading import read_batch, read_text_batch, record_batch
from advisor.batch.writing import batch_text
from advisor.diagnosis import LIKELY, RULED_OUT, SETTLED, examine
from advisor.fixes.amend import Portion, amended, portions
from advisor.fixes.amounts import pair_amounts
from advisor.fixes.cautions import referred
from advisor.fixes.planner import MAX_RUNS, PlannedFix
from advisor.fixes.proof import RANK, Court, unseen
from advisor.fixes.ranking import expected_cost, order
from advisor.fixes.weighing import over_law, settle, weigh, within_law
from advisor.knowledge.load import Knowledge, load_knowledge
from advisor.knowledge.records import Change
from advisor.outcome import Outcome, diagnose
from advisor.quantities.law import legal_maximum, rinsed_off
from advisor.quantities.measure import measure
from advisor.screens.lines import rest

CASES = sorted((Path(__file__).parent.parent / "cases").glob("*.yaml"))
BATCHES: list[tuple[str, Batch]] = [(f"{c.id}-{n}", record_batch({"format": 1, **e.batch})) for c in load_knowledge().causes.values()
                                    for n, e in enumerate(c.examples)] + [(p.stem, read_batch(p)) for p in CASES]
FLOOR = 0.92      # 66 of 68 (0.97) when this was written; the goal is 0.85


@pytest.fixture(scope="module")
def outcomes(knowledge: Knowledge) -> list[tuple[str, Batch, Outcome]]:
    return [(name, batch, diagnose(batch, knowledge)) for name, batch in BATCHES]


def proved(outcomes: list[tuple[str, Batch, Outcome]]) -> list[tuple[str, Batch, PlannedFix]]:
    return [(name, batch, fix) for name, batch, outcome in outcomes for fix in outcome.fixes if fix.proved]


def test_causes_with_a_formula_remedy_that_get_a_proved_fix_do_not_become_fewer(outcomes: list[tuple[str, Batch, Outcome]]) -> None:
    """Over all examples and cases with a complete formula; a spoiled batch has no fix by rule and is left out."""
    asked = got = 0
    missing = []
    for name, batch, outcome in outcomes:
        lines = outcome.examination.situation.measures.lines
        if outcome.fate.spoiled or not batch.formula.complete or not lines or any(x.percent is None for x in lines):
            continue
        for ranked in outcome.examination.ranked:
            if ranked.standing in (SETTLED, LIKELY) and any(f.changes for f in ranked.cause.fixes):
                found = any(f.proved and ranked.id in f.causes for f in outcome.fixes)
                asked, got = asked + 1, got + found
                missing += [] if found else [f"{name}: {ranked.id}"]
    assert asked >= 30
    assert got / asked >= FLOOR, missing


def test_no_proved_fix_fails_from_scratch(outcomes: list[tuple[str, Batch, Outcome]], knowledge: Knowledge) -> None:
    """Written as a record, read back, judged forward: its causes are gone and nothing stands higher than before."""
    found = proved(outcomes)
    assert len(found) > 40
    wrong = []
    for name, batch, fix in found:
        assert fix.record is not None
        base = {r.id: r for r in examine(unseen(batch, knowledge), knowledge, with_signs=False).ranked}
        after = examine(read_text_batch(batch_text(fix.record), "again.yaml"), knowledge, with_signs=False)
        for r in after.ranked:
            if r.id in fix.causes and (r.standing != RULED_OUT or r.log_odds >= base[r.id].log_odds):
                wrong.append((name, fix.id, r.id, r.standing))
            elif RANK[r.standing] > RANK[base[r.id].standing]:
                wrong.append((name, fix.id, "brings", r.id))
    assert wrong == []


def test_formulas_are_whole_and_lawful(outcomes: list[tuple[str, Batch, Outcome]], knowledge: Knowledge) -> None:
    seen = 0
    for name, batch, outcome in outcomes:
        for fix in outcome.fixes:
            if fix.record is None or not fix.record.formula.lines or not all(x.amount for x in fix.record.formula.lines) or not batch.formula.complete:
                continue
            seen += 1
            assert math.isclose(sum(x.amount[0] for x in fix.record.formula.lines if x.amount), 100, abs_tol=1e-9), (name, fix.id)
            parts = portions(examine(fix.record, knowledge, with_signs=False).situation.measures)
            assert parts is not None
            assert over_law(parts, knowledge, rinsed_off(batch, knowledge)) == {}, (name, fix.id)
            for size, step in ((100.0, 1.0), (237.0, 1.0), (500.0, 0.1)):
                rows = weigh(parts, [p.line.phase or "water" for p in parts], size, step)
                assert sum(w.grams or 0.0 for w in rows) == pytest.approx(size, abs=1e-6)
                largest = max(rows, key=lambda w: w.percent)
                for w in rows:
                    slack = len(rows) * step / 2 if w is largest else (w.step or 0.0) / 2      # the largest line takes what rounding leaves
                    assert abs((w.grams or 0.0) - w.percent * size / 100) <= slack + 1e-6, (name, fix.id, w)
    assert seen > 60


@given(st.lists(st.floats(0.003, 60), min_size=1, max_size=15))
def test_any_formula_settles_to_exactly_a_hundred(amounts: list[float]) -> None:
    """However the parts are cut, the lines end at exactly 100 % and none moves far, but the water."""
    whole = sum(amounts) * 1.6
    parts = [Portion(Line(f"line {i}"), 100 * a / whole, frozenset()) for i, a in enumerate(amounts)]
    parts.append(Portion(Line("Aqua"), 100 - sum(p.percent for p in parts), frozenset({"water-like"})))
    found = settle(parts)
    assert found is not None
    assert sum(round(p.percent * 10_000) for p in found) == 1_000_000
    before = {p.line.name: p.percent for p in parts}
    assert all(abs(p.percent - before[p.line.name]) <= 0.0051 for p in found if p.line.name != "Aqua")


def test_a_legal_maximum_already_passed_is_brought_down(knowledge: Knowledge) -> None:
    batch = record_batch({"kind": "oil-in-water", "formula": {"unit": "percent", "lines": [
        {"name": "Aqua", "amount": "rest"}, {"name": "Helianthus Annuus Seed Oil", "amount": 20}, {"name": "Phenoxyethanol", "amount": 1.8}]},
        "observed": [{"what": "oil layer on top", "when": "next day"}]})
    found = [f for f in diagnose(batch, knowledge).fixes if f.record is not None]
    assert found
    for fix in found:
        change = next(c for c in fix.changes if c.ingredient == "Phenoxyethanol")
        assert change.to_percent is not None and change.to_percent <= 1.0


# Regulation (EC) No 1223/2009, Annex V entry 1: 2.5 % as benzoic acid in rinse-off products, 0.5 % in leave-on ones; entry 1a: 0.5 % in all;
# entry 56: 0.02 and 0.01 %.  Of the salts, by molar masses, 144.1 / 122.12 and 160.21 / 122.12 as much.
@pytest.mark.parametrize(("preservative", "leave_on", "rinse_off"), [
    ("Benzoic Acid", 0.5, 2.5), ("Sodium Benzoate", 0.59, 2.95), ("Potassium Benzoate", 0.656, 0.656), ("Iodopropynyl Butylcarbamate", 0.01, 0.02), ("Phenoxyethanol", 1.0, 1.0)])
def test_what_is_rinsed_off_has_its_own_legal_maximum(preservative: str, leave_on: float, rinse_off: float, knowledge: Knowledge) -> None:
    item = knowledge.ingredients[preservative]
    assert [f.high for rinsed in (False, True) if (f := legal_maximum(item, rinsed))] == [leave_on, rinse_off]


@pytest.mark.parametrize(("kind", "name", "rinsed"), [
    ("surfactant", "", True), ("surfactant", "batch 12", True), ("surfactant", "micellar water", False), ("oil-in-water", "Hair conditioner with oats", True), ("oil-in-water", "leave-in hair conditioner", False),
    ("oil-in-water", "hand cream", False), ("oil-in-water", "cream for after the body wash", False), ("anhydrous", "Coffee body scrub", True), (None, "not a shampoo", False), (None, "", False)])
def test_a_shampoo_is_not_held_to_the_limit_of_a_cream(kind: str | None, name: str, rinsed: bool, knowledge: Knowledge) -> None:
    batch = record_batch({**({"name": name} if name else {}), **({"kind": kind} if kind else {}), "formula": {"unit": "percent", "complete": True, "lines": [
        {"name": "Aqua", "amount": "rest"}, {"name": "Sodium Laureth Sulfate", "amount": 15}, {"name": "Cocamidopropyl Betaine", "amount": 5}, {"name": "Sodium Benzoate", "amount": 0.7}]}})
    assert rinsed_off(batch, knowledge) is rinsed
    parts = portions(measure(batch, knowledge))
    assert parts is not None
    _, names = within_law(parts, knowledge, rinsed_off(batch, knowledge))
    assert names == (() if rinsed else ("Sodium Benzoate",))
    assert measure(batch, knowledge).quantities["preservative-over-maximum"].value == pytest.approx(0.7 / (2.95 if rinsed else 0.59))


def test_no_fix_for_a_spoiled_batch(outcomes: list[tuple[str, Batch, Outcome]]) -> None:
    spoiled = [(name, o) for name, _, o in outcomes if o.fate.spoiled]
    assert len(spoiled) >= 2
    assert all(o.fate.verdict == "discard" for _, o in spoiled)
    assert [name for name, o in spoiled if o.fixes] == []


def test_two_causes_get_a_pair_of_fixes(knowledge: Knowledge) -> None:
    outcome = diagnose(read_batch(Path(__file__).parent.parent / "cases" / "demo-thin-hand-cream.yaml"), knowledge)
    pair = next(f for f in outcome.fixes if "+" in f.id)
    assert pair.proved and len(pair.causes) == 2 and pair.leaves == ()
    assert outcome.fixes[0] is pair        # each alone leaves the other standing


def test_runs_are_counted_and_kept_few(outcomes: list[tuple[str, Batch, Outcome]], knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch) -> None:
    courts: list[Court] = []
    plain = Court.__init__

    def noted(self: Court, batch: Batch, known: Knowledge) -> None:
        courts.append(self)
        plain(self, batch, known)

    monkeypatch.setattr(Court, "__init__", noted)
    for _, batch, _ in outcomes:
        diagnose(batch, knowledge)
    most = max(c.runs for c in courts)
    assert 3 < most <= MAX_RUNS
    monkeypatch.setattr("advisor.fixes.planner.MAX_RUNS", 3)
    courts.clear()
    for _, batch, _ in outcomes:
        diagnose(batch, knowledge)
    assert max(c.runs for c in courts) == 3


def test_a_process_fix_is_proved_only_if_it_changes_a_known_fact(knowledge: Knowledge) -> None:
    path = Path(__file__).parent.parent / "cases" / "demo-white-lumps.yaml"
    cold = diagnose(read_batch(path), knowledge)
    assert any(f.proved and not f.changes for f in cold.fixes)
    for _, batch in BATCHES:
        bare = batch._replace(process={}, answers={}, storage={}, scale_step=None, batch_size=None, water=None)
        assert not any(f.proved for f in diagnose(bare, knowledge).fixes if not f.changes)


def test_one_fix_of_unknown_amount_is_not_said_for_each_of_its_causes(knowledge: Knowledge) -> None:
    lines = [{"name": "Aqua"}, {"name": "Cetearyl Alcohol (and) Polysorbate 60"}, {"name": "Helianthus Annuus Seed Oil"}]
    told = diagnose(record_batch({"format": 1, "formula": {"lines": lines}, "observed": [{"what": "oil on top", "when": "next day"}]}), knowledge)
    asked = [f.changes for f in told.fixes if f.changes and f.record is None]
    assert asked and len(asked) == len(set(asked))


def test_what_waits_for_an_amount_is_offered_before_what_waits_for_an_answer(knowledge: Knowledge) -> None:
    lines = [{"name": "Aqua"}, {"name": "Carbomer"}, {"name": "Triethanolamine"}, {"name": "Sodium Lactate"}]
    record = {"format": 1, "kind": "gel", "formula": {"lines": lines}, "observed": [{"what": "too thin", "when": "next day"}]}
    dark = "polymer-thickener-thinned/out-of-light"
    untold, told = (diagnose(record_batch({**record, **more}), knowledge) for more in ({}, {"answers": {"storage-place": "sun"}}))
    assert any(f.id.startswith("polymer-thickener-thinned/") for f in untold.fixes) and dark not in [f.id for f in untold.fixes]
    assert dark in [f.id for f in told.fixes]


def test_order_by_chance_over_effort() -> None:
    """Four fixes of the P-over-C rule: b, c, a, d at 8.45 on average, 11.45 by chance alone; checked against all 24 orders."""
    chances, efforts = (0.5, 0.3, 0.15, 0.05), (10.0, 2.0, 1.0, 5.0)
    best = order(chances, efforts)
    assert best == [1, 2, 0, 3]
    assert expected_cost(chances, efforts, best) == pytest.approx(8.45)
    assert expected_cost(chances, efforts, [0, 1, 2, 3]) == pytest.approx(11.45)
    assert min(expected_cost(chances, efforts, p) for p in permutations(range(4))) == pytest.approx(8.45)


@pytest.mark.outside
@pytest.mark.parametrize(("whole", "low", "high", "wanted", "printed", "tolerance", "source"), [
    (3, 4.7, 15, 10.33, (1.36, 1.64), 0.005, "ocl2022_t5"),
    (3, 4.7, 15, 10.06, (1.44, 1.56), 0.005, "ocl2022_t5"),
    (3, 4.7, 15, 9.71, (1.54, 1.46), 0.005, "ocl2022_t5"),
    (3, 4.7, 15, 9.33, (1.65, 1.35), 0.005, "ocl2022_t5"),
    (5, 4.7, 14.9, 12.0, (1.4, 3.6), 0.05, "lecture_2007"),
    (100, 4.3, 15.0, 13.93, (10, 90), 0.05, "pmc4137601_t2"),
])
def test_published_pairs(whole: float, low: float, high: float, wanted: float, printed: tuple[float, float], tolerance: float, source: str,
                         knowledge: Knowledge) -> None:
    """The low- and the high-HLB emulsifier as printed."""
    assert source in knowledge.sources
    assert pair_amounts(whole, low, high, wanted) == pytest.approx(printed, abs=tolerance)


def test_a_pair_on_the_scale_keeps_its_sum() -> None:
    found = pair_amounts(4.97, 4.7, 14.9, 12.0, 0.5)
    assert found is not None
    assert sum(found) == pytest.approx(5.0)
    assert pair_amounts(5, 4.7, 14.9, 16) is None


@pytest.mark.parametrize(("name", "wanted", "kind"), [("Beach sunscreen", "lotion", "sun-protection"), ("Baby balm", None, "eyes-and-babies"),
                                                      ("Cream", "something for my eczema", "medicine-claims"), ("Hand cream", "firm cream", None),
                                                      ("Sunflower lotion", "lotion", None)])
def test_claims_that_are_left_to_others(name: str, wanted: str | None, kind: str | None, knowledge: Knowledge) -> None:
    record = {"name": name, **({"wanted": wanted} if wanted else {}), "formula": {"unit": "percent", "lines": [
        {"name": "Aqua", "amount": 70}, {"name": "Olea Europaea Fruit Oil", "amount": 22}, {"name": "stearic acid", "amount": 8}]},
        "observed": [{"what": "oil layer on top", "when": "next day"}]}
    outcome = diagnose(record_batch(record), knowledge)
    assert referred(record_batch(record), knowledge) == ((kind,) if kind else ())
    assert bool(outcome.fixes) == (kind is None)
    if kind:
        assert knowledge.cautions[kind].says in outcome.cautions


@pytest.mark.parametrize(("complaint", "due"), [("it splits, and I sell it at the market stall", "for-sale"), ("split, and my eczema got worse", "medicine-claims"),
                                                ("split; a friend bought the oil", None)])
def test_cautions_told_by_the_words_of_a_record(complaint: str, due: str | None, knowledge: Knowledge) -> None:
    said = diagnose(record_batch({"format": 1, "complaint": complaint, "observed": [{"what": "separated"}]}), knowledge)
    assert said.fixes      # what is told by the way keeps no fix back
    assert {c.id for c in knowledge.cautions.values() if c.words and c.says in said.cautions} == ({due} if due else set())


def test_a_line_that_is_one_of_the_pair_stays_itself(knowledge: Knowledge) -> None:
    """The maker's `polysorbate 80` is lowered, not taken out and put in again under its INCI name."""
    batch = record_batch({"format": 1, "observed": [{"what": "oil layer on top", "when": "next day"}], "formula": {"unit": "percent", "complete": True, "lines": [
        {"name": "water", "amount": 75}, {"name": "sunflower oil", "amount": 22}, {"name": "polysorbate 80", "amount": 3}]}})
    pairs = [f for f in diagnose(batch, knowledge).fixes if any(c.ingredient == "Sorbitan Oleate" for c in f.changes)]
    assert pairs
    for fix in pairs:
        assert [c.ingredient.lower() for c in fix.changes].count("polysorbate 80") == 1


def test_what_is_new_goes_in_at_its_usual_level_at_least(outcomes: list[tuple[str, Batch, Outcome]], knowledge: Knowledge) -> None:
    solved = {c.target for card in knowledge.causes.values() for f in card.fixes for c in f.changes if c.do == "add" and c.level is None and c.target in knowledge.ingredients}
    seen = 0
    for _, _, outcome in outcomes:
        for fix in outcome.fixes:
            for change in fix.changes if fix.record is not None else ():
                item = knowledge.ingredients.get(change.ingredient)
                if change.ingredient in solved and not change.from_percent and item and item.level and change.to_percent is not None:
                    seen += 1
                    assert change.to_percent >= item.level.low - 0.01, (fix.id, change)
    assert seen >= 10


def test_a_fix_that_leaves_the_leading_cause_does_not_come_first(knowledge: Knowledge) -> None:
    """An acid gel of juice: fresh water alone does not make the carbomer swell, and salt keeps it thin."""
    batch = record_batch({"format": 1, "observed": [{"what": "it is all runny"}], "formula": {"unit": "percent", "complete": True, "lines": [
        {"name": "aloe vera juice", "amount": 97.6}, {"name": "carbomer", "amount": 0.5}, {"name": "magnesium sulfate", "amount": 0.9}, {"name": "phenoxyethanol", "amount": 1}]}})
    outcome = diagnose(batch, knowledge)
    leader = outcome.examination.leader
    assert leader is not None and leader.id in outcome.fixes[0].causes and outcome.fixes[0].proved
    after = {c.ingredient: c.to_percent for c in outcome.fixes[0].changes}
    assert after["magnesium sulfate"] == 0 and after["Sodium Hydroxide"] == pytest.approx(0.2)


def test_rivals_of_the_leading_cause_do_not_push_its_own_fixes_back(knowledge: Knowledge) -> None:
    """Too little wax for the oil; that a jar was mixed up or the scale was off would explain the same, and needs no cure beside it."""
    batch = record_batch({"format": 1, "wanted": "lotion", "formula": {"unit": "percent", "complete": True, "lines": [
        {"name": "water", "amount": 73}, {"name": "almond oil", "amount": 12}, {"name": "coconut oil", "amount": 5}, {"name": "cocoa butter", "amount": 4},
        {"name": "Cetearyl Alcohol (and) Polysorbate 60", "amount": 3}, {"name": "glycerin", "amount": 2}, {"name": "phenoxyethanol", "amount": 1}]},
        "observed": [{"what": "water at the bottom", "when": "days"}, {"what": "too thin", "when": "next day"}, {"what": "clear water weeps out of it", "when": "days"}]})
    outcome = diagnose(batch, knowledge)
    leader = outcome.examination.leader
    assert leader is not None and leader.id == "emulsifier-underdosed" and leader.id in outcome.fixes[0].causes


GEL = [("water", 94.4), ("glycerin", 2), ("phenoxyethanol", 1)]


@pytest.mark.parametrize(("alkali", "takes"), [(("Sodium Hydroxide", 0.6), 0.4), (("Triethanolamine", 1.6), 1.4), (("Sodium Hydroxide 18 %", 3.3), 2.2)])
def test_alkali_goes_with_the_carbomer_that_it_was_there_for(knowledge: Knowledge, alkali: tuple[str, float], takes: float) -> None:
    """Carbomer falls from 1.5 to 0.3 %; some 0.4 g of sodium hydroxide or 1.4 to 1.5 g of triethanolamine neutralise 1 g (makers' sheets: lubrizol_tds730; TEA by its molar mass)."""
    lines = [*GEL, ("carbomer", 1.5), alkali]
    batch = record_batch({"format": 1, "kind": "gel", "observed": [{"what": "it is far too thick"}], "formula": {"unit": "percent", "complete": True, "lines": [
        {"name": n, "amount": a + (100 - sum(x for _, x in lines) if n == "water" else 0)} for n, a in lines]}})
    outcome = diagnose(batch, knowledge)
    fix = next(f for f in outcome.fixes if any(c.ingredient == "carbomer" for c in f.changes))
    after = {c.ingredient: c.to_percent for c in fix.changes}
    assert fix.proved and after["carbomer"] == pytest.approx(0.3, abs=0.02)
    gone = alkali[1] - after[alkali[0]]
    assert gone <= takes * 1.2 * 1.5 and after[alkali[0]] <= takes * 0.3 * 1.5 + 0.05, "what is left over is no more than the smaller carbomer takes up"


def test_alkali_stays_where_its_acid_stays(knowledge: Knowledge) -> None:
    """A cream of soap that is too stiff loses wax; the alkali still has its stearic acid."""
    batch = record_batch({"format": 1, "wanted": "lotion", "observed": [{"what": "it is far too thick"}], "formula": {"unit": "percent", "complete": True, "lines": [
        {"name": "water", "amount": 66}, {"name": "stearic acid", "amount": 5}, {"name": "Triethanolamine", "amount": 1}, {"name": "almond oil", "amount": 15},
        {"name": "beeswax", "amount": 6}, {"name": "cetyl alcohol", "amount": 6}, {"name": "phenoxyethanol", "amount": 1}]}})
    for fix in diagnose(batch, knowledge).fixes:
        if not any(c.ingredient == "stearic acid" for c in fix.changes):
            assert not any(c.ingredient == "Triethanolamine" for c in fix.changes), fix.id


def test_no_fix_leaves_more_free_alkali_than_there_was(outcomes: list[tuple[str, Batch, Outcome]], knowledge: Knowledge) -> None:
    looked = 0
    for name, _, outcome in outcomes:
        was = outcome.examination.situation.measures.quantities.get("excess-alkali")
        for fix in outcome.fixes:
            now = fix.record and measure(fix.record, knowledge).quantities.get("excess-alkali")
            if now and fix.record and not any(c.to_percent is not None and c.to_percent > (c.from_percent or 0) and (i := knowledge.ingredients.get(c.ingredient)) and i.alkali for c in fix.changes):
                looked += 1
                assert now.value <= (was.value if was else 0.0) + 0.6, (name, fix.id)
    assert looked >= 10


@pytest.mark.parametrize(("lines", "verdict"), [
    ([("Aqua", 66.0), ("Helianthus Annuus Seed Oil", 30.0), ("Cetearyl Alcohol (and) Polysorbate 60", 3.0), ("Phenoxyethanol", 1.0)], "rescue"),
    ([("Aqua", 56.0), ("Zinc Oxide", 10.0), ("Helianthus Annuus Seed Oil", 30.0), ("Cetearyl Alcohol (and) Polysorbate 60", 3.0), ("Phenoxyethanol", 1.0)], "discard"),
    ([("Aqua", 58.0), ("Alcohol", 8.0), ("Helianthus Annuus Seed Oil", 30.0), ("Cetearyl Alcohol (and) Polysorbate 60", 3.0), ("Phenoxyethanol", 1.0)], "discard"),
    ([("Aqua", 61.0), ("Ascorbic Acid", 5.0), ("Helianthus Annuus Seed Oil", 30.0), ("Cetearyl Alcohol (and) Polysorbate 60", 3.0), ("Phenoxyethanol", 1.0)], "discard"),
])
def test_a_rescue_is_barred_by_what_the_batch_holds(lines: list[tuple[str, float]], verdict: str, knowledge: Knowledge) -> None:
    """Common practice: a sunscreen is not mended, and what holds alcohol or vitamin C is not heated again."""
    record = {"format": 1, "kind": "oil-in-water", "observed": [{"what": "oil and water came apart", "when": "next day"}],
              "formula": {"unit": "percent", "complete": True, "lines": [{"name": name, "amount": amount} for name, amount in lines]}}
    assert diagnose(record_batch(record), knowledge).fate.verdict == verdict


def test_what_is_used_though_it_should_protect_is_not_relied_on(knowledge: Knowledge) -> None:
    lines = [("Aqua", 50.0), ("Zinc Oxide", 15.0), ("Helianthus Annuus Seed Oil", 12.0), ("Cetearyl Alcohol (and) Polysorbate 60", 12.0), ("Cetyl Alcohol", 10.0), ("Phenoxyethanol", 1.0)]
    record = {"format": 1, "kind": "oil-in-water", "observed": [{"what": "much too thick", "when": "next day"}],
              "formula": {"unit": "percent", "complete": True, "lines": [{"name": name, "amount": amount} for name, amount in lines]}}
    fate = diagnose(record_batch(record), knowledge).fate
    assert fate.verdict == "use" and "sunscreen" in fate.because


def test_no_dosed_line_gives_the_balance(knowledge: Knowledge) -> None:
    """A sun filter or an oily active is no oil to spare, though no other oil is there."""
    record = {"format": 1, "formula": {"unit": "percent", "complete": True, "lines": [
        {"name": "Aqua", "amount": 80}, {"name": "Homosalate", "amount": 10}, {"name": "Bakuchiol", "amount": 4}, {"name": "Cetearyl Alcohol (and) Polysorbate 60", "amount": 6}]}}
    parts = portions(measure(record_batch(record), knowledge))
    assert parts is not None
    new = amended(parts, Change("add", "Cetyl Alcohol", balance="liquid-oil"), 3.0, knowledge)
    assert new is not None
    assert {p.line.name: p.percent for p in new} == {"Aqua": 77, "Homosalate": 10, "Bakuchiol": 4, "Cetearyl Alcohol (and) Polysorbate 60": 6, "Cetyl Alcohol": 3}


@pytest.mark.parametrize(("ph", "seen", "verdict"), [(9.6, "it separated", "unsure"), (None, "it separated", "unsure"), (7.5, "it separated", "discard"), (9.2, "mould on the surface", "discard")])
def test_an_unpreserved_soap_is_not_thrown_out_for_its_age_alone(ph: float | None, seen: str, verdict: str, knowledge: Knowledge) -> None:
    batch = record_batch({"kind": "surfactant", **({"measured": {"ph": ph}} if ph else {}), "observed": [{"what": seen, "when": "days"}], "formula": {"unit": "percent", "complete": True, "lines": [
        {"name": "Aqua", "amount": 71}, {"name": "Olea Europaea Fruit Oil", "amount": 16}, {"name": "Cocos Nucifera Oil", "amount": 8}, {"name": "Potassium Hydroxide", "amount": 5}]}})
    found = diagnose(batch, knowledge).fate
    assert found.verdict == verdict, found


def test_no_fix_takes_an_emulsifier_below_its_usual_least(knowledge: Knowledge) -> None:
    amounts = {"Aqua": 81, "Emulsifying wax": 6, "Stearic Acid": 3, "Cetyl Alcohol": 2, "Sweet almond oil": 4, "Glycerin": 3, "Phenoxyethanol": 1}
    lines = [{"name": name, "amount": amount} for name, amount in amounts.items()]
    record = {"format": 1, "kind": "oil-in-water", "complaint": "the lotion is draggy and waxy", "formula": {"unit": "percent", "lines": lines}}
    left = [c.to_percent for f in diagnose(record_batch(record), knowledge).fixes for c in f.changes if c.ingredient == "Emulsifying wax"]
    assert left and all(percent is None or percent >= 3 - 1e-6 for percent in left)


def test_a_fix_of_what_explains_nothing_seen_comes_behind_one_that_does(knowledge: Knowledge) -> None:
    amounts = {"Aqua": 80.5, "Emulsifying wax": 6, "Cetyl Alcohol": 2, "Stearic Acid": 3, "Sweet almond oil": 4, "Glycerin": 3, "Xanthan Gum": 0.5, "Phenoxyethanol": 1}
    lines = [{"name": name, "amount": amount} for name, amount in amounts.items()]
    told = diagnose(record_batch({"format": 1, "kind": "oil-in-water", "complaint": "the lotion feels sticky", "formula": {"unit": "percent", "lines": lines}}), knowledge)
    explains = {r.id for r in told.examination.ranked if r.explains}
    assert set(told.fixes[0].causes) & explains and any(not set(f.causes) & explains for f in told.fixes)


def test_a_cause_that_is_only_possible_gets_no_fix_for_what_is_not_in_the_batch(knowledge: Knowledge) -> None:
    names = ("olive oil", "coconut oil", "potassium hydroxide", "water", "zorbleroot")
    outcome = diagnose(record_batch({"format": 1, "observed": ["it went cloudy"], "formula": {"lines": [{"name": n} for n in names]}}), knowledge)
    assert outcome.examination.leader is not None and outcome.examination.leader.standing not in (SETTLED, LIKELY)
    told = " ".join((*(f.title for f in outcome.fixes), *(s for f in outcome.fixes for s in f.steps)))
    assert outcome.fixes and "polymer" not in told and "1 g of carbomer" not in told


def test_an_unknown_line_is_no_ground_for_a_fix_of_what_it_might_be(knowledge: Knowledge) -> None:
    lines = [{"name": n} for n in ("water", "sweet almond oil", "shea butter", "olive wax stuff")]
    outcome = diagnose(record_batch({"format": 1, "observed": ["oil on top"], "answers": {"ready-made-mixed": "yes"}, "formula": {"complete": False, "lines": lines}}), knowledge)
    assert outcome.examination.leader is not None and outcome.examination.leader.standing == LIKELY
    assert outcome.fixes and not any("chitosan" in f.title or "wash" in f.title for f in outcome.fixes)


def test_waiting_is_not_tried_in_a_small_jar(knowledge: Knowledge) -> None:
    lines = [{"name": n, "amount": a} for n, a in (("Water", 80), ("Behentrimonium Methosulfate (and) Cetearyl Alcohol", 6), ("Cetyl Alcohol", 6), ("Sunflower oil", 7), ("Phenoxyethanol", 1))]
    blocks = rest(diagnose(record_batch({"format": 1, "observed": ["it is too thin"], "answers": {"judged-when": "warm"}, "formula": {"lines": lines}}), knowledge), knowledge)
    waits = [b for b in blocks if b.heading.startswith("Fix") and "cool for a day" in b.heading]
    assert waits and all("small jar" not in line for b in waits for line in b.lines)
