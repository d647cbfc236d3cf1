"""Hot spots, pictures, advice, the verb, and what is refused."""

import dataclasses
import itertools
import json
import shutil
from pathlib import Path

import numpy as np
import pytest
from bay_cars import HATCHBACK, changed, hatchback, solved, with_measures

from heatproof.assembly.bay.advice import (
    clearance_findings,
    clearances,
    link_clearances,
    soaking_findings,
    touch_findings,
)
from heatproof.assembly.bay.findings import bay_findings
from heatproof.assembly.bay.hot_spots import bay_at, bay_peaks, local_peaks
from heatproof.assembly.bay.pictures import bay_glb, bay_png, with_local
from heatproof.assembly.bay.scene import scene_of
from heatproof.assembly.model import Solved, lay_network
from heatproof.doors.cli import run
from heatproof.kit.examples import EXAMPLES
from heatproof.kit.findings import Refused
from heatproof.kit.read import read_project
from heatproof.kit.records.shapes import Mesh
from heatproof.report.reader_units import ReaderUnits
from heatproof.shapes.errors import ShapeError
from heatproof.study.questions.bay_summary import bay_summary
from heatproof.study.questions.check import check

trimesh = pytest.importorskip("trimesh")


@pytest.fixture(scope="module")
def one() -> Solved:
    return solved(with_measures("turbo_shield", "turbine_blanket"))


def test_peaks_are_never_below_an_instant(one: Solved) -> None:
    now, peak = bay_at(one), bay_peaks(one)
    assert (peak.temperatures >= now.temperatures - 1e-9).all()
    assert len(now.temperatures) == len(now.scene.patch_names)


def test_local_peak_lies_above_the_mean_where_radiation_is_uneven(one: Solved) -> None:
    found = {p.part: p for p in local_peaks(one, parts=("bulkhead", "loom"))}
    sheet = found["bulkhead"]
    mass = one.run.state[:, one.run.network.mass("bulkhead")].max()
    assert sheet.peak > sheet.mean + 20.0
    assert sheet.mean == pytest.approx(mass, abs=0.2 * (sheet.peak - sheet.mean) + 5.0)
    # The hottest place of the bulkhead looks at the hot parts, which stand near the middle of the car.
    assert abs(sheet.place[1]) < 0.3
    assert found["loom"].peak > found["loom"].mean


def test_picture_and_model(one: Solved) -> None:
    state = bay_at(one)
    values = with_local(state, local_peaks(one, parts=("bulkhead",)))
    picture = bay_png(state.scene, values, size=(160, 100))
    assert picture.startswith(b"\x89PNG\r\n\x1a\n")
    model = bay_glb(state.scene, values)
    read = trimesh.load_scene(trimesh.util.wrap_as_stream(model), file_type="glb")
    assert set(read.geometry) == {part.name for part in state.scene.parts}
    T = np.asarray(read.geometry["bulkhead"].vertex_attributes["_TEMPERATURE"])
    assert values.min() - 1e-3 <= T.min() < T.max() <= values.max() + 1e-3


def test_advice_names_parts_and_figures(one: Solved) -> None:
    gaps = clearances(one.variant)
    assert all(a.clearance.distance <= b.clearance.distance for a, b in itertools.pairwise(gaps))
    said = [f for f in clearance_findings(one.variant, gaps) if "turbine_housing" in f.what]
    assert said
    assert all("common practice, no source" in f.allowed for f in said)
    burns = touch_findings(one.variant, bay_peaks(one))
    assert burns
    assert "downpipe" in burns[0].what
    assert any("can catch fire" in f.what for f in soaking_findings(one.variant, gaps))


