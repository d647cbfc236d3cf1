"""What a Python session answers and refuses; `docs/how-to/python-session.md` itself is run by `tests/docs`."""

import shutil
from pathlib import Path

import pytest

import heatproof
from heatproof.kit.examples import EXAMPLES

pytest.importorskip("pandas")
pytest.importorskip("xarray")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The hatchback with its shortest duty alone, so that a page of questions costs little."""
    copy = tmp_path_factory.mktemp("session") / "my-kit"
    shutil.copytree(EXAMPLES / "hatchback", copy)
    for duty in (copy / "duties").glob("*.yaml"):
        if duty.stem != "town_crawl":
            duty.unlink()
    return copy


@pytest.fixture(scope="module")
def project(folder: Path) -> heatproof.Project:
    return heatproof.read_project(folder)


def test_limits_are_a_frame_with_units_whose_figures_are_the_verdicts(project: heatproof.Project) -> None:
    verdict = project.variant("seal_strips").check(spreads=False)
    assert verdict.limits.attrs["units"]["margin_K"] == "K"
    row = verdict.rows[3]
    assert verdict.limits.loc[(row.part, row.duty), "margin_K"] == row.margin
    assert verdict.limits.loc[(row.part, row.duty), "peak_degC"] == pytest.approx(row.found.peak - 273.15)


def test_folder_project_and_variant_are_asked_alike(folder: Path, project: heatproof.Project) -> None:
    told = [
        heatproof.explain(source, "brake_line", fitted, spreads=False).rise
        for source, fitted in (
            (str(folder), ["seal_strips"]),
            (project, "seal_strips"),
            (project, project.variant("seal_strips")),
            (project.variant("seal_strips"), None),
        )
    ]
    assert told == [told[0]] * 4
    assert heatproof.run(project, ["seal_strips"]).keys() == project.duties.keys()


def test_a_value_set_by_hand_is_never_answered_from_what_is_stored(project: heatproof.Project) -> None:
    """Stored results belong to measures; a changed value must be solved."""
    assert project.check(spreads=False).rows
    plain = project.check(spreads=False)
    assert plain.stored
    margin = plain.of_part("brake_line").margin
    lower = plain.of_part("brake_line").found.limit - 273.15 - 10.0
    found = project.variant(parts__brake_line__limit__continuous=f"{lower:.6f} degC").check(spreads=False)
    assert not found.stored
    assert found.of_part("brake_line").margin == pytest.approx(margin - 10.0, abs=1e-4)
    assert project.check(spreads=False).of_part("brake_line").margin == margin


@pytest.mark.parametrize("kind", ["project", "variant", "verdict", "why", "runs"])
def test_things_show_themselves_in_a_few_lines_and_as_html(project: heatproof.Project, kind: str) -> None:
    """They were 131 to 589 kB long."""
    built = project.variant(engine__boost="0.6 bar gauge")
    made = {
        "project": lambda: project,
        "variant": lambda: built,
        "verdict": lambda: project.check(spreads=False),
        "why": lambda: project.explain("brake_line", spreads=False),
        "runs": lambda: project.run(),
    }[kind]()
    assert 30 < len(repr(made)) < 1500
    assert len(repr(made).splitlines()) < 12
    shown = made.only() if kind == "runs" else made
    assert "<" in shown._repr_html_()
    if kind in ("verdict", "why"):
        assert "prototype" in shown._repr_html_(), "cautions go with every answer"


@pytest.mark.parametrize(
    ("ask", "says"),
    [
        (lambda p: heatproof.explain("no-such-folder", "loom"), "no such project folder"),
        (lambda p: heatproof.run(p, ["blanket"]), "unknown measure 'blanket'"),
        (lambda p: heatproof.explain(p, "brake_lin", p.variant()), "brake_line"),
        (lambda p: heatproof.variant(p, engine__boost=-50_000.0), "greater than zero"),
        (lambda p: heatproof.variant(p, engine__boost="0.5 bar"), "gauge or absolute"),
        (lambda p: heatproof.variant(p, engine__bost="0.5 bar"), "no such value"),
        (lambda p: heatproof.variant(p.variant(), "seal_strips"), "chosen already"),
        (lambda p: heatproof.check(3.0), "no project"),  # type: ignore[arg-type]
        (lambda p: p.variant(engine__boost="0.6 bar gauge").choose(), "built from the files"),
        (lambda p: p.variant(engine__boost="0.6 bar gauge").release(), "stands for the files"),
    ],
)
def test_what_cannot_be_asked_is_refused_in_words(project: heatproof.Project, ask, says: str) -> None:
    with pytest.raises(heatproof.Refused, match=says):
        ask(project)
