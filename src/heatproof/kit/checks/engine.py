"""Engine, exhaust, charge path and turbo."""

from collections.abc import Sequence
from itertools import pairwise
from math import pi

import numpy as np

from heatproof.kit.findings import Findings
from heatproof.kit.records.engine import CompressorMap, ExhaustPiece, SpeedCurve, Turbo
from heatproof.kit.records.variant import Variant
from heatproof.units.quantity import Amount

SEA_LEVEL = 101325.0  # Pa
R_AIR = 287.05  # J/kg/K
T_COOLED = 313.15  # K, charge as cool as the volumetric-efficiency curve takes it
GAS_PER_POWER = 1.1e-6  # kg/s of exhaust gas per W of rated power; common practice, no source
HOT_GAS_DENSITY = SEA_LEVEL / (287.0 * 950.0)  # kg/m3
PIPE_FRICTION = 0.03  # Darcy, rough pipe
MOST_BACK_PRESSURE = (
    300e3  # Pa at one atmosphere's density; several times what any engine is run with; common
)
# practice, no source. Denser gas loses less; choking, which the run leaves out, comes before that saves such a pipe.
OUT_OF_REACH = 1.15  # of that power: a rich mixture gives a little more; the run finds what lies between


def check_engine(variant: Variant, findings: Findings) -> None:
    """Engine, exhaust order, turbo and what belongs to it."""
    _speeds(variant, findings)
    _filling(variant, findings)
    _power_target(variant, findings)
    _exhaust(variant, findings)
    _exhaust_width(variant, findings)
    if variant.turbo is not None:
        _turbo(variant, variant.turbo, findings)
    _charge(variant, findings)


def rising(values: Sequence[float]) -> bool:
    """True where each value is greater than the one before."""
    return all(b > a for a, b in pairwise(values))


def _speeds(variant: Variant, findings: Findings) -> None:
    e = variant.engine
    if not e.idle_speed < e.rated_speed <= e.max_speed:
        findings.error(
            "engine speeds are out of order",
            variant.where("engine.rated_speed"),
            got=", ".join(f"{60 * n:.0f} rpm" for n in (e.idle_speed, e.rated_speed, e.max_speed)),
            allowed="idle < rated ≤ highest",
            next_step="correct one of the three",
            code="engine.speeds",
        )


def _filling(variant: Variant, findings: Findings) -> None:
    curve, where = variant.engine.volumetric_efficiency, variant.where("engine.volumetric_efficiency")
    if len(curve.speed) != len(curve.value) or len(curve.speed) < 2:
        findings.error(
            "speed and value must be equally long, two points or more",
            where,
            got=f"{len(curve.speed)} and {len(curve.value)}",
            next_step="give one value for each speed",
            code="curve.length",
        )
    elif not rising(curve.speed):
        findings.error("speeds must rise", where, next_step="sort the points by speed", code="curve.order")


def _power_target(variant: Variant, findings: Findings) -> None:
    """The rated power against what its air can burn: cool charge, pressure as asked, nothing lost."""
    e, curve = variant.engine, variant.engine.volumetric_efficiency
    if findings.errors or variant.turbo is None or (e.boost is None and e.manifold_pressure is None):
        return
    most = power_of_the_air(variant)
    if e.rated_power > OUT_OF_REACH * most:
        asked, there = (Amount(f"{watts / 1e3:.0f} kW", watts, "kW") for watts in (e.rated_power, most))
        findings.error(
            "rated_power is out of the turbo's reach at this boost",
            variant.where("engine.rated_power"),
            got=str(asked),
            allowed=f"about {there} with a filling of {100 * filling(curve, e.rated_speed):.0f} %",
            next_step="ask for less power, or for more boost, displacement or speed",
            amounts=(asked, there),
            code="engine.power_out_of_reach",
        )


def filling(curve: SpeedCurve, speed: float) -> float:
    """Volumetric efficiency at an engine speed (rev/s)."""
    return curve.factor * float(np.interp(speed, curve.speed, curve.value))


def power_of_the_air(variant: Variant) -> float:
    """W that the air pushed in at rated speed and sea level could give: burnt with just enough fuel, no friction."""
    e = variant.engine
    p_m = e.manifold_pressure or SEA_LEVEL + (e.boost or 0.0)
    swept = 0.5 * e.displacement * e.rated_speed  # m3/s
    air = filling(e.volumetric_efficiency, e.rated_speed) * swept * p_m / (R_AIR * T_COOLED)
    return air / e.fuel.stoichiometric_air_fuel * e.fuel.lower_heating_value * e.indicated_efficiency


