"""All knowledge as one frozen record, built from the files of rules/ (and of a maker's own folder laid over them)."""

import os
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any, NamedTuple

from advisor.errors import InputError, Place, Problem
from advisor.knowledge import materials as m
from advisor.knowledge import records as r
from advisor.knowledge.conditions import build, default_group, listed
from advisor.knowledge.files import RuleFile, data_folder, read_files
from advisor.knowledge.lazy import Later, Lazy
from advisor.knowledge.snapshot import SIGNS, decoded, names_of


class Weights(NamedTuple):
    """What the named strengths weigh, in natural log-odds, and the certainties at which a standing begins."""

    evidence: Mapping[str, float]
    explains: Mapping[str, float]
    prior: Mapping[str, float]
    adjust: Mapping[str, float]
    standing: Mapping[str, float]
    effort: Mapping[str, float]
    unsure: Mapping[str, float]


OWN_RULES = "ADVISOR_OWN_RULES"


@dataclass(frozen=True, slots=True, eq=False)
class Knowledge:
    """Everything under rules/, by id."""

    ingredients: Mapping[str, m.Ingredient]
    names: Mapping[str, str]                  # normalised name : INCI
    classes: Mapping[str, m.IngredientClass]
    symptoms: Mapping[str, r.Symptom]
    questions: Mapping[str, r.Question]
    findings: Mapping[str, r.Finding]
    causes: Mapping[str, r.Cause]
    cautions: Mapping[str, r.Caution]
    quantities: Mapping[str, r.QuantityCard]
    rungs: tuple[r.Rung, ...]
    texture_model: Mapping[str, Any]
    sources: Mapping[str, r.Source]
    words: Mapping[str, Any]
    weights: Weights
    base_rates: r.BaseRates = r.BaseRates()
    rescue: r.Rescue = r.Rescue()
    procedure: Mapping[str, Any] = field(default_factory=dict)     # as read; knowledge/sheet.py makes records of it when a sheet is written
    folder: str = ""
    overrides: tuple[str, ...] = ()           # what a maker's own folder changed
    index: dict[str, Any] = field(default_factory=dict)   # lazily built look-ups, one owner each, and the checksum of the files: empty where anything else is changed


def load_knowledge(folder: Path | str | None = None, own: Path | str | None = None) -> Knowledge:
    """Load the built-in rules (or those of `folder`), a maker's `own` folder laid over; raises InputError.

    Without `own`, the folder named by the environment variable OWN_RULES is laid over, if it is set.
    """
    base = Path(folder) if folder else data_folder("rules")
    files, checksum = read_files(base)
    own = own or (os.environ.get(OWN_RULES) if folder is None else None)
    remarks: tuple[str, ...] = ()
    if own:
        from advisor.knowledge.overlay import lay_over

        if not Path(own).is_dir():
            raise InputError(Problem(Place(str(own)), "the folder of your own rules is not there", f"Correct the name in {OWN_RULES} or the option."))
        (files, remarks), checksum = lay_over(files, Path(own)), ""
    knowledge = build_knowledge(files, str(base), remarks)
    if checksum:
        knowledge.index["checksum"] = checksum
    return knowledge


def build_knowledge(files: Iterable[RuleFile], folder: str = "", overrides: tuple[str, ...] = ()) -> Knowledge:
    """Checked plain data as records; raises InputError for double ids."""
    builder = _Builder(folder)
    for file in files:
        builder.take(file)
    return builder.finish(overrides)


def _figure(data: Any) -> m.Figure | None:
    if data is None:
        return None
    best = data.get("is")
    low, high = data.get("from", best), data.get("to", best)
    low = high if low is None else low
    high = low if high is None else high
    return m.Figure(float(low), float(high), float((low + high) / 2 if best is None else best), listed(data["source"]))


def _figures(data: Mapping[str, Any] | None) -> dict[str, m.Figure]:
    return {k: f for k, v in (data or {}).items() if (f := _figure(v))}


