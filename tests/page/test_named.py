"""Variants kept by name: written at once and whole, compared against, taken up again, and refused where they cannot be."""

from pathlib import Path

import pytest

from heatproof.doors.page.desk import Desk, Stale
from heatproof.doors.page.edits import State
from heatproof.doors.page.named import FILE, read_named
from heatproof.kit.findings import Refused


def test_kept_read_again_and_taken_up(desk: Desk, folder: Path) -> None:
    first = desk.state
    desk.edit(desk.version, fit=["loom_sleeve"], values=[("kit.yaml", "name", "other")])
    desk.keep(desk.version, " Night run ")
    kept = desk.state
    assert read_named(folder) == {"Night run": kept}
    assert Desk(folder).named == {"Night run": kept}
    desk.undo(desk.version)
    assert desk.state == first
    desk.take_up(desk.version, "Night run")
    assert desk.state == kept
    desk.undo(desk.version)
    assert desk.state == first
    desk.drop("Night run")
    assert not (folder / FILE).exists()


def test_comparisons_follow_the_choice(desk: Desk) -> None:
    assert desk.reference == desk.saved
    desk.edit(desk.version, fit=["loom_sleeve"])
    desk.keep(desk.version, "A")
    desk.undo(desk.version)
    desk.compare_with("A")
    assert desk.reference == desk.named["A"] != desk.state
    desk.compare_with("")
    assert desk.reference == desk.saved


@pytest.mark.parametrize("name", ["", "   ", "a/b", "x" * 61, "a\nb"])
def test_names_that_cannot_be(desk: Desk, folder: Path, name: str) -> None:
    with pytest.raises(Refused):
        desk.keep(desk.version, name)
    assert not (folder / FILE).exists()


def test_unknown_and_stale(desk: Desk) -> None:
    with pytest.raises(Refused):
        desk.compare_with("nobody")
    with pytest.raises(Stale):
        desk.keep(desk.version - 1, "late")


def test_a_variant_whose_measures_are_gone_is_refused(desk: Desk) -> None:
    desk.named = {"old": State(("no_such_measure",))}
    with pytest.raises(Refused):
        desk.take_up(desk.version, "old")
    assert desk.reference == desk.saved


def test_a_damaged_file_is_told(folder: Path) -> None:
    (folder / FILE).write_text("format: something else\n", encoding="utf-8")
    with pytest.raises(Refused, match="cannot be read"):
        read_named(folder)
