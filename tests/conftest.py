"""Shared by all tests: the knowledge, loaded once."""

from __future__ import annotations

import os

import pytest

from advisor.knowledge.load import Knowledge, load_knowledge

os.environ.pop("COLUMNS", None)      # the width is what a test's own window says


@pytest.fixture(scope="session")
def knowledge() -> Knowledge:
    return load_knowledge()
