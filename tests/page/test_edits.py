"""The session: undo without end, nothing written but by Save, files changed on disk, two tabs."""

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from heatproof.doors.page.desk import ChangedOnDisk, Desk, Stale
from heatproof.doors.page.quick import variant_path
from heatproof.kit.findings import Refused
from heatproof.kit.read import read_project

POWER = ("kit.yaml", "changes.engine.rated_power")


def test_undo_is_unlimited_and_redo_comes_back(desk: Desk) -> None:
    start = desk.state
    for kw in range(154, 160):
        desk.edit(desk.version, values=[(*POWER, f"{kw} kW")])
    last = desk.state
    for _ in range(6):
        desk.undo(desk.version)
    assert desk.state == start
    for _ in range(6):
        desk.redo(desk.version)
    assert desk.state == last
    assert desk.variant_of(desk.state).engine.rated_power == pytest.approx(159e3)


def test_nothing_is_written_before_save_and_comments_stay(desk: Desk) -> None:
    before = (desk.folder / "kit.yaml").read_text(encoding="utf-8")
    desk.edit(desk.version, fit=["loom_sleeve"], values=[(*POWER, "150 kW")])
    assert (desk.folder / "kit.yaml").read_text(encoding="utf-8") == before
    assert desk.save(desk.version) == ["kit.yaml"]
    after = (desk.folder / "kit.yaml").read_text(encoding="utf-8")
    assert "rated_power: 150 kW" in after
    assert after.count("#") == before.count("#")
    assert "loom_sleeve" in read_project(desk.folder).fitted
    assert not desk.dirty


def test_edits_are_read_over_what_was_read_and_files_are_named_as_they_are(desk: Desk) -> None:
    (desk.folder / "car.yaml").write_text("not what was read", encoding="utf-8")
    duty = next(iter(desk.disk.duties))
    (desk.folder / "duties" / f"{duty}.yaml").unlink()
    desk.edit(desk.version, values=[(*POWER, "150 kW")])
    project = desk.project_of(desk.state)
    assert project.variant().engine.rated_power == pytest.approx(150e3)
    assert duty in project.duties
    assert project.folder == desk.folder
    with pytest.raises(Refused) as told:
        desk.edit(desk.version, values=[(*POWER, "150 kg")])
    assert told.value.findings[0].where.file == "kit.yaml"


def test_a_file_changed_on_disk_is_never_overwritten(desk: Desk) -> None:
    path = desk.folder / "kit.yaml"
    desk.edit(desk.version, values=[(*POWER, "150 kW")])
    path.write_text(path.read_text(encoding="utf-8").replace("Draft 7", "Draft 9"), encoding="utf-8")
    with pytest.raises(ChangedOnDisk) as told:
        desk.save(desk.version)
    assert told.value.names == ("kit.yaml",)
    assert "150 kW" not in path.read_text(encoding="utf-8")
    assert desk.dirty
    desk.save(desk.version, keep_mine=True)
    text = path.read_text(encoding="utf-8")
    assert "150 kW" in text
    assert "Draft 9" in text


def test_reading_again_takes_the_files(desk: Desk) -> None:
    path = desk.folder / "kit.yaml"
    desk.edit(desk.version, values=[(*POWER, "150 kW")])
    path.write_text(path.read_text(encoding="utf-8").replace("Draft 7", "Draft 9"), encoding="utf-8")
    desk.look_at_disk()
    assert desk.away == ("kit.yaml",)
    desk.reread(desk.version)
    assert desk.away == ()
    assert desk.disk.head.revision == "Draft 9"
    assert desk.variant_of(desk.state).engine.rated_power == pytest.approx(
        150e3
    )  # the edit is laid over the new file
    desk.undo(desk.version)
    assert not desk.dirty


def test_reading_again_keeps_all_where_the_files_cannot_be_read(desk: Desk) -> None:
    path = desk.folder / "kit.yaml"
    desk.edit(desk.version, values=[(*POWER, "150 kW")])
    before = desk.state, desk.version, desk.disk
    path.write_text("kit: [", encoding="utf-8")
    with pytest.raises(Refused):
        desk.reread(desk.version)
    assert (desk.state, desk.version, desk.disk) == before


