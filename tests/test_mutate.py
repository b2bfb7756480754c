"""The mutator changes one thing at a time and leaves alone what does not run."""

from __future__ import annotations

from tests.bench.mutate import mutants

SOURCE = '''
@dataclass(frozen=True)
class Of:
    """1 + 1"""

    size: float | None = 2.5


def least(a: int, b: int) -> int:
    if a < b and not a == -3:
        return min(a + 1, b)
'''


def test_every_change_is_one_change() -> None:
    found = mutants(SOURCE)
    assert [(m.was, m.now) for m in found if m.line == 6] == [("2.5", "3.75")]
    assert {(m.was, m.now) for m in found if m.line == 11} == {("return min(a + 1, b)", "return"), ("min(a + 1, b)", "max(a + 1, b)"), ("a + 1", "a - 1"), ("1", "2")}
    assert {m.now for m in found if m.line == 10} >= {"a < b or not a == -3", "a <= b", "a == -3", "a != -3", "3"}
    assert {m.line for m in found} == {6, 10, 11}
    texts = [m.text for m in found]
    assert len(set(texts)) == len(texts) and all("frozen=True" in t and "1 + 1" in t and "float | None" in t for t in texts)
