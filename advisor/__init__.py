"""An expert that finds out why a small batch of lotion or cream failed, and writes the fix list.

>>> from advisor import diagnose, load_knowledge, read_batch        # doctest: +SKIP
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from advisor.batch.reading import read_batch
    from advisor.knowledge.load import load_knowledge
    from advisor.outcome import diagnose

__version__ = "0.1.0"
__all__ = ["__version__", "diagnose", "load_knowledge", "read_batch"]

_HOMES = {"diagnose": "advisor.outcome", "load_knowledge": "advisor.knowledge.load", "read_batch": "advisor.batch.reading"}


def __getattr__(name: str) -> Any:
    """Public names load their module when first used, so that starting stays quick."""
    if name in _HOMES:
        from importlib import import_module

        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'advisor' has no attribute {name!r}")
