"""Further liquid circuits and cores cooled by liquid: what the reader takes, and what it refuses with a next step."""

import re
from collections.abc import Callable
from pathlib import Path

import jsonschema_rs
import pytest
import yaml

import heatproof
from heatproof.kit import schema
from heatproof.kit.checks.liquids import MOST_CIRCUITS, MOST_RELAYS
from heatproof.kit.findings import Finding, Refused
from heatproof.kit.read import read_project
from heatproof.kit.records.air import PlatesToLiquid
from heatproof.kit.records.liquids import LiquidCircuit
from heatproof.network import signals

EXAMPLES = Path(heatproof.__file__).parent / "examples"
CIRCUIT = """
circuits:
  cold_water:
    title: Cold water
    cap_pressure: 0.6 bar gauge
    fixed_pressure: header
    working_temperature: 45 degC
    junctions:
      header: {height: 0.9 m, volume: 0.5 L}
      before: {height: 0.4 m}
      after: {height: 0.6 m, limit: {continuous: 80 degC, boil_margin: 10 K}}
    lines:
      push: {from: before, to: middle, kind: electric_pump, head: 0.4 bar, free_flow: 25 L/min, while_driving: true}
      brick: {from: middle, to: after, bore: 16 mm}
      small_radiator: {from: after, to: before, bore: 16 mm, core: small_radiator}
      make_up: {from: header, to: before, bore: 8 mm}
      bleed: {from: after, to: header, bore: 4 mm}
    small_junctions: {height: 0.4 m}
"""
CORES = """cores:
  small_radiator: {kind: radiator, circuit: cold_water, line: small_radiator, mass: 1 kg, rated: {hot_flow: 0.3 kg/s, cold_flow: 0.4 kg/s, heat_per_kelvin: 200 W/K, face_area: 0.08 m2, air_loss: 60 Pa}}
  brick: {kind: charge_cooler, circuit: cold_water, coolant_line: brick, mass: 2 kg, geometry: {type: plates_to_liquid, width: 150 mm, height: 90 mm, depth: 90 mm, charge_channel: 8 mm, charge_fin_pitch: 2 mm, liquid_channel: 2 mm}}
"""
GRILLE = "    grille: {from: outside"

PIPES = "".join(f"  {n}_pipe: {{part: head, bore: 50 mm, length: 300 mm}}\n" for n in ("hot", "cold"))

Change = Callable[..., Path]


@pytest.fixture
def cooled(small: Path) -> Change:
    """`cooled(old, new)` → the small project with a charge cooler in a circuit of its own, after one change."""

    def change(old: str = "", new: str = "") -> Path:
        path = small / "car.yaml"
        text = path.read_text(encoding="utf-8").replace("\ncores:\n", CIRCUIT + "\n" + CORES)
        text = text.replace("  draws_from: bay\n", "  draws_from: bay\n  cooler: brick\n" + PIPES)
        chin = "    chin: {from: outside, to: bay, core: small_radiator, pressure_coefficient: 0.8, height: 0.3 m}\n"
        text = text.replace(GRILLE, chin + GRILLE)
        if old:
            assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times"
            text = text.replace(old, new)
        path.write_text(text, encoding="utf-8")
        return small

    return change


def test_a_circuit_of_its_own_is_read(cooled: Change):
    variant = read_project(cooled()).variant()
    circuit = variant.circuits["cold_water"]
    assert isinstance(circuit, LiquidCircuit)
    assert circuit.working_temperature == pytest.approx(318.15)
    assert circuit.cap_pressure == pytest.approx(0.6e5)
    assert isinstance(variant.cores["brick"].geometry, PlatesToLiquid)
    assert list(variant.coolants) == ["coolant", "circuits.cold_water"]
    assert set(variant.liquids) == {"coolant", "oil", "circuits.cold_water"}
    spread = variant.value("circuits.cold_water.lines.push.free_flow")
    assert spread == pytest.approx(25 / 60e3)


CASES = {
    "no such circuit": ("circuit: cold_water, line", "circuit: cold_watr, line", "no circuit named 'cold_watr'", "cold_water"),
    "line of the engine's coolant": ("circuit: cold_water, coolant_line: brick", "coolant_line: brick", "no line named 'brick'", ""),
    "no such line": ("coolant_line: brick", "coolant_line: brik", "no line named 'brik'", "brick"),
    "radiator in no line": ("circuit: cold_water, line: small_radiator", "circuit: cold_water, line: brick", "does not name the core", ""),
    "cap on no junction": ("fixed_pressure: header", "fixed_pressure: heder", "no junction named 'heder'", "header"),
    "line leads nowhere": ("push: {from: before", "push: {from: befor", "leads nowhere", "before"),
    "no pump": ("kind: electric_pump, head: 0.4 bar, free_flow: 25 L/min, while_driving: true", "bore: 16 mm", "rely on natural", ""),
    "no way out for its heat": (", bore: 16 mm, core: small_radiator}", ", bore: 16 mm}", "does not name the core", ""),
    "plates and no liquid": ("circuit: cold_water, coolant_line: brick", "circuit: cold_water", "no liquid reaches it", ""),
    "geometry for air": (
        "{type: plates_to_liquid, width: 150 mm, height: 90 mm, depth: 90 mm, charge_channel: 8 mm, charge_fin_pitch: 2 mm, liquid_channel: 2 mm}",
        "{type: bar_and_plate, width: 150 mm, height: 90 mm, depth: 90 mm, charge_channel: 8 mm, charge_fin_pitch: 2 mm, air_channel: 8 mm, air_fin_pitch: 2 mm}",
        "its geometry is for air", "",
    ),
    "radiator cooled by a liquid": ("line: small_radiator, mass", "line: small_radiator, coolant_line: brick, mass", "is cooled by air, but names a coolant_line", ""),
    "plates for oil": ("kind: charge_cooler, circuit", "kind: oil_cooler, circuit", "plates_to_liquid is for charge coolers", ""),
    "negative channel": ("liquid_channel: 2 mm", "liquid_channel: -2 mm", "must be greater than zero", ""),
    "channel without unit": ("liquid_channel: 2 mm", "liquid_channel: 2", "unit is missing", ""),
    "cap pressure unstated": ("0.6 bar gauge", "0.6 bar", "gauge or absolute pressure is not stated", "0.6 bar gauge"),
    "temperature as a difference": ("45 degC", "45 K", "a temperature is needed", ""),
    "unknown key": ("working_temperature:", "working_temprature:", "unknown key 'working_temprature'", "working_temperature"),
    "missing cap": ("    fixed_pressure: header\n", "", "required 'fixed_pressure' is missing", ""),
    "no reference pressure": (
        "      bleed: {", "      round: {from: one, to: two, bore: 9 mm, heat_loss: 1 W/K}\n      back: {from: two, to: one, bore: 9 mm}\n      bleed: {",
        "no reference pressure", "",
    ),
}  # fmt: skip
WARNED = {"no pump"}


