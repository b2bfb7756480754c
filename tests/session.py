"""Writes the README's sessions and its table of outside checks anew from the program itself: python tests/session.py

`<!-- session: advisor ... -->` is run as it stands, `<!-- session (first 30 lines): advisor ... -->` is cut there and says so, and after
`<-` come the answers typed at a terminal.  All are run one after the other in one empty folder, so that one may read what another wrote.
"""

from __future__ import annotations

import ast
import os
import re
import shlex
import subprocess
import sys
from collections import Counter
from collections.abc import Sequence
from io import StringIO
from pathlib import Path
from tempfile import TemporaryDirectory

ROOT = Path(__file__).parent.parent
TABLE = re.compile(r"(<!-- outside checks -->\n)(.*?)(<!-- end of outside checks -->)", re.S)
MARK = re.compile(r"(?P<head><!-- session(?: \(first (?P<most>\d+) lines\))?: (?P<command>advisor .*?)(?: <- (?P<answers>.*?))? -->\n```text\n)"
                  r".*?(?P<tail>```\n<!-- end of session -->)", re.S)
SIZE = (60, 100)      # lines and columns of the terminal


def refreshed(text: str) -> str:
    """The README with every session run again."""
    with TemporaryDirectory() as folder:

        def run(found: re.Match[str]) -> str:
            told = _screen(shlex.split(found["command"])[1:], shlex.split(found["answers"] or ""), folder)
            if told is None:
                return found[0]
            lines = [f"$ {found['command']}", *(line.rstrip() for line in told.rstrip().splitlines())]
            most = int(found["most"] or len(lines))
            left = [f"... ({len(lines) - most} more lines)"] if len(lines) > most else []
            return found["head"] + "\n".join([*lines[:most], *left, found["tail"]])

        return TABLE.sub(lambda m: f"{m[1]}{outside_table()}{m[3]}", MARK.sub(run, text))


def _screen(words: Sequence[str], answers: Sequence[str], folder: str) -> str | None:
    """What a command prints, or with answers what the terminal shows while they are typed; None on a system that has no such terminal."""
    command = [sys.executable, "-m", "advisor", *words]
    env = {**os.environ, "PYTHONPATH": str(ROOT), "NO_COLOR": "1", "TERM": "dumb"}
    if not answers:
        done = subprocess.run(command, capture_output=True, text=True, cwd=folder, env=env, check=True)
        return done.stdout + done.stderr
    try:
        import pexpect
    except ImportError:
        return None
    shown = StringIO()
    child = pexpect.spawn(command[0], command[1:], cwd=folder, env=env, dimensions=SIZE, encoding="utf-8", timeout=180)
    child.logfile_read = shown
    for answer in answers:
        child.expect("\r\n> ")
        child.sendline(answer)
    child.expect(pexpect.EOF)
    return shown.getvalue().replace("\r\n", "\n")


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
