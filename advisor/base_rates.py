"""How often a cause was the answer where published accounts told of the same kind of trouble, or in the same words, as a shift of its prior."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Collection, Iterator, Mapping
from typing import NamedTuple

from advisor.batch.model import Batch
from advisor.knowledge.load import Knowledge
from advisor.knowledge.records import BaseRates, Cause
from advisor.phrases import stem, words

_FLOOR = 0.5       # half an account for a cause that none told of (Jeffreys), so that nothing is impossible


class Accounts(NamedTuple):
    """How many published accounts told of a cause (or of the one it is part of), and how many there are of such trouble."""

    of_it: float
    all: float


def shift(cause: Cause, families: Collection[str], knowledge: Knowledge) -> float:
    """What accounts of these families of trouble add to the log-odds of a cause; 0 where no trouble was seen.

    The mean share of the cause over the families, against an even share, as a natural logarithm times the weight said in the file.
    A cause and the finer ones that are part of it share what was told of it.  A family with few accounts is drawn towards all accounts.
    """
    if not families or not knowledge.base_rates.counts:
        return 0.0
    tables: dict[str, Mapping[str, float]] | None = knowledge.index.get("base rates")
    if tables is None:
        tables = knowledge.index["base rates"] = _tables(knowledge.base_rates, Counter(c.part_of or c.id for c in knowledge.causes.values()))
    key = cause.part_of or cause.id
    share = math.fsum(tables.get(f, tables[""])[key] for f in families) / len(families)
    return knowledge.base_rates.weight * math.log(share * len(knowledge.causes))


def told(cause: Cause, families: Collection[str], knowledge: Knowledge) -> Accounts:
    """The accounts of these families of trouble."""
    counts = [knowledge.base_rates.counts.get(f, {}) for f in families]
    return Accounts(math.fsum(c.get(cause.part_of or cause.id, 0.0) for c in counts), math.fsum(n for c in counts for n in c.values()))


def words_told(batch: Batch, knowledge: Knowledge) -> dict[str, str]:
    """The words of a record that are counted in accounts, by their stems; names of ingredients are not among them."""
    counted = knowledge.base_rates.words.counts
    return {s: word for text in told_texts(batch) for word in words(text) if (s := stem(word)) in counted}


def told_texts(batch: Batch) -> Iterator[str]:
    """What a record tells in words: what was wanted and seen, how it was made and kept, what was tried and changed."""
    yield from filter(None, (batch.complaint, batch.wanted, batch.kind, batch.notes, batch.water, *batch.changed))
    for seen in batch.observed:
        yield from filter(None, seen)
    yield from (item.what for item in batch.tried)
    yield from (text for part in (batch.process, batch.storage) for text in part.values() if isinstance(text, str))


def leaning(told: Collection[str], knowledge: Knowledge) -> Mapping[str, float]:
    """What the words told (stems) put to the log-odds of each cause, by its id, when causes of the same standing are ordered; they make none surer.

    The sum over the words of how much oftener the accounts that use the word came to the cause than all accounts did, as natural
    logarithms, times the weight said in the file; never less than 0, as a word that its accounts lack says little.  (Naive Bayes with the
    Poisson rates drawn towards no difference; less than its full weight, as words depend on each other.)  A cause and those that are part
    of it share it.
    """
    key = tuple(told)
    last: tuple[tuple[str, ...], Mapping[str, float]] | None = knowledge.index.get("leaning")
    if last is None or last[0] != key:
        every = dict.fromkeys(_shares(knowledge), 1.0)
        for word in key:
            for cause, ratio in _oftener(word, knowledge).items():
                every[cause] *= ratio
        last = knowledge.index["leaning"] = key, {cause: max(0.0, knowledge.base_rates.words.weight * math.log(ratio)) for cause, ratio in every.items()}
    return last[1]


def telling(cause: Cause, told: Collection[str], knowledge: Knowledge) -> dict[str, Accounts]:
    """Of the words told, those whose accounts came to a cause oftener than all accounts did, the most telling first."""
    counts, key = knowledge.base_rates.words.counts, cause.part_of or cause.id
    ratios = {word: _oftener(word, knowledge)[key] for word in told}
    return {w: Accounts(counts[w].get(key, 0), sum(counts[w].values())) for w in sorted(told, key=lambda w: (-ratios[w], w)) if ratios[w] > 1}


def _oftener(word: str, knowledge: Knowledge) -> dict[str, float]:
    """How many times as often as all accounts those that use a word came to each cause, with the pull added to both."""
    counts, pull = knowledge.base_rates.words.counts[word], knowledge.base_rates.words.pull
    whole = sum(counts.values())
    return {cause: (counts.get(cause, 0) + pull) / (whole * share + pull) for cause, share in _shares(knowledge).items()}


def _shares(knowledge: Knowledge) -> Mapping[str, float]:
    """The share of each cause among all accounts."""
    shares: Mapping[str, float] | None = knowledge.index.get("shares")
    if shares is None:
        of_each = {c.part_of or c.id: _FLOOR for c in knowledge.causes.values()}
        for counts in knowledge.base_rates.counts.values():
            for cause, n in counts.items():
                if cause in of_each:
                    of_each[cause] += n
        whole = math.fsum(of_each.values())
        shares = knowledge.index["shares"] = {cause: n / whole for cause, n in of_each.items()}
    return shares


def _tables(rates: BaseRates, causes: Mapping[str, int]) -> dict[str, Mapping[str, float]]:
    """The share of one card of each cause (id: how many cards it has) by family of trouble, and under "" of all accounts."""
    every = {c: _FLOOR + math.fsum(counts.get(c, 0.0) for counts in rates.counts.values()) for c in causes}
    whole = math.fsum(every.values())
    tables: dict[str, Mapping[str, float]] = {"": {c: every[c] / whole / cards for c, cards in causes.items()}}
    for family, counts in rates.counts.items():
        heard = math.fsum(counts.get(c, 0.0) for c in causes) + rates.pull
        tables[family] = {c: (counts.get(c, 0.0) / cards + rates.pull * tables[""][c]) / heard for c, cards in causes.items()}
    return tables
