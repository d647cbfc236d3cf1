"""Conductances and pressure losses of a core over flow, by geometry or rated point."""

from dataclasses import dataclass
from math import degrees, sqrt

import numpy as np
from scipy.optimize import nnls

from heatproof.kit.records.air import BarAndPlate, Core, Geometry, PlatesToLiquid, Rated, TubeAndFin
from heatproof.kit.records.liquids import Coolant, LiquidCircuit
from heatproof.laws import core_geometry as shapes
from heatproof.laws.core import Side, Stream, core_side
from heatproof.laws.exchange import COUNTERFLOW, UNMIXED, transfer_units
from heatproof.media.air import conductivity_air, density_air, viscosity_air
from heatproof.media.coolants import (
    conductivity_coolant,
    cp_coolant,
    liquid_coefficients_coolant,
    viscosity_coolant,
)
from heatproof.media.liquids import T_REFERENCE, liquid_density, liquid_viscosity
from heatproof.media.oils import conductivity_oil, liquid_coefficients_oil
from heatproof.network.arrays import TABLE_POINTS
from heatproof.network.fluids import CP_AIR

Table = tuple[np.ndarray, np.ndarray]
"""Flows (kg/s, ascending) and hA (W/K) at them."""

T_AMBIENT, P_AMBIENT = 300.0, 101325.0
T_CORE_AIR = 330.0  # K, film between warm fins and air
T_CHARGE = 370.0  # K, mean in a charge cooler
T_OIL = 373.15  # K
REYNOLDS = (30.0, 20e3)  # on the hydraulic diameter; the tables' range
FACE_SPEEDS = (1.0, 9.0)  # m/s, over which air-side losses are fitted
NO_FIN = 1e-6  # m, thickness of the one wall that bounds a channel without fins
SMALLEST_A = 1e-3  # share of the loss at the lowest fitted flow that is linear at least


@dataclass(frozen=True)
class Sides:
    """Both sides of a core by its geometry."""

    hot: Side
    cold: Side


def sides(geometry: Geometry) -> Sides:
    """Hot fluid inside tubes or charge channels, cold fluid through the face or between the plates."""
    if isinstance(geometry, TubeAndFin):
        return tube_and_fin(geometry)
    return bar_and_plate(geometry) if isinstance(geometry, BarAndPlate) else plates_to_liquid(geometry)


def tube_and_fin(g: TubeAndFin) -> Sides:
    """Flat tubes, plain or finned inside; louvered fins outside."""
    core = shapes.TubeAndFin(
        width=g.width,
        height=g.height,
        depth=g.depth,
        tube_height=g.tube_height,
        tube_wall=g.tube_wall,
        fin_length=g.fin_height,
        fin_pitch=g.fin_pitch,
        fin_thickness=g.fin_thickness,
        louver_pitch=g.louver_pitch,
        louver_angle=degrees(g.louver_angle),
        louver_share=g.louver_length / g.fin_height,
        passes=g.passes,
        fin_k=g.conductivity,
    )
    hot = core.coolant_side() if g.tube_fin_pitch is None else finned_tubes(g, g.tube_fin_pitch)
    return Sides(hot, core.air_side())


def finned_tubes(g: TubeAndFin, pitch: float) -> Side:
    """Inside of flat tubes with plain fins: a stack whose other layers are the gaps between the tubes."""
    inner = g.tube_height - 2.0 * g.tube_wall
    stack = shapes.BarAndPlate(
        width=g.width * g.passes,
        height=g.height / g.passes,
        depth=g.depth - 2.0 * g.tube_wall,
        charge=shapes.PlainFin(pitch, inner, g.fin_thickness),
        air=shapes.PlainFin(g.fin_pitch, g.fin_height, g.fin_thickness),
        plate=g.tube_wall,
        fin_k=g.conductivity,
    )
    return stack.charge_side()


def bar_and_plate(g: BarAndPlate) -> Sides:
    """Offset strip fins in both streams."""

    def fin(pitch: float, channel: float) -> shapes.OffsetStrip:
        return shapes.OffsetStrip(pitch, channel, g.fin_thickness, g.fin_offset_length)

    core = shapes.BarAndPlate(
        width=g.width,
        height=g.height,
        depth=g.depth,
        charge=fin(g.charge_fin_pitch, g.charge_channel),
        air=fin(g.air_fin_pitch, g.air_channel),
        plate=g.plate_thickness,
        fin_k=g.conductivity,
    )
    return Sides(core.charge_side(), core.air_side())


