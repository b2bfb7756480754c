"""Side by side timings and memory, printed as ratios: python tests/bench/measure.py   (not part of the test run)

Start-up against the bare imports; a warm diagnosis; the choice of a question, also with every cause of the rules live at once; engine
against matcher; a folder of cases in one process; peak memory.  All beside the same with five times the cards (copies under other ids).
"""

from __future__ import annotations

import subprocess
import sys
import time
import tracemalloc
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent.parent))

from advisor.batch.model import Batch
from advisor.batch.reading import read_batch
from advisor.certainty import certainty
from advisor.consultation import RuleBase
from advisor.diagnosis import POSSIBLE, Examination, examine, rank
from advisor.knowledge.load import Knowledge, load_knowledge
from advisor.outcome import diagnose
from advisor.questions import Field, askable, gain, open_questions
from advisor.situation import assess

ROOT = Path(__file__).parent.parent.parent
CASES = sorted((ROOT / "cases").glob("*.yaml"))


def best(run: Callable[[], object], times: int = 7) -> float:
    """The least of several timings, in milliseconds."""
    found = []
    for _ in range(times):
        start = time.perf_counter()
        run()
        found.append(time.perf_counter() - start)
    return 1000 * min(found)


def peak(run: Callable[[], object]) -> float:
    """The most that Python holds at once while it runs, in MB."""
    tracemalloc.start()
    run()
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return most / 1e6


def command(*args: str) -> Callable[[], object]:
    return lambda: subprocess.run([sys.executable, *args], cwd=ROOT, capture_output=True, check=True)


def resident(code: str) -> float:
    """The most memory that a process of its own takes for this code, in MB (as Linux counts it)."""
    told = "import atexit\natexit.register(lambda: print(open('/proc/self/status').read()))\n"
    done = subprocess.run([sys.executable, "-c", told + code], cwd=ROOT, capture_output=True, text=True, check=True)
    return int(done.stdout.rpartition("VmHWM:")[2].split()[0]) / 1024


def five_times(knowledge: Knowledge) -> Knowledge:
    """The same knowledge with every cause card there five times, under ids of its own."""
    causes = dict(knowledge.causes)
    for copy in range(1, 5):
        for key, cause in knowledge.causes.items():
            causes[f"{key}-{copy}"] = cause._replace(id=f"{key}-{copy}")
    return replace(knowledge, causes=causes, index={})


def all_live(batch: Batch, knowledge: Knowledge) -> Examination:
    """Only the formula is known, and every cause of the rules is as possible as every other."""
    found = examine(Batch(formula=batch.formula), knowledge)
    return found._replace(ranked=tuple(r._replace(log_odds=0.0, certainty=certainty(0.0), standing=POSSIBLE) for r in found.ranked))


def worths(examination: Examination, knowledge: Knowledge) -> list[float]:
    """The worth of every open question over all causes at once, where the program itself stops at the first ten."""
    live = Field(list(examination.ranked))
    return [gain(q, live, examination, knowledge) for q in knowledge.questions.values() if askable(q, examination, knowledge)]


def rows(knowledge: Knowledge) -> Iterator[tuple[str, float, str]]:
    """What is measured, how much, and its unit."""
    batch = read_batch(CASES[0])
    yield "rules compiled, memory", peak(lambda: knowledge.index.__setitem__("rule base", RuleBase(knowledge))), "MB"
    engine, matcher = knowledge.index["rule base"], RuleBase(knowledge, plain=True)
    situation, examination, level = assess(batch, knowledge), examine(batch, knowledge), all_live(batch, knowledge)
    asked = len(worths(level, knowledge))
    yield "causes", len(knowledge.causes), ""
    yield "clauses", sum(len(rules) for under in engine.table.rows for _, rules in under), ""
    yield "one examination", best(lambda: examine(batch, knowledge)), "ms"
    yield "one diagnosis with fixes", best(lambda: diagnose(batch, knowledge)), "ms"
    yield "rules by the engine", best(lambda: engine.consult(situation)), "ms"
    yield "rules by the matcher", best(lambda: matcher.consult(situation)), "ms"
    yield "ranking", best(lambda: rank(situation, examination.consultation, knowledge)), "ms"
    yield "the cases of the folder", best(lambda: [examine(read_batch(p), knowledge) for p in CASES]), "ms"
    yield "next question", best(lambda: open_questions(examination, knowledge)), "ms"
    yield f"next of {asked} questions, all causes even", best(lambda: open_questions(level, knowledge)), "ms"
    yield f"{asked} questions over all causes at once", best(lambda: worths(level, knowledge)), "ms"
    yield "  its memory", peak(lambda: worths(level, knowledge)), "MB"
    yield "one diagnosis with fixes, memory", peak(lambda: diagnose(batch, knowledge)), "MB"


def main() -> None:
    imports = "import click, rich.console, yaml"
    bare = best(command("-c", imports))
    print(f"bare imports                 {bare:7.1f} ms")
    for title, args in (("advisor --help", ["-m", "advisor", "--help"]), ("advisor diagnose --json", ["-m", "advisor", "diagnose", str(CASES[0]), "--json"])):
        taken = best(command(*args))
        print(f"{title:28} {taken:7.1f} ms   {taken / bare:4.2f} times the bare imports")
    if Path("/proc/self/status").exists():
        least, most = resident(imports), resident(f"from advisor.cli import main\nmain(['diagnose', {str(CASES[0])!r}, '--json'])")
        print(f"memory of the latter         {most:7.1f} MB   {most / least:4.2f} times the bare imports")
    once = load_knowledge()
    print(f"\n{'':40} {'today':>9} {'five times the cards':>24} {'times':>8}")
    for (title, now, unit), (_, then, _) in zip(rows(once), rows(five_times(once)), strict=True):
        print(f"{title:40} {now:9.2f} {then:21.2f} {unit:2} {then / now:8.2f}")


if __name__ == "__main__":
    main()
