"""Blocks of options: spelled out for the command line, handed to the verb as one object."""

import shutil
from pathlib import Path
from typing import Any

import pytest
import typer

from heatproof.doors.cli import make_app
from heatproof.doors.day_options import DayOptions
from heatproof.doors.options import Folder, Selection, with_blocks
from heatproof.kit.findings import Refused

SMALL = Path(__file__).parents[1] / "kit" / "small"


@pytest.fixture
def small(tmp_path: Path) -> Path:
    """A project with a second kit file."""
    folder = tmp_path / "small"
    shutil.copytree(SMALL, folder, ignore=shutil.ignore_patterns("results"))
    kit = (folder / "kit.yaml").read_text(encoding="utf-8")
    (folder / "kit-corrected-1.yaml").write_text(kit.replace("66 kW", "63 kW"), encoding="utf-8")
    return folder


def asked(line: list[str]) -> dict[str, Any]:
    """What a verb with two blocks is handed."""
    app, got = typer.Typer(add_completion=False), {}

    @app.command()
    @with_blocks
    def verb(project: Folder, selection: Selection, told: DayOptions, worst: bool = False) -> None:
        """A verb."""
        got.update(project=project, selection=selection, told=told, worst=worst)

    app(line, standalone_mode=False)
    return got


def test_what_is_left_out_is_as_declared() -> None:
    assert asked(["here"]) == {
        "project": Path("here"),
        "selection": Selection(),
        "told": DayOptions(),
        "worst": False,
    }


def test_every_option_reaches_its_block() -> None:
    got = asked(
        [
            "here",
            "--worst",
            "--kit",
            "other.yaml",
            "--fit",
            "a",
            "--fit",
            "b",
            "--altitude",
            "300 m",
            "--warm",
        ]
    )
    assert got["selection"] == Selection(kit="other.yaml", fit=["a", "b"])
    assert got["told"] == DayOptions(altitude="300 m", cold=False)
    assert got["worst"] is True


def test_every_verb_that_reads_a_project_takes_another_kit_file() -> None:
    group: Any = typer.main.get_command(make_app())
    taking = {name for name, one in group.commands.items() if any("--kit" in p.opts for p in one.params)}
    # `part` changes car.yaml, `schema` reads no project.
    assert set(group.commands) - taking == {"new", "part", "schema", "serve"}


def test_kit_file_and_measures_are_those_named(small: Path) -> None:
    project, measures = Selection(kit="kit-corrected-1.yaml", fit=["sleeve"], leave=["shield"]).opened(small)
    assert measures == ("sleeve",)
    assert project.variant(measures).engine.rated_power == pytest.approx(63e3)
    assert Selection().opened(small)[1] is None
    assert Selection(variant="none").built(small)[1].engine.rated_power == pytest.approx(66e3)


def test_an_unknown_measure_left_out_is_refused(small: Path) -> None:
    with pytest.raises(Refused, match=r"unknown measure 'sheild'[\s\S]*nearest: shield"):
        Selection(leave=["sheild"]).built(small)
