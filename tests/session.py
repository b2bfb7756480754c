"""Writes the README's session anew from the program itself: python tests/session.py"""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent
MARK = re.compile(r"(<!-- session: advisor (.*?) -->\n```text\n)(.*?)(```\n<!-- end of session -->)", re.S)


def refreshed(text: str) -> str:
    """The README with every session run again."""

    def run(found: re.Match[str]) -> str:
        command = found[2].split()
        done = subprocess.run([sys.executable, "-m", "advisor", *command], capture_output=True, text=True, cwd=ROOT, check=True)
        return f"{found[1]}$ advisor {found[2]}\n{done.stdout.rstrip()}\n{found[4]}"

    return MARK.sub(run, text)


if __name__ == "__main__":
    readme = ROOT / "README.md"
    readme.write_text(refreshed(readme.read_text(encoding="utf-8")), encoding="utf-8")
