"""Reading, merging, measures, spreads, sensitivity values."""

import pickle
import random
import re
from pathlib import Path

import pytest
import yaml

from heatproof.kit import tree
from heatproof.kit.findings import Findings, Refused
from heatproof.kit.read import read_project
from heatproof.kit.records.duty import Trace
from heatproof.kit.tree import Source


def test_values_arrive_in_si(small: Path):
    project = read_project(small)
    v = project.variant(())
    assert v.vehicle.mass == 900
    assert v.engine.bore == pytest.approx(0.072)
    assert v.engine.rated_speed == pytest.approx(5600 / 60)
    assert v.coolant.cap_pressure == pytest.approx(1e5)
    assert v.parts["loom"].surface == pytest.approx(0.05)
    assert v.parts["loom"].limit is not None
    assert v.parts["loom"].limit.continuous == pytest.approx(398.15)
    assert project.duties["hill"].air.ambient == pytest.approx(308.15)
    assert project.duties["hill"].soak == 1200


def test_kit_changes_one_value_and_leaves_the_rest(small: Path):
    project = read_project(small)
    assert project.bare_car().engine.rated_power == pytest.approx(60e3)
    changed = project.variant(()).engine
    assert changed.rated_power == pytest.approx(66e3)
    assert changed.model_copy(update={"rated_power": 60e3}) == project.bare_car().engine


def test_measures_set_add_remove(small: Path):
    project = read_project(small)
    assert project.fitted == ("shield",)
    v = project.variant()
    assert "shield" in v.parts
    assert "manifold_to_loom" not in v.links
    assert (v.cost, v.mass, v.labour) == (130, 2.5, 45 * 60)
    sleeved = project.variant({"sleeve"})
    cover = sleeved.parts["loom"].cover
    assert cover is not None
    assert cover.thickness == pytest.approx(2e-3)
    assert project.variant(()).parts["loom"].cover is None
    assert project.variant({"moved"}).links["manifold_to_loom"].distance == pytest.approx(0.19)


def test_measures_that_exclude_each_other_are_refused(small: Path):
    project = read_project(small)
    with pytest.raises(Refused, match=r"exclude each other|does not exist"):
        project.variant({"shield", "moved"})
    with pytest.raises(Refused, match=r"unknown measure 'sheild'[\s\S]*nearest: shield"):
        project.variant({"sheild"})


def test_measure_needs_another(small: Path):
    kit = small / "kit.yaml"
    kit.write_text(
        kit.read_text().replace("    title: Sleeve on the loom", "    title: Sleeve\n    needs: [shield]")
    )
    project = read_project(small)
    assert project.companions("sleeve") == ("sleeve", "shield")
    assert project.companions("shield", ()) == ("shield",)
    with pytest.raises(Refused, match="needs 'shield', which is not fitted"):
        project.variant({"sleeve"})


def test_a_record_of_another_kind_is_replaced_whole(small: Path):
    kit = small / "kit.yaml"
    change = "changes:\n  coolant: {lines: {top_hose: {from: hot, to: top, kind: hose, bore: 30 mm}}}\n"
    kit.write_text(kit.read_text().replace("changes:\n", change))
    line = read_project(small).variant(()).coolant.lines["top_hose"]
    assert line.kind == "hose"
    assert line.bore == pytest.approx(0.03)


def test_spread_is_two_standard_deviations(small: Path):
    v = read_project(small).variant(())
    spread = v.spreads["cores.radiator.rated.heat_per_kelvin"]
    assert (spread.value, spread.sd, spread.source) == (550, pytest.approx(22), "bench")
    assert spread.where.file == "car.yaml"
    assert v.spreads["engine.volumetric_efficiency.factor"].sd == pytest.approx(0.02)
    assert v.spreads["links.manifold_to_head.contact_conductance"].source == "estimate"
    assert "air.passages.under.loss" in v.spreads
    assert "air.passages.grille.loss" not in v.spreads  # a core fills it
    for path, item in v.spreads.items():
        assert v.value(path) == item.value


