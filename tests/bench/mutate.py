"""Whether the tests would notice a slip in the arithmetic: python tests/bench/mutate.py advisor/fixes/weighing.py [--most 60] [--tests FILE ...]

One small change at a time (a comparison, an operator, a number, and/or, min/max, a condition turned round, a return dropped) is written into
a copy of the checkout, and the test files of that room are run until one fails.  What no test notices is printed with its line.
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, NamedTuple

ROOT = Path(__file__).parent.parent.parent
TESTS = {      # the test files that hold a room, the quickest first
    "quantities": ("worked", "worked_quantities", "quantities", "outside_arithmetic", "liquids", "viscosity", "forecast"),
    "fixes": ("worked_fixes", "pairing", "fixes", "remake"),
}
SWAPS: dict[type[ast.AST], Any] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq, ast.Is: ast.IsNot, ast.IsNot: ast.Is,
    ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.FloorDiv: ast.Div,
    ast.And: ast.Or, ast.Or: ast.And,
}
CALLS = {"min": "max", "max": "min", "any": "all", "all": "any"}
SKIPPED = ("annotation", "returns", "decorator_list")      # nothing that runs


class Mutant(NamedTuple):
    line: int
    was: str
    now: str
    text: str


def mutants(source: str) -> list[Mutant]:
    """Every module that differs from this one in one place."""
    tree = ast.parse(source)
    found = []
    for holder, name, at, node in _places(tree):
        for new in _changes(node, name):
            _put(holder, name, at, ast.copy_location(new, node))
            found.append(Mutant(getattr(node, "lineno", 0), ast.unparse(node), ast.unparse(new), ast.unparse(ast.fix_missing_locations(tree))))
        _put(holder, name, at, node)
    return found


def _places(node: ast.AST) -> Iterator[tuple[ast.AST, str, int | None, ast.AST]]:
    """Every node below this one, with where it hangs."""
    for name, value in ast.iter_fields(node):
        if name in SKIPPED:
            continue
        for at, child in enumerate(value) if isinstance(value, list) else ((None, value),):
            if isinstance(child, ast.AST):
                yield node, name, at, child
                yield from _places(child)


def _put(holder: ast.AST, name: str, at: int | None, node: ast.AST) -> None:
    if at is None:
        setattr(holder, name, node)
    else:
        getattr(holder, name)[at] = node


def _changes(node: ast.AST, name: str) -> Iterator[ast.AST]:
    """What one node could be instead; `name` is the field of its holder."""
    if isinstance(node, ast.expr) and name in ("test", "ifs") and not isinstance(node, (ast.Compare, ast.UnaryOp)):
        yield ast.UnaryOp(ast.Not(), node)
    match node:
        case ast.Compare(left, ops, right):
            for i, op in enumerate(ops):
                yield ast.Compare(left, [*ops[:i], SWAPS[type(op)](), *ops[i + 1:]], right)
        case ast.BinOp(left, op, right) if type(op) in SWAPS:
            yield ast.BinOp(left, SWAPS[type(op)](), right)
        case ast.AugAssign(target, op, value) if type(op) in SWAPS:
            yield ast.AugAssign(target, SWAPS[type(op)](), value)
        case ast.BoolOp(op, values):
            yield ast.BoolOp(SWAPS[type(op)](), values)
        case ast.UnaryOp(ast.USub() | ast.Not(), operand):
            yield operand
        case ast.Constant(bool() as value):
            yield ast.Constant(not value)
        case ast.Constant(int() | float() as value):
            yield ast.Constant(value + max(1, value // 2) if isinstance(value, int) else value * 1.5 or 1.0)
        case ast.Call(ast.Name(called), arguments, keywords) if called in CALLS:
            yield ast.Call(ast.Name(CALLS[called]), arguments, keywords)
        case ast.Return(value) if value is not None and not (isinstance(value, ast.Constant) and value.value is None):
            yield ast.Return(None)


def passes(copy: Path, tests: Sequence[str], limit: float | None = None) -> bool:
    """Whether all these test files pass in the copy, one after the other; what hangs does not."""
    command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", "--hypothesis-seed=0"]
    env = {**os.environ, "PYTHONDONTWRITEBYTECODE": "1"}
    try:
        return all(subprocess.run([*command, test], cwd=copy, capture_output=True, timeout=limit, env=env, check=False).returncode == 0 for test in tests)
    except subprocess.TimeoutExpired:
        return False


def survivors(module: Path, tests: Sequence[str], most: int, seed: int = 0) -> tuple[list[Mutant], int, int]:
    """The mutants that no test notices, how many were tried, how many there are."""
    every = mutants((ROOT / module).read_text(encoding="utf-8"))
    tried = sorted(random.Random(seed).sample(every, min(most, len(every))))
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "copy"
        shutil.copytree(ROOT, copy, ignore=shutil.ignore_patterns(".*", "__pycache__"))
        start = time.perf_counter()
        if not passes(copy, tests):
            raise SystemExit("the tests fail as things stand")
        limit = 5 * (time.perf_counter() - start) + 10
        alive = []
        for mutant in tried:
            (copy / module).write_text(mutant.text, encoding="utf-8")
            if passes(copy, tests, limit):
                alive.append(mutant)
                print(f"{module}:{mutant.line}: {mutant.was}  ->  {mutant.now}", flush=True)
    return alive, len(tried), len(every)


if __name__ == "__main__":
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("modules", nargs="+", type=Path)
    words.add_argument("--most", type=int, default=60)
    words.add_argument("--seed", type=int, default=0)
    words.add_argument("--tests", nargs="+", default=[])
    given = words.parse_args()
    for path in given.modules:
        files = given.tests or [f"tests/test_{name}.py" for name in TESTS[path.parent.name]]
        left, count, whole = survivors(path, files, given.most, given.seed)
        print(f"{path}: {count - len(left)} of {count} noticed ({whole} there are)")
