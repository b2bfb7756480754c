"""Texts kept from one run to the next in the user's cache folder: what is slow to work out and follows from its key.  Best effort."""

from __future__ import annotations

import os
from pathlib import Path


def cache_folder() -> Path:
    base = os.environ.get("XDG_CACHE_HOME") or os.environ.get("LOCALAPPDATA") or str(Path.home() / ".cache")
    return Path(base) / "emulsion-advisor"


def read_kept(kind: str, key: str, folder: Path | None = None) -> str | None:
    """The text kept under this key; None where there is none."""
    try:
        return ((folder or cache_folder()) / f"{kind}-{key}").read_bytes().decode()      # as text, each line's end would be looked at
    except (OSError, ValueError, RuntimeError):
        return None


def keep(kind: str, key: str, text: str) -> None:
    """Keep a text in place of those of its kind under other keys; without a writable folder nothing is kept."""
    import tempfile  # needed once per change, and slow to import

    try:
        folder = cache_folder()
        folder.mkdir(parents=True, exist_ok=True)
        for old in folder.glob(f"{kind}-*"):
            if old.name != f"{kind}-{key}":
                old.unlink(missing_ok=True)
        with tempfile.NamedTemporaryFile(dir=folder, delete=False) as stream:
            stream.write(text.encode())
        os.replace(stream.name, folder / f"{kind}-{key}")
    except (OSError, ValueError, RuntimeError):
        return
