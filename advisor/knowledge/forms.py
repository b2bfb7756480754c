"""Forms: what a file may hold, said once; gives checking with positions, near-miss suggestions and JSON Schema.

A form is one of the small records below.  `check(document, form)` returns every problem; `json_schema(form)` writes
the same form for editors.  Forms know nothing of what the fields mean.
"""

import math
import re
from collections.abc import Callable
from typing import Any, NamedTuple

from advisor.errors import Problem
from advisor.knowledge.strict_yaml import Document, Path_

_ID = re.compile(r"[a-z0-9][a-z0-9-]*\Z")


class Text(NamedTuple):
    """Text.  `choices` bounds it to words; `ident` asks for a lower-case id; `pattern` for a regular expression; `most` counts characters."""

    choices: tuple[str, ...] = ()
    ident: bool = False
    help: str = ""
    pattern: str = ""
    most: int = 0


class Number(NamedTuple):
    """A finite number between low and high (inclusive)."""

    low: float = -math.inf
    high: float = math.inf
    help: str = ""
    whole: bool = False


class Flag(NamedTuple):
    """true or false."""

    help: str = ""


class Many(NamedTuple):
    """A list of one form; `single` also allows one bare item; `most` bounds its length."""

    of: Any
    least: int = 0
    single: bool = False
    help: str = ""
    most: int = 0


class Map(NamedTuple):
    """A map with known keys.  `needs` must be there; `one_of`: exactly one of these keys.

    `flaw` tells what is wrong with a map whose keys all fit, how to mend it, and the check that finds it.
    """

    keys: dict[str, Any]
    needs: tuple[str, ...] = ()
    one_of: tuple[str, ...] = ()
    help: str = ""
    flaw: Callable[[dict[str, Any]], tuple[str, str, str] | None] | None = None


class Open(NamedTuple):
    """A map from free keys to one form; `most` bounds their number."""

    of: Any
    help: str = ""
    most: int = 0


class Either(NamedTuple):
    """The first form whose outer type fits."""

    of: tuple[Any, ...]
    help: str = ""


class Lazy(NamedTuple):
    """A form that refers to itself, by name and function."""

    name: str
    get: Callable[[], Any]


class Anything(NamedTuple):
    """Any plain data."""

    help: str = ""


Form = Any
_NAMES = {str: "text", bool: "true or false", int: "a number", float: "a number", dict: "a map (key: value)", list: "a list",
          type(None): "nothing"}


def check(document: Document, form: Form) -> list[Problem]:
    """Every place where the document does not fit the form, sorted by position."""
    problems: list[Problem] = []
    _check(document, (), document.data, form, problems)
    return sorted(problems, key=lambda p: (p.place.line, p.place.column))


def nearest(word: str, known: Any) -> str | None:
    """The known word closest to this one, or None."""
    import difflib  # for slips alone

    found = difflib.get_close_matches(str(word).lower(), [str(k).lower() for k in known], n=1, cutoff=0.6)
    return next((str(k) for k in known if found and str(k).lower() == found[0]), None)


def _check(doc: Document, path: Path_, value: Any, form: Form, out: list[Problem]) -> None:
    def bad(says: str, mend: str, at: Path_ = path) -> None:
        out.append(Problem(doc.place(at), says, mend))

    if isinstance(form, Lazy):
        form = form.get()
    if isinstance(form, Anything):
        return
    if isinstance(form, Either):
        fitting = [f for f in form.of if _fits(value, f)]
        if not fitting:
            bad(f"{_shown(value)} does not fit here", f"Give {form.help or _wanted(form)}.")
        else:
            _check(doc, path, value, fitting[0], out)
        return
    if isinstance(form, Many) and form.single and not isinstance(value, list):
        _check(doc, path, value, form.of, out)
        return
    if not _fits(value, form):
        if isinstance(form, Text) and isinstance(value, bool):
            bad("an unquoted yes, no, on, off, true or false is not text", 'Put it in quotes, as in "no".')
        elif isinstance(form, Text) and isinstance(value, (int, float)):
            bad(f"the number {value} stands where text belongs", f'Put it in quotes, as in "{value}".')
        else:
            bad(f"{_shown(value)} does not fit here", f"Give {getattr(form, 'help', '') or _wanted(form)}.")
        return
    if (most := getattr(form, "most", 0)) and len(value) > most:
        bad(f"{len(value):,} {'characters' if isinstance(form, Text) else 'entries'}; the limit is {most:,}", "Shorten it.")
    elif isinstance(form, Text):
        _check_text(value, form, bad)
    elif isinstance(form, Number):
        _check_number(value, form, bad)
    elif isinstance(form, Many):
        if len(value) < form.least:
            bad(f"at least {form.least} needed here, found {len(value)}", "Add what is missing.")
        for index, item in enumerate(value):
            _check(doc, (*path, index), item, form.of, out)
    elif isinstance(form, Open):
        for key, item in value.items():
            _check(doc, (*path, key), item, form.of, out)
    elif isinstance(form, Map):
        before = len(out)
        for key, item in value.items():
            if key not in form.keys:
                near = nearest(key, form.keys)
                bad(f"the key {_short(key)!r} is not known here", f"Did you mean {near!r}?" if near else
                    f"Known keys: {', '.join(form.keys)}.", (*path, key))
            else:
                _check(doc, (*path, key), item, form.keys[key], out)
        for key in form.needs:
            if key not in value:
                bad(f"the key {key!r} is missing", f"Add {key}: {getattr(form.keys[key], 'help', '') or '...'}")
        if form.one_of and sum(k in value for k in form.one_of) != 1:
            bad("exactly one of these keys is needed: " + ", ".join(form.one_of), "Keep or add one of them.")
        if form.flaw and len(out) == before and (found := form.flaw(value)):
            out.append(Problem(doc.place(path), *found))


