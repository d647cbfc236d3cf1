"""Odd shells, odd file names, odd texts: a clear error with the right status, or the answer; never a traceback or a hang."""

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from heatproof._visible import DIRECTIONS
from heatproof.doors import cli
from heatproof.kit.read import read_project

SMALL = Path(__file__).parents[1] / "kit" / "small"
PROGRAM = f"{sys.executable} -m heatproof.doors.cli"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    shutil.copytree(SMALL, tmp_path / "small", ignore=shutil.ignore_patterns("results"))
    return tmp_path / "small"


def refused(arguments: list[str], capsys: pytest.CaptureFixture[str], *expected: str) -> None:
    """Status 2, words on standard error, every character of them harmless."""
    assert cli.run(arguments) == 2
    out, said = capsys.readouterr()
    for words in (*expected, "error: "):
        assert words in said
    assert "Traceback" not in out + said
    assert all(c == "\n" or (c.isprintable() and c not in DIRECTIONS) for c in said)


# --- texts in files ---------------------------------------------------------------------------------------
NAME = "name: Small kit (invented)"
ODD = [
    '"\\e[31mred"',
    '"two\\nlines"',
    '"a\\rb"',
    '"bell\\a"',
    '"x\\u202Ey"',
    '"\\u2066x"',
    '"del\\x7f"',
    '"\\x9b2J"',
    '"a\\u2028b"',
    '"nul\\0"',
]


@pytest.mark.parametrize("text", ODD)
@pytest.mark.parametrize(
    ("file", "line", "changed"),
    [
        ("kit.yaml", NAME, "name: {}"),
        ("kit.yaml", "title: Shield", "title: {}"),
        ("kit.yaml", NAME, NAME + "\nrevision: {}"),
        ("duties/hill.yaml", "name: Hill", "name: {}"),
    ],
)
def test_names_that_would_steer_a_screen_are_refused(
    folder: Path, file: str, line: str, changed: str, text: str, capsys: pytest.CaptureFixture[str]
) -> None:
    path = folder / file
    path.write_text(path.read_text().replace(line, changed.format(text), 1))
    refused(["check", str(folder)], capsys, file, "characters that do not show")


@pytest.mark.parametrize("empty", ['""', '" "', '"\\t"'])
@pytest.mark.parametrize(
    ("file", "line", "changed"),
    [
        ("kit.yaml", NAME, "name: {}"),
        ("kit.yaml", NAME, NAME + "\nrevision: {}"),
        ("duties/hill.yaml", "name: Hill", "name: {}"),
    ],
)
def test_empty_names_are_refused(
    folder: Path, file: str, line: str, changed: str, empty: str, capsys: pytest.CaptureFixture[str]
) -> None:
    path = folder / file
    path.write_text(path.read_text().replace(line, changed.format(empty), 1))
    refused(["check", str(folder)], capsys, f"{file}", "is empty")


def test_a_note_may_have_lines(folder: Path) -> None:
    kit = folder / "kit.yaml"
    kit.write_text(
        kit.read_text().replace("    title: Shield\n", '    title: Shield\n    note: "one\\ntwo"\n')
    )
    assert read_project(folder).measures["shield"].note == "one\ntwo"


# --- files ------------------------------------------------------------------------------------------------
@pytest.mark.parametrize("name", ["car.yaml", "kit.yaml", "duties/hill.yaml"])
@pytest.mark.parametrize("kind", ["pipe", "folder", "endless", "dangling"])
def test_what_is_no_file_is_refused_at_once(
    folder: Path, name: str, kind: str, capsys: pytest.CaptureFixture[str]
) -> None:
    path = folder / name
    path.unlink()
    if kind == "pipe":
        os.mkfifo(path)
    elif kind == "folder":
        path.mkdir()
    else:
        path.symlink_to("/dev/zero" if kind == "endless" else folder / "gone")
    if (name, kind) == ("kit.yaml", "dangling"):
        assert read_project(folder).measures == {}  # as where there is no kit file
        return
    refused(["check", str(folder)], capsys, name)


