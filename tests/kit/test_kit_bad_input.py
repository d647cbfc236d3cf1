"""Every bad input is a finding with file, line, what, and a next step; never a traceback."""

import ast
import random
import time
from contextlib import suppress
from pathlib import Path

import pytest

import heatproof.kit
from heatproof.kit.findings import Refused, nearest
from heatproof.kit.read import read_project

CAR, KIT, DUTY = "car.yaml", "kit.yaml", "duties/hill.yaml"
LOOM = "loom: {mass: 0.5 kg, heat_capacity: 450 J/K, surface: 500 cm2, zone: bay, size: 20 mm"

CASES = {
    "wrong unit": (CAR, "mass: 900 kg ", "mass: 900 mm ", "mm is a length, but a mass is needed", ""),
    "unit of another dimension offers the right one": (CAR, "value: 550 W/K", "value: 550 W", "W is a power", "550 W/K"),
    "missing unit": (CAR, "mass: 900 kg ", "mass: 900 ", "unit is missing", ""),
    "gauge or absolute unstated": (CAR, "1.0 bar gauge", "1.0 bar", "gauge or absolute pressure is not stated", "1 bar gauge"),
    "absolute where gauge is meant": (CAR, "1.0 bar gauge", "2.0 bar absolute", "absolute pressure, but", ""),
    "unknown key": (CAR, "drag_area:", "drag_erea:", "unknown key 'drag_erea'", "drag_area"),
    "unknown section": (CAR, "\nlinks:", "\nlinkz:", "unknown key 'linkz'", "links"),
    "missing required value": (CAR, "  final_drive: 4.1\n", "", "required 'final_drive' is missing", ""),
    "value left empty": (CAR, "final_drive: 4.1", "final_drive:", "value is missing", ""),
    "negative size": (CAR, "area: 400 cm2", "area: -400 cm2", "must be greater than zero", ""),
    "zero size": (CAR, "length: 300 mm", "length: 0 mm", "must be greater than zero", ""),
    "out of range": (CAR, "stroke: 73.7 mm", "stroke: 73.7 m", "too large", ""),
    "duplicate name": (CAR, "  manifold_to_loom:", "  manifold_to_head:", "is given twice", ""),
    "bad name": (CAR, "  manifold_to_loom:", "  Manifold-2:", "name 'Manifold-2' is not allowed", ""),
    "part linked to nothing": (
        CAR, "\nlinks:", "\n  lost: {mass: 1 kg, heat_capacity: 500 J/K, size: 20 mm}\n\nlinks:", "linked to nothing", "",
    ),
    "part in an unknown zone": (CAR, LOOM, LOOM.replace("zone: bay", "zone: bey"), "no zone named 'bey'", "bay"),
    "link to an unknown part": (CAR, "to: loom, kind", "to: lom, kind", "no part named 'lom'", "loom"),
    "unknown material": (CAR, LOOM, LOOM + ", material: coper", "no material named 'coper'", "copper"),
    "loop without pump": (
        CAR, "kind: pump, head: 0.9 bar, head_speed: 5600 rpm, free_flow: 150 L/min", "bore: 20 mm",
        "coolant loop without a pump", "",
    ),
    "oil without pump": (
        CAR, "kind: displacement_pump, displacement: 8 cm3, relief: 4 bar", "bore: 8 mm", "oil loop without a pump", "",
    ),
    "core without a line": (CAR, ", bore: 26 mm, core: radiator}", ", bore: 26 mm}", "does not name the core", ""),
    "no reference pressure": (
        CAR, "  small_junctions: {height: 0.5 m}",
        "    stray: {from: one, to: two, bore: 9 mm, heat_loss: 1 W/K}\n"
        "    stray_back: {from: two, to: one, bore: 9 mm}\n  small_junctions: {height: 0.5 m}",
        "no reference pressure", "",
    ),
    "fixed_pressure at no junction": (CAR, "fixed_pressure: tank", "fixed_pressure: tonk", "no junction named", "tank"),
    "line to an unknown junction": (CAR, "from: jacket", "from: jackett", "leads nowhere", "jacket"),
    "zone with no way out": (
        CAR, "  passages:", "    box: {volume: 5 L, flow_area: 100 cm2, height: 0.6 m}\n  passages:", "has no way out", "",
    ),
    "core named by no passage": (CAR, "core: radiator, pressure", "area: 0.1 m2, pressure", "named by no passage", ""),
    "thermostat the wrong way round": (CAR, "fully_open: 94 degC", "fully_open: 80 degC", "fully open at or below", ""),
    "limit the wrong way round": (CAR, "short: 150 degC", "short: 120 degC", "must lie above the continuous", ""),
    "kind unknown": (CAR, "kind: facing", "kind: facin", "unknown kind 'facin'", "facing"),
    "key of another kind": (CAR, "kind: facing, area: 60 cm2", "kind: facing, conductance: 60 W/K, area: 60 cm2", "unknown key", ""),
    "not true or false": (KIT, "fitted: true", "fitted: maybe", "not true or false", ""),
    "spread read two ways": (
        CAR, "rated_power: 60 kW", "indicated_efficiency: {value: 36 %, spread: 3 %}\n  rated_power: 60 kW", "two ways",
        "3 points",
    ),
    "measure changes what is not there": (
        KIT, "links.manifold_to_loom.distance", "links.manifold_to_lom.distance", "does not exist in this variant",
        "manifold_to_loom",
    ),
    "measure removes what is not there": (KIT, "[links.manifold_to_loom]", "[links.nothing]", "does not exist", ""),
    "measure adds what is there": (KIT, "        shield: {mass", "        loom: {mass", "is there already", ""),
    "measure excludes an unknown one": (KIT, "excludes: [shield]", "excludes: [sheild]", "unknown measure", "shield"),
    "wrong value in a measure": (KIT, "distance: 190 mm", "distance: 190 K", "temperature difference, but a length", ""),
    "other currency": (KIT, "cost: 9 EUR", "cost: 9 USD", "not the kit's currency", ""),
    "drive of unknown kind": (DUTY, "kind: grade", "kind: grad", "unknown kind", "grade"),
    "temperature as a difference": (DUTY, "95 degF", "300 K", "a temperature is needed", "26.85 degC"),
    "time running back": (
        DUTY, "{kind: grade, speed: 80 km/h, grade: 6 %, duration: 10 min}",
        "{kind: trace, time: [0 s, 10 s, 5 s], speed: [0 km/h, 50 km/h, 60 km/h]}", "time runs back", "",
    ),
    "tag": (CAR, "name: Small", "name: !!python/object/apply:os.system Small", "tags (!) are not read", ""),
    "own tag": (CAR, "mass: 900 kg", "mass: !size 900 kg", "tags (!) are not read", ""),
    "anchor": (CAR, "mass: 900 kg", "mass: &m 900 kg", "anchors (&) are not read", ""),
    "alias": (CAR, "mass: 900 kg", "mass: *m", "aliases (*) are not read", ""),
    "two documents": (CAR, "\nvehicle:", "\n---\nvehicle:", "more than one document", ""),
    "list as a key": (CAR, "mass: 900 kg", "[a, b]: 900 kg", "a key must be a plain text", ""),
    "broken YAML": (CAR, "bore: 72 mm", "bore: {72 mm", "not valid YAML", ""),
    "merge key": (CAR, "mass: 900 kg", "<<: {mass: 900 kg}", "unknown key '<<'", ""),
}  # fmt: skip
# Cases whose finding stands on another line than the changed one: a container's, or where the parser noticed.
ELSEWHERE = {
    "missing required value",
    "core without a line",
    "core named by no passage",
    "part linked to nothing",
}
ELSEWHERE |= {
    "no reference pressure",
    "zone with no way out",
    "duplicate name",
    "broken YAML",
    "unknown section",
}
ELSEWHERE |= {"spread read two ways", "two documents", "measure adds what is there"}


