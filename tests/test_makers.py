"""A few interviews with made-up makers; `python -m tests.makers.play 400 11` plays many."""

from __future__ import annotations

import pytest

from advisor.interview import Interview
from advisor.knowledge.load import Knowledge
from advisor.situation import assess
from tests.makers.play import TABLE, Played, advice, play, summary


@pytest.fixture(scope="module")
def played(knowledge: Knowledge) -> list[Played]:
    return play(60, 3, knowledge)


def test_few_questions_lead_to_the_advice_of_all_answers(played: list[Played]) -> None:
    found = summary(played)
    assert found["median"] <= 7 and found["nine_in_ten"] <= 12, found
    # The aim is 0.9; with the rules as they are 0.84 to 0.88 is reached on 300 makers, and sixty of them scatter by 0.05.
    assert found["advice_of_all_answers"] >= 0.75, found


def test_nothing_is_asked_twice_and_nothing_that_was_told(played: list[Played], knowledge: Knowledge) -> None:
    for p in played:
        assert len(set(p.asked)) == len(p.asked)
        assert not set(p.asked) & set(assess(p.maker.batch, knowledge).answers)


def test_it_stops_where_nothing_would_change(played: list[Played], knowledge: Knowledge) -> None:
    ended = [p for p in played if len(p.asked) < 12]
    assert len(ended) > len(played) / 2
    for p in ended[:10]:
        state = Interview(knowledge, p.got.examination.situation.batch)
        assert advice(state.outcome())[0] == advice(p.got)[0]


def test_the_table_names_what_there_is(knowledge: Knowledge) -> None:
    for name, row in {"usual": {"answers": TABLE["usual"]}, **TABLE["causes"]}.items():
        assert name == "usual" or (name in knowledge.causes and row["sees"])
        for key, spread in row.get("answers", {}).items():
            question = knowledge.questions[key]
            if isinstance(spread, dict):
                assert {str(c).partition(":")[0] for c in spread} <= {c.id for c in question.choices}, (name, key)
