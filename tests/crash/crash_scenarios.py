"""What is killed: saves, results, logs; papers and new projects are in `crash_papers`."""

from pathlib import Path
from typing import Any

from crash_common import Ready, Scenario, loads, old_or_new, silent, text
from crash_papers import (
    check_correct,
    check_new,
    check_papers,
    check_release,
    check_shop,
    correct,
    correct_in_shop,
    new_project,
    papers,
    release,
    with_memory,
    with_papers,
    with_shop,
)

POWER = ("kit.yaml", "changes.engine.rated_power", "64 kW")
MASS = ("car.yaml", "vehicle.mass", "950 kg")
SOAK = ("duties/hill.yaml", "soak", "15 min")
LOG = b"Time [s],Oil temp [degC],Engine speed [rpm]\n" + b"".join(
    b"%d,%d,%d\n" % (k, 80 + k, 900 + k) for k in range(90)
)


# --- page: save -------------------------------------------------------------------------------------------
def edited_desk(folder: Path) -> Any:
    desk = desk_on(folder)
    desk.edit(desk.version, fit=["sleeve"], leave=["shield"], values=[POWER, MASS, SOAK])
    return desk


def desk_on(folder: Path) -> Any:
    """Without the worker that computes."""
    from heatproof.doors.page.desk import Desk

    return Desk(folder)


def save(folder: Path, ready: Ready) -> None:
    desk = edited_desk(folder)
    ready()
    if desk.save_edits():
        desk.save(desk.version)


def check_save(before: Path, now: Path) -> None:
    """All files of the save are old, or all are new."""
    project = loads(now)
    values = (
        project.fitted == ("sleeve",),
        "64 kW" in text(now, "kit.yaml"),
        "950 kg" in text(now, "car.yaml"),
        "15 min" in text(now, SOAK[0]),
    )
    assert all(values) or not any(values), values
    if not any(values):
        assert all(text(now, name) == text(before, name) for name in ("kit.yaml", "car.yaml", SOAK[0]))


def measures_on_and_off(folder: Path, ready: Ready) -> None:
    desk = desk_on(folder)
    ready()
    for _ in range(3):
        desk.edit(desk.version, fit=["sleeve"])
        desk.keep(desk.version, "with sleeve")
        desk.save(desk.version)
        desk.edit(desk.version, leave=["sleeve"])
        desk.save(desk.version)


def check_measures(before: Path, now: Path) -> None:
    from heatproof.doors.page.named import read_named

    assert loads(now).fitted in (("shield",), ("sleeve", "shield"))
    assert set(read_named(now)) <= {"with sleeve"}
    plain = text(before, "kit.yaml")
    assert "fitted: true" in plain
    assert text(now, "kit.yaml").count("\n") >= plain.count("\n")


# --- sweep and check: stored results ----------------------------------------------------------------------
def swept(folder: Path, ready: Ready = silent) -> list[Any]:
    from heatproof.kit.read import read_project
    from heatproof.study.questions.sweep import planned, sweep

    project = read_project(folder)
    plan = planned(project, None, ranges=["parts.loom.mass=0.3 kg..0.9 kg:8"])
    ready()
    found = sweep(plan, project.duties, workers=1, resume=folder / "results" / "sweep")
    return [dict(one.margins) for one in found.outcomes]


def check_sweep(before: Path, now: Path) -> None:
    """Finished runs stay as they are, and the rerun gives what an undisturbed one gives."""
    loads(now)
    kept = now / "results" / "sweep"
    finished = (
        {p: (p.read_bytes(), p.stat().st_mtime_ns) for p in kept.glob("*.json")} if kept.is_dir() else {}
    )
    assert swept(now) == swept(before)
    for path, (data, made) in finished.items():
        assert path.read_bytes() == data, "a finished run was lost"
        assert path.stat().st_mtime_ns == made, "a finished run was made again"


def checked(folder: Path, ready: Ready = silent) -> Any:
    from heatproof.study.questions.check import check

    ready()
    return check(folder, spreads=False, jobs=1)


