"""Counts anew how often published accounts told of each cause, by family of trouble and by word, and writes it: python -m tests.bench.base_rates"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from pathlib import Path

import yaml

from advisor.base_rates import told_texts
from advisor.batch.model import Batch
from advisor.knowledge.load import Knowledge, load_knowledge
from advisor.phrases import stem, tokens
from advisor.scoring import labelled
from advisor.situation import assess

ACCOUNTS = Path(__file__).parent.parent / "accounts"
FILE = Path(__file__).parent.parent.parent / "rules" / "base-rates.yaml"
UNHEARD = "unheard"
KEPT = 300              # words kept: those that tell causes apart best
FEWEST, MOST = 4, 0.6   # accounts that must use a word, and the share of all above which it tells nothing


def counted(batches: Iterable[Batch], knowledge: Knowledge) -> dict[str, dict[str, float]]:
    """Accounts of each cause by family; an account of several families counts in each by its part, to a tenth."""
    found: dict[str, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    for batch, cause in _faults(batches):
        families = {knowledge.symptoms[s.symptom].family for s in assess(batch, knowledge).complaints} or {UNHEARD}
        for family in families:
            found[family][cause] += 1 / len(families)
    return {f: {c: round(n, 1) for c, n in sorted(counts.items(), key=lambda x: (-x[1], x[0]))} for f, counts in sorted(found.items())}


def words_counted(batches: Iterable[Batch]) -> dict[str, dict[str, int]]:
    """Accounts of each cause by the words they use, as stems; of the words those that tell causes apart beyond what chance does."""
    faults = list(_faults(batches))
    whole = Counter(cause for _, cause in faults)
    found: dict[str, Counter[str]] = defaultdict(Counter)
    little = {stem(w) for w in yaml.safe_load(FILE.read_text(encoding="utf-8"))["words"]["little"]}
    for batch, cause in faults:
        for word in account_words(batch) - little:
            found[word][cause] += 1
    shares = {c: (n + 0.5) / (len(faults) + 0.5 * len(whole)) for c, n in whole.items()}
    often = {w: counts for w, counts in found.items() if FEWEST <= counts.total() <= MOST * len(faults)}
    best = sorted(often, key=lambda w: (-_beyond_chance(often[w], shares), w))[:KEPT]
    return {w: dict(sorted(found[w].items(), key=lambda x: (-x[1], x[0]))) for w in sorted(best)}


def account_words(batch: Batch) -> set[str]:
    """The words of one account that can be counted."""
    return {w for text in told_texts(batch) for w in tokens(text) if len(w) > 2 and not w.isdigit()}


def _beyond_chance(counts: Counter[str], shares: Mapping[str, float]) -> float:
    """The likelihood ratio of a word's causes against those of all accounts, less about what it would be by chance."""
    n = counts.total()
    return 2 * math.fsum(k * math.log(k / (n * shares[c])) for c, k in counts.items()) - min(len(shares), n)


def _faults(batches: Iterable[Batch]) -> Iterable[tuple[Batch, str]]:
    for batch in batches:
        known = batch.known or {}
        if not known.get("stable") and known.get("cause", "other") != "other":
            yield batch, known["cause"]


def text(file: Path, counts: dict[str, dict[str, float]], words: dict[str, dict[str, int]]) -> str:
    """The file with these counts in the place of its own."""
    head, _, rest = file.read_text(encoding="utf-8").partition("\ncounts:\n")
    between = rest[rest.index("words:\n"):].split("  counts:\n")[0]
    return f"{head}\ncounts:\n{_lines(counts, '  ')}{between}  counts:\n{_lines(words, '    ')}"


def _lines(counts: Mapping[str, Mapping[str, float]], indent: str) -> str:
    flow = (f"{_key(f)}: {yaml.safe_dump(dict(c), default_flow_style=True, sort_keys=False, width=150).strip()}" for f, c in counts.items())
    return "".join(f"{indent}{line}\n".replace("\n  ", f"\n{indent}  ") for line in flow)


def _key(word: str) -> str:
    return yaml.safe_dump({word: 0}, default_flow_style=False).split(": ")[0]      # quoted where YAML would read something else


if __name__ == "__main__":
    rules = load_knowledge()
    accounts = [b for _, b in labelled(ACCOUNTS)]
    FILE.write_text(text(FILE, counted(accounts, rules), words_counted(accounts)), encoding="utf-8")
