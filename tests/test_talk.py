"""The interview as a person sees it: a terminal of forty columns, read back from the screen."""

from __future__ import annotations

import os
import random
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
import yaml

from advisor.batch.reading import read_text_batch
from advisor.knowledge.load import Knowledge
from advisor.outcome import diagnose

pexpect = pytest.importorskip("pexpect", reason="a terminal is needed, which Windows has not")
pyte = pytest.importorskip("pyte", reason="a screen is read back with it")
ROOT = Path(__file__).parent.parent
SOUND = "formula:\n  lines:\n" + "".join(f"    - {{name: {n}, amount: {a}}}\n" for n, a in (
    ("Water", 70), ("Cetearyl Alcohol (and) Polysorbate 60", 6), ("Cetyl Alcohol", 2), ("Sunflower oil", 16), ("Shea butter", 5), ("Phenoxyethanol", 1)))
GRAINY = f"# mine, with a comment\nname: test   # kept\nobserved:\n  - it is grainy\nhistory: {{worked_before: false}}\n{SOUND}notes: mine\n"


class Window:
    """A program in a terminal; `text` is what stands on its screen."""

    def __init__(self, folder: Path, *args: str, columns: int = 40, rows: int = 60, **env: str) -> None:
        whole = {**os.environ, "PYTHONPATH": str(ROOT), "TERM": "xterm", **env}
        whole = {k: v for k, v in whole.items() if v}
        self.screen = pyte.HistoryScreen(columns, rows, history=2000)
        self.stream = pyte.Stream(self.screen)
        self.child = pexpect.spawn(sys.executable, ["-m", "advisor", "diagnose", *args], cwd=str(folder), env=whole, dimensions=(rows, columns), encoding="utf-8", timeout=30)
        self.raw = self.last = ""

    def wait(self, pattern: str = "(?m)^> $") -> str:
        """Everything shown since the last wait, up to the pattern (by default the prompt)."""
        self.child.expect(pattern if pattern != "end" else pexpect.EOF)
        new = self.child.before + (self.child.after if isinstance(self.child.after, str) else "")
        self.raw += new
        self.stream.feed(new)
        self.last = " ".join(new.split())
        return self.last

    def say(self, text: str) -> str:
        self.child.sendline(text)
        return self.wait()

    def choose(self, text: str, number: str = "60") -> str:
        """Answer whatever is asked: this choice, or a number where one is wanted; and that it did not help, where that is asked."""
        shown = self.say(number if "Type a number" in self.last else text)
        return self.say("2") if "Did it help?" in shown else shown

    def leave(self) -> None:
        """Ended from outside by a signal that lets lines be counted (a closed terminal would not)."""
        self.child.kill(signal.SIGTERM)
        self.child.expect(pexpect.EOF)
        self.child.close()

    def finish(self) -> str:
        shown = self.wait("end")
        self.child.close()
        return shown


@pytest.fixture
def mine(tmp_path: Path) -> Path:
    path = tmp_path / "mine.yaml"
    path.write_text(GRAINY, encoding="utf-8")
    return path


def kept(path: Path) -> dict[str, object]:
    data: dict[str, object] = yaml.safe_load(path.read_text(encoding="utf-8")).get("answers") or {}
    return data


def test_a_record_of_ones_own_keeps_its_comments(mine: Path) -> None:
    window = Window(mine.parent, mine.name)
    window.wait()
    window.choose("1")
    window.child.sendline("s")
    shown = window.finish()
    assert "What happened" in shown and "advisor explain" in shown and window.child.exitstatus == 0
    text = mine.read_text(encoding="utf-8")
    assert "# mine, with a comment\nname: test   # kept\n" in text and "notes: mine" in text and len(kept(mine)) == 1


def test_forty_columns_hold_every_line(mine: Path) -> None:
    window = Window(mine.parent, mine.name)
    window.wait()
    for _ in range(3):
        window.choose("1")
    window.child.sendline("s")
    window.finish()
    plain = re.sub(r"\x1b\[[0-9;]*m", "", window.raw)
    assert max(map(len, plain.splitlines())) <= 40


