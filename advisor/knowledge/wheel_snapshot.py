"""Build hook: writes the JSON snapshot of the rules into the wheel, so that the first start is as quick as the later ones."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class SnapshotHook(BuildHookInterface):  # type: ignore[misc]  # hatchling is there only while a wheel is built
    """Reads rules/ through the project's own reader, which also refuses to build a wheel of broken rules."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        root = Path(self.root)
        rules = root / "rules"
        if version == "editable" or not rules.is_dir():
            return
        sys.path.insert(0, str(root))
        from advisor.knowledge.files import snapshot_text

        key, text = snapshot_text(rules)
        made = Path(tempfile.mkdtemp()) / f"rules-{key}.jsonl"
        made.write_bytes(text.encode())
        build_data["force_include"][str(made)] = f"advisor/_data/{made.name}"
