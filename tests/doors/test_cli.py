"""The command line: JSON shapes, exit statuses, errors in words, output into pipes and narrow screens."""

import json
import os
import re
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

from heatproof.doors import cli
from heatproof.doors.verbs import VERBS
from heatproof.kit import examples
from heatproof.kit.read import read_project
from heatproof.network.not_solved import NotSolved
from heatproof.verdict import solving

SMALL = Path(__file__).parents[1] / "kit" / "small"
ESCAPE = re.compile(r"\x1b\[")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    shutil.copytree(SMALL, tmp_path / "small", ignore=shutil.ignore_patterns("results"))
    return tmp_path / "small"


def change(folder: Path, file: str, old: str, new_text: str) -> int:
    """Changes a file; the line of the change."""
    text = (folder / file).read_text()
    assert text.count(old) == 1
    (folder / file).write_text(text.replace(old, new_text))
    return text[: text.index(old)].count("\n") + 1


# --- check ------------------------------------------------------------------------------------------------
def test_check_json_has_the_agreed_shape(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.run(["check", str(folder), "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert {"verdict", "limits", "duties", "masses", "versions"} <= set(data)
    assert data["verdict"] == "holds"
    keys = {
        "part",
        "duty",
        "peak_degC",
        "time_s",
        "limit_degC",
        "margin_K",
        "spread_K",
        "confidence",
        "state",
    }
    for limit in data["limits"]:
        assert keys <= set(limit)
        assert limit["margin_K"] == pytest.approx(limit["limit_degC"] - limit["judged_degC"])
    for duty in data["duties"]:
        assert {"name", "duration_s", "closure"} <= set(duty)
        assert abs(duty["closure"]) < 1e-4
    assert data["masses"] == 26
    assert data["versions"]["heatproof"]
    assert data["cautions"]
    assert not data["stored"]
    cli.run(["check", str(folder), "--json"])
    assert json.loads(capsys.readouterr().out)["stored"]


def test_over_ends_with_one(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    change(
        folder, "car.yaml", "continuous: 125 degC, short: 150 degC, short_time: 60 min", "continuous: 45 degC"
    )
    assert cli.run(["check", str(folder), "--no-spread"]) == 1
    assert "Over: loom passes its limit by" in capsys.readouterr().out


def test_thin_ends_with_one(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.run(["check", str(folder), "--json"]) == 0
    (row,) = json.loads(capsys.readouterr().out)["limits"]
    limit = row["peak_degC"] + 0.4 * row["spread_K"]
    change(
        folder,
        "car.yaml",
        "continuous: 125 degC, short: 150 degC, short_time: 60 min",
        f"continuous: {limit} degC",
    )
    assert cli.run(["check", str(folder), "--json"]) == 1
    data = json.loads(capsys.readouterr().out)
    assert data["verdict"] == "thin"
    assert 0.5 < data["limits"][0]["confidence"] < 0.95
    assert data["sentence"].startswith("Thin: loom has +")


def test_measures_on_the_command_line(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    def fitted(*options: str) -> list[str]:
        status = cli.run(["check", str(folder), "--no-spread", "--json", *options])
        assert status in (0, 1)  # without the shield the loom does not hold
        return list(json.loads(capsys.readouterr().out)["fitted"])

    assert fitted() == ["shield"]
    assert fitted("--fit", "sleeve") == ["sleeve", "shield"]
    assert fitted("--leave", "shield") == []
    assert fitted("--variant", "sleeve,moved") == ["sleeve", "moved"]
    assert fitted("--variant", "none") == []


@pytest.mark.parametrize("options", [["--fit", "sleve"], ["--leave", "sleve"], ["--variant", "sleve"]])
def test_unknown_measure_is_refused_with_the_nearest(
    folder: Path, options: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.run(["check", str(folder), *options]) == 2
    said = capsys.readouterr().err
    assert "unknown measure 'sleve'" in said
    assert "nearest: sleeve" in said


# --- what is refused --------------------------------------------------------------------------------------
BAD = [
    ("car.yaml", "mass: 900 kg", "mass: 900 bar", "next step"),
    ("car.yaml", "mass: 900 kg", "mass: -900 kg", "allowed"),
    ("car.yaml", "cap_pressure: 1.0 bar gauge", "cap_pressure: 1.0 bar", "gauge"),
    ("car.yaml", "wheel_radius", "weel_radius", "nearest: wheel_radius"),
    ("car.yaml", "  rated_power: 60 kW\n", "", "rated_power"),
    ("car.yaml", "continuous: 125 degC, ", "continuous: 155 degC, ", "short limit"),
    ("kit.yaml", "title: Shield", "title: !!python/object:os.system x", "kit.yaml"),
    ("duties/hill.yaml", "duration: 10 min", "duration: -10 min", "allowed"),
]


@pytest.mark.parametrize(("file", "old", "bad", "expected"), BAD)
def test_bad_input_ends_with_two_and_says_where(
    folder: Path, file: str, old: str, bad: str, expected: str, capsys: pytest.CaptureFixture[str]
) -> None:
    change(folder, file, old, bad)
    assert cli.run(["check", str(folder)]) == 2
    out, said = capsys.readouterr()
    assert re.search(rf"{re.escape(file)}(:\d+)?.*: error: ", said)
    assert expected in said
    assert "Traceback" not in said + out
    assert cli.run(["check", str(folder), "--json"]) == 2
    data = json.loads(capsys.readouterr().out)
    assert data["error"] == "refused"
    assert any(finding["level"] == "error" and finding["file"] == file for finding in data["findings"])


@pytest.mark.parametrize(
    "arguments",
    [
        ["check", "/no/such/folder"],
        ["check"],
        ["chekc", "x"],
        ["check", "x", "--no-such-option"],
        ["explain", "/no/such/folder", "loom"],
        ["new"],
    ],
)
def test_command_lines_that_make_no_sense_end_with_two(
    arguments: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.run(arguments) == 2
    said = capsys.readouterr().err
    assert "error: " in said
    assert "next step: " in said
    assert "Traceback" not in said


def test_binary_file_is_refused(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "car.yaml").write_bytes(bytes(range(256)) * 40)
    assert cli.run(["check", str(folder)]) == 2
    assert "car.yaml" in capsys.readouterr().err


def test_not_solved_ends_with_three_and_says_which_when_where(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fails(*_: object, **__: object) -> None:
        raise NotSolved("flow: network coolant, junction coolant.hot, 0.2 kg/s out of balance", 312.4)

    monkeypatch.setattr(solving, "solve", fails)
    assert cli.run(["check", str(folder), "--no-spread"]) == 3
    said = capsys.readouterr().err
    for words in ("Hill", "312 s", "network coolant", "coolant.hot", "next step"):
        assert words in said
    assert cli.run(["check", str(folder), "--json"]) == 3
    data = json.loads(capsys.readouterr().out)
    assert data["not_solved"]["duty"] == "hill"
    assert data["not_solved"]["time_s"] == 312.4
    assert "look at" in data["not_solved"]["next_step"]


def test_a_fault_of_ours_is_no_traceback_and_no_verdict(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.delenv("HEATPROOF_TRACEBACK", raising=False)
    monkeypatch.setattr(solving, "solve", lambda *_, **__: 1 / 0)
    assert cli.run(["check", str(folder), "--no-spread"]) == cli.FAULT
    out, said = capsys.readouterr()
    assert "a fault in heatproof, not in your files" in said
    assert "Traceback" not in out + said


# --- explain, new -----------------------------------------------------------------------------------------
def test_explain_json_has_the_agreed_shape(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.run(["explain", str(folder), "loom", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert {"part", "duty", "time_s", "rise_K", "causes", "paths"} <= set(data)
    assert sum(cause["rise_K"] for cause in data["causes"]) == pytest.approx(data["rise_K"], abs=1e-6)
    assert all({"from", "heat_W"} <= set(path) for path in data["paths"])
    assert {move["path"] for move in data["moves"]} <= set(read_project(folder).variant().spreads)
    assert cli.run(["explain", str(folder), "LOOM", "--duty", "Hill", "--time", "120", "--no-spread"]) == 0
    assert "Sum" in capsys.readouterr().out


def test_explain_names_ways_by_their_titles(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    change(folder, "car.yaml", "  manifold: {mass", "  manifold: {title: Log manifold, mass")
    arguments = ["explain", str(folder), "loom", "--variant", "", "--no-spread", "--no-helps"]
    assert cli.run([*arguments, "--json"]) == 0
    titles = {path["from"]: path["title"] for path in json.loads(capsys.readouterr().out)["paths"]}
    assert titles["manifold"] == "Log manifold"
    assert titles["air.bay"] == "Air: bay"
    assert cli.run(arguments) == 0
    told = capsys.readouterr().out
    for title in titles.values():
        assert f"\n{title} " in told


def test_new_makes_a_project_that_reads(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    made = tmp_path / "deep" / "mine"
    assert cli.run(["new", str(made)]) == 0
    project = read_project(made)
    assert len(project.duties) >= 5
    assert cli.run(["new", str(made)]) == 2
    assert cli.run(["new", str(tmp_path / "other"), "--from", "hatchbak"]) == 2
    assert "nearest: hatchback" in capsys.readouterr().err
    assert not (tmp_path / "other").exists()
    assert cli.run(["new", "--list"]) == 0
    listed = capsys.readouterr().out
    assert "hatchback: " in listed
    assert "pickup: " in listed


@pytest.mark.parametrize("name", examples.examples())
def test_new_makes_any_shipped_example(name: str, tmp_path: Path) -> None:
    assert cli.run(["new", str(tmp_path / "mine"), "--from", name]) == 0
    made = read_project(tmp_path / "mine")
    assert len(made.duties) >= 4
    assert "invented" in made.head.name


def test_new_leaves_nothing_half_made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(examples.shutil, "copytree", fails)
    assert cli.run(["new", str(tmp_path / "mine")]) == 2
    assert list(tmp_path.iterdir()) == []


# --- as a program -----------------------------------------------------------------------------------------
def heatproof(*arguments: str, **more: str) -> subprocess.CompletedProcess[str]:
    environment = {k: v for k, v in os.environ.items() if k not in ("COLUMNS", "NO_COLOR", "FORCE_COLOR")}
    command = [sys.executable, "-m", "heatproof.doors.cli", *arguments]
    return subprocess.run(
        command, capture_output=True, text=True, env={**environment, **more}, encoding="utf-8"
    )


def test_into_a_pipe_goes_plain_text(folder: Path) -> None:
    done = heatproof("check", str(folder), "--no-spread")
    assert done.returncode == 0
    assert not ESCAPE.search(done.stdout + done.stderr)
    assert "loom" in done.stdout
    assert "Cautions" in done.stdout
    assert max(map(len, done.stdout.splitlines())) <= 220


@pytest.mark.parametrize("columns", ["40", "70", "100"])
def test_narrow_screens_keep_margin_and_state(folder: Path, columns: str) -> None:
    done = heatproof("check", str(folder), "--no-spread", COLUMNS=columns)
    table = [line for line in done.stdout.splitlines() if line.startswith("loom ")]
    assert len(table) == 1
    assert len(table[0].rstrip()) <= int(columns)
    assert re.search(r"[+−]?\d+ K .*holds", table[0])


def test_a_terminal_without_the_signs_still_prints(folder: Path) -> None:
    done = heatproof("check", str(folder), "--no-spread", PYTHONIOENCODING="ascii", PYTHONUTF8="0")
    assert done.returncode == 0
    assert "UnicodeEncodeError" not in done.stderr


def test_help_names_every_verb_and_loads_nothing_heavy() -> None:
    done = heatproof("--help")
    assert done.returncode == 0
    for verb in VERBS:
        assert f"  {verb} " in done.stdout
    loaded = (
        "import sys; from heatproof.doors import cli; cli.run(['--help']); print([m for m in sys.modules])"
    )
    listed = subprocess.run([sys.executable, "-c", loaded], capture_output=True, text=True, check=True).stdout
    for heavy in ("'numba'", "'numpy'", "'scipy'", "'pydantic'"):
        assert heavy not in listed


def test_compiling_for_the_first_time_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys
) -> None:  # type: ignore[no-untyped-def]
    from heatproof.doors.console import say_if_compiling

    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    say_if_compiling()
    assert "Compiling once" in capsys.readouterr().err
    (tmp_path / "kernel.nbc").write_bytes(b"")
    say_if_compiling()
    assert capsys.readouterr().err == ""


def test_output_cut_off_by_its_reader_is_no_error(folder: Path) -> None:
    command = f"{sys.executable} -m heatproof.doors.cli check {folder} --no-spread --json | head -c 10"
    started = time.monotonic()
    done = subprocess.run(["bash", "-c", command], capture_output=True, text=True)
    assert "Traceback" not in done.stderr
    assert "BrokenPipe" not in done.stderr
    assert time.monotonic() - started < 120
