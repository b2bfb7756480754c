"""Shared by all tests: the knowledge, loaded once."""

from __future__ import annotations

import pytest

from advisor.knowledge.load import Knowledge, load_knowledge


@pytest.fixture(scope="session")
def knowledge() -> Knowledge:
    return load_knowledge()
