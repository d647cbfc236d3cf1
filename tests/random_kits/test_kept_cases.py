"""What random kits found, shrunk to the least that shows it."""

import shutil
from pathlib import Path

import numpy as np
import pytest
from second_law import too_cold, too_hot

import heatproof
from heatproof.assembly.model import lay_network, solve
from heatproof.kit.findings import Refused
from heatproof.kit.project import Project
from heatproof.kit.read import read_project
from heatproof.kit.records.parts import Lining
from heatproof.kit.records.variant import Variant
from heatproof.network import signals as S
from heatproof.network.solve import Run
from heatproof.verdict.watch import short_of_power

SMALL = Path(__file__).parent.parent / "kit" / "small"
EXAMPLE = Path(heatproof.__file__).parent / "examples" / "hatchback"


def small_with(folder: Path, file: str, old: str, new: str) -> Path:
    """The small project with one change."""
    shutil.copytree(SMALL, folder / "small")
    path = folder / "small" / file
    text = path.read_text(encoding="utf-8")
    assert text.count(old) == 1
    path.write_text(text.replace(old, new), encoding="utf-8")
    return folder / "small"


def first_run(project: Project, variant: Variant | None = None) -> Run:
    """The first duty of the kit as it stands, or of another variant."""
    variant = variant or project.variant()
    return solve(variant, next(iter(project.duties.values())), lay_network(variant)).run


@pytest.mark.parametrize("name", ["tail", "engine", "end", "outside"])
def test_an_exhaust_piece_may_be_called_anything_a_network_uses_inside(tmp_path, name):
    """Was: a traceback, branch laid twice."""
    tail = f"  {name}: {{part: manifold, bore: 40 mm, length: 1 m}}\n\ncharge:"
    project = read_project(small_with(tmp_path, "car.yaml", "\ncharge:", tail))
    assert f"exhaust.{name}" in lay_network(project.variant()).masses


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("  manifold: {part: manifold", "  turbine: {part: manifold", "stands for the gas leaving the turbine"),
        ("    under: {from: bay", "    engine_draw: {from: bay", "stands for the air the engine draws"),
        ("  loom: {mass", "  ambient: {mass: 1 kg, heat_capacity: 500 J/K, surface: 0.1 m2, zone: bay, size: 20 mm}\n  loom: {mass", "stands for the air of the day"),
    ],
)  # fmt: skip
def test_a_name_that_results_use_otherwise_is_refused_with_its_place(tmp_path, old, new, said):
    """Was: a traceback, or a part taken for the ambient air."""
    with pytest.raises(Refused, match=said) as refused:
        read_project(small_with(tmp_path, "car.yaml", old, new))
    assert "car.yaml:" in str(refused.value)


def test_an_exhaust_too_narrow_for_the_power_is_refused_with_its_place(tmp_path):
    """Was: not solved at some second, the pumping work having run away; found by a variation of the example."""
    tail = "  tail: {part: manifold, bore: 15 mm, length: 1 m}\n\ncharge:"
    with pytest.raises(Refused, match="exhaust is too narrow") as refused:
        read_project(small_with(tmp_path, "car.yaml", "\ncharge:", tail))
    assert "exhaust.tail.bore" in str(refused.value)


def test_a_measure_may_stand_above_the_one_it_needs(tmp_path):
    """Was: refused, because what it changes had not been added yet."""
    above = "measures:\n  polished: {needs: [shield], set: {parts.shield.emissivity: '0.1'}}\n"
    project = read_project(small_with(tmp_path, "kit.yaml", "measures:\n", above))
    assert project.variant(["shield", "polished"]).parts["shield"].emissivity == 0.1


def test_overrun_on_charge_as_cool_as_the_day_keeps_the_gas_in_bounds(tmp_path):
    """Was: not solved. Gas that left near ambient had a heat capacity below zero and ran away."""
    folder = small_with(tmp_path, "duties/hill.yaml", "grade: 6 %", "grade: -6 %")
    project = read_project(folder)
    variant = project.variant()
    for path, name in (("charge.draws_from", "outside"), ("charge.plenum.part", "loom")):
        variant = variant.with_value(path, name)
    run = first_run(project, variant)
    assert (run.signal[:, S.FUEL] == 0.0).any()
    assert too_hot(run) == []
    assert too_cold(run) == []


@pytest.mark.parametrize("duty", ["ten_pulls", "track_session"])
def test_charge_leaves_the_cooler_no_colder_than_the_day_and_no_hotter_than_its_metal(duty):
    """Was: 15 K colder than the air that cooled it, for the first seconds of a pull."""
    project = read_project(EXAMPLE)
    variant = project.variant()
    run = solve(variant, project.duties[duty], lay_network(variant)).run
    out, metal, before = (
        run.state[:, run.network.mass(name)]
        for name in ("charge.cooler_out", "core.charge_cooler", "charge.hot_pipe")
    )
    assert (out > np.minimum(metal, run.around.temperature) - 4.0).all()
    assert (out < np.maximum(metal, before) + 4.0).all()


def test_a_lining_never_adds_heat(tmp_path):
    """Was: at a tenth of the flow its law was read at, a lined manifold took up more heat than a bare one."""
    project = read_project(small_with(tmp_path, "duties/hill.yaml", "grade: 6 %", "grade: 0 %"))
    bare, lined = (
        first_run(project, project.variant().with_value("parts.manifold.lining", lining))
        for lining in (None, Lining(thickness=1e-3))
    )
    i = bare.network.mass("manifold")
    assert lined.state[:, i].max() < bare.state[:, i].max() - 1.0


def test_an_engine_that_brakes_downhill_is_not_short_of_power(tmp_path):
    """Was: a warning that kilowatts asked for were not delivered, while the fuel was cut."""
    project = read_project(small_with(tmp_path, "duties/hill.yaml", "grade: 6 %", "grade: -6 %"))
    variant, duty = project.variant(), project.duties["hill"]
    solved = solve(variant, duty, lay_network(variant))
    cut = solved.run.signal[:, S.FUEL] == 0.0
    assert solved.run.signal[cut, S.DEMAND_SHORT].max() > 1e3
    assert list(short_of_power("hill", solved)) == []


def test_the_check_sees_a_part_hotter_than_all_it_touches(tmp_path):
    """A spike on a part's course, up and down, is found."""
    run = first_run(read_project(small_with(tmp_path, "kit.yaml", "Small kit", "Small kit again")))
    i, row = run.network.mass("loom"), run.time.size // 2
    assert too_hot(run) == []
    run.state[row, i] = run.state[:, : len(run.network.masses)].max() + 25.0
    run.state[row + 1, i] = run.around.temperature - 25.0
    assert [found.split()[0] for found in too_hot(run)] == ["loom", "loom"]
    assert [found.split()[0] for found in too_cold(run)] == ["loom"]
