"""Hostile and clumsy input through every command: one clear error or an answer; nothing steers the terminal, nothing is overwritten."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from advisor.batch.reading import read_text_batch
from advisor.cli import main
from advisor.errors import InputError

ROOT = Path(__file__).parent.parent
CASE = str(ROOT / "cases" / "demo-heel-cream.yaml")
LINES = "formula:\n  lines:\n    - {name: Water, amount: 70}\n    - {name: Olive oil, amount: 25}\n    - {name: Stearic acid, amount: 5}\n"
STEERING = ("\x1b", "\x9b", "\x07", "\u202e", "\u2066")
NASTY = r"\e[31m\x9b2J\a\u202e[red]x[/red]<script>"


def run(*args: str, given: str | None = None, **env: str) -> Result:
    return CliRunner().invoke(main, list(args), input=given, color=True, env=env)


def written(folder: Path, name: str, text: str | bytes) -> str:
    path = folder / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return str(path)


REFUSED = {      # name: (content, a word of the error)
    "empty.yaml": ("", "empty"), "blank.yaml": (" \n\t\n", "empty"), "scalar.yaml": ("hello\n", "no batch record"), "list.yaml": ("- a\n", "no batch record"),
    "unit.yaml": ("formula:\n  lines:\n    - {name: Water, amount: 70 furlongs}\n", "furlongs"),
    "hot.yaml": (LINES + "process: {water_phase_temperature: 300 \u00b0F}\n", "149 C"), "hot2.yaml": (LINES + "process: {oil_phase_temperature: 600 F}\n", "316 C"),
    "nan.yaml": ("formula:\n  lines:\n    - {name: Water, amount: .nan}\n", "number"), "inf.yaml": ("formula:\n  lines:\n    - {name: Water, amount: .inf}\n", "number"),
    "huge.yaml": ("formula:\n  lines:\n    - {name: Water, amount: 1e308}\n", "1,000,000"), "digits.yaml": (f"formula:\n  lines:\n    - {{name: Water, amount: {'9' * 5000}}}\n", "number"),
    "size.yaml": (LINES + "batch_size: lots\n", "weight"), "scale.yaml": (LINES + "scale_reads_to: 0 g\n", "scale"),
    "rest.yaml": ("formula:\n  unit: percent\n  lines:\n    - {name: Water, amount: rest}\n    - {name: Oil, amount: 120}\n", "nothing is left"),
    "rests.yaml": ("formula:\n  lines:\n    - {name: Water, amount: rest}\n    - {name: Oil, amount: rest}\n", "more than one"),
    "noname.yaml": ("formula:\n  lines:\n    - {amount: 3}\n", "name"), "nolines.yaml": ("formula: {}\n", "lines"),
    "deep.yaml": ("formula: " + "[" * 3000, "deep"), "deepmap.yaml": ("\n".join(" " * i + "a:" for i in range(200)), "deep"),
    "bomb.yaml": ("a: &a [x]\nb: [*a, *a]\n", "anchor"), "tag.yaml": ("formula: !!python/object/apply:os.system ['true']\n", "tag"),
    "two.yaml": (LINES + "---\n" + LINES, "second document"), "twice.yaml": (LINES + LINES, "twice"), "tabs.yaml": ("formula:\n\tlines:\n", "YAML"),
    "utf16.yaml": (LINES.encode("utf-16"), "UTF-16"), "latin.yaml": ("name: caf\u00e9\n".encode("latin-1"), "UTF-8"), "binary.yaml": (b"name: a\0b\n", "binary"),
    "raw.yaml": ("name: \x1b[31m\n", "control characters"), "key.yaml": (f'"{NASTY}": 1\n', "not known"), "longkey.yaml": (f"? {'x' * 5000}\n: 1\n", "not known"),
    "kind.yaml": (f'kind: "{NASTY}"\n', "kind"), "amount.yaml": (f'formula:\n  lines:\n    - {{name: x, amount: "{NASTY}"}}\n', "no number"),
    "lines.yaml": ("formula:\n  lines:\n" + "    - {name: Water, amount: 0.01}\n" * 600, "500"), "seen.yaml": (LINES + "observed:\n" + "  - oil on top\n" * 20_000, "the limit is 100"),
    "words.yaml": (LINES + "observed: [" + "it split and " * 100_000 + "]\n", "4,000"), "word.yaml": (LINES + f"complaint: {'x' * 1_000_000}\n", "4,000"),
    "answers.yaml": (LINES + "answers:\n" + "".join(f"  q{i}: 1\n" for i in range(5000)), "1,000"), "ph.yaml": (LINES + "measured: {ph: 55}\n", "14"),
    "strength.yaml": ("formula:\n  lines:\n    - {name: Lye, amount: 3, strength: 500 %}\n", "strength"), "big.yaml": ("# " + "x" * 10_000_000, "2,000,000"),
    "big.csv": ("a,1\n" * 2_600_000, "2,000,000"), "field.csv": (f'"{"x" * 200_000}",5\nb,3\n', "field"), "neg.csv": ("Water,-5\nOil,30\n", "-5"), "head.csv": ("name,amount\n", "no row"),
    "esc.csv": ("Water,70\nOil,30\x1b\n", "no number"), "dashes.txt": ("Water 3%\nabc" + "-" * 20_000 + "z\n", "1,000"), "spaces.txt": ("Water" + " " * 50_000 + "x\nOil 3%\n", "1,000"),
    "ratio.txt": ("Water 2:1\nOil 3\n", "ratio"), "mixed.txt": ("Water 70%\nOil 5 g\n", "one unit"), "prose.txt": ("I made a cream and it split.\nPlease help!\n", "no batch record"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_refused_with_what_where_and_how_to_mend(tmp_path: Path, name: str) -> None:
    text, word = REFUSED[name]
    path = written(tmp_path, name, text)
    before = Path(path).read_bytes()
    for command in (["diagnose", path, "--json"], ["remake", path, "--page", str(tmp_path / "out.html")]):
        start = time.monotonic()
        done = run(*command)
        assert time.monotonic() - start < 5
        assert done.exit_code == 2, done.output
        assert done.stdout == ""
        assert word in done.stderr and name in done.stderr
        assert len(done.stderr) < 3000
        assert not any(mark in done.stderr for mark in STEERING)
        assert done.stderr.rstrip().endswith((".", "?"))
    assert Path(path).read_bytes() == before
    assert [p.name for p in tmp_path.iterdir()] == [name]


STEERS = f'''name: "{NASTY}"
formula:
  lines:
    - {{name: "{NASTY} oil", amount: 30, lot: "{NASTY}", phase: "{NASTY}"}}
    - {{name: "<script>alert(1)</script>&\\"'", amount: 5}}
    - {{name: Water, amount: 65}}
wanted: "{NASTY}"
complaint: "{NASTY} split [/]"
observed: [{{what: "{NASTY} oil on top [link=x]", when: "{NASTY}"}}]
process: {{mixer: "{NASTY}", order: "[/]", cooled: "{NASTY}", held: "{NASTY}"}}
storage: {{container: "{NASTY}"}}
water: "{NASTY}"
notes: "{NASTY}"
history: {{changed: ["{NASTY}"], worked_before: "{NASTY}"}}
tried: [{{what: "{NASTY} heat", changed: true}}]
answers: {{"{NASTY}": "{NASTY}"}}
'''


@pytest.mark.parametrize("command", [["diagnose"], ["diagnose", "--json"], ["diagnose", "--plain"], ["check"], ["check", "--json"], ["explain"], ["explain", "--json"],
                                     ["remake"], ["remake", "--json"]], ids=" ".join)
def test_names_are_shown_and_never_obeyed(tmp_path: Path, command: list[str]) -> None:
    path = written(tmp_path, "steers.yaml", STEERS)
    done = run(command[0], path, *command[1:])
    assert done.exit_code == 0, done.output
    assert not any(mark in done.output for mark in STEERING)
    if "--json" in command:
        json.loads(done.stdout)


@pytest.mark.parametrize("args", [["ingredient", "\x1b[31mfoo\u202e"], ["ingredient", "\x9b31m", "--json"], ["rules", "show", "\x1b[31m"], ["rules", "schema", "\x1b[31m"], ["swap", CASE, "\x1b[31mfoo", "beeswax"],
                                  ["swap", CASE, "stearic acid", "\x1b[31mzz"], ["explain", CASE, "--what-if", "\x1b[31mWater=5"], ["explain", CASE, "--cause", "\x1b[31m"],
                                  ["explain", CASE, "--what-if", "x" * 100_000 + "=1"], ["remake", CASE, "--size", "\x1b[31m"], ["remake", CASE, "--fix", "\x1b[31m"], ["score", "\x1b[31m"],
                                  ["diagnose", "\x1b[31m.yaml"], ["diagnose", "x" * 5000], ["diagnose", "a\0b"], ["diagnose", "--\x1b[31m"], ["\x1b[31m"], ["diagnose", CASE, "\x1b[31m"]],
                         ids=lambda a: " ".join(a).encode("unicode_escape").decode()[:40])
def test_words_on_the_command_line_are_shown_and_never_obeyed(args: list[str]) -> None:
    done = run(*args)
    assert done.exit_code == (0 if args[0] == "ingredient" else 2)
    assert not any(mark in done.output for mark in STEERING)
    assert len(done.output) < 3000


def test_the_page_escapes_html_and_the_table_formulas(tmp_path: Path) -> None:
    path = written(tmp_path, "a.yaml", 'formula:\n  lines:\n    - {name: "<script>x</script>", amount: 5}\n    - {name: "=cmd()", amount: 5}\n    - {name: Water, amount: 90}\n')
    page, table = tmp_path / "a.html", tmp_path / "a.csv"
    assert run("remake", path, "--page", str(page), "--csv", str(table)).exit_code == 0
    assert "<script>x" not in page.read_text(encoding="utf-8") and "&lt;script&gt;x" in page.read_text(encoding="utf-8")
    assert not any(row.startswith("=") for row in table.read_text(encoding="utf-8").splitlines())


@pytest.mark.parametrize("text", [LINES.replace("\n", "\r\n"), LINES.replace("\n", "\r"), "\ufeff" + LINES, LINES + "...\n", "%YAML 1.2\n---\n" + LINES,
                                  json.dumps({"formula": {"lines": [{"name": n, "amount": a} for n, a in (("Water", 70), ("Olive oil", 25), ("Stearic acid", 5))]}}),
                                  "Water,70\nOlive oil,25\nStearic acid,5\n", "\ufeffname;amount\r\nWater;70\r\nOlive oil;25\r\nStearic acid;5,0\r\n",
                                  "Water 70%\r\nOlive oil 25%\r\nStearic acid 5%", "Phase A\nWater 70%\nOil phase:\nOlive oil 25%\nStearic acid 5%\nTotal 100%\n",
                                  "Wa\u200bter 70%\nOlive\u00a0oil 25%\nStearic\u00ad acid 5%\n", "Water,70\nOlive oil,25\nStearic acid,5\nTotal,100\n"])
def test_forms_of_one_formula_read_alike(tmp_path: Path, text: str) -> None:
    plain = json.loads(run("diagnose", written(tmp_path, "plain.yaml", LINES), "--json").stdout)
    done = run("diagnose", written(tmp_path, "other", text), "--json")
    assert done.exit_code == 0, done.output
    assert json.loads(done.stdout)["causes"] == plain["causes"]


def test_a_total_that_does_not_fit_is_said() -> None:
    batch = read_text_batch("Water 70\nOlive oil 25\nBeeswax 5\nTotal 90\n", "x")
    assert [line.name for line in batch.formula.lines] == ["Water", "Olive oil", "Beeswax"]
    assert "90" in batch.remarks[0].says and "100" in batch.remarks[0].says


def test_headings_tell_the_phase_only_where_they_name_it() -> None:
    batch = read_text_batch("Phase A\nWater 70%\nOil phase\nOlive oil 25%\nCool down:\nPerfume 5%\n", "x")
    assert [line.phase for line in batch.formula.lines] == [None, "oil", "cool-down"]


def test_every_mistake_of_a_file_is_named_but_not_without_end() -> None:
    with pytest.raises(InputError) as caught:
        read_text_batch("formula:\n  lines:\n" + "    - {name: x, amount: -1}\n" * 400, "x.yaml")
    assert len(caught.value.problems) == 400
    done = run("diagnose", "-", given="formula:\n  lines:\n" + "    - {name: x, amount: -1}\n" * 400)
    assert done.exit_code == 2
    assert "380 more" in done.stderr


def test_where_nothing_is_shown_nothing_is_said_to_happen_in_the_jar() -> None:
    done = run("diagnose", "-", given="formula: {lines: []}\n")
    assert "Nothing in what is known speaks for a fault." in done.stdout
    assert "What happens in the jar" not in done.stdout and "How to prove it" not in done.stdout


def test_nothing_is_overwritten_unasked(tmp_path: Path) -> None:
    there, link = tmp_path / "there.html", tmp_path / "link.html"
    there.write_text("mine", encoding="utf-8")
    link.symlink_to(tmp_path / "nowhere")
    own = tmp_path / "own.yaml"
    own.write_text(Path(CASE).read_text(encoding="utf-8"), encoding="utf-8")
    (tmp_path / "alias.yaml").symlink_to(own)
    os.link(own, tmp_path / "hard.yaml")
    before = own.read_bytes()
    for args in (["--page", str(there)], ["--page", str(link)], ["--page", str(tmp_path)], ["--page", ""], ["--page", "/dev/null", "--force"], ["--page", str(tmp_path / "no" / "a.html")],
                 ["--record", str(own), "--force"], ["--record", str(tmp_path / "alias.yaml"), "--force"], ["--record", str(tmp_path / "hard.yaml"), "--force"],
                 ["--page", str(tmp_path / "a"), "--csv", str(tmp_path / "." / "a")]):
        assert run("remake", str(own), *args).exit_code == 2, args
    assert run("rules", "new", str(there)).exit_code == 2
    assert run("rules", "new", str(there / "x.yaml")).exit_code == 2
    assert there.read_text(encoding="utf-8") == "mine" and own.read_bytes() == before and link.is_symlink()


def shell(command: str, **env: str) -> subprocess.CompletedProcess[str]:
    line = command.replace("advisor ", f"{sys.executable} -m advisor ").replace("CASE", CASE)
    return subprocess.run(["bash", "-c", f"set -o pipefail; {line}"], capture_output=True, text=True, cwd=ROOT, env={**os.environ, **env}, timeout=60, check=False)


@pytest.mark.skipif(sys.platform == "win32", reason="the shell of POSIX systems is needed")
@pytest.mark.parametrize(("command", "code"), [("advisor diagnose CASE | head -c 1", 0), ("advisor diagnose CASE --json >&-", 0), ("advisor diagnose CASE <&- | cat", 0),
                                               ("advisor diagnose <&-", 2), ("advisor diagnose - <&-", 2), ("advisor diagnose CASE 2>&-", 0), ("advisor diagnose CASE <&- >&- 2>&-", 0)])
def test_closed_streams(command: str, code: int) -> None:
    done = shell(command)
    assert done.returncode == code, done.stderr
    assert "Traceback" not in done.stderr and "Exception" not in done.stderr


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no device that is always full")
def test_a_full_disk_is_said_clearly() -> None:
    done = shell("advisor diagnose CASE --json > /dev/full")
    assert done.returncode == 1
    assert "could not be written" in done.stderr and "Traceback" not in done.stderr


@pytest.mark.parametrize("coding", ["ascii", "latin-1", "cp437"])
def test_a_terminal_that_cannot_show_a_name(tmp_path: Path, coding: str) -> None:
    path = written(tmp_path, "a.yaml", "name: Cr\u00e8me \u2603\n" + LINES.replace("Olive oil", "\u2603 oil") + "observed: [oil on top]\n")
    for command in ("diagnose", "remake"):
        assert shell(f"advisor {command} {path}", PYTHONIOENCODING=coding).returncode == 0
    assert json.loads(shell(f"advisor diagnose {path} --json", PYTHONIOENCODING=coding).stdout)["batch"] == "Cr\u00e8me \u2603"


def test_a_fault_of_ours_is_owned_up_to(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> None:
        raise RuntimeError("odd\x1b[31m")

    monkeypatch.setattr("advisor.outcome.diagnose", broken)
    done = run("diagnose", CASE, "--no-ask")
    assert done.exit_code == 1
    assert "A fault of ours" in done.stderr and "\x1b" not in done.stderr
    again = run("diagnose", CASE, "--no-ask", ADVISOR_DEBUG="1")
    assert isinstance(again.exception, RuntimeError)


@pytest.mark.parametrize("own", ["missing", "broken", "binary"])
def test_a_bad_folder_of_own_rules(tmp_path: Path, own: str) -> None:
    folder = tmp_path / own
    if own != "missing":
        (folder / "causes").mkdir(parents=True)
        (folder / "causes" / "x.yaml").write_bytes(b"id: [\n" if own == "broken" else b"\xff\xfe\0")
    done = run("diagnose", CASE, "--no-ask", ADVISOR_OWN_RULES=str(folder))
    assert done.exit_code == 2
    assert str(folder) in done.stderr