def test_a_changed_value_takes_its_old_spread_with_it(small: Path):
    kit = small / "kit.yaml"
    change = "changes:\n  cores: {radiator: {rated: {heat_per_kelvin: 600 W/K}}}\n"
    kit.write_text(kit.read_text().replace("changes:\n", change))
    v = read_project(small).variant(())
    assert "cores.radiator.rated.heat_per_kelvin" not in v.spreads
    assert v.cores["radiator"].rated is not None
    assert v.cores["radiator"].rated.heat_per_kelvin == 600


def test_replace_changes_one_value_only(small: Path):
    v = read_project(small).variant()
    for path, value in (
        ("parts.loom.mass", 0.7),
        ("coolant.lines.pump.head", 1e5),
        ("engine.volumetric_efficiency.factor", 1.03),
        ("engine.volumetric_efficiency.value.1", 0.95),
    ):
        w = v.replace(path, value)
        assert w.value(path) == value
        assert w.replace(path, v.value(path)) == v
        assert w.oil is v.oil
    for path in ("parts.lom.mass", "parts.loom.weight", "nothing"):
        with pytest.raises(Refused, match="no such value"):
            v.replace(path, 1.0)
        with pytest.raises(KeyError):
            v.with_value(path, 1.0)


def test_replace_reads_what_a_file_reads(small: Path):
    v = read_project(small).variant()
    assert v.replace("parts.loom.mass", "1.5 lb").parts["loom"].mass == pytest.approx(1.5 * 0.45359237)
    assert v.replace("coolant.glycol", "40 %").coolant.glycol == pytest.approx(0.4)
    assert v.replace("coolant.fixed_pressure", "cold").coolant.fixed_pressure == "cold"
    assert v.replace(
        "engine.volumetric_efficiency.value", ["80 %", 0.9]
    ).engine.volumetric_efficiency.value == (0.8, 0.9)
    assert v.replace("parts.loom.mass", "700 g").changed == ("parts.loom.mass",)


@pytest.mark.parametrize(
    ("path", "value", "says"),
    [
        ("engine.boost", -50_000.0, "value is too small|greater than zero"),
        ("engine.boost", "0.5 bar", "gauge or absolute pressure is not stated"),
        ("parts.loom.mass", "0.5 bar", "a pressure, but a mass is needed"),
        ("parts.loom.mass", "heavy", "cannot read a number"),
        ("parts.loom.mass", float("nan"), "value is too"),
        ("parts.loom.mass", True, "not a number"),
        ("parts.loom.mass", None, "not a number"),
        ("parts.loom", 3.0, "no single value"),
        ("engine.volumetric_efficiency.value", 0.9, "is a list"),
    ],
)
def test_replace_refuses_what_a_file_may_not_say(small: Path, path: str, value: object, says: str):
    v = read_project(small).variant()
    with pytest.raises(Refused, match=says) as refused:
        v.replace(path, value)
    assert path in str(refused.value)


def test_measures_and_values_in_one_call(small: Path):
    project = read_project(small)
    assert project.variant("sleeve").assembly == project.variant(["sleeve"]).assembly
    assert project.variant([]).fitted == ()
    assert project.variant().fitted == project.fitted
    assert "sleeve" in project.variant("+sleeve").fitted
    heavier = project.variant("sleeve", parts__loom__mass="2 kg")
    assert heavier.parts["loom"].mass == 2.0
    assert heavier.fitted == ("sleeve",)
    with pytest.raises(Refused, match="unknown measure 'sleve'"):
        project.variant("-sleve")
    with pytest.raises(Refused, match="unknown measure"):
        project.variant("sleve")


def test_values_that_do_not_fit_together_are_refused_from_python_as_from_a_file(small: Path):
    with pytest.raises(Refused, match="no_such_junction"):
        read_project(small).variant(coolant__fixed_pressure="no_such_junction")


