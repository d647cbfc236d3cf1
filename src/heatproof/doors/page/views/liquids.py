"""Water and oil: both loops at their heights, running and after key-off, and what is left before boiling."""

from typing import Any

import numpy as np

from heatproof.doors.page import units
from heatproof.doors.page.answers import Answer
from heatproof.doors.page.views.instants import (
    duty_run,
    duty_view,
    instant_view,
    last_running,
    row_at,
    running,
)
from heatproof.doors.page.views.margins import row_view
from heatproof.kit.records.liquids import ElectricPump, Line
from heatproof.kit.records.variant import Variant
from heatproof.network import signals as S
from heatproof.network.fluids import density
from heatproof.network.solve import Run
from heatproof.verdict.margins import saturation_of
from heatproof.verdict.names import liquid_title, spaced
from heatproof.verdict.words import number

PUMPS = ("pump", "electric_pump", "displacement_pump")
STILL = 0.02 / 60.0 / 1000.0  # m3/s; a line with less counts as still


def liquids_view(answer: Answer, duty: str | None, time: float | None, after: float | None) -> dict[str, Any]:
    """The whole screen: `time` of the picture running, `after` of the one after key-off (s into the duty)."""
    key, run = duty_run(answer, duty)
    rows = [row_at(run, time, last_running(run)), row_at(run, after, soak_row(answer, key, run))]
    return {
        "duty": duty_view(answer, key, run),
        "instants": [instant_view(run, row) for row in rows],
        "coolant": [loop_view(answer.variant, run, row, "coolant") for row in rows],
        "oil": [loop_view(answer.variant, run, row, "oil") for row in rows],
        "further": [further_view(answer.variant, run, rows, k) for k in range(len(answer.variant.circuits))],
        "boil": boil_view(answer.variant, run, rows),
        "judged": judged_view(answer),
        "pressure": [
            f"{units.reader().pressure(float(run.signal[row, S.SYSTEM_PRESSURE]))} above ambient in the tank"
            for row in rows
        ],
        "scales": {
            "coolant": units.scale_of(55.0, 140.0),
            "oil": units.scale_of(55.0, 175.0),
            "further": units.scale_of(30.0, 110.0),
        },
        "about": about(answer.variant),
    }


def about(variant: Variant) -> str:
    """What is in the loops."""
    cap = units.reader().pressure(variant.coolant.cap_pressure)
    return (
        f"{number(100 * variant.coolant.glycol)} % glycol by volume; cap opens at {cap} above ambient; "
        f"oil {variant.oil.grade}."
    )


def further_view(variant: Variant, run: Run, rows: list[int], k: int) -> dict[str, Any]:
    """A circuit beside the engine's coolant at both instants: loops, and the pressure in its own tank."""
    name, circuit = list(variant.circuits.items())[k]
    gauge = run.signal[:, S.SYSTEM_PRESSURE + 1 + k]
    return {
        "name": name,
        "title": circuit.title or spaced(name),
        "loops": [loop_view(variant, run, row, f"circuits.{name}") for row in rows],
        "pressure": [
            f"{units.reader().pressure(float(gauge[row]))} above ambient in its tank" for row in rows
        ],
    }


def soak_row(answer: Answer, key: str, run: Run) -> int:
    """The row after key-off where the turbo's water, else any coolant, is hottest; the last one without a soak."""
    after = np.flatnonzero(run.time > run.duty.key_off + 1.0)
    if after.size == 0:
        return run.time.size - 1
    names = [n for n in ("coolant.turbo_out", "coolant.engine_out") if n in run.network.masses]
    masses = names[:1] or [n for n in run.network.masses if n.startswith("coolant.")][:1]
    T = run.state[after, run.network.mass(masses[0])]
    return int(after[np.argmax(T)])


def boils_at(run: Run, row: int, mass: str) -> float | None:
    """Saturation temperature (K) at a mass at its own pressure; None where it cannot boil."""
    try:
        return float(saturation_of(run, mass)[row])
    except KeyError:
        return None