@pytest.mark.parametrize("case", CASES)
def test_bad_input_is_named_and_placed(case, broken):
    file, old, new, says, near = CASES[case]
    findings, line = broken(file, old, new)
    hits = [f for f in findings if says in f.what]
    assert hits, "\n".join(map(str, findings))
    finding = next((f for f in hits if f.where.line == line), hits[0])
    assert finding.level == "error"
    assert finding.where.file == file
    assert finding.next_step
    assert finding.nearest == near
    if case not in ELSEWHERE:
        assert finding.where.line == line, str(finding)
    else:
        assert finding.where.line > 0
    assert f"{file}:{finding.where.line}" in str(finding)


TURBO = """
turbo:
  part_turbine: manifold
  part_bearing: block
  part_compressor: head
  swallowing_area: 4 cm2
  rotor_inertia: 1e-5 kg*m2
  turbine_wetted_area: 0.03 m2
  turbine_bore: 40 mm
  compressor_wetted_area: 0.02 m2
  neck_conductance: 2 W/K
  backplate_conductance: 3 W/K
  oil_conductance: 9 W/K
  oil_line: bearings
  compressor_map:
    lines:
      - {speed: 90000 rpm, flow: [0.03 kg/s, 0.06 kg/s], pressure_ratio: [1.4, 1.3], efficiency: [70 %, 68 %]}
      - {speed: 120000 rpm, flow: [0.05 kg/s, 0.09 kg/s], pressure_ratio: [1.9, 1.7], efficiency: [71 %, 66 %]}
"""


