"""Counts anew how often published accounts told of each cause, by family of trouble, and writes it: python -m tests.bench.base_rates"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from pathlib import Path

import yaml

from advisor.batch.model import Batch
from advisor.knowledge.load import Knowledge, load_knowledge
from advisor.scoring import labelled
from advisor.situation import assess

ACCOUNTS = Path(__file__).parent.parent / "accounts"
FILE = Path(__file__).parent.parent.parent / "rules" / "base-rates.yaml"
UNHEARD = "unheard"


def counted(batches: Iterable[Batch], knowledge: Knowledge) -> dict[str, dict[str, float]]:
    """Accounts of each cause by family; an account of several families counts in each by its part, to a tenth."""
    found: dict[str, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    for batch in batches:
        known = batch.known or {}
        if known.get("stable") or known.get("cause", "other") == "other":
            continue
        families = {knowledge.symptoms[s.symptom].family for s in assess(batch, knowledge).complaints} or {UNHEARD}
        for family in families:
            found[family][known["cause"]] += 1 / len(families)
    return {f: {c: round(n, 1) for c, n in sorted(counts.items(), key=lambda x: (-x[1], x[0]))} for f, counts in sorted(found.items())}


def text(file: Path, counts: dict[str, dict[str, float]]) -> str:
    """The file with these counts in the place of its own."""
    head = file.read_text(encoding="utf-8").split("\ncounts:")[0]
    return head + "\ncounts:\n" + "".join(f"  {f}: {yaml.safe_dump(c, default_flow_style=True, sort_keys=False, width=150).strip()}\n".replace("\n   ", "\n     ") for f, c in counts.items())


if __name__ == "__main__":
    rules = load_knowledge()
    FILE.write_text(text(FILE, counted((b for _, b in labelled(ACCOUNTS)), rules)), encoding="utf-8")