def _check_text(value: str, form: Text, bad: Callable[..., None]) -> None:
    if form.choices and value not in form.choices:
        near = nearest(value, form.choices)
        bad(f"{_short(value)!r} is not one of the words known here", (f"Did you mean {near!r}? " if near else "") +
            "Known: " + ", ".join(form.choices) + ".")
    elif form.ident and not _ID.match(value):
        bad(f"{_short(value)!r} is not an id", "Use lower-case letters, digits and hyphens.")
    elif form.pattern and not re.fullmatch(form.pattern, value):
        bad(f"{_short(value)!r} does not read as {form.help or 'wanted'}", f"Write it as {form.help or form.pattern}.")
    elif not value.strip():
        bad("empty text", "Write something or take the key out.")


def _check_number(value: float, form: Number, bad: Callable[..., None]) -> None:
    if not math.isfinite(value):
        bad(f"{value} is not a number one can weigh or measure", "Give a finite number.")
    elif form.whole and value != int(value):
        bad(f"{value} is not a whole number", "Give a whole number.")
    elif not form.low <= value <= form.high:
        bad(f"{value:.10g} is outside {form.low:,.10g} to {form.high:,.10g}", f"Give {form.help or 'a number in that range'}.")


def _fits(value: Any, form: Form) -> bool:
    if isinstance(form, Lazy):
        form = form.get()
    if isinstance(form, Anything):
        return True
    if isinstance(form, Either):
        return any(_fits(value, f) for f in form.of)
    if isinstance(form, Many) and form.single and not isinstance(value, list):
        return _fits(value, form.of)
    if isinstance(form, Text):
        return isinstance(value, str)
    if isinstance(form, Number):
        return isinstance(value, (int, float)) and not isinstance(value, bool)
    if isinstance(form, Flag):
        return isinstance(value, bool)
    return isinstance(value, list) if isinstance(form, Many) else isinstance(value, dict)


def _shown(value: Any) -> str:
    if isinstance(value, (dict, list)) or value is None:
        return _NAMES[type(value)]
    return f"{_NAMES.get(type(value), 'this')} {str(value)[:40]!r}"


def _short(text: Any) -> str:
    return str(text) if len(str(text)) <= 60 else f"{str(text)[:60]}..."


def _wanted(form: Form) -> str:
    if isinstance(form, Lazy):
        form = form.get()
    if isinstance(form, Either):
        return " or ".join(_wanted(f) for f in form.of)
    if isinstance(form, Text):
        return "one of " + ", ".join(form.choices) if form.choices else "text"
    return {Number: "a number", Flag: "true or false", Many: "a list", Map: "a map (key: value)", Open: "a map (key: value)",
            Anything: "a value"}[type(form)]


def json_schema(form: Form, title: str) -> dict[str, Any]:
    """The form as a JSON Schema (draft 2020-12), for editors that complete and underline."""
    named: dict[str, Any] = {}
    body = _schema(form, named)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": title, **body, "$defs": named}


def _schema(form: Form, named: dict[str, Any]) -> dict[str, Any]:
    if isinstance(form, Lazy):
        if form.name not in named:
            named[form.name] = {}
            named[form.name].update(_schema(form.get(), named))
        return {"$ref": f"#/$defs/{form.name}"}
    out: dict[str, Any] = {"description": form.help} if form.help else {}
    if isinstance(form, Text):
        out["type"] = "string"
        if form.most:
            out["maxLength"] = form.most
        if form.choices:
            out["enum"] = list(form.choices)
        elif form.ident:
            out["pattern"] = "^[a-z0-9][a-z0-9-]*$"
        elif form.pattern:
            out["pattern"] = f"^({form.pattern})$"
    elif isinstance(form, Number):
        out["type"] = "integer" if form.whole else "number"
        if math.isfinite(form.low):
            out["minimum"] = form.low
        if math.isfinite(form.high):
            out["maximum"] = form.high
    elif isinstance(form, Flag):
        out["type"] = "boolean"
    elif isinstance(form, Many):
        listed: dict[str, Any] = {"type": "array", "items": _schema(form.of, named), "minItems": form.least}
        out |= {"anyOf": [listed, _schema(form.of, named)]} if form.single else listed
    elif isinstance(form, Open):
        out |= {"type": "object", "additionalProperties": _schema(form.of, named)}
    elif isinstance(form, Either):
        out["anyOf"] = [_schema(f, named) for f in form.of]
    elif isinstance(form, Map):
        out |= {"type": "object", "additionalProperties": False,
                "properties": {k: _schema(f, named) for k, f in form.keys.items()}}
        if form.needs:
            out["required"] = list(form.needs)
        if form.one_of:
            out["oneOf"] = [{"required": [k]} for k in form.one_of]
    return out
