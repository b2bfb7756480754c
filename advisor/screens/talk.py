"""The interview on a terminal: one thing at a time, on disk after every answer."""

from __future__ import annotations

import sys
from collections.abc import Iterable

import click

from advisor.batch.model import Batch, Line
from advisor.batch.plainly import helped as has_helped
from advisor.batch.reading import read_batch
from advisor.doubts import KEEP, LABEL
from advisor.errors import InputError
from advisor.interview import COMPLAINT, FORMULA, Ask, Interview
from advisor.keeping import Keeper, earlier, free_path
from advisor.knowledge.load import Knowledge
from advisor.quantities.names import resolve
from advisor.screens import asking, lines, terminal
from advisor.screens.asking import Key, Voice
from advisor.situation import NOT_SURE, NOTHING

_SURE = {"settled": "It is settled as far as rules can settle it", "likely": "It is likely, not certain", "possible": "It is only possible: treat the fix as a trial"}


def talk(path: str | None, knowledge: Knowledge, plain: bool = False) -> int:
    """Ask, keep, ask again; then show the outcome.  Returns the exit code (130 when interrupted)."""
    voice = Voice(plain, knowledge.words)
    try:
        path = _which(voice, path)
    except (KeyboardInterrupt, click.exceptions.Abort, EOFError):
        return 130
    target = free_path(path)
    own = path is not None and str(target) == path
    batch = read_batch(path) if path else Batch(name="")
    keeper = Keeper(target, own)
    keeper.base = batch
    state = Interview(knowledge, batch)
    if batch.answers:
        unsure = sum(v == NOT_SURE for v in batch.answers.values())
        voice.say(f"Going on where you stopped: {_count(len(batch.answers), 'answer')} {'is' if len(batch.answers) == 1 else 'are'} kept in {target}" + (f", {unsure} of them not sure." if unsure else "."))
    voice.say(f"Your answers are saved in {target} as you give them.")
    voice.keys()
    click.echo("")
    try:
        _questions(voice, state, keeper)
    except (KeyboardInterrupt, click.exceptions.Abort, EOFError):
        _stopped(voice, state, keeper)
        return 130
    _tell(voice, state, keeper)
    return 0


def _stopped(voice: Voice, state: Interview, keeper: Keeper) -> None:
    """Interrupted, perhaps between an answer and its writing: write what is not on disk yet, and say where all is."""
    voice.remark("\nStopped.")
    _keep(voice, state, keeper)
    if state.batch != keeper.base:
        voice.remark(f"Your answers could not be kept in {keeper.path}.")
    elif keeper.path.exists():
        voice.remark(f"Your answers are kept in {keeper.path}; advisor diagnose {keeper.path} goes on from there.")
    else:
        voice.remark("Nothing was answered yet, so nothing was kept.")


def _which(voice: Voice, path: str | None) -> str | None:
    """Where an earlier run on the same input left a record, whether to go on with it."""
    if path and path.endswith((".yaml", ".yml")):
        return path
    found = earlier(path)
    if not found:
        return path
    voice.say(f"There is a record of an earlier talk: {found[-1]}.")
    said = voice.pick(["go on with it", "begin a new one"])
    return str(found[-1]) if said == 0 else path


def _questions(voice: Voice, state: Interview, keeper: Keeper) -> None:
    while (ask := state.next()) is not None:
        said, helped = _put(voice, ask), None
        if ask.question is not None and ask.question.reads == "tried" and said not in (NOT_SURE, NOTHING, "") and not isinstance(said, Key):
            voice.say("Did it help?")
            answer = voice.pick(["yes, it got better", "no, nothing changed or it got worse"], "not sure", read=lambda text: _helped(text, state.knowledge))
            if answer == asking.BACK:
                continue
            said, helped = (answer, None) if isinstance(answer, Key) else (said, (True, False, None)[answer])
        if said == NOT_SURE and NOT_SURE not in state.batch.answers.values():
            voice.say("You can answer it later: c lists everything you said.")
        if isinstance(said, Key):
            if said == asking.STOP or _key(voice, state, ask, said) == asking.STOP:
                return
        elif said == "":
            state.skip(ask)
        else:
            try:
                state.answer(ask, said, helped)
            except InputError as error:
                for problem in error.problems:
                    voice.say(str(problem))
                continue
            _heard(voice, state, ask)
        _keep(voice, state, keeper)
        click.echo("")


def _helped(text: str, knowledge: Knowledge) -> int | None:
    """Which of the answers to whether it helped is meant by these words."""
    found = has_helped(text, knowledge.words)
    return None if found is None else int(not found)


def _put(voice: Voice, ask: Ask) -> str | float | Key:
    if ask.question is not None:
        answer: str | float | Key = asking.ask_question(voice, ask, ask.question)
        return answer
    if ask.doubt is None:
        return asking.ask_text(voice, ask, ask.kind == FORMULA)
    voice.say(ask.text)
    stands = next((i for i, (choice, _) in enumerate(ask.doubt.choices) if choice == KEEP), None)
    said = voice.pick([label for _, label in ask.doubt.choices], unsure=stands)
    return said if isinstance(said, Key) else ask.doubt.choices[said][0]