def test_map_without_reference_state(small: Path):
    path = small / "car.yaml"
    text = path.read_text() + TURBO
    path.write_text(text)
    with pytest.raises(Refused) as caught:
        read_project(small)
    line = text[: text.index("compressor_map")].count("\n") + 2
    missing = [f for f in caught.value.findings if "is missing" in f.what]
    assert {f.what for f in missing} == {
        "required 'reference_temperature' is missing",
        "required 'reference_pressure' is missing",
    }
    assert all(f.where.file == "car.yaml" and f.where.line in (line, line - 1) for f in missing)


def with_turbo(small: Path, lines: str) -> None:
    """Adds a turbo with a whole map, `lines` in place of the two speed lines."""
    state = "  compressor_map:\n    reference_temperature: 15 degC\n    reference_pressure: 101.325 kPa absolute\n"
    turbo = TURBO.replace("  compressor_map:\n", state)
    start = turbo.index("      - {speed")
    turbo = turbo[:start] + lines if lines else turbo
    text = (small / "car.yaml").read_text().replace("length: 300 mm}", "length: 300 mm, turbine: true}")
    text = text.replace("rated_power: 60 kW", "rated_power: 60 kW\n  boost: 0.5 bar gauge")
    (small / "car.yaml").write_text(text + turbo)


def test_whole_map_is_read(small: Path):
    with_turbo(small, "")
    turbo = read_project(small).variant().turbo
    assert turbo is not None
    assert turbo.compressor_map is not None
    assert turbo.compressor_map.reference_temperature == pytest.approx(288.15)
    assert turbo.compressor_map.lines[1].speed == pytest.approx(2000)


@pytest.mark.parametrize(
    ("lines", "says"),
    [
        (
            "      - {speed: 90000 rpm, flow: [0.03 kg/s], pressure_ratio: [1.4, 1.3], efficiency: [70 %]}\n",
            "equally long",
        ),
        (
            "      - {speed: 90000 rpm, flow: [0.06 kg/s, 0.03 kg/s], pressure_ratio: [1.4, 1.3], efficiency: [70 %, 68 %]}\n",
            "flow must rise",
        ),
        (
            "      - {speed: 90000 rpm, flow: [0.03 kg/s, 0.06 kg/s], pressure_ratio: [1.4, 1.3], efficiency: [70 %, 68 %]}\n",
            "two or more speed lines",
        ),
    ],
)
def test_bad_maps(small: Path, lines: str, says: str):
    with_turbo(small, lines)
    with pytest.raises(Refused, match=says):
        read_project(small)