def check_checked(before: Path, now: Path) -> None:
    loads(now)
    first, again = checked(now), checked(now)
    assert again.stored
    whole = checked(before)
    assert [r.margin for r in first.rows] == [r.margin for r in again.rows] == [r.margin for r in whole.rows]


# --- logs -------------------------------------------------------------------------------------------------
def with_log(folder: Path) -> None:
    (folder / "logs").mkdir()
    (folder / "logs" / "run.csv").write_bytes(LOG)
    (folder / "logs" / "run.yaml").write_text(
        "# mine\nchannels:\n  Oil temp [degC]: {sensor: bead}\n", encoding="utf-8"
    )


def import_log(folder: Path, ready: Ready) -> None:
    """What `heatproof log FILE` does to its channel map."""
    from heatproof.logs.reading.channel_map import map_of, save_channel_map
    from heatproof.logs.reading.read import read_log

    ready()
    save_channel_map(folder / "logs" / "run.yaml", map_of(read_log(folder / "logs" / "run.csv")))


def check_log(before: Path, now: Path) -> None:
    from heatproof.logs.reading.channel_map import read_channel_map

    found = text(now, "logs/run.yaml")
    assert found == text(before, "logs/run.yaml") or "engine_speed" in found
    assert "# mine" in found
    assert read_channel_map(now / "logs" / "run.yaml").rows["Oil temp [degC]"].sensor == "bead"
    assert (now / "logs" / "run.csv").read_bytes() == LOG


def upload(folder: Path, ready: Ready) -> None:
    """A log sent up by the page, and its channels named."""
    from heatproof.doors.page.logbook import log_path, name_channels, store_log

    ready()
    if not log_path(folder, "new.csv").exists():
        store_log(folder, "new.csv", LOG)
    name_channels(
        folder, "new.csv", [{"column": "Oil temp [degC]", "quantity": "oil_temperature", "sensor": "bead"}]
    )


def check_upload(before: Path, now: Path) -> None:
    from heatproof.doors.page.logbook import log_names
    from heatproof.doors.page.views.logs import log_view

    names = [p.name for p in log_names(now)]
    assert names in ([], ["new.csv"])
    if names:
        assert (now / "logs" / "new.csv").read_bytes() == LOG
        assert log_view(now, "new.csv", None)["channels"]


def logged_duty(folder: Path, ready: Ready) -> None:
    """A duty and its trace, which belong together."""
    from heatproof._files import write_together

    ready()
    write_together(folder, duty_files(folder))


def duty_files(folder: Path) -> dict[str, bytes]:
    duty = text(folder, "duties/hill.yaml").replace("name: Hill", "name: Logged")
    start = duty.index("drive:")
    duty = duty[:start] + "drive: {kind: trace, file: duties/logged.csv}" + duty[duty.index("\n", start) :]
    trace = "time [s],speed [km/h]\n" + "".join(f"{k},{40 + k % 20}\n" for k in range(100))
    return {"duties/logged.csv": trace.encode(), "duties/logged.yaml": duty.encode()}


def check_duty(before: Path, now: Path) -> None:
    assert set(loads(now).duties) in ({"hill"}, {"hill", "logged"})
    assert len(old_or_new(before, now, duty_files(before))) in (0, 2)


SCENARIOS = {
    "save": Scenario(save, check_save),
    "measures": Scenario(measures_on_and_off, check_measures),
    "sweep": Scenario(swept, check_sweep),
    "check": Scenario(checked, check_checked),
    "log": Scenario(import_log, check_log, with_log),
    "upload": Scenario(upload, check_upload),
    "duty": Scenario(logged_duty, check_duty),
    "release": Scenario(release, check_release, with_papers),
    "papers": Scenario(papers, check_papers, forks=False),
    "correct": Scenario(correct, check_correct, with_memory),
    "correct in a shop": Scenario(correct_in_shop, check_shop, with_shop),
    "new": Scenario(new_project, check_new),
}
