"""Verbs of a test day on the command line: JSON shapes, files written beside and never over, refusals in words."""

import hashlib
import json
import shutil
import sys
from pathlib import Path

import numpy as np
import pytest

from heatproof.doors import cli

sys.path.insert(0, str(Path(__file__).parents[1] / "logs"))

SUMMER = Path(__file__).parents[1] / "data" / "logs" / "obd_summer_motorway.csv.gz"
SMALL = Path(__file__).parents[1] / "kit" / "small"


def digests(folder: Path) -> dict[str, str]:
    """Of every file below."""
    return {
        str(p.relative_to(folder)): hashlib.sha256(p.read_bytes()).hexdigest()
        for p in sorted(folder.rglob("*"))
        if p.is_file()
    }


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """The small project with the logs of a short test day and a real log."""
    from proving import PATHS, Truth, drive, hidden, small_project, small_variant, true_run, write_logs

    from heatproof.logs.correcting.parameters import chosen_parameters

    folder = small_project(tmp_path_factory.mktemp("doors") / "small")
    variant = small_variant(folder)
    parameters = chosen_parameters(variant, PATHS)
    rng = np.random.default_rng(7)
    x = np.array([0.4, -0.8, 1.1, 0.3])
    solved = true_run(hidden(variant, parameters, x), drive(rng, 700), 200.0)
    write_logs(folder / "logs", solved, Truth(x), rng)
    shutil.copy(SUMMER, folder / "logs" / SUMMER.name)
    return folder


def told(capsys, *arguments):
    """Status and object of a verb with --json."""
    status = cli.run([*map(str, arguments), "--json"])
    return status, json.loads(capsys.readouterr().out)


def test_log_json_has_the_agreed_shape(tmp_path, capsys):
    path = tmp_path / SUMMER.name
    shutil.copy(SUMMER, path)
    before = digests(tmp_path)
    status, data = told(capsys, "log", path)
    assert status == 0
    assert {"channels", "events", "findings"} <= set(data)
    for channel in data["channels"]:
        assert {"column", "quantity", "unit", "rate_Hz", "dropped"} <= set(channel)
    for event in data["events"]:
        assert {"kind", "start_s", "end_s"} <= set(event)
    # Facts of the open data set: 56 spells over 180 kPa in this trip, rise over ambient of a cleaned log below 30 K.
    assert sum(e["kind"] == "pull" for e in data["events"]) == pytest.approx(56, abs=2)
    rise = next(f for f in data["figures"] if f["name"] == "intake temperature over ambient, highest")
    assert 15 < rise["value"] < 30
    after = digests(tmp_path)
    assert after.pop("obd_summer_motorway.yaml")
    assert after == before


def test_log_in_a_project_is_compared_and_becomes_a_duty(folder, tmp_path, capsys):
    before = digests(folder)
    files = [folder / "logs" / "engine.csv", folder / "logs" / "probes.csv"]
    status, data = told(
        capsys, "log", *files, "--duty", "as_logged", "--plots", tmp_path / "plots", "--no-map"
    )
    assert status == 0
    assert len(data["compared"]) == 7
    assert [c["normalised"] for c in data["compared"]] == sorted(
        (c["normalised"] for c in data["compared"]), reverse=True
    )
    assert len(list((tmp_path / "plots").glob("*.png"))) == 7
    assert abs(data["clocks"][0]["offset_s"] - 7.3) < 0.1
    after = digests(folder)
    new = {name for name in after if name not in before}
    assert new == {"duties/as_logged.csv", "duties/as_logged.yaml"}
    assert {name: after[name] for name in before} == before
    from heatproof.kit.read import read_project

    duty = read_project(folder).duties["as_logged"]
    assert duty.drive.kind == "trace"
    assert len(duty.drive.time) == 700
    assert duty.soak == pytest.approx(200.0, abs=2.0)
    status, data = told(capsys, "log", *files, "--duty", "as_logged", "--no-map")
    assert status == 2
    assert "already" in data["message"]
    for name in new:
        (folder / name).unlink()