@pytest.mark.parametrize(("boost", "refused"), [("1.2 bar gauge", False), ("0.2 bar gauge", True)])
def test_power_target_the_turbo_cannot_reach(small: Path, boost: str, refused: bool):
    """A litre gives what its air burns (first law): 110 kW from 1.2 L needs far more than 0.2 bar."""
    with_turbo(small, "")
    car, kit = small / "car.yaml", small / "kit.yaml"
    car.write_text(car.read_text().replace("boost: 0.5 bar gauge", f"boost: {boost}"))
    kit.write_text(kit.read_text().replace("rated_power: 66 kW", "rated_power: 110 kW"))
    if not refused:
        assert read_project(small).variant().engine.rated_power == pytest.approx(110e3)
        return
    with pytest.raises(Refused, match="out of the turbo's reach") as caught:
        read_project(small)
    finding = next(f for f in caught.value.findings if "reach" in f.what)
    assert (finding.where.file, finding.where.line) == ("kit.yaml", 6)
    assert "kW" in finding.allowed


def test_no_heat_path_to_ambient(small: Path):
    path = small / "car.yaml"
    text = path.read_text()
    start, end = text.index("cores:"), text.index("coolant:")
    text = text[:start] + text[end:]
    text = text.replace("core: radiator, pressure", "area: 0.1 m2, pressure").replace(
        ", core: radiator}", "}"
    )
    path.write_text(text)
    with pytest.raises(Refused) as caught:
        read_project(small)
    (finding,) = caught.value.findings
    assert "without a heat path to ambient" in finding.what
    assert finding.where.line == text[: text.index("    pump: {from: cold")].count("\n") + 1


def test_findings_are_gathered_not_only_the_first(small: Path):
    path = small / "car.yaml"
    text = path.read_text().replace("900 kg", "900 mm").replace("72 mm", "72 K").replace("drag_area", "drag")
    path.write_text(text)
    duty = small / "duties" / "hill.yaml"
    duty.write_text(duty.read_text().replace("6 %", "6 mm"))
    with pytest.raises(Refused) as caught:
        read_project(small)
    places = {(f.where.file, f.where.path) for f in caught.value.findings}
    assert places >= {
        ("car.yaml", "vehicle.mass"),
        ("car.yaml", "engine.bore"),
        ("car.yaml", "vehicle.drag"),
        ("duties/hill.yaml", "drive.grade"),
    }


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"\x00\x01\x02" * 50, "binary"),
        (b"name: caf\xe9\n", "not UTF-8"),
        (b"a: " + b"x" * 2_000_001, "too big"),
        (b"[" * 5000, "nest"),
        (b"a: " + b"{b: " * 40 + b"1" + b"}" * 40, "levels deep"),
        ("\n".join(f"{' ' * i}k:" for i in range(60)).encode(), "levels deep"),
        (b"- a\n- b\n", "holds no mapping"),
        (b"", "holds no mapping"),
        (b"just text", "holds no mapping"),
        (b"a: [" + b"1," * 300_000 + b"1]", "too many values"),
        (b"\x1b[31m: 1", "not valid YAML"),
        (b"a: &a [x,x]\nb: &b [*a,*a]\nc: &c [*b,*b]\n", "anchors"),
    ],
)
def test_hostile_files_are_refused_quickly(small: Path, data: bytes, says: str):
    (small / "kit.yaml").write_bytes(data)
    started = time.perf_counter()
    with pytest.raises(Refused) as caught:
        read_project(small)
    assert time.perf_counter() - started < 5  # a bound against blow-up, not a speed test
    hits = [f for f in caught.value.findings if says in f.what]
    assert hits
    assert hits[0].where.file == "kit.yaml"
    assert hits[0].next_step


def test_missing_folder_and_files(tmp_path: Path, small: Path):
    with pytest.raises(Refused, match="no such project folder"):
        read_project(tmp_path / "nowhere")
    (small / "car.yaml").unlink()
    with pytest.raises(Refused, match="file is missing"):
        read_project(small)


def test_folder_in_place_of_a_file(small: Path):
    (small / "kit.yaml").unlink()
    (small / "kit.yaml").mkdir()
    with pytest.raises(Refused, match="not a file"):
        read_project(small)