def plates_to_liquid(g: PlatesToLiquid) -> Sides:
    """Offset strip fins in the charge; the liquid crosses it `liquid_passes` times, each through its share of the
    width, in plain channels or between offset fins. Turns from pass to pass are for the line's own loss."""
    charge = shapes.OffsetStrip(g.charge_fin_pitch, g.charge_channel, g.fin_thickness, g.fin_offset_length)
    liquid: shapes.PlateFin
    if g.liquid_fin_pitch is None:
        liquid = shapes.PlainFin(g.width / g.liquid_passes, g.liquid_channel, NO_FIN)
    else:
        liquid = shapes.OffsetStrip(
            g.liquid_fin_pitch, g.liquid_channel, g.fin_thickness, g.fin_offset_length
        )

    def core(width: float, depth: float) -> shapes.BarAndPlate:
        return shapes.BarAndPlate(
            width=width,
            height=g.height,
            depth=depth,
            charge=charge,
            air=liquid,
            plate=g.plate_thickness,
            fin_k=g.conductivity,
        )

    n = g.liquid_passes
    return Sides(core(g.width, g.depth).charge_side(), core(g.width / n, g.depth * n).air_side())


def air_stream(T: float = T_CORE_AIR, rho: float | None = None) -> Stream:
    """Air at T (K), by default at 101 325 Pa."""
    density = density_air(T, P_AMBIENT) if rho is None else rho
    return Stream(rho=density, mu=viscosity_air(T), cp=CP_AIR, k=conductivity_air(T))


def coolant_stream(glycol: float, T: float = T_REFERENCE) -> Stream:
    """Coolant at T (K), 90 degC by default."""
    rho = liquid_density(T, liquid_coefficients_coolant(glycol))
    mu, k = viscosity_coolant(T, glycol), conductivity_coolant(T, glycol)
    return Stream(rho=rho, mu=mu, cp=cp_coolant(T, glycol), k=k)


def circuit_stream(record: Coolant) -> Stream:
    """Coolant of a circuit at the temperature it works at."""
    T = record.working_temperature if isinstance(record, LiquidCircuit) else T_REFERENCE
    return coolant_stream(record.glycol, T)


def oil_stream(grade: str) -> Stream:
    """Oil at 100 degC, with the specific heat the kernel uses."""
    c = liquid_coefficients_oil(grade)
    rho = liquid_density(T_OIL, c)
    return Stream(
        rho=rho, mu=rho * liquid_viscosity(T_OIL, c), cp=float(c[6]), k=conductivity_oil(T_OIL, grade)
    )


def side_table(side: Side, stream: Stream, factor: float = 1.0) -> Table:
    """hA (W/K) of a side over the flows of `REYNOLDS`, times `factor`."""
    per_Re = stream.mu * side.free_area / side.Dh
    flow = np.geomspace(REYNOLDS[0] * per_Re, REYNOLDS[1] * per_Re, TABLE_POINTS)
    return flow, np.array([factor * core_side(side, float(m), stream).hA for m in flow])


def power_table(hA: float, m_ref: float, exponent: float) -> Table:
    """hA (m/m_ref)^exponent from a hundredth to ten times the rated flow."""
    flow = np.geomspace(0.01 * m_ref, 10.0 * m_ref, TABLE_POINTS)
    return flow, hA * (flow / m_ref) ** exponent


def of_share(table: Table, share: float) -> Table:
    """The table of a part of the core, over the flow through that part."""
    return table[0] * share, table[1] * share


def arrangement(core: Core) -> int:
    """Plate coolers of oil to coolant run in counterflow; cores to air, and charge to liquid, in unmixed crossflow.

    Passes of the liquid against the charge come nearer to counterflow: up to 3 % more heat, left out.
    """
    return COUNTERFLOW if core.kind == "oil_cooler" and core.coolant_line is not None else UNMIXED