def test_a_project_and_a_variant_show_themselves_in_a_few_lines(small: Path):
    project = read_project(small)
    assert len(repr(project)) < 800
    shown = repr(project.variant("sleeve", parts__loom__mass="2 kg"))
    assert len(shown) < 800
    assert "parts.loom.mass = 2 kg" in shown
    assert "sleeve" in shown


def test_where_says_who_set_a_value_last(small: Path):
    v = read_project(small).variant({"sleeve"})
    assert v.where("engine.rated_power").file == "kit.yaml"
    assert v.where("engine.bore").file == "car.yaml"
    assert v.where("parts.loom.cover.thickness").file == "kit.yaml"
    assert str(v.where("vehicle.mass")) == "car.yaml:6 (vehicle.mass)"


def test_variant_travels_between_processes(small: Path):
    project = read_project(small)
    v = project.variant()
    again = pickle.loads(pickle.dumps(v))
    assert again.assembly == v.assembly
    assert again.spreads == v.spreads
    assert (
        pickle.loads(pickle.dumps(project)).variant({"sleeve"}).assembly
        == project.variant({"sleeve"}).assembly
    )


def test_hash_follows_every_byte(small: Path):
    first = read_project(small).hash()
    assert read_project(small).hash() == first
    duty = small / "duties" / "hill.yaml"
    duty.write_text(duty.read_text() + "# a remark\n")
    assert read_project(small).hash() != first


def test_project_without_kit_is_the_car(small: Path):
    (small / "kit.yaml").unlink()
    project = read_project(small)
    assert project.variant().assembly == project.bare_car().assembly


def test_findings_are_kept_where_not_strict(small: Path):
    car = small / "car.yaml"
    car.write_text(car.read_text().replace("900 kg", "900 mm"))
    project = read_project(small, strict=False)
    assert [f.where.path for f in project.findings.errors] == ["vehicle.mass"]
    assert project.files["car.yaml"].text == car.read_text()


@pytest.mark.parametrize("seed", range(5))
def test_order_of_names_makes_no_difference(example: Path, tmp_path: Path, seed: int):
    """Shuffles every named collection but the exhaust, whose order is the flow's."""
    shuffle = random.Random(seed).shuffle

    def mixed(node: object, path: str) -> object:
        if not isinstance(node, dict):
            return node
        items = [(key, mixed(value, f"{path}.{key}")) for key, value in node.items()]
        if path != ".exhaust":
            shuffle(items)
        return dict(items)

    (tmp_path / "duties").mkdir()
    for duty in (example / "duties").glob("*.yaml"):
        (tmp_path / "duties" / duty.name).write_bytes(duty.read_bytes())
    car = yaml.load((example / "car.yaml").read_text(encoding="utf-8"), yaml.BaseLoader)
    (tmp_path / "car.yaml").write_text(yaml.safe_dump(mixed(car, ""), sort_keys=False))
    first, second = read_project(example).bare_car(), read_project(tmp_path).bare_car()
    assert second.assembly == first.assembly
    assert {k: (s.value, s.sd) for k, s in second.spreads.items()} == {
        k: (s.value, s.sd) for k, s in first.spreads.items()
    }


def test_exhaust_pieces_stand_in_flow_order(small: Path):
    car = small / "car.yaml"
    text = car.read_text()
    pipe = "part: manifold, bore: 40 mm, length: 1 m"
    more = f"\n  down: {{{pipe}}}\n  up: {{{pipe}, after: manifold}}\n"
    car.write_text(text.replace("length: 300 mm}\n", "length: 300 mm}" + more))
    assert list(read_project(small).bare_car().exhaust) == ["manifold", "up", "down"]


def test_trace_file_is_read_with_its_units(small: Path):
    (small / "run.csv").write_text("time [s],speed [mph],grade [%]\n0,0,0\n10,60,2\n20,60,2\n")
    duty = small / "duties" / "hill.yaml"
    drive = "{kind: grade, speed: 80 km/h, grade: 6 %, duration: 10 min}"
    duty.write_text(duty.read_text().replace(drive, "{kind: trace, file: run.csv}"))
    project = read_project(small)
    trace = project.duties["hill"].drive
    assert isinstance(trace, Trace)
    assert trace.time == (0, 10, 20)
    assert trace.speed[1] == pytest.approx(26.8224)  # 60 mph, exact by definition of the mile
    assert trace.grade[1] == pytest.approx(0.02)
    assert "run.csv" in project.files


