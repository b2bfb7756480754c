"""From the name on a line to the ingredients it means; never a silent guess."""

import re
from collections.abc import Iterator
from typing import NamedTuple

from advisor.knowledge.load import Knowledge
from advisor.knowledge.materials import Ingredient
from advisor.knowledge.naming import normal_name


class Match(NamedTuple):
    """What a name means.  `kind`: exact | parts | class | unknown; `suggestion` is the nearest known name; `doubt` says what was assumed."""

    kind: str
    ingredients: tuple[Ingredient, ...]
    suggestion: str = ""
    doubt: str = ""


LONGEST_NAME = 5   # words of a material's name that are looked for in a text
LONGEST_LABEL = 500      # characters of a name in which a label's list in brackets is looked for
SLIP = 0.92        # a known name as near as this is a slip of the pen
_LIST = re.compile(r"\s*\(and\)\s*|\s+and\s+\(|\s*\(&\)\s*|\s*&\s*|\s*;\s*|\s+(?:and|with)\s+|\s*\+\s*", re.I)
_OR = re.compile(r"\s+or\s+", re.I)
_BRACKET = re.compile(r"\s*\([^()]*\)")
_LABEL = re.compile(r"([^()]{1,120}?)\s*\(((?:[^()]|\((?:and|&)\))*\((?:and|&)\)(?:[^()]|\((?:and|&)\))*)\)", re.I)      # emulsifying wax (cetearyl alcohol (and) polysorbate 60): the label's list in brackets
_FILLER = re.compile(r"\b(organic|refined|unrefined|cold pressed|virgin|extra|pure|natural|raw|melted|home ?made|fresh|freshly made|strained|sterile|coated|uncoated|micronised|micronized|non nano|nano)\b")
_PROOF = re.compile(r"\s*[0-9 ]+%\s*(?:vol|v/v|abv|alcohol)?$")      # behind the name of a spirit or tincture
_SHAPE = re.compile(r"\b(powder|flakes|pellets|pastilles|granules)\b")


def resolve(name: str, knowledge: Knowledge) -> Match:
    """The ingredients a written name stands for: a record, the parts of a label list, a class record, or unknown."""
    cache: dict[str, Match] = knowledge.index.setdefault("names", {})
    if name not in cache:
        if len(cache) > 20_000:
            cache.clear()
        cache[name] = _resolve(name, knowledge)
    return cache[name]


def _resolve(name: str, knowledge: Knowledge) -> Match:
    if len(name) <= LONGEST_LABEL and (label := _LABEL.fullmatch(name.strip())):
        listed, called = resolve(label[2], knowledge), resolve(label[1], knowledge)
        if listed.kind in ("exact", "parts") or called.kind == "unknown":
            return listed
        return called
    one = _one(_BRACKET.sub("", name), knowledge) if _BRACKET.search(name) else None
    if one := _one(name, knowledge) or one:
        return Match("class" if one.stands_for else "exact", (one,))
    if len(parts := name.split(", ")) > 1 and all(_one(p, knowledge) for p in parts):
        name = " (and) ".join(parts)
    parts = [p.strip(" ()") for p in _LIST.split(name) if p.strip(" ()")]
    if len(parts) > 1:
        wanted = frozenset(filter(None, (i.inci if (i := _one(p, knowledge)) else "" for p in parts)))
        blend = _blends(knowledge).get(wanted) if len(wanted) == len(parts) else None
        if blend:
            return Match("exact", (knowledge.ingredients[blend],))
        found = [_one(p, knowledge) for p in parts]
        if any(found):
            ended = [i or _by_words(p, knowledge) for i, p in zip(found, parts, strict=True)]
            if not all(ended) and (kind := _begun(normal_name(name), knowledge)):
                return Match("class", (kind,), doubt=f"not known by this name; by its words read as {kind.inci}")
            doubt = "; ".join(f"{p} is not known by this name; by its words read as {e.inci}" for i, e, p in zip(found, ended, parts, strict=True) if e and not i)
            return Match("parts" if all(ended) else "unknown", tuple(i for i in ended if i), doubt=doubt)
    from advisor.quantities.made_up import made_up  # for names that are none of one material

    choice = _OR.split(name)
    if len(choice) > 1 and (first := _one(choice[0], knowledge)):
        return Match("class" if first.stands_for else "exact", (first,), doubt=f"either was meant; read as {first.inci}")
    if made := made_up(name, lambda text: _one(text, knowledge), plain_water(knowledge)):
        return Match("class" if made[0].stands_for else "exact", (made[0],), doubt=made[1])
    inside = [i for text in re.findall(r"\(([^()]*)\)", name) if (i := _one(text, knowledge)) and "water-like" not in i.classes]
    if len(inside) == 1:
        return Match("class" if inside[0].stands_for else "exact", (inside[0],), doubt=f"read as {inside[0].inci}, the name in brackets")
    import difflib  # for unknown names alone

    near = difflib.get_close_matches(normal_name(name), list(knowledge.names), n=1, cutoff=0.8)
    if (kind := _by_words(name, knowledge)) and not (near and difflib.SequenceMatcher(None, near[0], normal_name(name)).ratio() > SLIP):
        return Match("class", (kind,), doubt=f"not known by this name; by its words read as {kind.inci}")
    return Match("unknown", (), knowledge.names[near[0]] if near else "")


