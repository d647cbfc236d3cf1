"""A small invented project with twelve measures and one short duty, for searches that must be quick."""

import shutil
from pathlib import Path

import pytest

from heatproof.kit.project import Project
from heatproof.kit.read import read_project

SMALL = Path(__file__).parents[1] / "kit" / "small"

PARTS = """
changes:
  engine: {rated_power: 66 kW}
  parts:
    hose:  {mass: 0.3 kg, heat_capacity: 500 J/K, surface: 300 cm2, zone: bay, size: 20 mm, limit: {continuous: 66 degC}}
    box:   {mass: 0.6 kg, heat_capacity: 800 J/K, surface: 400 cm2, zone: bay, size: 80 mm, limit: {continuous: 62 degC}}
    loom:  {limit: {continuous: 67 degC, short: 70 degC, short_time: 2 min}}
  links:
    manifold_to_loom: {distance: 70 mm, area: 90 cm2}
    manifold_to_hose: {from: manifold, to: hose, kind: facing, area: 60 cm2, distance: 90 mm}
    manifold_to_box:  {from: manifold, to: box, kind: facing, area: 90 cm2, distance: 120 mm}
"""
MEASURES = """
measures:
  coating:   {cost: 60 EUR, mass: 0.1 kg, labour: 30 min, set: {parts.manifold.emissivity: 0.4}}
  wrap:      {cost: 35 EUR, mass: 0.4 kg, labour: 25 min, excludes: [coating], set: {parts.manifold.cover: {kind: wrap, conductivity: 0.12 W/m/K, thickness: 3 mm, coverage: {value: 80 %, spread: 5 points, source: invented}, skin_emissivity: 0.7}}}
  loom_sleeve: {cost: 9 EUR, mass: 0.1 kg, labour: 10 min, set: {parts.loom.cover: {kind: sleeve, conductivity: 0.05 W/m/K, thickness: 2 mm, skin_emissivity: 0.15}}}
  hose_sleeve: {cost: 12 EUR, mass: 0.1 kg, labour: 12 min, set: {parts.hose.cover: {kind: sleeve, conductivity: 0.05 W/m/K, thickness: 2 mm, skin_emissivity: 0.15}}}
  box_foil:  {cost: 6 EUR, labour: 8 min, set: {parts.box.emissivity: 0.1}}
  loom_moved: {cost: 7 EUR, labour: 20 min, set: {links.manifold_to_loom.distance: 110 mm}}
  hose_moved: {cost: 4 EUR, labour: 15 min, set: {links.manifold_to_hose.distance: 150 mm}}
  box_moved: {cost: 22 EUR, labour: 40 min, set: {links.manifold_to_box.distance: 200 mm}}
  vent:      {cost: 45 EUR, labour: 60 min, add: {air: {passages: {vent: {from: bay, to: outside, area: 150 cm2, pressure_coefficient: -0.3, height: 0.7 m}}}}}
  wider_under: {cost: 5 EUR, labour: 20 min, set: {air.passages.under.area: 650 cm2}}
  box_gasket: {cost: 3 EUR, labour: 5 min, needs: [box_foil], set: {links.manifold_to_box.area: 70 cm2}}
  radiator:  {cost: 150 EUR, mass: 1.5 kg, labour: 60 min, set: {cores.radiator.rated.heat_per_kelvin: {value: 590 W/K, spread: 8 %, source: bench}}}
"""
DUTY = """name: Hill
use: grade
air: {ambient: 38 degC, altitude: 500 m}
drive: {kind: grade, speed: 80 km/h, grade: 6 %, duration: 5 min}
soak: 8 min
"""
PULL = """name: Short crawl
use: street
air: {ambient: 40 degC}
drive: {kind: crawl, speed: 14 km/h, moving: 20 s, standing: 25 s, duration: 4 min}
soak: 5 min
"""


def write_choice(folder: Path, *, confidence: str = "90 %") -> Path:
    """The project's files."""
    shutil.copytree(SMALL, folder)
    head = (
        "format: heatproof kit 1\nname: Small choice (invented)\n"
        f"confidence: {confidence}\nbase: {{cost: 100 EUR, mass: 2 kg, labour: 30 min}}\n"
    )
    (folder / "kit.yaml").write_text(head + PARTS + MEASURES, encoding="utf-8")
    for name, text in (("hill", DUTY), ("crawl", PULL)):
        (folder / "duties" / f"{name}.yaml").write_text("format: heatproof duty 1\n" + text, encoding="utf-8")
    return folder


@pytest.fixture(scope="session")
def choice_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_choice(tmp_path_factory.mktemp("study") / "small")


@pytest.fixture(scope="session")
def choice_project(choice_folder: Path) -> Project:
    return read_project(choice_folder)