def test_correct_writes_a_new_kit_and_nothing_else(folder, tmp_path, capsys):
    before = digests(folder)
    paths = [a for p in ("exhaust.manifold.correlation_factor", "links.manifold_to_head.contact_conductance")
             for a in ("--path", p)]  # fmt: skip
    memory = tmp_path / "memory.yaml"
    status, data = told(
        capsys, "correct", folder, "--log", "engine.csv+probes.csv", *paths, "--no-spread", "--from", "4 min",
        "--remember", memory,
    )  # fmt: skip
    assert status == 0
    assert [v["path"] for v in data["values"]] == paths[1::2]
    assert all(v["low_SI"] < v["after_SI"] < v["high_SI"] for v in data["values"])
    assert data["before"]["limits"]
    assert data["after"]["limits"]
    assert data["before"]["limits"] != data["after"]["limits"]
    after = digests(folder)
    new = {n for n in after if n not in before and not n.startswith("results/")}
    assert new == {"kit-corrected-1.yaml"}
    assert {n: after[n] for n in before if not n.startswith("results/")} == {
        n: v for n, v in before.items() if not n.startswith("results/")
    }
    assert "corrected from log engine.csv+probes.csv" in (folder / "kit-corrected-1.yaml").read_text()
    text = memory.read_text().replace("Small kit", "Earlier kit")
    memory.write_text(text)
    status, data = told(capsys, "memory", folder, memory)
    assert status == 0
    assert {v["path"] for v in data["values"]} == set(paths[1::2])
    (folder / "kit-corrected-1.yaml").unlink()


def test_plan_json_and_card(folder, tmp_path, capsys):
    card = tmp_path / "card.html"
    status, data = told(
        capsys, "plan", folder, "--sensors", "2", "--runs", "2", "--ambient", "20 degC", "--card", card
    )
    assert status == 0
    assert 1 <= len(data["sensors"]) <= 2
    assert data["doubt_K"]["after"] < data["doubt_K"]["before"]
    assert len(data["readings"]) == len(data["sensors"]) * len(data["runs"])
    page = card.read_text()
    for sensor in data["sensors"]:
        assert sensor["place"] in page
    assert "qualified person" in page
    assert "<script" not in page


def test_other_day_and_other_ambient(folder, tmp_path, capsys):
    """A day against itself cannot be told apart; +10 K of ambient moves what has no thermostat by about 10 K."""
    files = [folder / "logs" / "engine.csv", folder / "logs" / "probes.csv"]
    other = folder / "logs" / SUMMER.name
    status, data = told(capsys, "log", *files, "--no-map", "--to-ambient", "32 degC", "--from", "4 min")
    assert status == 0
    moved = {o["place"]: o["by_model_degC"] - o["measured_degC"] for o in data["at_other_ambient"]}
    assert moved["coolant.cold"] == pytest.approx(10.0, abs=2.0)
    for one in data["at_other_ambient"]:
        assert one["one_to_one_degC"] - one["measured_degC"] == pytest.approx(10.0, abs=0.1)
    shutil.copy(other, tmp_path / "a.csv.gz")
    status, data = told(
        capsys, "log", tmp_path / "a.csv.gz", "--no-map", "--other-day", tmp_path / "a.csv.gz"
    )
    assert {d["quantity"] for d in data["other_day"]} == {"intake_temperature"}
    # The coolant of one trip is worth fewer than two independent samples: that is told, not guessed.
    assert any("coolant temperature of the two days" in text for text in data["not_compared"])
    assert all(d["verdict"] == "cannot tell" and d["difference_K"] == 0.0 for d in data["other_day"])


