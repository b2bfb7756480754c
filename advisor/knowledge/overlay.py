"""A maker's own folder laid over the built-in knowledge: new cards, changed strengths, a shelf of jar names.

Works on plain data before records are built, so that what is laid over passes the same road; every override is remarked.
"""

from __future__ import annotations

import copy
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from advisor.errors import InputError, Problem
from advisor.knowledge.files import RuleFile, form_problems, read_documents
from advisor.knowledge.forms import nearest
from advisor.knowledge.strict_yaml import Document

_KEYS = {"ingredients": "inci", "classes": "id", "symptoms": "id", "questions": "id", "findings": "id", "cautions": "id", "quantities": "id"}


def lay_over(base: Iterable[RuleFile], own: Path) -> tuple[list[RuleFile], tuple[str, ...]]:
    """The base files with those of the maker's folder laid over, and a remark for every override; raises InputError."""
    documents = read_documents(own)
    problems = [p for d in documents.values() for p in form_problems(d, own)]
    if problems:
        raise InputError(problems)
    files = {f.path: f.data for f in base}
    layers = _Layers(files)
    # Cards first, so that strengths and jars may speak of the maker's own ones too.
    for path, document in sorted(documents.items(), key=lambda d: d[0].startswith(("strengths", "shelf"))):
        layers.take(path, document)
    if layers.problems:
        raise InputError(layers.problems)
    return [RuleFile(path, data) for path, data in files.items()], tuple(layers.remarks)


class _Layers:
    """The files as they grow; a built-in file is copied before it is changed."""

    def __init__(self, files: dict[str, Any]) -> None:
        self.files = files
        self.remarks: list[str] = []
        self.problems: list[Problem] = []

    def take(self, path: str, document: Document) -> None:
        kind = path.split("/")[0].removesuffix(".yaml")
        if kind == "causes":
            self._card(path, document)
        elif kind == "shelf":
            for index, jar in enumerate(document.data["shelf"]):
                self._jar(jar, document, index)
        elif kind == "strengths":
            for rule, strength in document.data["strengths"].items():
                self._strength(rule, strength, document)
        elif kind == "sources":
            self.files["sources.yaml"] = {**self.files["sources.yaml"],
                                          "sources": {**self.files["sources.yaml"]["sources"], **document.data["sources"]}}
        elif kind in _KEYS:
            self._items(kind, path, document)
        else:
            self.problems.append(Problem(document.place(()), f"a file {path!r} cannot be laid over", "Lay over cards, records, shelf.yaml or strengths.yaml."))

    def _card(self, path: str, document: Document) -> None:
        key = document.data["id"]
        for known, data in list(self.files.items()):
            if known.startswith("causes/") and data["id"] == key:
                del self.files[known]
                self.remarks.append(f"your card {key} stands in place of the built-in one")
        self.files[f"causes/own/{path.replace('/', '-')}"] = document.data

    def _items(self, kind: str, path: str, document: Document) -> None:
        key = _KEYS[kind]
        mine = {item[key]: item for item in document.data[kind]}
        for known, data in list(self.files.items()):
            if known.split("/")[0].removesuffix(".yaml") != kind:
                continue
            taken = [item[key] for item in data[kind] if item[key] in mine]
            if taken:
                self.files[known] = {**data, kind: [item for item in data[kind] if item[key] not in mine]}
                self.remarks += [f"your record {name} stands in place of the built-in one" for name in taken]
        self.files[f"{kind}/own-{path.replace('/', '-')}"] = document.data

    def _jar(self, jar: dict[str, Any], document: Document, index: int) -> None:
        for path, data in self.files.items():
            if not path.startswith("ingredients"):
                continue
            for place, item in enumerate(data["ingredients"]):
                if item["inci"].lower() == jar["inci"].lower():
                    self.files[path] = {**data, "ingredients": [*data["ingredients"][:place], self._changed(item, jar), *data["ingredients"][place + 1:]]}
                    return
        known = [i["inci"] for p, d in self.files.items() if p.startswith("ingredients") for i in d["ingredients"]]
        near = nearest(jar["inci"], known)
        self.problems.append(Problem(document.place(("shelf", index, "inci")), f"no ingredient has the INCI name {jar['inci']!r}",
                                     f"Did you mean {near!r}?" if near else "Copy it from the label, or add a record under ingredients/."))

    def _changed(self, item: dict[str, Any], jar: dict[str, Any]) -> dict[str, Any]:
        new = copy.deepcopy(dict(item))
        names = new.get("names", [])
        new["names"] = [jar["jar"], *([names] if isinstance(names, str) else names)]
        if "level" in jar:
            new["level"] = jar["level"]
            self.remarks.append(f"{item['inci']}: your supplier's level is used")
        if "hlb" in jar:
            if "emulsifier" in new:
                new["emulsifier"]["hlb"] = jar["hlb"]
            self.remarks.append(f"{item['inci']}: your supplier's HLB is used")
        return new

    def _strength(self, rule: str, strength: str, document: Document) -> None:
        cause, _, piece = rule.partition("/")
        for path, data in self.files.items():
            if not path.startswith("causes/") or data["id"] != cause:
                continue
            for sign in ("for", "against"):
                for place, item in enumerate(data[sign]):
                    if item["id"] == piece:
                        changed = [*data[sign][:place], {**item, "strength": strength}, *data[sign][place + 1:]]
                        self.files[path] = {**data, sign: changed}
                        self.remarks.append(f"{rule}: your strength {strength} stands in place of {item['strength']}")
                        return
        known = [f"{d['id']}/{e['id']}" for p, d in self.files.items() if p.startswith("causes/") for s in ("for", "against") for e in d[s]]
        near = nearest(rule, known)
        self.problems.append(Problem(document.place(("strengths", rule)), f"no piece of evidence is called {rule!r}",
                                     f"Did you mean {near!r}?" if near else "Write it as cause-id/evidence-id."))
