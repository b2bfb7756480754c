"""Imports point one way, and only one module knows each outside library."""

from __future__ import annotations

import ast
from pathlib import Path

import advisor

ROOT = Path(advisor.__file__).parent
# Lower numbers may not import higher ones.
LEVELS = {"errors": 0, "information": 0, "values": 0, "knowledge": 1, "batch": 2, "phrases": 2, "sentences": 2, "lexicon": 2, "wording": 2, "overhearing": 3, "merging": 3, "keeping": 3, "quantities": 3, "engine": 3, "certainty": 3, "base_rates": 3, "situation": 4,
          "facts": 5, "consultation": 6, "diagnosis": 7, "moves": 8, "doubts": 8, "supposing": 9, "questions": 8, "fixes": 8, "outcome": 9, "scoring": 9, "forecast": 10, "comparison": 10, "contrasts": 9, "vetting": 10, "interview": 10, "grounds": 9, "explain": 10,
          "screens": 11, "cli_rules": 12, "cli_remake": 12, "cli_explain": 12, "cli": 12}


def imports(path: Path) -> set[str]:
    out: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            out |= {a.name for a in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            out.add(node.module)
    return out


def modules() -> list[tuple[str, Path]]:
    return [(p.relative_to(ROOT).with_suffix("").parts[0], p) for p in sorted(ROOT.rglob("*.py"))]


def test_imports_point_down() -> None:
    wrong = []
    for room, path in modules():
        if room in ("__init__", "__main__"):
            continue
        for name in imports(path):
            parts = name.split(".")
            if parts[0] == "advisor" and len(parts) > 1 and LEVELS[parts[1]] > LEVELS[room]:
                wrong.append(f"{path.name} imports {name}")
    assert wrong == []


def test_one_module_a_library() -> None:
    for library in ("yaml", "durable_rules_engine"):
        users = [p.name for _, p in modules() if library in imports(p)]
        assert len(users) == 1, (library, users)