def _key(voice: Voice, state: Interview, ask: Ask, key: str) -> str:
    """Do what a key asks for; `s` where that was the answer to it, else nothing."""
    if key == asking.BACK:
        if state.back() is None:
            voice.say("This is the first question.")
    elif key == asking.WHY:
        voice.say(ask.why)
        moved = state.moves(ask.question) if ask.question else ()
        if moved:
            voice.say("An answer would move: " + "; ".join(moved) + ".")
    elif key == asking.CHANGE:
        given = state.given()
        voice.say("What do you want to change?")
        said = voice.pick([f"{g.text} {g.answer}" if g.text.endswith("?") else f"{g.text}: {g.answer}" for g in given], "nothing, go on")
        if isinstance(said, Key):
            return said if said == asking.STOP else ""
        if said < len(given):
            state.change(given[said].key)
    elif key == asking.SO_FAR:
        _so_far(voice, state)
    else:
        voice.keys()
    return ""


def _so_far(voice: Voice, state: Interview) -> None:
    """What is thought now, and why, in a few lines."""
    from advisor.explain import explain
    from advisor.screens.explaining import short_lines

    for line in short_lines(explain(state.batch, state.knowledge, quick=True)):
        voice.say(line, 2)


def _heard(voice: Voice, state: Interview, ask: Ask) -> None:
    """Show back what was understood of free text."""
    if ask.kind == COMPLAINT:
        signs = state.outcome().examination.situation.complaints
        titles = " ".join(f"{t}." for t in dict.fromkeys(state.knowledge.symptoms[s.symptom].title for s in signs if s.full))
        if titles:      # else it is asked about next
            voice.say(f"Understood: {titles}")
    elif ask.kind.startswith(LABEL):
        before = state.past[-1][1].formula.lines
        _lines(voice, [line for line in state.batch.formula.lines if line not in before], state.batch.formula.unit, state.knowledge)
    elif ask.kind == FORMULA:
        formula = state.batch.formula
        voice.say(f"Understood: {_count(len(formula.lines), 'ingredient')}.")
        _lines(voice, formula.lines, formula.unit, state.knowledge)


def _lines(voice: Voice, formula: Iterable[Line], unit: str | None, knowledge: Knowledge) -> None:
    mark = "" if unit in (None, "part") else " %" if unit == "percent" else f" {unit}"
    for line in formula:
        names = " and ".join(i.inci for i in resolve(line.name, knowledge).ingredients)
        amount = "the rest" if line.rest else "amount unknown" if line.amount is None else " to ".join(f"{a:g}" for a in dict.fromkeys(round(a, 3) for a in line.amount)) + mark
        voice.say(f"- {line.name}, {amount}: {names or 'not known here; nothing can be told from it'}", 2)


def _count(number: int, thing: str) -> str:
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"


def _keep(voice: Voice, state: Interview, keeper: Keeper) -> None:
    """Write at once; where another run has changed the record, take its answers over first and say so."""
    if state.batch == keeper.base:
        return
    for _ in range(5):
        try:
            theirs = keeper.keep(state.batch, state.owned_blocks())
        except OSError as error:
            voice.say(f"{keeper.path} cannot be written ({error.strerror}), so your answers last only as long as this talk.")
            return
        if theirs is None:
            return
        voice.say(f"{keeper.path} was changed by another run or editor; its new answers were taken over, and yours added to them.")
        state.rebased(theirs, keeper.base or theirs)
        keeper.base = theirs


def _tell(voice: Voice, state: Interview, keeper: Keeper) -> None:
    """Why it stops, how sure it is, the outcome, and where to ask on."""
    outcome, knowledge = state.outcome(), state.knowledge
    blocks = [*lines.first_screen(outcome, knowledge), *lines.rest(outcome, knowledge)]
    leader = outcome.examination.leader
    if state.next() is None:
        ends = "That is enough for one sitting: what is left to ask would hardly change the advice." if state.tired else \
            "No further answer that you can give now would change the advice." if state.later() else "No further answer would change the advice."
        voice.say(ends + (f" {_SURE[leader.standing]}." if leader else " No cause stands out."))
    if voice.plain:
        click.echo(terminal.plain_text(blocks))
    else:
        terminal.show(blocks)
    unsure = [q for q in state.left_open() if state.batch.answers.get(q.id) == NOT_SURE and (q.how or q.steps)]
    if unsure:
        voice.say("What you were not sure of, and how to find out:")
        for question in unsure:
            voice.say(f"- {question.text} {question.how or ' '.join(question.steps)}", 2)
    shown = [q.question for q in outcome.questions[:lines.HELPFUL]]
    for test in (t for t in state.later() if t not in shown):
        voice.say(f"A test that takes longer could still change this: {test.text} {test.why}")
    if keeper.path.exists():
        voice.say(f"How this was concluded, why not something else, what would change it: advisor explain {keeper.path}")
    sys.stdout.flush()
