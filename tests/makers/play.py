"""Interviews with made-up makers: python -m tests.makers.play [HOW_MANY] [SEED] prints how many questions they took and what came out.

A hidden cause (one time in five, two); the maker types what such a person sees and the formula; answers are drawn from makers.yaml,
a fifth of them not sure and one in twenty wrong.
"""

from __future__ import annotations

import random
import statistics
import sys
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from advisor.batch.model import Batch, Seen
from advisor.batch.pasted import read_pasted
from advisor.interview import DOUBT, QUESTION, Ask, Interview
from advisor.knowledge.load import Knowledge, load_knowledge
from advisor.knowledge.records import Question
from advisor.outcome import Outcome

TABLE = yaml.safe_load((Path(__file__).parent / "makers.yaml").read_text(encoding="utf-8"))
UNSURE, WRONG, TWO = 0.20, 0.05, 0.20


@dataclass
class Maker:
    """One person: the hidden causes, the record they start from, and what is true of everything that may be asked."""

    causes: tuple[str, ...]
    batch: Batch
    truth: dict[str, Any]

    seed: int = 0

    def reply(self, question: Question, honest: bool) -> tuple[Any, bool | None]:
        """The same each time it is asked; `honest` is never unsure and never wrong."""
        rng = random.Random(f"{self.seed} {question.id}")
        true = self.truth.get(question.id)
        if true is None or (not honest and rng.random() < UNSURE):
            return "not-sure", None
        if isinstance(true, float):
            return (true if honest or rng.random() > WRONG else round(rng.uniform(20, 80), 1)), None
        if not honest and rng.random() < WRONG:
            true = rng.choice([c.id for c in question.choices if c.id != true] or [true])
        choice, _, helped = true.partition(":")
        return choice, {"helped": True, "no-change": False}.get(helped, False if question.reads == "tried" and choice != "nothing" else None)


@dataclass(frozen=True)
class Played:
    """One interview: the questions asked, what came out, what had come out if the maker had answered everything, and if also truly."""

    maker: Maker
    asked: tuple[str, ...]
    got: Outcome
    full: Outcome
    true: Outcome

    @property
    def same(self) -> bool:
        return advice(self.got)[0] == advice(self.full)[0]

    @property
    def right(self) -> bool:
        return advice(self.got)[0] in self.maker.causes


def advice(outcome: Outcome) -> tuple[str, str, str]:
    """The cause that the advice is for, the verdict on the batch and the first fix."""
    first = outcome.examination.ranked[0]
    return first.cause.part_of or first.id, outcome.fate.verdict, outcome.fixes[0].id if outcome.fixes else ""


def draw(rng: random.Random) -> Maker:
    """A maker whose batch failed for one reason, or one time in five for two (the second from the process)."""
    names = sorted(TABLE["causes"])
    first = rng.choice(names)
    causes = [first]
    if rng.random() < TWO:
        causes.append(rng.choice([n for n in names if n != first and "formula" not in TABLE["causes"][n]]))
    odds = dict(TABLE["usual"])
    observed = []
    for name in reversed(causes):
        odds |= TABLE["causes"][name].get("answers", {})
    for name in causes:
        observed.append(Seen(rng.choice(TABLE["causes"][name]["sees"])))
    truth: dict[str, Any] = {}
    for key, spread in odds.items():
        if isinstance(spread, list):
            truth[key] = round(rng.uniform(*spread), 1)
        else:
            truth[key] = rng.choices(list(spread), list(spread.values()))[0]
    text = next((TABLE["causes"][c]["formula"] for c in causes if "formula" in TABLE["causes"][c]), TABLE["sound"])
    batch = read_pasted(text, "maker")._replace(name=" + ".join(causes), observed=tuple(observed))
    return Maker(tuple(causes), batch, truth, rng.getrandbits(40))


def talk(maker: Maker, knowledge: Knowledge) -> tuple[list[str], Interview]:
    """The interview to its end."""
    state = Interview(knowledge, maker.batch)
    asked: list[str] = []
    while (ask := state.next()) is not None:
        if ask.kind == QUESTION and ask.question is not None:
            asked.append(ask.question.id)
            said, helped = maker.reply(ask.question, False)
            state.answer(ask, said, helped)
        elif ask.kind == DOUBT and ask.doubt is not None:
            state.answer(ask, ask.doubt.choices[0][0])
        else:
            state.skip(ask)
    return asked, state


def told_all(maker: Maker, knowledge: Knowledge, honest: bool) -> Outcome:
    """The outcome with every question asked; `honest`: and answered truly."""
    state = Interview(knowledge, maker.batch)
    for question in knowledge.questions.values():
        said, helped = maker.reply(question, honest)
        if said != "not-sure" and not (question.reads == "history.changed" and maker.truth.get("worked-before") == "no"):
            state.answer(Ask(QUESTION, "", "", question), said, helped)
    return state.outcome()


def play(count: int, seed: int, knowledge: Knowledge) -> list[Played]:
    rng = random.Random(seed)
    out = []
    for _ in range(count):
        maker = draw(rng)
        asked, state = talk(maker, knowledge)
        out.append(Played(maker, tuple(asked), state.outcome(), told_all(maker, knowledge, False), told_all(maker, knowledge, True)))
    return out


def summary(played: list[Played]) -> dict[str, float]:
    counts = sorted(len(p.asked) for p in played)
    return {"makers": len(played), "median": statistics.median(counts), "nine_in_ten": counts[int(0.9 * (len(counts) - 1))], "most": counts[-1],
            "advice_of_all_answers": _share(p.same for p in played), "advice_of_all_true_answers": _share(advice(p.got)[0] == advice(p.true)[0] for p in played),
            "of_one_cause": _share(p.same for p in played if len(p.maker.causes) == 1),
            "in_the_fix_list": _share(p.same or p.full.examination.ranked[0].id in {c for f in p.got.fixes for c in f.causes} for p in played),
            "all_answers_give_that_of_all_true_answers": _share(advice(p.full)[0] == advice(p.true)[0] for p in played),
            "right": _share(p.right for p in played), "right_with_all_answers": _share(advice(p.full)[0] in p.maker.causes for p in played),
            "right_with_all_true_answers": _share(advice(p.true)[0] in p.maker.causes for p in played)}


def _share(found: Iterable[bool]) -> float:
    kept = list(found)
    return sum(kept) / len(kept)


if __name__ == "__main__":
    results = play(int(sys.argv[1]) if len(sys.argv) > 1 else 300, int(sys.argv[2]) if len(sys.argv) > 2 else 1, load_knowledge())
    for key, value in summary(results).items():
        print(f"{key}: {value:.3g}")
    print("asked:", Counter(q for p in results for q in p.asked).most_common())
    print("not the advice of full information:", Counter((advice(p.full)[0], advice(p.got)[0]) for p in results if not p.same).most_common(12))
    print("wrong with everything told:", Counter((p.maker.causes[0], advice(p.true)[0]) for p in results if advice(p.true)[0] not in p.maker.causes).most_common(15))