class _Builder:
    def __init__(self, folder: str) -> None:
        self.folder = folder
        self.problems: list[Problem] = []
        self.lists: dict[str, dict[str, Any]] = {}
        self.raw_classes: dict[str, Mapping[str, Any]] = {}
        self.raw_ingredients: list[tuple[Mapping[str, Any], Place]] = []
        self.raw_sources: dict[str, Mapping[str, Any]] = {}
        self.rungs: list[r.Rung] = []
        self.model: Mapping[str, Any] = {}
        self.words: Mapping[str, Any] = {}
        self.weights: Weights | None = None
        self.base_rates = r.BaseRates()
        self.rescue = r.Rescue()
        self.procedure: Mapping[str, Any] = {}

    def take(self, file: RuleFile) -> None:
        kind = file.path.split("/")[0].removesuffix(".yaml")
        place = Place(f"{self.folder}/{file.path}" if self.folder else file.path)
        data = file.data
        if kind == "causes":
            ids = [e["id"] for sign in SIGNS for e in data[sign]]
            self.problems += [Problem(place, f"the evidence id {key!r} stands twice", "Rename one.", "double-id") for key in dict.fromkeys(ids) if ids.count(key) > 1]
            self._add("causes", data["id"], partial(_cause, data), place)
        elif kind == "ingredients":
            self.raw_ingredients += [(i, place) for i in data["ingredients"]]
        elif kind == "classes":
            self.raw_classes.update({c["id"]: c for c in data["classes"]})
        elif kind == "textures":
            self.model = data["model"]
            self.rungs = [r.Rung(x["id"], x["title"], x["rank"], _sure(_figure(x["viscosity"])), listed(x["words"]), x.get("suits", ""))
                          for x in data["rungs"]]
        elif kind == "sources":
            self.raw_sources.update(data["sources"])
        elif kind == "words":
            self.words = data
        elif kind == "base-rates":
            self.base_rates = r.BaseRates(data["weight"], data["pull"], data["counts"])
        elif kind == "rescue":
            self.rescue = r.Rescue(tuple(r.Bar(b["id"], build(b["when"]), b["because"], listed(b["source"]), b.get("heated", False), b.get("used", ""), b.get("lost", False)) for b in data["bars"]), listed(data["heating"]))
        elif kind == "procedure":
            self.procedure = data
        elif kind == "weights":
            self.weights = Weights(*(data[k] for k in ("evidence", "explains", "prior", "adjust", "standing", "effort", "unsure")))
        else:
            maker = {"symptoms": _symptom, "questions": _question, "findings": _finding, "cautions": _caution, "quantities": _quantity}[kind]
            for item in data[kind]:
                self._add(kind, item["id"], partial(maker, item), place)

    def _add(self, kind: str, key: str, make: Callable[[Place], Any], place: Place) -> None:
        known = self.lists.setdefault(kind, {})
        if key in known:
            self.problems.append(Problem(place, f"the id {key!r} stands twice among the {kind}", "Rename or remove one.", "double-id"))
        known[key] = make(Place(place.file, place.line, place.column, key))

    def finish(self, overrides: tuple[str, ...] = ()) -> Knowledge:
        classes = self._classes()
        raw: dict[str, tuple[Mapping[str, Any], Place]] = {}
        for data, place in self.raw_ingredients:
            if data["inci"] in raw:
                self.problems.append(Problem(Place(place.file, field=data["inci"]), f"{data['inci']!r} stands twice", "Keep one record.", "double-id"))
            raw[data["inci"]] = (data, place)
        ingredients: Lazy[tuple[Mapping[str, Any], Place], m.Ingredient] = Lazy(raw, lambda _, item: _ingredient(*item, classes))
        spoken = {inci: names_of(data) for inci, (data, _) in raw.items()}
        names = {own: inci for inci, (own, *_) in spoken.items()}
        for inci, (_, *others) in spoken.items():
            for name in others:
                names.setdefault(name, inci)
        if self.weights is None:
            self.problems.append(Problem(Place(f"{self.folder}/weights.yaml"), "the file is missing", "Put it back."))
        if self.problems:
            raise InputError(self.problems)
        assert self.weights is not None
        get = self.lists.get
        return Knowledge(ingredients, names, classes, get("symptoms", {}), get("questions", {}), get("findings", {}), get("causes", {}),
                         get("cautions", {}), get("quantities", {}), tuple(self.rungs), self.model, Lazy(self.raw_sources, lambda key, item: r.Source(key, **item)), self.words,
                         self.weights, self.base_rates, self.rescue, self.procedure, self.folder, overrides)

    def _classes(self) -> dict[str, m.IngredientClass]:
        def ancestors(key: str, seen: frozenset[str] = frozenset()) -> frozenset[str]:
            if key in seen or key not in self.raw_classes:
                return frozenset()
            parents = listed(self.raw_classes[key].get("under"))
            return frozenset({key}).union(*(ancestors(p, seen | {key}) for p in parents))

        def inherited(key: str, name: str) -> Any:
            data = self.raw_classes.get(key, {})
            if name in data:
                return data[name]
            return next((v for p in listed(data.get("under")) if (v := inherited(p, name)) is not None), None)

        return {k: m.IngredientClass(k, d["title"], ancestors(k), listed(d.get("words")), _figure(inherited(k, "density")),
                                     _figure(inherited(k, "heat_capacity")), _figures(inherited(k, "shares")), d.get("bulk", False), _figure(inherited(k, "most")), bool(inherited(k, "branded")))
                for k, d in self.raw_classes.items()}