@pytest.mark.parametrize(
    "raw", [b"h\xffll.yaml", b"h\x1b[31mll.yaml", b"h\nll.yaml", "h\u202ell.yaml".encode()]
)
def test_odd_file_names_of_duties_are_refused(
    folder: Path, raw: bytes, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (folder / "duties" / "hill.yaml").read_text().replace("name: Hill", "name: Hull")
    Path(os.fsdecode(os.fsencode(folder / "duties") + b"/" + raw)).write_text(text)
    refused(["check", str(folder)], capsys, "file name", "rename")


@pytest.mark.parametrize(
    "raw", [b"no\xffwhere", b"no\x1b[31mwhere", b"no\nwhere", "no\u202ewhere".encode(), b"x" * 300]
)
def test_odd_project_folders_are_refused(raw: bytes, capsys: pytest.CaptureFixture[str]) -> None:
    refused(["check", os.fsdecode(raw)], capsys, "next step")


# --- measures that need each other ------------------------------------------------------------------------
@pytest.mark.parametrize("loop", [False, True])
def test_a_thousand_chained_measures(folder: Path, loop: bool) -> None:
    kit = folder / "kit.yaml"
    last = f"  m1000: {{title: Last{', needs: [m0]' if loop else ''}}}\n"
    chain = "".join(f"  m{k}: {{title: M{k}, needs: [m{k + 1}]}}\n" for k in range(1000))
    kit.write_text(kit.read_text() + chain + last)
    project = read_project(folder)
    assert len(project.companions("m0", [])) == 1001
    variant = project.variant([f"m{k}" for k in range(1001)])
    assert len(variant.fitted) == 1001


# --- command lines ----------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("arguments", "expected"),
    [
        (["log", "LOG", "--rate", "1e-320"], "--rate"),
        (["log", "LOG", "--rate", "0"], "--rate"),
        (["log", "LOG", "--rate", "-1"], "--rate"),
        (["log", "LOG", "--rate", "nan"], "--rate"),
        (["log", "LOG", "--rate", "inf"], "--rate"),
        (["log", "LOG", "--rate", "fast"], "--rate"),
        (["log", "LOG", "--to-ambient", "ten"], "--to-ambient"),
        (["log", "LOG", "--to-ambient", "10"], "--to-ambient"),
        (["log", "LOG", "--to-ambient", "900 degC"], "--to-ambient"),
        (["log", "PIPE"], "not a file"),
        (["log", "FOLDER"], "not a file"),
        (["check", "PROJECT", "--duty", "hil"], "hill"),
        (["check", "PROJECT", "--duty", "\x1b[31m"], "duty"),
        (["check", "PROJECT", "--kit", "\x1b[31m.yaml"], "no such kit file"),
        (["check", "PROJECT", "--fit", "\u202eshield"], "measure"),
        (["explain", "PROJECT", "\x1b]0;title\x07"], "next step"),
        (["check", "PROJECT", "--sampling", "many"], "next step"),
        (["\x1b[31mcheck"], "next step"),
    ],
)
def test_command_lines_that_make_no_sense(
    folder: Path, tmp_path: Path, arguments: list[str], expected: str, capsys: pytest.CaptureFixture[str]
) -> None:
    pytest.importorskip("pandas")
    (tmp_path / "run.csv").write_text("time,coolant\n" + "".join(f"{k},{80 + k}\n" for k in range(50)))
    os.mkfifo(tmp_path / "pipe.csv")
    places = {
        "LOG": tmp_path / "run.csv",
        "PIPE": tmp_path / "pipe.csv",
        "FOLDER": tmp_path,
        "PROJECT": folder,
    }
    refused([str(places.get(word, word)) for word in arguments], capsys, expected)


@pytest.mark.parametrize("flag", ["-h", "--help"])
@pytest.mark.parametrize("verb", [[], ["check"], ["log"]])
def test_help_has_two_names(flag: str, verb: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.run([*verb, flag]) == 0
    assert "--help" in capsys.readouterr().out


def test_one_duty_alone(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = (folder / "duties" / "hill.yaml").read_text().replace("name: Hill", "name: Hull")
    (folder / "duties" / "hull.yaml").write_text(text)
    assert cli.run(["check", str(folder), "--no-spread", "--duty", "hull"]) == 0
    alone = capsys.readouterr().out
    assert "one duty" in alone
    assert "Hull" in alone
    assert "Hill" not in alone
    assert cli.run(["check", str(folder), "--no-spread"]) == 0
    assert "two duties" in capsys.readouterr().out  # the stored answer of one is not that of all


# --- shells -----------------------------------------------------------------------------------------------
SHELLS = [
    ("check F --no-spread >&-", 0),
    ("check F --no-spread 2>&-", 0),
    ("check F --no-spread >&- 2>&- <&-", 0),
    ("check F --no-spread >/dev/full", 74),
    ("check F --no-spread --json >/dev/full", 74),
    ("--version >/dev/full", 74),
    ("check nowhere 2>/dev/full", 2),
    ("check nowhere --json >/dev/full", 74),
]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")
@pytest.mark.parametrize(("line", "status"), SHELLS)
def test_streams_that_take_nothing(folder: Path, line: str, status: int) -> None:
    command = f"{PROGRAM} {line.replace(' F ', f' {folder} ')}"
    done = subprocess.run(["bash", "-c", command], capture_output=True, text=True, timeout=200)
    assert done.returncode == status
    assert "Traceback" not in done.stderr
    assert "Exception ignored" not in done.stderr
    if status == cli.UNWRITTEN:
        assert "could not be written" in done.stderr
        assert "next step" in done.stderr


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp437", "utf-16"])
def test_other_encodings_have_no_question_marks(folder: Path, encoding: str) -> None:
    environment = {**os.environ, "PYTHONIOENCODING": encoding, "PYTHONUTF8": "0"}
    done = subprocess.run([sys.executable, "-m", "heatproof.doors.cli", "check", str(folder), "--no-spread"],
                          capture_output=True, env=environment)  # fmt: skip
    text = done.stdout.decode(encoding)
    assert done.returncode == 0
    assert "?" not in text
    assert re.search(r"\+\d+ K", text)


def test_a_cache_that_cannot_be_written_is_named_and_done_without(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from heatproof import _compiled_cache
    from heatproof.doors.console import say_if_compiling

    (tmp_path / "file").write_text("")
    monkeypatch.setenv("HEATPROOF_CACHE", str(tmp_path / "file" / "below"))
    passing = _compiled_cache.kernels_folder()
    try:
        assert passing.is_dir()
        monkeypatch.setenv("NUMBA_CACHE_DIR", str(passing))
        say_if_compiling()
        said = capsys.readouterr().err
        assert str(tmp_path / "file" / "below") in said
        assert "HEATPROOF_CACHE" in said
    finally:
        passing.rmdir()
