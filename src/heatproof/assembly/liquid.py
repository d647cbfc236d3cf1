"""Lays a liquid circuit: junctions, lines with their fluid, pumps, thermostats, relief valves."""

from math import pi
from typing import Any

from heatproof.assembly.circuits import (
    PUMP_SPEED,
    SMALLEST_VOLUME,
    AnyLine,
    Circuit,
    Liquid,
    delivery,
    junction,
    junction_names,
    volume_of,
)
from heatproof.assembly.core_tables import hot_losses, liquid_losses
from heatproof.assembly.cores import coolant_path
from heatproof.assembly.liquid_walls import lay_pool, lay_walls
from heatproof.kit.records.air import Core
from heatproof.kit.records.liquids import DisplacementPump, ElectricPump, Pump, Thermostat
from heatproof.laws.pressure_loss import pipe_branch
from heatproof.network import signals as S

SMALLEST_LEAK = 1e-3  # of a thermostat's area; a shut branch would have no slope at all
SMALLEST_LAG = 0.5  # s of a thermostat
PUMP_HYSTERESIS = 3.0  # K, of the sensor that lets an electric pump run on; common practice, no source
PUMP_LAG = 1.0  # s to speed up or run down; common practice, no source
# Of the step error: oil in bearings swings by tens of kelvin with every pull, and a few decide nothing.
STEP_WEIGHT = {"coolant": 1.0, "oil": 0.5}
NO_SENSOR = 0.0  # K, always passed
RELIEF_OVERPRESSURE = 0.1  # of the opening pressure, with the whole delivery at `PUMP_SPEED` through it


def lay_circuit(circuit: Circuit) -> None:
    """The whole circuit: network, fluid, junctions, lines."""
    b, fluid = circuit.b, circuit.fluid
    b.network(fluid.prefix, fluid.number, buoyant=fluid.circulates)
    b.liquid(fluid.number, fluid.coefficients)
    for key in junction_names(circuit.record, circuit.lines):
        lay_junction(circuit, key)
    for key, line in circuit.lines.items():
        lay_line(circuit, key, line)


# --- junctions ------------------------------------------------------------------------------------------
def lay_junction(circuit: Circuit, key: str) -> None:
    """Mass and junction of one name; the metal round it."""
    record, name = junction(circuit.record, key), circuit.name(key)
    fluid = circuit.fluid
    circuit.b.mass(name, fluid.capacity(record.volume), kind=fluid.kind, weight=STEP_WEIGHT[fluid.kind])
    fixed = key == circuit.record.fixed_pressure
    circuit.b.junction(fluid.prefix, name, name, circuit.height(key), fixed=fixed)
    if record.part is not None and record.wetted_area:
        lay_pool(circuit, key, record.part, record.wetted_area)


# --- lines ----------------------------------------------------------------------------------------------
def lay_line(circuit: Circuit, key: str, line: AnyLine) -> None:
    """One branch with its fluid, and everything that gives heat to that fluid."""
    z = ends(circuit, line)
    cell = lay_cell(circuit, key, line, z)
    lay_branch(circuit, key, line, z, cell)
    if isinstance(line, DisplacementPump):
        lay_relief(circuit, key, line)
    if cell is not None:
        lay_walls(circuit, key, line, cell)


def ends(circuit: Circuit, line: AnyLine) -> tuple[float, float]:
    """Heights (m) of the two ends."""
    if line.heights and circuit.fluid.circulates:
        return line.heights[0], line.heights[-1]
    return circuit.height(line.from_), circuit.height(line.to)


def lay_cell(circuit: Circuit, key: str, line: AnyLine, z: tuple[float, float]) -> str | None:
    """Mass of the fluid inside, where there is any or where heat or height needs one."""
    volume = volume_of(line)
    walls = line.metal or line.part or line.core or cooled_by(circuit, key)
    heated = bool(walls) or line.heat_loss > 0.0 or line.heat != "none"
    if volume <= 0.0 and z[0] == z[1] and not heated:
        return None
    capacity = circuit.fluid.capacity(max(volume, SMALLEST_VOLUME))
    return circuit.b.mass(
        circuit.name(f"{key}.fluid"),
        capacity,
        kind=circuit.fluid.kind,
        weight=STEP_WEIGHT[circuit.fluid.kind],
    )