def test_cooling_between_two_runs(tmp_path, capsys):
    """Two readings of a first-order cool-down give its time constant: 90 to 50 °C at 20 °C in 3 h is 3 h / ln(70/30)."""
    for name, hour, level in (("first", 10, 90.0), ("second", 13, 50.0)):
        rows = [f"2026-01-10 {hour}:{k // 60:02d}:{k % 60:02d},{level},20,2000" for k in range(0, 300, 2)]
        heads = "Time,Coolant temp [degC],Ambient temp [degC],Engine speed [rpm]"
        (tmp_path / f"{name}.csv").write_text("\n".join([heads, *rows]) + "\n")
    arguments = [tmp_path / "second.csv", "--no-map", "--other-day", tmp_path / "first.csv"]
    status, data = told(capsys, "log", *arguments)
    assert status == 0
    pair = data["between_runs"]
    assert (pair["start_degC"], pair["end_degC"], pair["ambient_degC"]) == pytest.approx((90.0, 50.0, 20.0))
    gap = 3 * 3600.0 - 298.0
    assert pair["gap_s"] == pytest.approx(gap)
    assert pair["time_constant_s"] == pytest.approx(gap / np.log(70.0 / 30.0))
    assert pair["low_s"] < pair["time_constant_s"] < pair["high_s"]
    assert cli.run(["log", *map(str, arguments)]) == 0
    assert "cooled from 90 °C to 50 °C in 2:55:02 at 20 °C" in capsys.readouterr().out


def test_damaged_files_are_told_and_left_alone(tmp_path, capsys):
    """A quarter of the damaged files through the verb itself: read or refused in words, never altered."""
    import gzip

    from damage import damaged_files

    head = b"\n".join(gzip.decompress(SUMMER.read_bytes()).split(b"\n")[:400]) + b"\n"
    files = [
        path
        for _, path in damaged_files(
            tmp_path, {".csv": head, ".mf4": b"MDF     4.10", ".parquet": b"PAR1"}, seed=11
        )
    ]
    files = files[::4]
    assert len(files) >= 20
    before = digests(tmp_path)
    for path in files:
        status = cli.run(["log", str(path), "--no-map"])
        out = capsys.readouterr()
        assert status in (0, 2), (path.name, out.err)
        assert status == 0 or ("error" in out.err and "next step" in out.err), (path.name, out.err)
    assert digests(tmp_path) == before


@pytest.mark.parametrize(
    ("content", "message"),
    [(b"", "empty"), (b"\x00\x01\x02binary" * 40, "binary"), (b"a,b\n1,2\n", "no time column")],
)
def test_damaged_log_is_refused_and_untouched(tmp_path, capsys, content, message):
    path = tmp_path / "run.csv"
    path.write_bytes(content)
    status, data = told(capsys, "log", path)
    assert status == 2
    assert message in data["message"]
    assert path.read_bytes() == content
    assert [p.name for p in tmp_path.iterdir()] == ["run.csv"]


def test_wrong_words_are_refused_with_a_next_step(folder, capsys):
    for arguments in (
        ["correct", folder, "--log", "no_such.csv"],
        ["correct", folder, "--log", "engine.csv", "--path", "engine.nothing"],
        ["plan", folder, "--ambient", "warm"],
        ["log", folder / "logs" / "engine.csv", "--from", "soon"],
        ["memory", folder, folder / "kit.yaml"],
        ["log", folder / "logs" / "engine.csv", "--duty", "../out"],
    ):
        assert cli.run([str(a) for a in arguments]) == 2
        assert "error" in capsys.readouterr().err


def test_log_that_cannot_be_driven_is_still_read(folder, tmp_path, capsys):
    """Without speed there is no duty: the figures stay, and the reason is told."""
    shutil.copytree(folder, tmp_path / "p")
    path = tmp_path / "p" / "logs" / "probes.csv"
    status, data = told(capsys, "log", path, "--no-map")
    assert status == 0
    assert data["compared"] == []
    assert any("speed" in text for text in data["not_compared"])