def _sure(figure: m.Figure | None) -> m.Figure:
    assert figure is not None
    return figure


def _ingredient(d: Mapping[str, Any], place: Place, classes: Mapping[str, m.IngredientClass]) -> m.Ingredient:
    own = listed(d["is"])
    every = frozenset(own).union(*(classes[c].ancestors for c in own if c in classes))
    shares: dict[str, m.Figure] = {}
    for c in own:
        if c in classes:
            shares.update(classes[c].shares)
    shares.update(_figures(d.get("shares")))
    e, acid, alkali = d.get("emulsifier"), d.get("acid"), d.get("alkali")

    def default(name: str) -> m.Figure | None:
        return _figure(d.get(name)) or next((f for c in own if c in classes and (f := getattr(classes[c], name))), None)

    fat = d.get("solid_fat")
    return m.Ingredient(
        d["inci"], listed(d.get("names")), every, d["phase"], d["state"], d["purpose"], d.get("stands_for"),
        m.Emulsifier(e["favours"], e["charge"], e["alone"], e["judged_by"],
                     *(_figure(e.get(k)) for k in ("hlb", "oil_limit", "oil_per_part", "ph", "salt_limit"))) if e else None,
        _figure(d.get("level")), _figure(d.get("maximum")), _figure(d.get("maximum_rinse_off")), d.get("maximum_rule", ""), _figure(d.get("required_hlb")),
        _figure(d.get("required_hlb_wo")), _figure(d.get("melting")),
        tuple(sorted((float(t), float(v)) for t, v in fat["at"].items())) if fat else (), listed(fat["source"]) if fat else (),
        _figure(d.get("ph")), _figure(d.get("own_ph")), _figure(d.get("salt_limit")), _figure(d.get("max_temperature")), _figure(d.get("solubility")),
        default("density"), default("heat_capacity"),
        shares,
        m.Acid(acid["molar_mass"], acid["protons"], _sure(_figure(acid["pka"])), acid.get("fatty", False), listed(acid["source"])) if acid else None,
        m.Alkali(alkali["molar_mass"], alkali["equivalents"], listed(alkali["source"])) if alkali else None,
        tuple(m.Part(p["inci"], _sure(_figure(p["share"]))) for p in d.get("parts", ())), listed(d.get("cautions")), d.get("note", ""),
        listed(d.get("sources")), place,
    )


def _when(d: Mapping[str, Any]) -> r.Condition | None:
    return build(d["when"]) if d.get("when") else None


def _symptom(d: Mapping[str, Any], place: Place) -> r.Symptom:
    return r.Symptom(d["id"], d["title"], d["family"], d.get("under"), Later(lambda: listed(decoded(d["wordings"]))), d.get("look", ""), d.get("fine", False),
                     listed(d.get("sources")), place, listed(d.get("unless")), listed(d.get("seen")), listed(d.get("beside")), listed(d.get("until")), d.get("either", False))


