"""Where the knowledge files are, and reading them all: from YAML, or from a JSON snapshot of the same content.

The snapshot is keyed by a checksum of every file's bytes, so that it can never be stale.  One travels in the wheel; for rules changed
since, one is kept in the user's cache folder.
"""

import os
from pathlib import Path
from typing import Any, NamedTuple

from advisor.errors import InputError, Problem
from advisor.knowledge.kept import keep, read_kept
from advisor.knowledge.snapshot import FORMAT, as_text, from_text
from advisor.knowledge.strict_yaml import Document


class RuleFile(NamedTuple):
    """One knowledge file: its path under rules/ and its plain data."""

    path: str
    data: Any


def data_folder(name: str) -> Path:
    """The folder `rules` or `cases`: inside the installed package, or beside it in a checkout."""
    inside = Path(__file__).parent.parent / "_data" / name
    return inside if inside.is_dir() else Path(__file__).parent.parent.parent / name


def read_files(folder: Path) -> tuple[list[RuleFile], str]:
    """All knowledge files of a folder, sorted by path, and their checksum; raises InputError with every problem of form found."""
    key = _key(folder)
    known = _read_snapshot(key)
    if known is None:
        known = _fresh(folder)
        keep("rules", f"{key}.jsonl", as_text(known))      # without a writable cache folder every start reads the YAML
    return [RuleFile(path, data) for path, data in known.items()], key


def snapshot_text(folder: Path) -> tuple[str, str]:
    """The key and the text of the snapshot of a folder, freshly read and checked."""
    return _key(folder), as_text(_fresh(folder))


def _fresh(folder: Path) -> dict[str, Any]:
    """The files of a folder as plain data, read from YAML; raises InputError with every problem of form."""
    documents = read_documents(folder)
    problems = [p for d in documents.values() for p in form_problems(d, folder)]
    if problems:
        raise InputError(problems)
    return {path: document.data for path, document in documents.items()}


def read_documents(folder: Path) -> dict[str, Document]:
    """Every file parsed with positions, by its path under the folder; raises InputError where one is not YAML."""
    from advisor.knowledge.strict_yaml import load, read_text

    problems: list[Problem] = []
    documents: dict[str, Document] = {}
    for path in sorted(folder.rglob("*.yaml")):
        try:
            documents[path.relative_to(folder).as_posix()] = load(read_text(path), str(path))
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    return documents


def form_problems(document: Document, folder: Path) -> list[Problem]:
    """Where one knowledge file does not fit the form of its place."""
    from advisor.knowledge.card_forms import FORMS
    from advisor.knowledge.forms import check

    first = Path(document.file).relative_to(folder).parts[0]
    form = FORMS.get(first)
    if form is None:
        return [Problem(document.place(()), "no form is known for a file at this place",
                        "Known places: " + ", ".join(FORMS) + ".")]
    return check(document, form)


def _key(folder: Path) -> str:
    """A checksum of every file's name and bytes."""
    from zlib import crc32  # a check against accident, not against malice: hashlib would cost more than the whole sum

    crc = FORMAT
    size = 0
    paths = (os.path.join(place, name) for place, _, names in os.walk(folder) for name in names if name.endswith(".yaml"))
    for name, path in sorted((p[len(str(folder)) :].replace(os.sep, "/"), p) for p in paths):      # many times as fast as by Path
        with open(path, "rb") as stream:
            content = name.encode() + b"\0" + stream.read()
        crc, size = crc32(content, crc), size + len(content)
    return f"{crc:08x}{size:08x}"


def _read_snapshot(key: str) -> dict[str, Any] | None:
    for folder in (Path(__file__).parent.parent / "_data", None):
        text = read_kept("rules", f"{key}.jsonl", folder)
        if text is not None:
            try:
                return from_text(text)
            except (LookupError, ValueError, TypeError, AttributeError, RuntimeError):      # no text of ours
                continue
    return None