@pytest.mark.parametrize(
    ("rows", "says", "line"),
    [
        ("time [s],speed [km/h]\n0,0\n10,50\n5,60\n", "time runs back", 4),
        ("time [s],sped [km/h]\n0,0\n", "column is not known", 1),
        ("time [s],speed [kg]\n0,0\n", "mass, but a speed", 2),
        ("time [s],speed [km/h]\n0,0\n1,fast\n", "cannot read a number", 3),
        ("time [s],speed [km/h]\n0,0\n1\n", "another number of columns", 3),
        ("time [s]\n0\n", "column 'speed' is missing", 1),
    ],
)
def test_bad_trace_files(small: Path, rows: str, says: str, line: int):
    (small / "run.csv").write_text(rows)
    duty = small / "duties" / "hill.yaml"
    drive = "{kind: grade, speed: 80 km/h, grade: 6 %, duration: 10 min}"
    duty.write_text(duty.read_text().replace(drive, "{kind: trace, file: run.csv}"))
    with pytest.raises(Refused) as caught:
        read_project(small)
    hits = [f for f in caught.value.findings if says in f.what]
    assert hits, str(caught.value)
    assert (hits[0].where.file, hits[0].where.line) == ("run.csv", line)


def test_trace_file_outside_the_project_is_refused(small: Path):
    duty = small / "duties" / "hill.yaml"
    drive = "{kind: grade, speed: 80 km/h, grade: 6 %, duration: 10 min}"
    duty.write_text(duty.read_text().replace(drive, "{kind: trace, file: ../../secret.csv}"))
    with pytest.raises(Refused, match="outside the project folder"):
        read_project(small)


def test_duplicate_duty_name(small: Path):
    text = (small / "duties" / "hill.yaml").read_text()
    (small / "duties" / "hill_two.yaml").write_text(text)
    with pytest.raises(Refused, match="'Hill' is given twice"):
        read_project(small)


@pytest.mark.parametrize("seed", range(40))
def test_damaged_files_never_end_in_a_traceback(small: Path, seed: int):
    """Bytes dropped, doubled, swapped between places: the project is read or refused, nothing else."""
    dice = random.Random(seed)
    for name in (CAR, KIT, DUTY):
        path = small / name
        text = path.read_text()
        for _ in range(dice.randrange(1, 4)):
            at, length = dice.randrange(len(text)), dice.randrange(1, 30)
            other = dice.randrange(len(text))
            piece = dice.choice(["", text[other : other + length], dice.choice("{}[]:,#&*!|>%'\"\n\t- 0e")])
            text = text[:at] + piece + text[at + length :]
        path.write_text(text)
    with suppress(Refused):
        assert read_project(small).variant().parts
    for finding in read_project(small, strict=False).findings:
        assert str(finding)
        assert finding.where.file or finding.where.path


def test_every_finding_of_the_kit_has_a_code():
    """Programs sort findings by their code, never by their words: each place that makes one names it."""
    root = Path(heatproof.kit.__file__).parent
    makers = {"error", "warning", "note", "_error", "Finding", "of"}
    bare = []
    for source in sorted(root.rglob("*.py")):
        for call in (node for node in ast.walk(ast.parse(source.read_text())) if isinstance(node, ast.Call)):
            name = getattr(call.func, "attr", getattr(call.func, "id", ""))
            keys = {word.arg for word in call.keywords}  # None stands for **more, which brings the code
            if name in makers and call.args and not keys & {"code", None}:
                bare.append(f"{source.relative_to(root)}:{call.lineno}")
    assert bare == []


@pytest.mark.parametrize(
    ("name", "near"),
    [
        ("boot", "steering_boot"),
        ("Boot", "steering_boot"),
        ("bonet", "bonnet"),
        ("steering boot", "steering_boot"),
        ("x", ""),
    ],
)
def test_nearest_name_has_the_word_before_the_likeness(name: str, near: str) -> None:
    assert nearest(name, ["bonnet", "steering_boot", "battery"]) == near
