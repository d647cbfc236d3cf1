"""Heat between a circuit's liquid and what holds it: wetted metal, hose walls, metal round a junction."""

from math import log, pi

from heatproof.assembly.circuits import AnyLine, Circuit, Liquid, bore_of, reference_flow
from heatproof.kit.records.variant import Variant
from heatproof.laws.convection import nusselt_duct, nusselt_vertical_plate
from heatproof.media.solids import material

STILL_DIFFERENCE = 10.0  # K, between wall and standing liquid
POOL_HEIGHT = 0.1  # m of the metal round a junction
POOL_STIRRED = 3.0  # times still convection at the reference flow; common practice, no source
POOL_EXPONENT = 0.5  # common practice, no source
RUBBER = 0.25  # W/m/K, of a hose that names no material
WALL_EXPONENT = 0.3  # of the flow in what a hose wall passes; the wall itself is most of the resistance


def lay_walls(circuit: Circuit, key: str, line: AnyLine, cell: str) -> None:
    """Metal the fluid wets, the hose it flows in, heat given away outside the model."""
    if line.metal is not None and line.wetted_area:
        lay_metal(circuit, key, line, cell, line.metal, line.wetted_area)
    if line.part is not None:
        lay_hose_wall(circuit, key, line, cell, line.part)
    if line.heat_loss > 0.0:
        circuit.b.conduction(cell, "ambient", line.heat_loss, name=f"{circuit.name(key)} heat loss")


def lay_metal(circuit: Circuit, key: str, line: AnyLine, cell: str, part: str, area: float) -> None:
    """Forced convection with the local slope over flow, natural convection left when the flow stops."""
    bore = bore_of(line)
    low, at, high = (area * coefficient(circuit.fluid, bore, line.length, f) for f in (0.5, 1.0, 2.0))
    still = area * still_coefficient(circuit.fluid, bore)
    circuit.b.wetted(
        part,
        cell,
        circuit.name(key),
        G_ref=max(at - still, 0.0),
        m_ref=reference_flow(circuit.fluid, line),
        exponent=min(max(log(high / low) / log(4.0), 0.0), 0.8),
        G_still=still,
        boiling_area=area if circuit.fluid.boils else 0.0,
    )


def lay_hose_wall(circuit: Circuit, key: str, line: AnyLine, cell: str, part: str) -> None:
    """Fluid to the middle of a hose wall: convection and half the wall in series."""
    bore, area = bore_of(line), pi * bore_of(line) * line.length
    half = 2.0 * wall_conductivity(circuit.variant, part) / wall_thickness(circuit.variant, part, bore)
    still, flowing = (
        area / (1.0 / h + 1.0 / half)
        for h in (still_coefficient(circuit.fluid, bore), coefficient(circuit.fluid, bore, line.length, 1.0))
    )
    circuit.b.wetted(
        part,
        cell,
        circuit.name(key),
        G_ref=max(flowing - still, 0.0),
        m_ref=reference_flow(circuit.fluid, line),
        exponent=WALL_EXPONENT,
        G_still=still,
    )


def wall_conductivity(variant: Variant, part: str) -> float:
    """W/m/K of a hose's material."""
    name = variant.parts[part].material
    return RUBBER if name is None else material(name).conductivity.at(363.15).value


def wall_thickness(variant: Variant, part: str, bore: float) -> float:
    """m, from the part's outer diameter; at least 1 mm."""
    return max(0.5 * (variant.parts[part].size - bore), 1e-3)


def coefficient(fluid: Liquid, bore: float, length: float, factor: float) -> float:
    """W/m2/K in a bore at `factor` times the reference speed.

    Laminar with developing profile (Hausen: Nu = 3.66 + 0.0668 Gz/(1 + 0.04 Gz^(2/3)), Gz = Re Pr d/L;
    Incropera/DeWitt eq. 8.57), turbulent by Gnielinski with 1 + (d/L)^(2/3).
    """
    s, short = fluid.stream, min(bore / length, 1.0)
    Re = factor * fluid.speed * bore / fluid.nu
    Gz = Re * s.Pr * short
    laminar = 3.66 + 0.0668 * Gz / (1.0 + 0.04 * Gz ** (2 / 3))
    return nusselt_duct(Re, s.Pr, laminar, 1.0 + short ** (2 / 3)) * s.k / bore


def still_coefficient(fluid: Liquid, length: float) -> float:
    """W/m2/K between a wall and standing liquid: vertical plate at `STILL_DIFFERENCE`, Nu not under 3.66.

    Ra = g beta dT L3 Pr/nu2. Source: Churchill and Chu (`laws.convection`).
    """
    s = fluid.stream
    Ra = 9.80665 * fluid.expansion * STILL_DIFFERENCE * length**3 * s.Pr / fluid.nu**2
    return max(nusselt_vertical_plate(Ra, s.Pr), 3.66) * s.k / length


def lay_pool(circuit: Circuit, key: str, part: str, area: float) -> None:
    """Metal round a junction, stirred by the flow of the widest line that meets it (a pump's if there is one)."""
    meeting = [n for n, line in circuit.lines.items() if key in (line.from_, line.to)]
    pumps = [n for n in meeting if circuit.lines[n].kind.endswith("pump")]
    branch = max(pumps or meeting, key=lambda n: (circuit.lines[n].bore or 0.0, n))
    still = area * still_coefficient(circuit.fluid, POOL_HEIGHT)
    circuit.b.wetted(
        part,
        circuit.name(key),
        circuit.name(branch),
        G_ref=(POOL_STIRRED - 1.0) * still,
        m_ref=reference_flow(circuit.fluid, circuit.lines[branch]),
        exponent=POOL_EXPONENT,
        G_still=still,
        boiling_area=area if circuit.fluid.boils else 0.0,
    )
