"""Sizing finds what a grid finds; sweeps resume, agree with single runs, and say what is wrong."""

import csv
import json
from pathlib import Path

import numpy as np
import pytest

from heatproof.doors.cli import run
from heatproof.kit.findings import Refused
from heatproof.kit.project import Project
from heatproof.study.questions.size import size, with_core_masses, with_ends_tried
from heatproof.study.questions.sweep import csv_text, grid, planned, sweep
from heatproof.study.runs.cases import case, run_case

VENT = "air.passages.vent.area=20 cm2..400 cm2"


def crawl(project: Project) -> dict:
    return {"crawl": project.duties["crawl"]}


def test_size_is_as_good_as_a_grid(choice_project: Project) -> None:
    """One size, so a grid of 13 values is the truth to its own spacing.

    The best lies at the far end; margins of this stop-and-go duty carry 0.1 K of the step control's own noise
    (runs 0.1 mm apart scatter by that much), which is what is allowed beside it: as much as the last 10 mm give.
    """
    fitted, ranges = ("vent", "wrap"), ["links.manifold_to_loom.distance=40 mm..160 mm"]
    found = size(
        choice_project,
        ranges,
        fitted,
        duties=crawl(choice_project),
        spreads=False,
        generations=5,
        population=5,
        workers=1,
    )
    plan = grid(choice_project.variant(fitted), [ranges[0] + ":13"])
    best = max(run_case(case(v, crawl(choice_project))).smallest for v in plan.variants)
    assert found.slack[1] >= best - 0.1
    assert found.slack[1] > found.slack[0]
    assert found.sizes[0].found == pytest.approx(0.16, abs=0.01)


def test_mirrored_ends_are_both_tried() -> None:
    """A score that falls to the low end of one size and to the high end of the other."""
    sizing = Sized2()
    best = with_ends_tried(sizing, np.array([0.3, 0.6]), 9.0, [(0.0, 1.0), (0.0, 1.0)])  # type: ignore[arg-type]
    assert best.tolist() == [0.0, 1.0]
    inside = with_ends_tried(sizing, np.array([0.0, 1.0]), -1.0, [(0.0, 1.0), (0.0, 1.0)])  # type: ignore[arg-type]
    assert inside.tolist() == [0.0, 1.0]


class Sized2:
    """Stands for the model: x₀ − x₁."""

    def map(self, _: object, tried: list[np.ndarray]) -> list[float]:
        return [float(x[0] - x[1]) for x in tried]


def test_mass_is_least_where_it_just_holds(choice_project: Project) -> None:
    """Mass does not follow a distance, so any distance that holds is as good; what counts is that it holds."""
    found = size(
        choice_project,
        ["links.manifold_to_loom.distance=70 mm..200 mm"],
        ("loom_sleeve", "hose_moved", "box_foil"),
        aim="mass",
        duties=crawl(choice_project),
        spreads=False,
        generations=3,
        population=4,
        workers=1,
    )
    assert found.holds
    assert found.core_mass[0] == found.core_mass[1] == pytest.approx(3.0)


def test_core_mass_follows_volume() -> None:
    import heatproof
    from heatproof.kit.read import read_project

    variant = read_project(Path(heatproof.__file__).parent / "examples" / "hatchback").variant()
    path = "cores.charge_cooler.geometry.depth"
    deeper = variant.replace(path, 2.0 * variant.value(path))
    after = with_core_masses(variant, deeper, [path])
    assert after.cores["charge_cooler"].mass == pytest.approx(2.0 * variant.cores["charge_cooler"].mass)


def test_same_seed_same_sizes(choice_project: Project) -> None:
    arguments = (["links.manifold_to_box.distance=50 mm..150 mm"], ("vent",))
    options = {
        "duties": crawl(choice_project),
        "spreads": False,
        "generations": 1,
        "population": 4,
        "workers": 1,
    }
    one, two = (size(choice_project, *arguments, seed=4, **options) for _ in range(2))  # type: ignore[arg-type]
    assert one.sizes == two.sizes


@pytest.mark.parametrize(
    ("ranges", "aim", "said"),
    [
        ([], "margin", "no size"),
        ([VENT], "beauty", "aim at"),
        (["parts.lom.mass=1 kg..2 kg"], "margin", "no such value"),
    ],
)
def test_wrong_sizing_is_refused(choice_project: Project, ranges: list[str], aim: str, said: str) -> None:
    with pytest.raises(Refused, match=said):
        size(choice_project, ranges, ("vent",), aim=aim)


@pytest.mark.parametrize("workers", [1, pytest.param(2, marks=pytest.mark.slow)])
def test_sweep_agrees_with_single_runs_and_resumes(
    choice_project: Project, tmp_path: Path, workers: int
) -> None:
    plan = planned(
        choice_project, ("vent",), ranges=[VENT + ":2", "air.passages.under.area=300 cm2..600 cm2:2"]
    )
    assert len(plan.variants) == 4
    swept = sweep(plan, crawl(choice_project), workers=workers, resume=tmp_path)
    for variant, outcome in zip(plan.variants, swept.outcomes, strict=True):
        assert outcome == run_case(case(variant, crawl(choice_project)))
    files = sorted(path.name for path in tmp_path.glob("*.json"))
    assert len(files) == 4
    told: list[str] = []
    again = sweep(plan, crawl(choice_project), resume=tmp_path, progress=lambda d, t, what: told.append(what))
    assert again == swept
    assert told == ["taken from before"]


@pytest.mark.slow
def test_all_sets(choice_project: Project) -> None:
    assert len(planned(choice_project, None, sets=True).variants) == 2304


def test_draws_and_wrong_plans(choice_project: Project) -> None:
    plan = planned(choice_project, ("wrap",), count=5, seed=2)
    assert np.asarray(plan.rows, dtype=float).shape == (5, len(plan.columns))
    for wrong in ({}, {"sets": True, "count": 3}, {"ranges": [VENT]}, {"ranges": [VENT + ":x"]}):
        with pytest.raises(Refused):
            planned(choice_project, ("vent",), **wrong)  # type: ignore[arg-type]


def test_csv_holds_every_margin(choice_project: Project) -> None:
    plan = planned(choice_project, ("vent",), ranges=[VENT + ":2"])
    swept = sweep(plan, crawl(choice_project), workers=1)
    rows = list(csv.reader(csv_text(swept).splitlines()))
    assert rows[0][:2] == ["air.passages.vent.area", "smallest margin [K]"]
    for row, one in zip(rows[1:], swept.outcomes, strict=True):
        assert float(row[1]) == pytest.approx(one.smallest, abs=6e-4)
        assert len(row) == len(rows[0])


def test_command_lines(choice_folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    table = tmp_path / "all.csv"
    arguments = ["sweep", str(choice_folder), "--fit", "vent,loom_sleeve", "--duty", "crawl", "--jobs", "1"]
    assert run([*arguments, "--vary", VENT + ":2", "--json", "--csv", str(table)]) in (0, 1)
    data = json.loads(capsys.readouterr().out)
    assert len(data["variants"]) == 2
    assert len(table.read_text().splitlines()) == 3
    assert run([*arguments, "--vary", "nonsense"]) == 2
    assert run(["size", str(choice_folder), "--no-spread"]) == 2