def test_no_colour_means_none(mine: Path) -> None:
    window = Window(mine.parent, mine.name, NO_COLOR="1")
    window.wait()
    window.child.sendline("s")
    window.finish()
    cells = [c for row in (*window.screen.history.top, *window.screen.buffer.values()) for c in row.values()]
    assert cells and {c.fg for c in cells} == {"default"} and {c.bg for c in cells} == {"default"}


def test_plain_is_linear(mine: Path) -> None:
    window = Window(mine.parent, mine.name, "--plain")
    window.wait()
    assert "1: " in window.choose("1") + window.choose("1")
    window.child.sendline("s")
    shown = window.finish()
    assert "What happened:" in shown and "\x1b" not in window.raw


def test_not_sure_tells_how_to_find_out_and_is_not_asked_again(mine: Path) -> None:
    window = Window(mine.parent, mine.name)
    first = window.wait()
    shown = window.say("n" if "Type a number" in first else re.findall(r"(\d+) not sure", first)[-1])
    assert "How to find out:" in shown
    assert list(kept(mine).values()) == ["not-sure"]
    asked = next(iter(kept(mine)))
    window.child.sendline("s")
    assert "What you were not sure of" in window.finish()
    again = Window(mine.parent, mine.name)
    shown = again.wait()
    assert "1 answer is kept" in shown and "1 of them not sure" in shown
    again.choose("1")
    assert kept(mine)[asked] == "not-sure"
    again.leave()


def test_back_why_and_the_keys(mine: Path) -> None:
    window = Window(mine.parent, mine.name)
    first = window.wait()
    assert "b back, w why, c change an answer" in first
    window.choose("1")
    assert len(kept(mine)) == 1
    window.say("b")
    assert not kept(mine)
    why = window.say("w")
    assert "An answer would move" in why
    assert "explain so far" in window.say("h")
    assert "lease type a number" in window.say("seven") or "could not read" in window.last
    assert "first question" in window.say("b")
    assert "Why not" in window.say("e")
    window.leave()


def test_an_earlier_answer_is_changed(mine: Path) -> None:
    window = Window(mine.parent, mine.name)
    window.wait()
    window.choose("1")
    key, was = next(iter(kept(mine).items()))
    window.choose("1")
    others = dict(kept(mine))
    menu = window.say("c")
    assert "What do you want to change?" in menu and "What went wrong" in menu
    at = re.search(rf"(\d+) {re.escape(question_text(key))}", menu)
    assert at and question_text(key) in window.say(at[1])
    window.choose("2", "75")
    assert kept(mine)[key] != was and {k: v for k, v in kept(mine).items() if k != key} == {k: v for k, v in others.items() if k != key}
    window.leave()


def question_text(key: str) -> str:
    from advisor.knowledge.load import load_knowledge

    return load_knowledge().questions[key].text


@pytest.mark.parametrize("how", ["interrupt", "kill", "hangup"])
def test_stopped_at_every_question_loses_nothing(mine: Path, how: str) -> None:
    """Each run answers one question and is stopped at the next; the same command goes on with the one after."""
    seen: list[str] = []
    for turn in range(4):
        window = Window(mine.parent, mine.name)
        shown = window.wait()
        assert turn == 0 or f"{turn} answer{' is' if turn == 1 else 's are'} kept" in shown
        window.choose("1")
        assert len(kept(mine)) == turn + 1
        seen.append(list(kept(mine))[-1])
        if how == "interrupt":
            window.child.sendintr()
            assert "goes on from there" in window.finish() and window.child.exitstatus == 130
        else:
            window.child.kill(signal.SIGKILL if how == "kill" else signal.SIGHUP)
            window.child.wait()
            window.child.close(force=True)
    assert len(set(seen)) == 4 and not list(mine.parent.glob(".mine*")), "asked once each, and no half-written file left"