def lay_branch(circuit: Circuit, key: str, line: AnyLine, z: tuple[float, float], cell: str | None) -> None:
    """Δp = a m + b m|m| - head, with pump or thermostat."""
    fluid, b = circuit.fluid, circuit.b
    a, loss = losses(circuit, key, line)
    options: dict[str, Any] = {}
    if isinstance(line, Thermostat):
        options = thermostat(circuit, key, line)
    elif isinstance(line, Pump | ElectricPump):
        options = pump_drive(circuit, key, line)
    elif isinstance(line, DisplacementPump):
        options = {"given": S.ENGINE_SPEED, "given_factor": delivery(fluid, line)}
    b.branch(
        fluid.prefix,
        circuit.name(key),
        circuit.name(line.from_),
        circuit.name(line.to),
        a=a,
        b=loss,
        rho_ref=fluid.stream.rho,
        nu_ref=fluid.nu,
        z1=z[0],
        z2=z[1],
        cell=cell,
        cp=fluid.stream.cp,
        **options,
    )


def cooled_by(circuit: Circuit, key: str) -> list[Core]:
    """Cores that a line's liquid cools."""
    path = circuit.fluid.prefix
    return [c for c in circuit.variant.cores.values() if c.coolant_line == key and coolant_path(c) == path]


def losses(circuit: Circuit, key: str, line: AnyLine) -> tuple[float, float]:
    """a (Pa s/kg), b (Pa s2/kg2): bore with loss and friction, cores it flows through, pump curve."""
    fluid, a, b = circuit.fluid, 0.0, 0.0
    if line.bore:
        a, b = pipe_losses(fluid, line.bore, line.length, line.loss)
    if line.core is not None:
        inside = hot_losses(circuit.variant.cores[line.core], fluid.stream)
        a, b = a + inside[0], b + inside[1]
    for core in cooled_by(circuit, key):
        inside = liquid_losses(core, fluid.stream)
        a, b = a + inside[0], b + inside[1]
    if isinstance(line, Pump | ElectricPump):
        m = fluid.stream.rho * line.free_flow
        a, b = a + 1e-3 * line.head / m, b + line.head / m**2
    return a, b


def pipe_losses(fluid: Liquid, bore: float, length: float, K: float) -> tuple[float, float]:
    """a and b of a bore, exact at creeping flow and at the reference speed."""
    Re = fluid.speed * bore / fluid.nu
    return pipe_branch(length, bore, pi / 4.0 * bore**2, K, fluid.stream.rho, fluid.nu, Re)


def thermostat(circuit: Circuit, key: str, line: Thermostat) -> dict[str, Any]:
    """Lift by the temperature of the junction the line starts from."""
    lift = circuit.b.thermostat(
        circuit.name(key),
        circuit.name(line.from_),
        line.opens,
        line.fully_open,
        max(line.time_constant, SMALLEST_LAG),
    )
    return {"lift": lift, "leak": max(line.leak, SMALLEST_LEAK)}


def pump_drive(circuit: Circuit, key: str, line: Pump | ElectricPump) -> dict[str, Any]:
    """Head at full speed and the signal that gives the speed."""
    if isinstance(line, Pump):
        return {"head": line.head, "head_signal": S.ENGINE_SPEED, "head_reference": line.head_speed}
    on = NO_SENSOR if line.on_temperature is None else line.on_temperature
    signal = circuit.b.fan(
        circuit.name(key),
        circuit.name(line.from_),
        on=on,
        high=on,
        hysteresis=PUMP_HYSTERESIS,
        low_speed=1.0,
        with_ac=False,
        run_on=line.run_on,
        with_engine=1 if line.while_driving else -1,
        tau=PUMP_LAG,
    )
    return {"head": line.head, "head_signal": signal}


def lay_relief(circuit: Circuit, key: str, line: DisplacementPump) -> None:
    """Relief valve from the pump's outlet back to its inlet."""
    m = delivery(circuit.fluid, line) * PUMP_SPEED
    loss = RELIEF_OVERPRESSURE * line.relief / m**2
    circuit.b.branch(
        circuit.fluid.prefix,
        circuit.name(f"{key}.relief"),
        circuit.name(line.to),
        circuit.name(line.from_),
        a=1e-3 * loss * m,  # an orifice: hardly viscous, even cold
        b=loss,
        rho_ref=circuit.fluid.stream.rho,
        nu_ref=circuit.fluid.nu,
        relief=line.relief,
        cp=circuit.fluid.stream.cp,
    )