def test_a_brake_line_near_a_bare_turbine_is_warned_of() -> None:
    """Only soft parts were asked: a steel brake line 1 mm from the turbine raised nothing."""
    car = with_measures()
    (x, y, z) = car.parts["turbine_housing"].shape.position
    radius = 0.5 * car.parts["turbine_housing"].shape.diameter
    for distance, level in ((0.001, "warning"), (0.045, "warning"), (0.060, "note"), (0.080, None)):
        path = tuple((x + radius + distance + 0.003, y + dy, z) for dy in (-0.2, 0.0, 0.2))
        near = changed(car, "parts.brake_line.shape.path", path)
        gaps = [
            g
            for g in clearances(near)
            if {g.clearance.part, g.clearance.other} == {"brake_line", "turbine_housing"}
        ]
        assert gaps[0].clearance.distance == pytest.approx(
            distance, abs=3e-3
        )  # the round is drawn with flat sides
        said = clearance_findings(near, gaps)
        assert [finding.level for finding in said] == ([level] if level else [])
        if said:
            assert "s. 92" in said[0].allowed


def test_distances_of_facing_links_are_asked_too_where_parts_have_no_shapes() -> None:
    off = changed(with_measures(), "bay.geometry", "off")
    near = changed(off, "links.manifold_to_brake_line.distance", 0.020)
    asked = {gap.clearance.other: gap for gap in link_clearances(near)}
    assert asked["brake_line"].least == 0.050
    (summary,) = (f for f in bay_summary(near) if f.code == "bay.clearance")
    assert summary.level == "warning"
    assert "brake_line 20 mm" in summary.what
    assert link_clearances(changed(off, "bay.geometry", "on")) == []


def test_a_check_of_parts_inside_each_other_is_refused() -> None:
    inside = changed(with_measures(), "parts.battery.shape.position", (0.08, 0.08, 0.42))
    with pytest.raises(Refused, match="overlaps"):
        check(hatchback(), inside, spreads=False)


@pytest.mark.parametrize("example", ["hatchback", "pickup"])
def test_no_part_of_an_example_stands_in_another_whatever_is_fitted(example: str) -> None:
    """A shield of the pickup stood across the engine block, another in the frame rail, unremarked."""
    project = read_project(EXAMPLES / example)
    for measure in (None, *project.measures):
        variant = project.variant(None if measure is None else project.companions(measure))
        assert [f.what for f in bay_findings(variant) if f.level == "error"] == [], measure


@pytest.mark.parametrize(
    ("times", "level"),
    [(1.2, None), (1.4, "note"), (1.6, "warning"), (4.8, "warning"), (5.5, "error"), (180.0, "error")],
)
def test_surface_and_shape_that_disagree(times: float, level: str | None) -> None:
    """A slip of 180 times turned Over into Holds, and a note said so."""
    car = with_measures()
    area = 0.265  # of the battery's box, 260 × 175 × 200 mm, by hand
    for surface in (area * times, area / times):
        found = [
            f for f in bay_findings(changed(car, "parts.battery.surface", surface)) if "disagree" in f.what
        ]
        (said,) = [f for f in found if "battery" in f.what] or [None]
        assert (said.level if said else None) == level
        if said:
            assert f"{area:.3g} m2 by the shape" in said.got
            assert f"{surface:.3g} m2" in said.got


def test_overlap_and_misplaced_parts_are_named() -> None:
    car = with_measures()
    inside = changed(car, "parts.battery.shape.position", (0.08, 0.08, 0.42))
    assert any("battery" in f.what and "overlaps" in f.what for f in bay_findings(inside))
    away = changed(car, "parts.battery.shape.position", (4.0, 0.0, 0.5))
    found = [f for f in bay_findings(away) if f.what.startswith("battery")]
    assert found[0].level == "error"
    assert found[0].where.path == "parts.battery.shape"


def test_amounts_of_shapes_are_said_in_the_reader_s_units() -> None:
    car = with_measures()
    moved = changed(car, "parts.battery.shape.position", (0.0, 0.0, 0.02))
    (out,) = (f for f in bay_findings(moved) if "reaches outside" in f.what)
    (by,) = out.amounts
    assert out.got == f"by {by.value * 1e3:.0f} mm"
    again = ReaderUnits("us").told(out)
    assert again.got == f"by {by.value / 0.0254:.2f} in"  # an inch is 25.4 mm by definition
    assert (again.what, again.where) == (out.what, out.where)


def with_mesh(folder: Path, file: str, unit: str = "mm"):
    mesh = Mesh(file=file, unit=unit, position=(0.0, -0.42, 0.62))
    return dataclasses.replace(changed(with_measures(), "parts.battery.shape", mesh), folder=str(folder))


