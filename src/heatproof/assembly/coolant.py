"""Coolant circuits, their tanks and what boils; and whether the turbo's water moves by itself."""

from dataclasses import dataclass

from heatproof.assembly.circuits import AnyLine, Circuit, Liquid, expansion_of, junction, junction_names
from heatproof.assembly.core_tables import circuit_stream
from heatproof.assembly.liquid import ends, lay_circuit
from heatproof.kit.records.liquids import Coolant, Thermostat
from heatproof.kit.records.variant import Variant
from heatproof.laws.siphon import LineShape, line_shape
from heatproof.media.coolants import liquid_coefficients_coolant
from heatproof.network.arrays import COOLANT, COOLANT_2
from heatproof.network.builder import NetworkBuilder

BOILING_CONDUCTANCE = 400.0
"""W/K past saturation: large enough to hold a cell within a few kelvin of it at kilowatts."""
REFERENCE_SPEED = 2.0  # m/s in hoses and jackets, at which losses and coefficients are taken
LEAST_CLIMB = 1e-3  # m, below which two junctions stand level for a bubble
LEAST_RISE = 0.05  # m, below which natural circulation is not worth the name; common practice, no source


def coolant_liquid(record: Coolant, prefix: str = "coolant", number: int = COOLANT) -> Liquid:
    """The fluid of a circuit; a second circuit takes another prefix and fluid number."""
    coefficients = liquid_coefficients_coolant(record.glycol)
    return Liquid(
        number=number,
        prefix=prefix,
        kind="coolant",
        coefficients=coefficients,
        stream=circuit_stream(record),
        expansion=expansion_of(coefficients),
        speed=REFERENCE_SPEED,
        circulates=True,
        boils=True,
    )


def lay_coolant(b: NetworkBuilder, variant: Variant) -> None:
    """Every coolant circuit, the engine's first, with its tank and what boils."""
    numbers = (COOLANT, *range(COOLANT_2, COOLANT_2 + len(variant.circuits)))
    for number, (path, record) in zip(numbers, variant.coolants.items(), strict=True):
        circuit = coolant_circuit(b, variant, record, path, number)
        lay_circuit(circuit)
        lay_boiling(circuit)


def coolant_circuit(
    b: NetworkBuilder, variant: Variant, record: Coolant, prefix: str = "coolant", number: int = COOLANT
) -> Circuit:
    """A circuit ready to be laid by `lay_circuit`; the main one by default."""
    return Circuit(b, variant, coolant_liquid(record, prefix, number), record, dict(record.lines))


def lay_boiling(circuit: Circuit) -> None:
    """Every liquid mass may reach saturation; its vapour rises and condenses in what stands above it.

    Where nothing stands above, it pushes its way to the tank; the tank's own leaves the car.
    """
    record, b = circuit.record, circuit.b
    tank = circuit.name(record.fixed_pressure)
    number = b.tank(circuit.fluid.prefix, tank)
    for key in junction_names(record, circuit.lines):
        name = circuit.name(key)
        receiver = None if name == tank else above_junction(circuit, key) or tank
        b.boiling(name, name, circuit.height(key), receiver, BOILING_CONDUCTANCE, tank=number)
    for key, line in circuit.lines.items():
        cell = circuit.name(f"{key}.fluid")
        if b.has_mass(cell):
            first, second = ends(circuit, line)
            upper = circuit.name(line.from_ if first > second else line.to)
            z = max(first, second)
            b.boiling(cell, circuit.name(line.to), z, upper, BOILING_CONDUCTANCE, tank=number)


def above_junction(circuit: Circuit, key: str) -> str | None:
    """The water that vapour of a junction rises into: along the line that climbs highest, past no thermostat."""
    best, found = circuit.height(key) + LEAST_CLIMB, None
    for name, line in circuit.lines.items():
        if key not in (line.from_, line.to) or isinstance(line, Thermostat):
            continue
        other = line.to if line.from_ == key else line.from_
        if circuit.height(other) > best:
            cell = circuit.name(f"{name}.fluid")
            best, found = circuit.height(other), cell if circuit.b.has_mass(cell) else circuit.name(other)
    return found


# --- does the turbo's water move by itself? ---------------------------------------------------------------
@dataclass(frozen=True)
class LineFinding:
    """The way hot water takes out of the bearing housing after key-off, up to where it meets the circuit."""

    lines: tuple[str, ...]
    """In the order the hot water takes them."""
    heights: tuple[float, ...]
    """m, from the housing's upper port on."""
    shape: LineShape
    upper_port: str
    ends_at: str
    against_pump: bool
    """True where the upper port is the one water enters by while the engine runs."""

    @property
    def circulates(self) -> bool:
        """True where the line ends clearly above the port and no trap is as deep as that rise."""
        return self.shape.net_rise >= LEAST_RISE and self.shape.deepest_trap < self.shape.net_rise

    @property
    def rises_all_the_way(self) -> bool:
        """True without any falling stretch."""
        return self.shape.rises_all_the_way()


def circulation_check(variant: Variant) -> list[LineFinding]:
    """Ways out of the turbo's water jacket; none without turbo or water, both where its ports are level."""
    turbo, record = variant.turbo, variant.coolant
    if turbo is None or turbo.water_line is None:
        return []
    jacket = record.lines[turbo.water_line]
    low, high = line_heights(record, jacket)[0], line_heights(record, jacket)[-1]
    ports = [jacket.from_] if low > high else [jacket.to] if high > low else [jacket.to, jacket.from_]
    found = [way_out(record, turbo.water_line, port, port == jacket.from_) for port in ports]
    return [finding for finding in found if finding is not None]


def line_heights(record: Coolant, line: AnyLine) -> tuple[float, ...]:
    """m along a line: its heights, else those of its route, else of its two junctions."""
    if line.heights:
        return line.heights
    if line.route:
        return tuple(point[2] for point in line.route)
    return junction(record, line.from_).height, junction(record, line.to).height


def way_out(record: Coolant, jacket: str, port: str, against_pump: bool) -> LineFinding | None:
    """Follow lines from a port until they meet a junction of three or more lines, or the tank."""
    names: list[str] = []
    at, behind = port, jacket
    heights = [junction(record, port).height]
    while True:
        onward = [n for n, line in record.lines.items() if at in (line.from_, line.to) and n != behind]
        if len(onward) != 1 or onward[0] in names or (names and at == record.fixed_pressure):
            break
        behind = onward[0]
        line = record.lines[behind]
        way = line_heights(record, line)
        forward = line.from_ == at
        at = line.to if forward else line.from_
        names.append(behind)
        heights += [*(way if forward else way[::-1]), junction(record, at).height]
    if not names:
        return None
    return LineFinding(tuple(names), tuple(heights), line_shape(heights), port, at, against_pump)