def test_numbers_are_asked_and_checked(tmp_path: Path) -> None:
    path = tmp_path / "n.yaml"
    path.write_text(GRAINY.replace("it is grainy", "white lumps of wax as soon as the water went in"), encoding="utf-8")
    window = Window(tmp_path, path.name)
    shown = window.wait()
    for _ in range(8):
        if "Type a number in C" in shown:
            break
        shown = window.say("2")
    assert "Type a number in C" in shown
    assert "could not read" in window.say("warmish")
    assert "Fahrenheit" in window.say("158")
    window.say("158 F")
    assert 70.0 in kept(path).values()
    window.leave()


def test_a_near_name_is_offered_and_a_total_asked_about(tmp_path: Path) -> None:
    path = tmp_path / "near.yaml"
    text = GRAINY.replace("Cetyl Alcohol, amount: 2}", "Cetil Alcohol, amount: 2}   # from the new jar").replace("amount: 70", "amount: 60")
    path.write_text(text, encoding="utf-8")
    window = Window(tmp_path, path.name)
    assert "Did you mean Cetyl Alcohol?" in window.wait()
    shown = window.say("1")
    assert path.read_text(encoding="utf-8") == text.replace("Cetil", "Cetyl")
    assert "come to 90, not 100" in shown
    window.say("2")
    assert yaml.safe_load(path.read_text(encoding="utf-8"))["formula"]["complete"] is False
    window.leave()


def test_half_understood_words_are_confirmed(tmp_path: Path) -> None:
    window = Window(tmp_path)
    window.wait()
    shown = window.say("zzyx qwrt")
    assert "not understood" in shown and "Is it one of these?" in shown
    number = re.search(r"(\d+) It separated", shown) or re.search(r"(?<!\S)(\d+) ", shown)
    assert number
    assert "worked for you before" in window.say(number[1])
    window.leave()


def test_a_complaint_of_the_record_that_is_not_understood_is_asked_about(tmp_path: Path) -> None:
    path = tmp_path / "weird.yaml"
    path.write_text("name: face cream\ncomplaint: it went all weird\n" + SOUND, encoding="utf-8")
    window = Window(tmp_path, path.name)
    shown = window.wait()
    number = re.search(r"(\d+) It stings", shown)
    assert "'it went all weird' was not understood" in shown and shown.count("not understood") == 1 and number
    assert "worked for you before" in window.say(number[1])
    window.child.sendline("s")
    assert "It stings or reddens the skin" in window.finish()
    assert yaml.safe_load(path.read_text(encoding="utf-8"))["complaint"] == "it went all weird"


def test_a_slip_in_the_record_is_told_in_whole_words(tmp_path: Path) -> None:
    (tmp_path / "bad.yaml").write_text("formula:\n  lines:\n    - {name: Lavender oil, amount: 20 thumbs}\n", encoding="utf-8")
    window = Window(tmp_path, "bad.yaml")
    window.finish()
    lines = window.raw.splitlines()
    assert max(map(len, lines)) < 40 and "the unit 'thumbs' is not known here." in " ".join(" ".join(lines).split())


@pytest.mark.parametrize("said", ["dunno", "I don't know.", "no idea", "not a clue", "can't remember"])
def test_not_knowing_can_be_said_in_ones_own_words(mine: Path, said: str) -> None:
    window = Window(mine.parent, mine.name)
    first = window.say("dunno") if "Type a number" in window.wait() else window.say(said)
    second = window.say(said)
    assert list(kept(mine).values())[:2] == ["not-sure", "not-sure"]
    assert "You can answer it later" in first and "You can answer it later" not in second
    window.leave()


def test_a_clash_is_pointed_out_and_can_be_set_right(tmp_path: Path) -> None:
    path = tmp_path / "clash.yaml"
    path.write_text(GRAINY + "answers:\n  container: pump\n  used-with: wet-fingers\n", encoding="utf-8")
    window = Window(tmp_path, path.name)
    shown = window.wait()
    assert "fingers hardly reach in" in shown
    assert "How is it taken out?" in window.say("2")
    window.say("4")
    assert kept(path)["used-with"] == "pump"
    window.leave()