def plain_water(knowledge: Knowledge) -> Ingredient | None:
    """The first record of the class of plain water."""
    if "plain water" not in knowledge.index:
        knowledge.index["plain water"] = next((i for i in knowledge.ingredients.values() if "water" in i.classes), None)
    found: Ingredient | None = knowledge.index["plain water"]
    return found


def with_kinds(text: str, knowledge: Knowledge) -> str:
    """A text with the materials named in it as the words of their kind (`kinds` of rules/words.yaml): `took the polysorbate 60 out` takes an emulsifier out."""
    kinds: dict[str, str] = knowledge.words.get("kinds", {})
    words = normal_name(text.replace(";", " ; ")).split()
    for at, end, item in reversed(list(named_in(words, knowledge))):
        kind = "" if item.stands_for else next((word for k, word in kinds.items() if k in item.classes), "")
        if kind:
            words[at:end] = [kind]
    return " ".join(words)


def named_in(words: list[str], knowledge: Knowledge) -> Iterator[tuple[int, int, Ingredient]]:
    """The materials named in a text of words in small letters, the longest name first: where each begins, and ends."""
    at = 0
    while at < len(words):
        for end in range(min(len(words), at + LONGEST_NAME), at, -1):
            if item := knowledge.ingredients.get(knowledge.names.get(" ".join(words[at:end]), "")):
                yield at, end, item
                at = end
                break
        else:
            at += 1


def _by_words(name: str, knowledge: Knowledge) -> Ingredient | None:
    """The class record that the last or the first words of a name tell of; alone they are no name."""
    bare = _BRACKET.sub(lambda m: m[0] if _one(m[0].strip(" ()"), knowledge) else "", name)      # brackets that name a material are part of the name
    key = _PROOF.sub("", normal_name(bare))
    for inci, endings in knowledge.words.get("endings", {}).items():
        if any(key.endswith(f" {normal_name(e)}") for e in endings):
            return knowledge.ingredients.get(inci)
    return _begun(key, knowledge)


def _begun(key: str, knowledge: Knowledge) -> Ingredient | None:
    """The class record that the first words of a name tell of, the name as it is looked up."""
    for inci, beginnings in knowledge.words.get("beginnings", {}).items():
        if any(key.startswith(b) and not key[len(b):len(b) + 1].isalpha() and key != b for b in map(normal_name, beginnings)):
            return knowledge.ingredients.get(inci)
    return None


def _one(name: str, knowledge: Knowledge) -> Ingredient | None:
    key = normal_name(name)
    plain = _FILLER.sub("", key)
    for form in (key, plain, _SHAPE.sub("", plain), key.removesuffix("s"), key + "s", key.replace(" ", "")):
        found = knowledge.names.get(re.sub(r"\s+", " ", form).strip())
        if found and (form != _SHAPE.sub("", plain) or form == plain or knowledge.ingredients[found].state in ("solid", "powder")):
            return knowledge.ingredients[found]
    return None


def _blends(knowledge: Knowledge) -> dict[frozenset[str], str]:
    """Blend records by the set of their parts' INCI names."""
    found: dict[frozenset[str], str] | None = knowledge.index.get("blends")
    if found is None:
        found = {}
        for inci in (i for i in knowledge.ingredients if "(and)" in i):
            names = [knowledge.names.get(normal_name(p)) or p for p in re.split(r"\s*\(and\)\s*", inci)]
            if len(names) > 1:
                found[frozenset(names)] = inci
        knowledge.index["blends"] = found
    return found
