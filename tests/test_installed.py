"""The program as a maker gets it: built, installed by pip and by pipx, and run from an empty folder."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import venv
from collections.abc import Sequence
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
RECORD = """\
format: 1
kind: oil-in-water
batch_size: 200 g
formula: {unit: percent, lines: [{name: Water, amount: rest}, {name: Olive oil, amount: 20}, {name: Beeswax, amount: 6}]}
observed: [{what: oil layer on top, when: next day}]
"""
pytestmark = pytest.mark.long


def run(command: Sequence[str | Path], cwd: Path, **env: str) -> subprocess.CompletedProcess[str]:
    plain = {k: v for k, v in os.environ.items() if k not in ("PYTHONPATH", "VIRTUAL_ENV", "ADVISOR_OWN_RULES")}
    return subprocess.run([str(c) for c in command], cwd=cwd, env={**plain, **env}, stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False, timeout=1200)


def done(command: Sequence[str | Path], cwd: Path, **env: str) -> str:
    """What a command prints that must work."""
    found = run(command, cwd, **env)
    assert found.returncode == 0, found.stdout + found.stderr
    return found.stdout


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built from a copy so that nothing is left in the checkout; all is skipped only where pip cannot download even one small package."""
    folder = tmp_path_factory.mktemp("built")
    tried = run([sys.executable, "-m", "pip", "download", "--no-deps", "--no-cache-dir", "--dest", folder, "click"], folder)
    if tried.returncode:
        pytest.skip(f"pip cannot download here: {tried.stderr.strip().splitlines()[-1]}")
    source = shutil.copytree(ROOT, folder / "source", ignore=shutil.ignore_patterns(".*", "__pycache__", "build", "dist", "*.egg-info"))
    done([sys.executable, "-m", "pip", "wheel", "--no-deps", "--wheel-dir", folder, source], folder)
    return next(folder.glob("emulsion_advisor*.whl"))


def works(advisor: Path, folder: Path) -> None:
    """From an empty folder: alone it says what to do, it finds the cause in a record, and it leaves nothing behind."""
    folder.mkdir()
    assert "advisor diagnose" in done([advisor], folder)
    assert "cases/demo-heel-cream.yaml" in done([advisor], folder)
    assert "settled" in done([advisor, "diagnose", "cases/demo-heel-cream.yaml", "--no-ask"], folder)          # the example travels with it
    record = folder / "mine.yaml"
    record.write_text(RECORD, encoding="utf-8")
    found = json.loads(done([advisor, "diagnose", "mine.yaml", "--json"], folder))
    assert found["causes"][0]["id"] == "no-emulsifier" and any(f["proved"] for f in found["fixes"])
    assert [p.name for p in folder.iterdir()] == ["mine.yaml"] and record.read_text(encoding="utf-8") == RECORD


def test_by_plain_pip_into_a_fresh_environment(wheel: Path, tmp_path: Path) -> None:
    venv.create(tmp_path / "env", with_pip=True)
    programs = tmp_path / "env" / ("Scripts" if os.name == "nt" else "bin")
    done([programs / "python", "-m", "pip", "install", wheel], tmp_path)
    works(programs / "advisor", tmp_path / "empty")


@pytest.mark.skipif(shutil.which("pipx") is None, reason="pipx is not there")
def test_by_pipx(wheel: Path, tmp_path: Path) -> None:
    done(["pipx", "install", "--python", sys.executable, wheel], tmp_path, PIPX_HOME=str(tmp_path / "pipx"), PIPX_BIN_DIR=str(tmp_path / "bin"))
    works(tmp_path / "bin" / "advisor", tmp_path / "empty")
