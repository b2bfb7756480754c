"""Writes the README's sessions and its table of outside checks anew from the program itself: python tests/session.py"""

from __future__ import annotations

import ast
import re
import shlex
import subprocess
import sys
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).parent.parent
TABLE = re.compile(r"(<!-- outside checks -->\n)(.*?)(<!-- end of outside checks -->)", re.S)
MARK = re.compile(r"(<!-- session: advisor (.*?) -->\n```text\n)(.*?)(```\n<!-- end of session -->)", re.S)


def refreshed(text: str) -> str:
    """The README with every session run again."""

    def run(found: re.Match[str]) -> str:
        command = shlex.split(found[2])
        done = subprocess.run([sys.executable, "-m", "advisor", *command], capture_output=True, text=True, cwd=ROOT, check=True)
        return f"{found[1]}$ advisor {found[2]}\n{done.stdout.rstrip()}\n{found[4]}"

    return TABLE.sub(lambda m: f"{m[1]}{outside_table()}{m[3]}", MARK.sub(run, text))


def outside_table() -> str:
    """How many checks against sources outside the project each test module holds, as pytest counts them."""
    done = subprocess.run([sys.executable, "-m", "pytest", "--collect-only", "-o", "addopts=", "-q", "-m", "outside", "-p", "no:cacheprovider"], capture_output=True, text=True, cwd=ROOT, check=True)
    found = Counter(line.partition("::")[0] for line in done.stdout.splitlines() if "::" in line)
    rows = []
    for name, count in sorted(found.items()):
        told = (ast.get_docstring(ast.parse((ROOT / name).read_text(encoding="utf-8"))) or "").partition("\n")[0]
        rows.append(f"| {told.rstrip('.')} | {count} | `{name}` |")
    return "\n".join(["| held against sources outside the project | checks | where |", "|---|---|---|", *rows, f"| all | {sum(found.values())} | `pytest -m outside` |", ""])


if __name__ == "__main__":
    readme = ROOT / "README.md"
    readme.write_text(refreshed(readme.read_text(encoding="utf-8")), encoding="utf-8")
