"""Records and parts of them that are built when first asked for: a batch needs a dozen of many hundred."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Generic, TypeVar

R = TypeVar("R")
T = TypeVar("T")


class Later(Generic[T]):
    """A value that is made when first asked for."""

    __slots__ = ("_made", "_make")

    def __init__(self, make: Callable[[], T]) -> None:
        self._make: Callable[[], T] | None = make

    def __call__(self) -> T:
        if self._make is not None:
            self._made, self._make = self._make(), None
        return self._made


class Lazy(Mapping[str, T], Generic[R, T]):
    """Records by key, each made from its raw data once."""

    def __init__(self, raw: Mapping[str, R], make: Callable[[str, R], T]) -> None:
        self._raw = raw
        self._make = make
        self._built: dict[str, T] = {}

    def __getitem__(self, key: str) -> T:
        found = self._built.get(key)
        if found is None:
            found = self._built[key] = self._make(key, self._raw[key])
        return found

    def __iter__(self) -> Iterator[str]:
        return iter(self._raw)

    def __len__(self) -> int:
        return len(self._raw)

    def __contains__(self, key: object) -> bool:
        return key in self._raw
