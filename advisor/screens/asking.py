"""One question on a terminal: its words wrapped to the window, its choices numbered, and the keys that work everywhere."""

from __future__ import annotations

import re
import shutil
import sys
import textwrap
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

import click

from advisor.batch.plainly import bare_number, is_unsure
from advisor.batch.units import celsius, minutes, pair, split
from advisor.interview import COMPLAINT, Ask
from advisor.knowledge.records import Question
from advisor.screens.output import wrapped
from advisor.screens.terminal import safe
from advisor.situation import NOT_SURE

BACK, WHY, STOP, CHANGE, SO_FAR, HELP = "b", "w", "s", "c", "e", "h"
KEYS = {BACK: "back", WHY: "why", CHANGE: "change an answer", SO_FAR: "explain so far", STOP: "stop here and tell me", HELP: "these keys"}
WORDS = {"back": BACK, "why": WHY, "stop": STOP, "change": CHANGE, "explain": SO_FAR, "help": HELP, "stop here and tell me": STOP, "why?": WHY}
ALIKE = 2.0      # two numbers this near to each other are one, said twice: 70 C/158 F
_READERS = {"C": celsius, "min": minutes}


class Key(str):
    """One of the keys that work at every question."""


@dataclass(frozen=True, slots=True)
class Voice:
    """How to speak: wrapped to the window, or (plain) one fact a line as it is."""

    plain: bool = False
    words: Mapping[str, Any] = field(default_factory=dict)      # those of rules/words.yaml

    def say(self, text: str = "", hang: int = 0) -> None:
        """One line of words; user text in it cannot steer the terminal."""
        text = " ".join(safe(text).split())
        width = max(24, min(100, shutil.get_terminal_size((80, 24)).columns) - 1)
        click.echo(text if self.plain or not text else textwrap.fill(text, width, subsequent_indent=" " * hang, break_on_hyphens=False))

    def remark(self, text: str) -> None:
        click.echo(wrapped(safe(text), sys.stderr), err=True)

    def keys(self) -> None:
        self.say("Keys: " + ", ".join(f"{k} {v}" for k, v in KEYS.items()) + ".")

    def hear(self) -> str | Key:
        """A line as typed; one of the keys where it is just that."""
        said = input("> ").strip()
        key = said.lower() if said.lower() in KEYS else WORDS.get(said.lower())
        return Key(key) if key else said

    def pick(self, labels: list[str], last: str = "", unsure: int | None = None, read: Callable[[str], int | None] = lambda _: None) -> int | Key:
        """A number from a numbered list (from 0); `last` is offered behind it and gives len(labels).

        Not knowing, in any words, is `unsure` (by default the last); `read` may make more of what is typed.
        """
        unsure = len(labels) if unsure is None and last else unsure
        shown = [*labels, *([last] if last else [])]
        for number, label in enumerate(shown, 1):
            self.say(f"{number}: {label}" if self.plain else f"{number}  {label}", 4)
        while True:
            said = self.hear()
            if isinstance(said, Key):
                return said
            if said.isdecimal() and len(said) < 5 and 1 <= int(said) <= len(shown):
                return int(said) - 1
            if last and said.lower().rstrip(".!") == last.lower():
                return len(labels)
            near = [i for i, label in enumerate(labels) if said and said.lower() in label.lower()]
            if len(near) == 1:
                return near[0]
            if unsure is not None and is_unsure(said, self.words):
                return unsure
            if (meant := read(said)) is not None:
                return meant
            self.say(f"Please type a number from 1 to {len(shown)}, or h for the keys.")


def ask_question(voice: Voice, ask: Ask, question: Question) -> Any:
    """The answer to a question of the cards: a choice id, a number, not sure, or a key."""
    voice.say(ask.text)
    voice.say(f"({ask.why})")
    for step in question.steps:
        voice.say(f"- {step}", 2)
    if question.kind == "number":
        return _number(voice, question)
    labels = [c.label + (f" ({question.tells[c.id]})" if c.id in question.tells else "") for c in question.choices]
    said = voice.pick(labels, "not sure")
    if isinstance(said, Key):
        return said
    if said == len(labels):
        return _unsure(voice, question)
    return question.choices[said].id


def ask_text(voice: Voice, ask: Ask, lines: bool) -> str | Key:
    """Free words: one line, or several up to an empty one."""
    voice.say(ask.text)
    voice.say(f"({ask.why})")
    typed: list[str] = []
    while True:
        said = voice.hear()
        if isinstance(said, Key) and not typed:
            return said
        if not typed and ask.kind != COMPLAINT and not any(c.isdigit() for c in said) and is_unsure(said, voice.words):
            return ""      # of the trouble itself, what is not sure may still tell something
        if not said or not lines:
            return "\n".join(typed) if lines else said
        typed.append(said)


def _unsure(voice: Voice, question: Question) -> str:
    how = question.how or ("do the steps above when you can." if question.steps else "")
    voice.say(f"How to find out: {how}" if how else "Then it is left open.")
    return NOT_SURE


def _number(voice: Voice, question: Question) -> Any:
    low, high = question.limits if len(question.limits) == 2 else (-sys.float_info.max, sys.float_info.max)
    unit = "" if question.unit == "pH" else question.unit
    voice.say(f"Type a number{f' in {unit}' if unit else ''}{', or with F behind it,' if unit == 'C' else ','} or n for not sure.")
    while True:
        said = voice.hear()
        if isinstance(said, Key):
            return said
        bare = split(said)
        value, ends = _read(said, unit), None
        if value is None:
            plain = bare_number(said, voice.words)
            value, ends = _read(plain, unit), pair(plain)
        if value is None and (said.lower().rstrip(".!") in ("n", "no") or is_unsure(said, voice.words, number=True)):
            return _unsure(voice, question)
        both = [v for end in ends[:2] if (v := _read(end, unit)) is not None] if value is None and ends else []
        if ends and len(both) == 2 and (ends[2] or not question.beside or abs(both[0] - both[1]) < ALIKE):
            value = sum(both) / 2
            if low <= value <= high:
                voice.say(f"Taken as {value:.4g}{f' {unit}' if unit else ''}, the middle.")
        if value is None and (both or sum(c.isdigit() for c in re.sub(r"[0-9.,]+", "0", said)) > 1):
            voice.say(f"Those are two numbers, and this asks for one: {question.text}" + (f" A range is fine too, such as {both[0]:g} to {both[1]:g}." if len(both) == 2 else ""))
        elif value is None:
            voice.say(f"I could not read {said!r} as a number{f' in {unit}' if unit else ''}. Type n if you are not sure.")
        elif low <= value <= high:
            return round(value, 2)
        else:
            fahrenheit = celsius(f"{value} F") if unit == "C" and bare and not bare[1] else None
            if fahrenheit is not None and low <= fahrenheit <= high:
                voice.say(f"{value:g} C is more than this can be. If that was Fahrenheit, type {value:g} F ({fahrenheit:.0f} C).")
            else:
                voice.say(f"It must lie between {low:g} and {high:g}{f' {unit}' if unit else ''}.")


def _read(text: str, unit: str) -> float | None:
    """One number in the unit that is asked for; None where it is none."""
    if unit in _READERS:
        return _READERS[unit](text)
    parts = split(text)
    return parts[0] if parts and parts[1] in ("", "ph", unit.lower()) else None