def test_two_runs_on_one_record_keep_both(mine: Path) -> None:
    one, two = Window(mine.parent, mine.name), Window(mine.parent, mine.name)
    one.wait()
    two.wait()
    one.choose("1")
    text = mine.read_text(encoding="utf-8").replace("notes: mine", "notes: written meanwhile")
    mine.write_text(text + "water: tap\n", encoding="utf-8")
    first = dict(kept(mine))
    two.child.sendline("w")
    two.wait()
    two.last = "Type a number" if next(iter(first)).endswith("temperature") else ""
    shown = two.choose("2", "61")
    assert "changed by another run" in shown
    after = mine.read_text(encoding="utf-8")
    assert "written meanwhile" in after and "water: tap" in after and set(first) <= set(kept(mine))
    assert "changed by another run" in one.choose("1")
    assert set(first) < set(kept(mine)) and "written meanwhile" in mine.read_text(encoding="utf-8")
    one.leave()
    two.leave()


def test_without_a_terminal_it_asks_nothing_and_says_what_to_do(mine: Path) -> None:
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run([sys.executable, "-m", "advisor", "diagnose"], capture_output=True, text=True, stdin=subprocess.DEVNULL, env=env, cwd=mine.parent, check=False)
    assert done.returncode == 2 and "without a terminal nothing is asked" in done.stderr
    done = subprocess.run([sys.executable, "-m", "advisor", "diagnose", mine.name], capture_output=True, text=True, stdin=subprocess.DEVNULL, env=env, cwd=mine.parent, check=False)
    assert done.returncode == 0 and "What happened" in done.stdout and mine.read_text(encoding="utf-8") == GRAINY


def test_the_same_command_offers_to_go_on(tmp_path: Path) -> None:
    window = Window(tmp_path)
    window.wait()
    window.say("it separated")
    window.child.sendintr()
    assert "batch-record1.yaml" in window.finish().replace(" ", "")
    again = Window(tmp_path)
    assert "There is a record of an earlier talk" in again.wait()
    assert "worked for you before" in again.say("1")
    again.leave()
    assert len(list(tmp_path.glob("*.yaml"))) == 1


def test_stop_works_in_the_list_of_answers_too(mine: Path) -> None:
    window = Window(mine.parent, mine.name)
    window.wait()
    window.choose("1")
    assert "What do you want to change?" in window.say("c")
    window.child.sendline("s")
    assert "What happened" in window.finish()


def unsure_until(question: str, record: str, knowledge: Knowledge) -> str:
    """The record with every question answered by not sure that would be asked before this one."""
    answers: dict[str, str] = {}
    while True:
        whole = f"{record}answers: {yaml.safe_dump(answers, default_flow_style=True, width=9999)}" if answers else record
        asked = [q.question.id for q in diagnose(read_text_batch(whole, "mine.yaml"), knowledge).questions]
        if asked[0] == question:
            return whole
        answers[asked[0]] = "not-sure"


def test_the_keys_work_at_did_it_help(mine: Path, knowledge: Knowledge) -> None:
    mine.write_text(unsure_until("steps-tried", GRAINY.replace("it is grainy", "it separated"), knowledge), encoding="utf-8")
    window = Window(mine.parent, mine.name)
    assert "have you tried" in window.wait()
    assert "Did it help?" in window.say("1")
    assert "Did it help?" not in window.say("b")            # back to the question itself
    assert "Did it help?" in window.say("1")
    window.child.sendline("s")
    assert "What happened" in window.finish()
    assert "tried" not in yaml.safe_load(mine.read_text(encoding="utf-8"))


