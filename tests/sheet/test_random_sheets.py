"""Sheets drawn at random from wide ranges: each solves, or is refused with the question that is wrong."""

import os
import tempfile
from pathlib import Path

import numpy as np
import pytest

from heatproof.kit.findings import Refused
from heatproof.kit.read import read_project
from heatproof.kit.tree import Source
from heatproof.sheet.build import layouts
from heatproof.sheet.project import start_from_sheet
from heatproof.study.runs.cases import case, run_case

COUNT = int(os.environ.get("HEATPROOF_SHEETS", "500"))


def drawn(rng: np.random.Generator) -> str:
    """A car whose answers mostly belong together: power by displacement, sizes by power, each off by a wide draw."""

    def about(value: float, off: float) -> float:
        return float(value * np.exp(off * rng.standard_normal()))

    bore, stroke, cylinders = (
        rng.uniform(0.07, 0.1),
        rng.uniform(0.07, 0.098),
        int(rng.choice([3, 4, 4, 4, 6])),
    )
    litres = cylinders * np.pi / 4 * bore**2 * stroke * 1e3
    speed = rng.uniform(4800, 7200)
    power = about(0.00875 * litres * speed / 1.2, 0.12)
    boost = rng.uniform(0.3, 1.1)
    kit = about(power * (1.0 + 0.75 * boost), 0.08)
    face = about(np.sqrt(power * 28.0) * 0.013, 0.1)
    wide, tall = 1.26 * face * 1e3, 0.79 * face * 1e3
    top = about(57.0 * (power / 100.0) ** (1 / 3), 0.06) * 3.6
    return f"""format: heatproof sheet 1
name: Drawn (invented)
layout: {rng.choice(sorted(layouts()))}
car: {{empty_mass: {rng.uniform(800, 2300):.0f} kg, top_speed: {top:.0f} km/h, width: 1.72 m, height: {rng.uniform(1.2, 1.8):.2f} m, tyre: 195/60 R15, gears: {rng.integers(4, 7)}, engine_speed_at_100: {rng.uniform(2200, 3800):.0f} rpm, automatic: {"true" if rng.random() < 0.3 else "false"}}}
engine: {{displacement: {litres:.3f} L, cylinders: {cylinders}, bore: {bore * 1e3:.2f} mm, stroke: {stroke * 1e3:.2f} mm, power: {power:.1f} kW, power_speed: {speed:.0f} rpm, compression_ratio: {rng.uniform(8, 12.5):.1f}, red_line: {1.1 * speed:.0f} rpm, year: {rng.integers(1980, 2010)}, block: {rng.choice(["iron", "aluminium"])}}}
cooling: {{radiator_width: {wide:.0f} mm, radiator_height: {tall:.0f} mm, radiator_depth: {rng.uniform(20, 50):.0f} mm, condenser_width: {wide * (rng.random() < 0.5):.0f} mm, condenser_height: {0.9 * tall:.0f} mm, fans: {rng.integers(1, 3)}, fan_diameter: {0.62 * tall:.0f} mm, upper_grille: {about(2.0 * power**1, 0.3) * 2:.0f} cm2, lower_grille: {about(7.0 * power, 0.3):.0f} cm2, hose: {about(40, 0.08):.0f} mm}}
bay: {{length: {about(1.0, 0.1):.2f} m, width: {about(1.2, 0.1):.2f} m, height: {about(0.72, 0.1):.2f} m, undertray: {rng.choice(["none", "half", "whole"])}}}
exhaust: {{pipe: {about(57, 0.08):.0f} mm}}
kit: {{power: {kit:.1f} kW, power_speed: {0.96 * speed:.0f} rpm, boost: {boost:.2f} bar gauge, turbine_wheel: {about(np.sqrt(15.0 * kit), 0.08):.0f} mm, runner_bore: {about(40, 0.1):.0f} mm, runner_length: {about(300, 0.2):.0f} mm, cooler: {rng.choice(["none", "bar_and_plate", "tube_and_fin", "water"])}, water_cooled: {"true" if rng.random() < 0.7 else "false"}, covered: 25 %}}
near: {{brake_line: {{distance: {rng.uniform(20, 300):.0f} mm}}, loom: {{distance: {rng.uniform(20, 300):.0f} mm}}}}
uses: [town, hill]
"""


@pytest.mark.slow
@pytest.mark.timeout(3600)
def test_each_solves_or_is_refused_by_name() -> None:
    solved = refused = 0
    nameless: list[tuple[int, str]] = []
    for seed in range(COUNT):
        text = drawn(np.random.default_rng(seed))
        with tempfile.TemporaryDirectory() as room:
            try:
                start_from_sheet(Path(room) / "own", Source("sheet.yaml", text))
            except Refused as error:
                refused += 1
                nameless += [
                    (seed, str(f)) for f in error.findings if f.level == "error" and not f.where.path
                ]
                continue
            project = read_project(Path(room) / "own")
            outcome = run_case(case(project.variant(), project.duties))
            assert outcome.unsolved == {}, (seed, outcome.unsolved, text)
            solved += 1
    print(f"{solved} solved, {refused} refused")
    assert nameless == []
    assert solved > 0.5 * COUNT