@pytest.mark.parametrize("case", CASES)
def test_bad_circuits_and_cores_are_named_and_placed(case: str, cooled: Change):
    old, new, says, near = CASES[case]
    folder = cooled(old, new)
    found = findings_of(folder)
    hits = [f for f in found if says in f.what]
    assert hits, "\n".join(map(str, found))
    assert hits[0].level == ("warning" if case in WARNED else "error")
    assert hits[0].where.file == "car.yaml"
    assert hits[0].where.line > 0
    assert hits[0].next_step
    if near:
        assert hits[0].nearest == near


def findings_of(folder: Path) -> list[Finding]:
    try:
        return list(read_project(folder).findings)
    except Refused as refused:
        return list(refused.findings)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (", while_driving: true", "", "stands still while the engine runs"),
        ("  draws_from: bay\n  cooler: brick\n", "  draws_from: bay\n", "charge cooler 'brick' is not used"),
    ],
)
def test_what_is_probably_a_slip_is_said(old: str, new: str, says: str, cooled: Change):
    assert any(says in f.what for f in findings_of(cooled(old, new)))


def test_more_circuits_than_the_solver_has_places_for_are_refused(cooled: Change):
    assert (MOST_CIRCUITS, MOST_RELAYS) == (signals.MAX_TANKS - 1, signals.MAX_FANS)
    rest = CIRCUIT.partition("  cold_water:")[2]
    more = "".join(
        f"  cold_{n}:{rest}".replace(", core: small_radiator", ", heat_loss: 5 W/K") for n in "abc"
    )
    found = findings_of(cooled("\ncircuits:\n", "\ncircuits:\n" + more))
    (many,) = [f for f in found if "too many circuits" in f.what]
    assert (many.level, many.got, many.allowed) == ("error", "4", "3 or fewer")


def test_more_pumps_than_the_solver_has_places_for_are_refused(cooled: Change):
    pumps = "".join(
        f"      push_{n}: {{from: before, to: middle, kind: electric_pump, head: 0.1 bar, free_flow: 5 L/min}}\n"
        for n in range(8)
    )
    found = findings_of(cooled("      brick: {", pumps + "      brick: {"))
    assert any("too many electric pumps" in f.what and f.got == "9, a fan counted" for f in found)


def test_circuit_that_warms_nothing_is_said(cooled: Change):
    brick = "kind: charge_cooler, circuit: cold_water, coolant_line: brick"
    folder = cooled(brick, "kind: charge_cooler, coolant_line: radiator")
    assert any("takes up no heat" in f.what for f in findings_of(folder))


@pytest.mark.parametrize("name", sorted(p.parent.name for p in EXAMPLES.glob("*/car.yaml")))
def test_every_shipped_example_fits_its_schema(name: str):
    folder = EXAMPLES / name
    files = {
        "car": [folder / "car.yaml"],
        "kit": [folder / "kit.yaml"],
        "duty": (folder / "duties").glob("*.yaml"),
    }
    for kind, paths in files.items():
        fits = jsonschema_rs.validator_for(schema.schemas()[kind])
        for path in paths:
            assert list(fits.iter_errors(yaml.safe_load(path.read_text(encoding="utf-8")))) == [], path


def test_no_source_knows_an_example_by_name():
    """Examples are data: no module, page or template outside their folders may name one."""
    names = [p.parent.name for p in EXAMPLES.glob("*/car.yaml")]
    assert len(names) >= 2
    package = EXAMPLES.parent
    kinds = {".py", ".html", ".js", ".typ", ".css", ".toml", ".csv"}
    for path in package.rglob("*"):
        if path.suffix in kinds and EXAMPLES not in path.parents:
            text = path.read_text(encoding="utf-8").lower()
            assert not [n for n in names if n in text], path


def test_the_how_to_fits_the_schema():
    """Every block of the how-to page may stand under `changes:` of a kit."""
    page = (Path(__file__).parents[2] / "docs/how-to/water-cooled-charge-cooler.md").read_text(
        encoding="utf-8"
    )
    blocks = re.findall(r"^```yaml\n(.*?)^```$", page, re.MULTILINE | re.DOTALL)
    assert len(blocks) == 2
    fits = jsonschema_rs.validator_for(schema.schemas()["kit"])
    for block in blocks:
        kit = {"format": "heatproof kit 1", "name": "any", "changes": yaml.safe_load(block)}
        assert list(fits.iter_errors(kit)) == []