def loop_view(variant: Variant, run: Run, row: int, section: str) -> dict[str, Any]:
    """Junctions and lines of one circuit at one row."""
    record = variant.liquids[section]
    lines = {name: line for name, line in record.lines.items() if f"{section}.{name}" in run.network.branches}
    names = list(
        dict.fromkeys([*record.junctions, *(end for line in lines.values() for end in (line.from_, line.to))])
    )
    small = record.small_junctions
    nodes = []
    for name in names:
        mass = f"{section}.{name}"
        if mass not in run.network.masses:
            continue
        junction = record.junctions.get(name)
        height = junction.height if junction is not None else (small.height if small is not None else 0.5)
        T = float(run.state[row, run.network.mass(mass)])
        boils = boils_at(run, row, mass)
        nodes.append(
            {
                "id": name,
                "title": liquid_title(variant, section, name),
                "height": units.height(height),
                "temperature": units.T(T),
                "boils": None if boils is None else units.T(boils),
                "left": None if boils is None else units.dT(boils - T),
                "tank": name == record.fixed_pressure,
            }
        )
    fluid = int(run.network.model.networks["fluid"][run.network.networks.index(section)])
    return {
        "nodes": nodes,
        "lines": [line_view(variant, run, row, section, n, line, fluid) for n, line in lines.items()],
    }


def driven(run: Run, row: int, section: str, line: Line) -> bool | None:
    """Whether a pump is driven at a row: by the engine while it runs, or electrically until its run-on ends; None: no pump.

    Water may move through a pump that stands still.
    """
    kind = str(getattr(line, "kind", "hose"))
    if kind not in PUMPS:
        return None
    runs = bool(running(run)[row])
    if not isinstance(line, ElectricPump):
        return runs
    if runs:
        return line.while_driving
    inlet = float(run.state[row, run.network.mass(f"{section}.{line.from_}")])
    warm = line.on_temperature is None or inlet >= line.on_temperature
    return warm and 0.0 <= float(run.time[row]) - run.duty.key_off <= line.run_on


def line_view(
    variant: Variant, run: Run, row: int, section: str, name: str, line: Line, fluid: int
) -> dict[str, Any]:
    """One line: flow in the reader's unit (negative: from `to` to `from`), temperature, what it passes."""
    k = run.network.branches.index(f"{section}.{name}")
    mass = f"{section}.{name}.fluid"
    T = (
        float(run.state[row, run.network.mass(mass)])
        if mass in run.network.masses
        else float(run.state[row, run.network.mass(f"{section}.{line.from_}")])
    )
    rho = density(fluid, run.network.model.liquids[fluid], T, run.around.pressure)
    flow = float(run.flow[row, k]) / rho
    kind = str(getattr(line, "kind", "hose"))
    return {
        "id": name,
        "title": liquid_title(variant, section, name),
        "from": line.from_,
        "to": line.to,
        "kind": kind,
        "core": line.core,
        "heights": [units.height(h) for h in line.heights],
        "flow": units.volume_flow(flow),
        "flow_text": units.reader().volume_flow(flow),
        "moves": abs(flow) > STILL,
        "driven": driven(run, row, section, line),
        "temperature": units.T(T),
        "path": f"{section}.lines.{name}",
    }


def boil_view(variant: Variant, run: Run, rows: list[int]) -> list[dict[str, Any]]:
    """Every junction that may boil: temperature and boiling point at both instants, least left first."""
    found = []
    for section, name in ((s, n) for s, record in variant.coolants.items() for n in record.junctions):
        mass = f"{section}.{name}"
        if mass not in run.network.masses:
            continue
        pairs = []
        for row in rows:
            boils = boils_at(run, row, mass)
            if boils is not None:
                pairs.append((float(run.state[row, run.network.mass(mass)]), boils))
        if len(pairs) == len(rows):
            left = min(boils - T for T, boils in pairs)
            found.append(
                {
                    "id": mass,
                    "title": liquid_title(variant, section, name),
                    "at": [{"temperature": units.T(T), "boils": units.T(boils)} for T, boils in pairs],
                    "left": left,
                    "left_text": units.dT_text(left),
                }
            )
    return sorted(found, key=lambda f: f["left"])


def judged_view(answer: Answer) -> list[dict[str, Any]]:
    """Liquids and the oil film: each judged thing that belongs here, worst duty."""
    facts = {d.key: d for d in answer.verdict.duties}
    wanted = [
        r
        for r in answer.verdict.worst_rows
        if r.part.startswith(("coolant.", "oil.", "circuits.")) or answer.parts[r.part].limit.kind == "coking"
    ]
    return [row_view(r, facts, None, False) for r in wanted]