def _question(d: Mapping[str, Any], place: Place) -> r.Question:
    choices = tuple(r.Choice(str(c["id"]), c["label"], listed(c.get("words")), _span(c.get("celsius")), listed(c.get("overheard")), c.get("fallback", False), listed(c.get("named"))) for c in d.get("choices", ()))
    return r.Question(d["id"], d["text"], d["why"], d["kind"], d["effort"], choices, d.get("unit", ""), d.get("reads", ""), d.get("how", ""),
                      d.get("test", False), listed(d.get("steps")), _when(d), d.get("unsure", "seldom"), d.get("tells", {}),
                      listed(d.get("cautions")), listed(d.get("sources")), place, tuple(map(float, d.get("typical", ()))),
                      tuple(map(float, d.get("limits", ()))),
                      tuple(r.Clash(tuple(map(str, listed(c["is"]))), build(c["when"]), c["says"]) for c in d.get("clashes", ())), d.get("beside", ""),
                      listed(d.get("seen")), d.get("of_trouble", False))


def _span(d: Mapping[str, Any] | None) -> tuple[float, float] | None:
    return (float(d.get("from", "-inf")), float(d.get("to", "inf"))) if d else None


def _finding(d: Mapping[str, Any], place: Place) -> r.Finding:
    return r.Finding(d["id"], d["says"], Later(lambda: build(decoded(d["when"]))), listed(d["sources"]), d.get("because", ""), place)


def _caution(d: Mapping[str, Any], place: Place) -> r.Caution:
    return r.Caution(d["id"], d["says"], _when(d), listed(d.get("sources")), tuple(d.get("words", ())))


def _quantity(d: Mapping[str, Any], _place: Place) -> r.QuantityCard:
    return r.QuantityCard(d["id"], d["title"], d["unit"], d["formula"], listed(d.get("sources") or d.get("source")), d.get("share_of", ""), d.get("in_phase", ""), d.get("beside", ""))


def _evidence(d: Mapping[str, Any], against: bool, place: Place) -> r.Evidence:
    where = Place(place.file, place.line, place.column, f"{place.field}/{d['id']}")
    condition = Later(lambda: build(decoded(d["when"])))
    group = Later(lambda: d.get("group") or default_group(condition()))
    return r.Evidence(d["id"], d["says"], condition, d["strength"], against, group, listed(d["source"]), where)


def _fix(d: Mapping[str, Any]) -> r.Fix:
    changes = tuple(r.Change(c["do"], c.get("target", ""), listed(c.get("new")), c.get("quantity", ""), c.get("reaches"), c.get("level"),
                             c.get("balance", "water")) for c in listed(d.get("changes")))
    return r.Fix(d["id"], d["title"], d["effort"], changes, d.get("process", {}), listed(d.get("steps")), d.get("feel", ""),
                 _when(d), listed(d.get("sources")))


def _fate(d: Mapping[str, Any]) -> r.CardFate:
    return r.CardFate(d["verdict"], d["because"], listed(d.get("steps")), d.get("until", ""), _when(d), tuple(_fate(f) for f in d.get("where", ())))


def _closer(d: Mapping[str, Any], place: Place) -> r.Closer:
    return r.Closer(tuple(_fix(f) for f in decoded(d["fixes"])), _fate(decoded(d["fate"])),
                    tuple(r.Example(x["says"], x["leads"], x["batch"], x.get("instead", ""), place) for x in decoded(d["examples"])))


def _cause(d: Mapping[str, Any], place: Place) -> r.Cause:
    pieces: Lazy[tuple[Mapping[str, Any], bool], r.Evidence] = Lazy({e["id"]: (e, sign == "against") for sign in SIGNS for e in d[sign]}, lambda _, item: _evidence(*item, place))
    return r.Cause(
        d["id"], d["title"], d["family"], d["because"].strip(), d["commonness"], d.get("part_of"),
        tuple(r.Explains(x["symptom"], x["strength"], listed(x.get("seen"))) for x in d["explains"]), pieces, listed(d.get("exceptions")),
        Later(lambda: _closer(d, place)), d["proof"], d.get("proof_test", ""), d.get("forward", False), listed(d.get("cautions")), listed(d["sources"]), place,
    )
