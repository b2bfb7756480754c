"""A mapping whose records are built when first asked for: a batch needs a dozen of many hundred."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Generic, TypeVar

R = TypeVar("R")
T = TypeVar("T")


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