def test_mesh_part_takes_its_place(tmp_path: Path) -> None:
    (tmp_path / "parts").mkdir()
    trimesh.creation.box((260.0, 175.0, 200.0)).export(tmp_path / "parts" / "battery.stl")
    part = scene_of(with_mesh(tmp_path, "parts/battery.stl")).part("battery")
    assert part.patch_areas.sum() == pytest.approx(0.265, rel=1e-6)
    assert part.bounds[0] == pytest.approx([-0.13, -0.5075, 0.52], abs=1e-6)
    big = with_mesh(tmp_path, "parts/battery.stl", "m")
    assert any("wrong unit" in f.what for f in bay_findings(big))


@pytest.mark.parametrize("file", ["parts/none.stl", "../outside.stl", "parts/cut.stl", "parts/words.obj"])
def test_bad_meshes_are_refused_with_their_place(tmp_path: Path, file: str) -> None:
    (tmp_path / "car" / "parts").mkdir(parents=True)
    trimesh.creation.box((1.0, 1.0, 1.0)).export(tmp_path / "outside.stl")
    whole = (tmp_path / "outside.stl").read_bytes()
    (tmp_path / "car" / "parts" / "cut.stl").write_bytes(whole[:200])
    (tmp_path / "car" / "parts" / "words.obj").write_text("no mesh at all")
    with pytest.raises(Refused) as refused:
        lay_network(with_mesh(tmp_path / "car", file))
    finding = refused.value.findings[0]
    assert finding.what
    assert finding.next_step or finding.allowed or finding.got


def test_missing_library_names_the_install_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from heatproof.shapes import errors, meshes

    def missing(module: str) -> None:
        raise ShapeError("not installed", next_step=errors.INSTALL)

    monkeypatch.setattr(meshes, "need", missing)
    (tmp_path / "parts").mkdir()
    trimesh.creation.box((260.0, 175.0, 200.0)).export(tmp_path / "parts" / "battery.stl")
    with pytest.raises(Refused, match="heatproof\\[bay\\]"):
        lay_network(with_mesh(tmp_path, "parts/battery.stl"))


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("looks: [-1, 0, 0], faces: front", "looks: [0, 0, 0], faces: front", "no direction"),
        ("position: [0 m, -0.42 m, 0.62 m]", "position: [0 m, -0.42 m]", "needs 3 numbers"),
        ("position: [0 m, -0.42 m, 0.62 m]", "position: [0, -0.42, 0.62]", "unit is missing"),
        ("split: facing, towards: exhaust_manifold", "split: facing, towards: exhaust", "exhaust_manifold"),
        ("split: facing, towards: exhaust_manifold", "split: along", "needs a direction"),
        ("lower: [-0.6 m, -0.6 m, 0.1 m]", "lower: [1.6 m, -0.6 m, 0.1 m]", "lower corner"),
        ("kind: box, size: [260 mm", "kind: bux, size: [260 mm", "box"),
    ],
)
def test_slips_in_shapes_are_refused(tmp_path: Path, old: str, new: str, words: str) -> None:
    shutil.copytree(HATCHBACK, tmp_path / "car")
    file = tmp_path / "car" / "car.yaml"
    text = file.read_text(encoding="utf-8")
    assert old in text
    file.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(Refused) as refused:
        read_project(tmp_path / "car").variant()
    assert words in str(refused.value)


def test_verb(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    picture, model = tmp_path / "bay.png", tmp_path / "bay.glb"
    wanted = ["bay", str(HATCHBACK), "--duty", "flat_out", "--json"]
    assert run([*wanted, "--png", str(picture), "--glb", str(model)]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["duty"] == "flat_out"
    assert 5_000 <= told["triangles"] <= 21_000
    assert told["parts"] >= 30
    assert {"part", "patch", "degC", "peak_degC"} <= set(told["patches"][0])
    assert picture.read_bytes()[:4] == b"\x89PNG"
    assert model.read_bytes()[:4] == b"glTF"


def test_verb_refuses_an_unknown_duty(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["bay", str(HATCHBACK), "--duty", "no_such"]) == 2
    assert "allowed" in capsys.readouterr().err