def _exhaust(variant: Variant, findings: Findings) -> None:
    marked = [name for name, piece in variant.exhaust.items() if piece.turbine]
    where = variant.where(f"exhaust.{marked[0]}.turbine" if marked else "exhaust")
    if not variant.exhaust:
        findings.error(
            "the exhaust has no piece", where, next_step="add at least the manifold", code="exhaust.empty"
        )
    if variant.turbo is not None and len(marked) != 1:
        findings.error(
            "exactly one exhaust piece must be marked turbine: true",
            where,
            got=", ".join(marked) or "none",
            next_step="mark the piece the turbine follows",
            code="exhaust.turbine",
        )
    if variant.turbo is None and marked:
        findings.error(
            f"exhaust piece {marked[0]!r} is marked turbine: true, but there is no turbo",
            where,
            next_step="add turbo:, or remove the mark",
            code="exhaust.turbine",
        )


def _exhaust_width(variant: Variant, findings: Findings) -> None:
    """Pieces too narrow for the gas of rated power: the engine would spend its power on pushing it out."""
    lost = {name: piece_loss(piece, variant.engine.rated_power) for name, piece in variant.exhaust.items()}
    if sum(lost.values()) <= MOST_BACK_PRESSURE:
        return
    worst = max(lost, key=lambda name: lost[name])
    whole, here, most = (
        Amount(f"{pascals / 1e3:.0f} kPa", pascals, "kPa")
        for pascals in (sum(lost.values()), lost[worst], MOST_BACK_PRESSURE)
    )
    findings.error(
        "the exhaust is too narrow for rated_power",
        variant.where(f"exhaust.{worst}.bore"),
        got=f"about {whole} lost at the density of one atmosphere, {here} in this piece",
        allowed=str(most),
        next_step="take a larger bore, or ask for less power",
        amounts=(whole, here, most),
        code="exhaust.narrow",
    )


def piece_loss(piece: ExhaustPiece, power: float) -> float:
    """Pa lost in a piece at rated power (W): (K + f L/d) ρ v²/2, gas at 950 K and one atmosphere."""
    area = piece.runners * pi / 4 * piece.bore**2
    m = GAS_PER_POWER * power
    return (piece.loss + PIPE_FRICTION * piece.length / piece.bore) * m**2 / (2 * HOT_GAS_DENSITY * area**2)


def _turbo(variant: Variant, turbo: Turbo, findings: Findings) -> None:
    where = variant.where("turbo")
    if (turbo.compressor_efficiency is None) == (turbo.compressor_map is None):
        findings.error(
            "exactly one of compressor_efficiency and compressor_map is needed",
            where,
            next_step="remove one of the two, or add one",
            code="turbo.compressor",
        )
    if turbo.compressor_map is not None:
        _compressor_map(variant, turbo.compressor_map, findings)
    engine = variant.engine
    if (engine.boost is None) == (engine.manifold_pressure is None):
        findings.error(
            "with a turbo, exactly one of engine.boost and engine.manifold_pressure is needed",
            variant.where("engine"),
            next_step="write boost: … bar gauge, or manifold_pressure: … bar absolute",
            code="engine.boost",
        )
    if turbo.water_line is not None and turbo.water_area is None:
        findings.error(
            "a turbo with a water line needs water_area",
            variant.where("turbo.water_line"),
            next_step="add water_area: …, the surface of the water jacket",
            code="turbo.water_area",
        )


def _compressor_map(variant: Variant, given: CompressorMap, findings: Findings) -> None:
    where = variant.where("turbo.compressor_map.lines")
    for i, line in enumerate(given.lines):
        if not len(line.flow) == len(line.pressure_ratio) == len(line.efficiency) >= 2:
            findings.error(
                f"speed line {i + 1}: flow, pressure_ratio and efficiency must be equally long, two or more",
                where,
                got=f"{len(line.flow)}, {len(line.pressure_ratio)}, {len(line.efficiency)}",
                next_step="give the three for each point",
                code="map.length",
            )
        elif not rising(line.flow):
            findings.error(
                f"speed line {i + 1}: flow must rise",
                where,
                next_step="sort the points by flow",
                code="map.order",
            )
    if len(given.lines) < 2 or not rising([line.speed for line in given.lines]):
        findings.error(
            "a map needs two or more speed lines, slowest first",
            where,
            next_step="sort the speed lines",
            code="map.lines",
        )


def _charge(variant: Variant, findings: Findings) -> None:
    charge = variant.charge
    if charge.cooler is None:
        return
    if variant.cores[charge.cooler].kind != "charge_cooler":
        findings.error(
            f"core {charge.cooler!r} is no charge cooler",
            variant.where("charge.cooler"),
            got=f"kind: {variant.cores[charge.cooler].kind}",
            next_step="name a core of kind: charge_cooler",
            code="charge.cooler",
        )
    if charge.hot_pipe is None or charge.cold_pipe is None:
        findings.error(
            "a charge cooler needs hot_pipe and cold_pipe",
            variant.where("charge.cooler"),
            next_step="add both pipes under charge",
            code="charge.pipes",
        )