def rated_conductances(rated: Rated, cp_hot: float, cp_cold: float, how: int) -> tuple[float, float]:
    """hA (W/K) of both sides at the rated point, so that E = heat_per_kelvin exactly.

    NTU from effectiveness E/C_min; `hot_share` of the resistance 1/UA lies on the hot side. ValueError where
    no conductance reaches that heat.
    """
    Ch, Cc = rated.hot_flow * cp_hot, rated.cold_flow * cp_cold
    low, high = min(Ch, Cc), max(Ch, Cc)
    try:
        UA = transfer_units(rated.heat_per_kelvin / low, low / high, how) * low
    except ValueError as error:
        raise ValueError(
            f"rated core: {rated.heat_per_kelvin:.4g} W/K is more than its flows can carry "
            f"(smaller capacity rate {low:.4g} W/K); correct heat_per_kelvin or the rated flows"
        ) from error
    return UA / rated.hot_share, UA / (1.0 - rated.hot_share)


def rated_condenser(rated: Rated) -> float:
    """hA (W/K) to air at the rated point of a condenser: E = C (1 - exp(-hA/C))."""
    C = rated.cold_flow * CP_AIR
    if rated.heat_per_kelvin >= C:
        raise ValueError(
            f"rated condenser: {rated.heat_per_kelvin:.4g} W/K is more than its air can carry ({C:.4g} W/K)"
        )
    return float(-C * np.log1p(-rated.heat_per_kelvin / C))


def fit_losses(flow: np.ndarray, dp: np.ndarray) -> tuple[float, float]:
    """a (Pa s/kg), b (Pa s2/kg2) >= 0 of a m + b m2 with least squares of relative error; a never quite 0."""
    (a, b), _ = nnls(np.stack([flow / dp, flow * flow / dp], axis=1), np.ones_like(flow))
    return max(float(a), SMALLEST_A * float(dp[0] / flow[0])), float(b)


def side_losses(side: Side, stream: Stream, flow: np.ndarray) -> tuple[float, float]:
    """a, b of a side fitted over some flows (kg/s)."""
    return fit_losses(flow, np.array([core_side(side, float(m), stream).dp for m in flow]))


def face_area(core: Core) -> float:
    """m2 of the face the air flows through; 0 where a rated core has none."""
    if core.geometry is not None:
        return core.geometry.width * core.geometry.height
    return (core.rated.face_area or 0.0) if core.rated else 0.0


def face_height(core: Core) -> float:
    """m, for natural convection."""
    return core.geometry.height if core.geometry is not None else sqrt(max(face_area(core), 1e-4))


def air_losses(core: Core) -> tuple[float, float]:
    """a (Pa s/kg), b (Pa s2/kg2) of the whole face at 300 K, 101 325 Pa."""
    stream = air_stream(T_AMBIENT)
    if core.geometry is not None:
        flow = np.geomspace(*FACE_SPEEDS, 8) * stream.rho * face_area(core)
        return side_losses(sides(core.geometry).cold, stream, flow)
    if core.rated is None or core.rated.air_loss is None:
        raise ValueError("a core that air passes through needs its geometry, or face_area and air_loss")
    r = core.rated
    flow = np.geomspace(0.15, 1.3, 8) * r.cold_flow
    return fit_losses(flow, core.rated.air_loss * (flow / r.cold_flow) ** r.air_loss_exponent)


def hot_losses(core: Core, stream: Stream) -> tuple[float, float]:
    """a (Pa s/kg), b (Pa s2/kg2) inside the core, at the stream's state; tanks not counted."""
    if core.geometry is not None:
        return losses_over_Re(sides(core.geometry).hot, stream, (500.0, 15e3))
    return rated_loss(core.rated.hot_loss, core.rated.hot_flow) if core.rated else (0.0, 0.0)


def liquid_losses(core: Core, stream: Stream) -> tuple[float, float]:
    """a (Pa s/kg), b (Pa s2/kg2) of the cold liquid through a core, at the stream's state."""
    if core.geometry is not None:
        return losses_over_Re(sides(core.geometry).cold, stream, (50.0, 5e3))
    return rated_loss(core.rated.liquid_loss, core.rated.cold_flow) if core.rated else (0.0, 0.0)


def losses_over_Re(side: Side, stream: Stream, Re: tuple[float, float]) -> tuple[float, float]:
    """a, b of a side fitted over a range of Reynolds numbers."""
    return side_losses(side, stream, np.geomspace(*Re, 8) * stream.mu * side.free_area / side.Dh)


def rated_loss(dp: float, flow: float) -> tuple[float, float]:
    """a, b of a loss known at one flow: it follows flow squared."""
    return 0.0, dp / flow**2