def test_whether_it_helped_can_be_left_open_or_said_in_words(mine: Path, knowledge: Knowledge) -> None:
    record = unsure_until("steps-tried", GRAINY.replace("it is grainy", "it separated"), knowledge)
    for said, kept_as in (("it got much worse", [False]), ("no idea", [])):
        mine.write_text(record, encoding="utf-8")
        window = Window(mine.parent, mine.name)
        window.wait()
        assert "not sure" in window.say("1")
        window.child.sendline(said)
        window.child.expect(["(?m)^> $", pexpect.EOF])
        assert [t["changed"] for t in yaml.safe_load(mine.read_text(encoding="utf-8")).get("tried", [])] == kept_as
        window.child.close(force=True)


def test_a_formula_that_is_not_known_is_no_ingredient(tmp_path: Path) -> None:
    window = Window(tmp_path)
    window.wait()
    window.say("it separated")
    assert "What was in it?" in window.say("no")
    assert "Understood: 1 ingredient" not in window.say("no idea")
    assert "formula" not in yaml.safe_load(next(tmp_path.glob("*.yaml")).read_text(encoding="utf-8"))
    window.leave()


def test_any_sign_that_looks_like_a_digit_is_asked_about_again(mine: Path) -> None:
    window = Window(mine.parent, mine.name)
    window.wait()
    for said in ("\u00b2", "\u0663\u0663\u0663", "9" * 900, "-1", "1e3", "\x16\x1b[31m", "[red]"):
        shown = window.say(said)
        assert "Please type a number" in shown or "could not read" in shown or "must lie between" in shown
        assert "\x1b[31m" not in shown and not kept(mine)
    window.leave()


@pytest.mark.parametrize("seed", range(6))
def test_killed_at_any_moment_the_record_is_whole(mine: Path, seed: int) -> None:
    """Answers are typed ahead and the run is killed somewhere among them: what stands on disk reads, and no earlier answer is gone."""
    rng = random.Random(seed)
    before: dict[str, object] = {}
    for _ in range(3):
        window = Window(mine.parent, mine.name)
        if window.child.expect(["(?m)^> $", pexpect.EOF]) == 1:
            break                              # everything was asked before
        for _ in range(4):
            window.child.sendline("1")
        time.sleep(rng.random() * 0.2)
        window.child.kill(rng.choice([signal.SIGKILL, signal.SIGTERM, signal.SIGINT]))
        window.child.close(force=True)
        text = mine.read_text(encoding="utf-8")
        assert text.startswith("# mine, with a comment\nname: test   # kept\n") and "notes: mine" in text
        assert before.items() <= kept(mine).items()
        before = dict(kept(mine))


def test_a_record_that_cannot_be_written_is_said_and_the_talk_goes_on(mine: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    from advisor.knowledge.load import load_knowledge
    from advisor.screens.talk import talk

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    said = iter(["60", "1", "2", "1", "2", "s", "s"])
    monkeypatch.setattr("advisor.keeping.save", full)
    monkeypatch.setattr("builtins.input", lambda _: next(said))
    assert talk(str(mine), load_knowledge(), plain=True) == 0
    shown = capsys.readouterr().out
    assert "cannot be written (No space left on device)" in shown and "What happened:" in shown
    assert mine.read_text(encoding="utf-8") == GRAINY


def test_an_interrupt_between_answer_and_writing_loses_nothing(mine: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    from advisor.knowledge.load import load_knowledge
    from advisor.screens.talk import talk

    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("advisor.screens.talk._heard", interrupted)
    monkeypatch.setattr("builtins.input", lambda _: "1")
    assert talk(str(mine), load_knowledge(), plain=True) == 130
    assert "goes on from there" in capsys.readouterr().err
    assert len(kept(mine)) == 1


def test_thirty_columns_hold_every_line(mine: Path) -> None:
    window = Window(mine.parent, mine.name, columns=30)
    window.wait()
    window.choose("1")
    window.child.sendline("s")
    window.finish()
    assert max(map(len, re.sub(r"\x1b\[[0-9;]*m", "", window.raw).splitlines())) <= 30
