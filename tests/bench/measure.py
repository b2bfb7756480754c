"""Side by side timings, printed as ratios: python tests/bench/measure.py   (not part of the test run)

Start-up against the bare imports; a warm diagnosis; the choice of a question; engine against matcher; a folder of cases in
one process; each also with five times the cards (copies under other ids); peak memory.
"""

from __future__ import annotations

import subprocess
import sys
import time
import tracemalloc
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent.parent))

from advisor.batch.reading import read_batch
from advisor.consultation import RuleBase
from advisor.diagnosis import examine, rank
from advisor.knowledge.load import Knowledge, load_knowledge
from advisor.outcome import diagnose
from advisor.questions import open_questions
from advisor.situation import assess

ROOT = Path(__file__).parent.parent.parent
CASES = sorted((ROOT / "cases").glob("*.yaml"))


def best(run: Callable[[], object], times: int = 7) -> float:
    """The least of several timings, in seconds."""
    found = []
    for _ in range(times):
        start = time.perf_counter()
        run()
        found.append(time.perf_counter() - start)
    return min(found)


def command(*args: str) -> Callable[[], object]:
    return lambda: subprocess.run([sys.executable, *args], cwd=ROOT, capture_output=True, check=True)


def five_times(knowledge: Knowledge) -> Knowledge:
    """The same knowledge with every cause card there five times, under ids of its own."""
    causes = dict(knowledge.causes)
    for copy in range(1, 5):
        for key, cause in knowledge.causes.items():
            causes[f"{key}-{copy}"] = replace(cause, id=f"{key}-{copy}")
    return replace(knowledge, causes=causes, index={})


def main() -> None:
    bare = best(command("-c", "import click, rich.console, yaml"))
    print(f"bare imports                 {bare * 1000:7.1f} ms")
    for title, args in (("advisor --help", ["-m", "advisor", "--help"]), ("advisor diagnose --json", ["-m", "advisor", "diagnose", str(CASES[0]), "--json"])):
        taken = best(command(*args))
        print(f"{title:28} {taken * 1000:7.1f} ms   {taken / bare:4.2f} times the bare imports")
    once = load_knowledge()
    for title, knowledge in (("today's cards", once), ("five times the cards", five_times(once))):
        batch = read_batch(CASES[0])
        tracemalloc.start()
        fast, plain = RuleBase(knowledge), RuleBase(knowledge, plain=True)
        knowledge.index["rule base"] = fast
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        situation = assess(batch, knowledge)
        examination = examine(batch, knowledge)
        rows = {
            "one examination": best(lambda k=knowledge, b=batch: examine(b, k)),
            "one diagnosis with fixes": best(lambda k=knowledge, b=batch: diagnose(b, k)),
            "next question": best(lambda k=knowledge, e=examination: open_questions(e, k)),
            "rules by the engine": best(lambda r=fast, s=situation: r.consult(s)),
            "rules by the matcher": best(lambda r=plain, s=situation: r.consult(s)),
            "ranking": best(lambda k=knowledge, s=situation, c=examination.consultation: rank(s, c, k)),
            "the cases of the folder": best(lambda k=knowledge: [examine(read_batch(p), k) for p in CASES]),
        }
        print(f"\n{title}: {len(knowledge.causes)} causes, {len(fast.clauses)} clauses, compiled in {peak / 1e6:.1f} MB")
        for name, taken in rows.items():
            print(f"  {name:26} {taken * 1000:7.2f} ms")


if __name__ == "__main__":
    main()
