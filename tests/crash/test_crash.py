"""Killed at any point of writing: the project loads, every file is old or new and whole, finished work stays, and
nothing that is left stands in the way. Every run is followed by the next start of the same work."""

import os
import random
import time
from pathlib import Path

import pytest
from crash_run import killed_after, killed_at
from crash_scenarios import SCENARIOS

from heatproof import _files
from heatproof._files import JOURNAL, finish_writing, write_together, write_whole

MOST = 60  # changes a scenario may make; each is a point to be killed at
SOME = (1, 2, 3, 5, 8, 13, 21)  # of the changes that a whole `release` makes, which takes seconds each time
AT_ANY_TIME = ("save", "measures", "sweep", "check", "upload", "log")
KILLS, MOST_RUNS = 10, 60  # of each of them; runs that may be needed, as some end before they are killed


@pytest.mark.parametrize("name", ["save", "release", "correct"])
def test_killed_between_two_renames(tmp_path, name):
    """The journal and the first of the files that belong together are in place, the second is about to be."""
    assert killed_at(name, tmp_path, 3, "os.rename")


def test_killed_between_a_memory_elsewhere_and_its_kit(tmp_path):
    assert killed_at("correct in a shop", tmp_path, 2, "os.rename")


@pytest.mark.slow
@pytest.mark.parametrize("name", [name for name in SCENARIOS if name != "papers"])
def test_killed_before_every_change_it_makes(tmp_path, name):
    points = 0
    while killed_at(name, tmp_path, points + 1):
        points += 1
        assert points < MOST
    assert points >= 2


@pytest.mark.slow
def test_a_whole_release_killed_before_some_of_its_changes(tmp_path):
    pytest.importorskip("typst")
    killed = [killed_at("papers", tmp_path, number) for number in SOME]
    assert sum(killed) >= 4


@pytest.mark.slow
@pytest.mark.parametrize("name", AT_ANY_TIME)
def test_killed_at_any_time(tmp_path, name):
    dice, killed = random.Random(f"killed {name}"), 0
    for _ in range(MOST_RUNS):
        killed += killed_after(name, tmp_path, dice)
        if killed == KILLS:
            break
    assert killed == KILLS


# --- the parts of it, in this process ---------------------------------------------------------------------
def test_all_or_none_where_the_disk_fails(tmp_path, monkeypatch):
    (tmp_path / "a").write_bytes(b"old")

    def full(*_: object) -> None:
        raise OSError("disk full")

    monkeypatch.setattr("heatproof._files.os.chmod", full)
    with pytest.raises(OSError, match="disk full"):
        write_together(tmp_path, {"a": b"new", "b": b"new"})
    assert [(p.name, p.read_bytes()) for p in tmp_path.iterdir()] == [("a", b"old")]


@pytest.mark.parametrize(
    "text",
    ["", "{", "[1]", '[["../x", "y"]]', '[["/etc/x", "a"]]', '[["a", "b"]]', "[" * 100_000, "[[[]]]", "null"],
)
def test_a_journal_that_is_not_ours_moves_nothing(tmp_path, text):
    (tmp_path / "a").write_bytes(b"old")
    (tmp_path / JOURNAL).write_text(text)
    finish_writing(tmp_path)
    assert [p.name for p in tmp_path.iterdir()] == ["a"]


def test_old_leftovers_go_and_young_or_foreign_ones_stay(tmp_path, monkeypatch):
    monkeypatch.setattr(_files, "_tidied", set())
    names = (".kit.yaml.abcd_123.tmp", ".young.abcd_123.tmp", ".mine", "x.tmp", ".git.abcdefgh.tmp.d")
    for name in names:
        (tmp_path / name).write_bytes(b"x")
        if "young" not in name:
            os.utime(tmp_path / name, (time.time() - 7200,) * 2)
    write_whole(tmp_path / "kit.yaml", b"new")
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted((*names[1:], "kit.yaml"))


@pytest.mark.parametrize("count", [1, 2])
def test_files_together_by_a_relative_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, count: int
) -> None:
    """As people name folders on the command line."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "kit" / "sub").mkdir(parents=True)
    files = {f"sub/{k}.txt": bytes([65 + k]) for k in range(count)}
    write_together(Path("kit"), files)
    assert {p.name: p.read_bytes() for p in (tmp_path / "kit" / "sub").iterdir()} == {
        Path(name).name: data for name, data in files.items()
    }
    assert not (tmp_path / "kit" / ".heatproof-writing").exists()