def test_files_of_an_earlier_reading_are_read_in_place_of_those_on_disk(small: Path):
    (small / "run.csv").write_text("time [s],speed [km/h]\n0,0\n60,36\n")
    duty = small / "duties" / "hill.yaml"
    drive = "{kind: grade, speed: 80 km/h, grade: 6 %, duration: 10 min}"
    duty.write_text(duty.read_text().replace(drive, "{kind: trace, file: run.csv}"))
    before = read_project(small)
    for gone in ("run.csv", "duties/hill.yaml", "kit.yaml"):
        (small / gone).unlink()
    again = read_project(small, files=before.files)
    assert again.hash() == before.hash()
    assert again.variant().engine == before.variant().engine
    assert again.duties == before.duties
    kit = Source("kit.yaml", before.files["kit.yaml"].text.replace("66 kW", "64 kW"))
    edited = read_project(small, files={**before.files, "kit.yaml": kit})
    assert edited.variant().engine.rated_power == pytest.approx(64e3)


def test_both_parsers_see_the_same_text(example: Path, monkeypatch: pytest.MonkeyPatch):
    """The compiled parser and the one in plain Python, which serves where the compiled one is missing."""

    def spans(node: tree.Node) -> object:
        if isinstance(node, tree.Scalar):
            return (node.text, node.line, node.start, node.end, node.quoted)
        if isinstance(node, tree.Sequence):
            return [node.line, *map(spans, node.items)]
        return {key: (node.line_of(key), spans(item)) for key, item in node.entries.items()}

    found = []
    for loader in (yaml.CSafeLoader, yaml.SafeLoader):
        monkeypatch.setattr(tree, "LOADER", loader)
        root = tree.parse_tree(tree.read_source(example / "kit.yaml", example), Findings())
        assert root is not None
        found.append(spans(root))
    assert found[0] == found[1]


def test_the_example_reads_without_error_and_says_it_is_invented(example: Path):
    project = read_project(example)
    assert not project.findings.errors
    v = project.variant()
    assert len(project.duties) == 5
    judged = [p for p in v.parts.values() if p.limit]
    assert len(judged) >= 25
    assert "invented" in project.files["car.yaml"].text.lower()
    assert v.turbo is not None
    for name in project.measures:
        assert project.variant(project.companions(name)).parts


def test_every_limit_of_the_example_names_a_source(example: Path):
    text = (example / "car.yaml").read_text(encoding="utf-8") + (example / "kit.yaml").read_text(
        encoding="utf-8"
    )
    limits = re.findall(r"limit: (\{[^{}]*\})", text)
    assert len(limits) >= 25
    assert [limit for limit in limits if "source:" not in limit] == []


def test_another_kit_file_of_the_folder_is_read_instead(small: Path):
    old = (small / "kit.yaml").read_text(encoding="utf-8")
    (small / "kit-corrected-1.yaml").write_text(old.replace("66 kW", "63 kW"), encoding="utf-8")
    project = read_project(small, kit="kit-corrected-1.yaml")
    assert project.variant(()).engine.rated_power == pytest.approx(63e3)
    assert "kit.yaml" not in project.files
    assert project.hash() != read_project(small).hash()
    with pytest.raises(Refused, match="unknown measure") as caught:
        project.variant({"sheild"})
    assert [finding.where.file for finding in caught.value.findings] == ["kit-corrected-1.yaml"]


def test_a_kit_file_that_is_not_there_is_refused_with_the_nearest(small: Path):
    (small / "kit-corrected-1.yaml").write_bytes((small / "kit.yaml").read_bytes())
    with pytest.raises(Refused, match=r"no such kit file[\s\S]*nearest: kit-corrected-1.yaml"):
        read_project(small, kit="kit-corrected-2.yaml")