def test_unsaved_edits_come_back_after_the_program_was_killed(desk: Desk) -> None:
    seen = desk.version
    desk.edit(seen, values=[(*POWER, "150 kW")])
    desk.edit(desk.version, fit=["loom_sleeve"])
    again = Desk(desk.folder)  # nothing was closed: the first one is simply not there any more
    assert again.state == desk.state
    assert again.history == desk.history
    with pytest.raises(Stale):  # a page of the run before
        again.undo(seen)
    again.undo(again.version)
    assert again.variant_of(again.state).engine.rated_power == pytest.approx(150e3)
    again.redo(again.version)
    again.save(again.version)
    assert not (desk.folder / "unsaved.json").exists()
    assert not Desk(desk.folder).dirty


def test_a_journal_that_cannot_be_used_is_kept_aside_and_said(desk: Desk) -> None:
    (desk.folder / "unsaved.json").write_text("{half", encoding="utf-8")
    again = Desk(desk.folder)
    assert not again.dirty
    assert "unsaved-not-used.json" in again.notices[0]
    assert (desk.folder / "unsaved-not-used.json").read_text(encoding="utf-8") == "{half"


def test_a_second_tab_on_an_older_version_is_refused(desk: Desk) -> None:
    seen = desk.version
    desk.edit(seen, fit=["loom_sleeve"])
    for call in (
        lambda: desk.edit(seen, fit=["fan_run_on"]),
        lambda: desk.undo(seen),
        lambda: desk.save(seen),
    ):
        with pytest.raises(Stale):
            call()
    assert "fan_run_on" not in desk.state.fitted


def test_what_excludes_leaves_and_what_needs_joins(desk: Desk) -> None:
    said = desk.edit(desk.version, fit=["loom_moved"])
    assert "turbo_shield" not in desk.state.fitted
    assert "left out" in said[0]
    desk.undo(desk.version)
    assert "turbo_shield" in desk.state.fitted


@pytest.mark.parametrize("text", ["150 K", "-3 kW", "nonsense", "", "1e400 kW"])
def test_a_bad_value_is_refused_and_the_state_stays(desk: Desk, text: str) -> None:
    before = desk.state, desk.version
    with pytest.raises(Refused):
        desk.edit(desk.version, values=[(*POWER, text)])
    assert (desk.state, desk.version) == before


def test_paths_outside_the_project_are_refused(desk: Desk) -> None:
    for file in ("../kit.yaml", "/etc/passwd", "duties/../../x.yaml"):
        with pytest.raises(Refused):
            desk.edit(desk.version, values=[(file, "name", "x")])


def test_a_save_that_breaks_off_leaves_the_file_whole(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    before = (desk.folder / "kit.yaml").read_bytes()
    desk.edit(desk.version, values=[(*POWER, "150 kW")])

    def broken(*_: object) -> None:
        raise OSError("disk full")

    monkeypatch.setattr("heatproof._files.os.replace", broken)
    with pytest.raises(OSError, match="disk full"):
        desk.save(desk.version)
    assert (desk.folder / "kit.yaml").read_bytes() == before
    assert [p.name for p in desk.folder.iterdir() if p.name.startswith(".")] == []
    assert desk.dirty


KEEP_SAVING = """
import sys
from heatproof.doors.page.desk import Desk
desk = Desk(__import__("pathlib").Path(sys.argv[1]))
print("ready", flush=True)
while True:
    for kw in ("150 kW", "151 kW"):
        desk.edit(desk.version, values=[("kit.yaml", "changes.engine.rated_power", kw)])
        desk.save(desk.version)
"""


def test_a_server_killed_while_saving_leaves_a_whole_file_and_nothing_elsewhere(
    folder: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    elsewhere = tmp_path_factory.mktemp("elsewhere")
    before = (folder / "kit.yaml").read_text(encoding="utf-8")
    whole = {before.replace("rated_power: 165 kW", f"rated_power: {kw} kW") for kw in (150, 151, 165)}
    command = [sys.executable, "-c", KEEP_SAVING, str(folder)]
    room = os.environ | {name: str(elsewhere) for name in ("TMPDIR", "TEMP", "TMP")}
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=room) as server:
        assert server.stdout is not None
        assert server.stdout.readline().strip() == "ready"
        time.sleep(1.3)
        server.kill()
    assert (folder / "kit.yaml").read_text(encoding="utf-8") in whole
    assert list(elsewhere.iterdir()) == []


def test_paths_of_files_and_of_variants() -> None:
    assert variant_path("changes.engine.rated_power") == "engine.rated_power"
    assert variant_path("measures.blanket.set.parts.x.cover.coverage.value") == "parts.x.cover.coverage"
    assert variant_path("parts.loom.mass") == "parts.loom.mass"
