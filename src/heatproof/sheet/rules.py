"""Values of a class from answers: what a data sheet and a tape measure cannot give, worked out by named rules.

Every rule has its row in `data/rules.csv` with its spread and source; a value it makes is written into the project as
`{value: …, source: class RULE}`, so that it can be read, overruled and counted. SI in and out.
"""

import csv
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from heatproof.assembly.facing import seen_by_size
from heatproof.laws.engine import motored_friction_pressure, power_factor_mixture
from heatproof.media.air import G0
from heatproof.sheet.questions import CarSheet, EngineSheet, KitSheet, Sheet

DATA = Path(__file__).parent / "data"
MARK = "class "
"""How the source of a value made by a rule begins."""
R_AIR = 287.05
LHV, AIR_FUEL = 42.8e6, 14.5
P_STANDARD, T_FILLING = 101_325.0, 313.15
INTAKE_PRESSURE = 99e3  # Pa in the manifold at full load without a turbo; common practice, no source
CHARGE_TEMPERATURE = 318.15  # K of a cooled charge; common practice, no source
STOCK_PUMPING, KIT_PUMPING = 15e3, 45e3  # Pa; common practice, no source
MOST_FILLING = 1.05
TYRE = re.compile(r"\s*(\d{3})\s*/\s*(\d{2})\s*(?:Z?R|-|\s)\s*(\d{2})\s*", re.IGNORECASE)
RHO_SEA = 1.2


@dataclass(frozen=True)
class Rule:
    """One row of `rules.csv`."""

    rule: str
    what: str
    spread: str
    felt: bool
    source: str


def data_rows(name: str) -> Iterator[dict[str, str]]:
    """Rows of a data file, comments left out."""
    lines = (DATA / name).read_text(encoding="utf-8").splitlines()
    yield from csv.DictReader(line for line in lines if not line.startswith("#"))


@cache
def rules() -> dict[str, Rule]:
    """Rules by name."""
    return {
        row["rule"]: Rule(row["rule"], row["what"], row["spread"], row["felt"] == "yes", row["source"])
        for row in data_rows("rules.csv")
    }


# --- car ------------------------------------------------------------------------------------------------------
def tyre_radius(text: str) -> float | None:
    """Rolling radius (m) of a tyre such as 185/60 R15; None where the text is none.

    0.971 of the radius unloaded: the dynamic circumference is 3.05 of the diameter (handbook, from memory).
    """
    match = TYRE.fullmatch(text)
    if match is None:
        return None
    width, share, rim = (float(word) for word in match.groups())
    return 0.971e-3 * (12.7 * rim + width * share / 100.0)


def driveline_efficiency(car: CarSheet, lengthways: bool) -> float:
    """Share of the crank's power that reaches the road; common practice, no source."""
    if car.automatic or car.driven == "all":
        return 0.88
    return 0.90 if lengthways else 0.92


def rolling_resistance(car: CarSheet) -> float:
    """Coefficient of rolling resistance of tyres on asphalt."""
    return 0.014 if car.on_frame else 0.012


def drag_areas(sheet: Sheet) -> tuple[float, float]:
    """Drag area (m2) by top speed and power, and by size and drag coefficient."""
    car, v = sheet.car, sheet.car.top_speed
    mass = car.empty_mass + 75.0
    wheel = sheet.engine.power * driveline_efficiency(car, lengthways(sheet))
    by_speed = (wheel - mass * G0 * rolling_resistance(car) * v) * 2.0 / (RHO_SEA * v**3)
    coefficient = car.drag_coefficient or (0.42 if car.on_frame else 0.32)
    return by_speed, 0.83 * car.width * car.height * coefficient


def drag_area(sheet: Sheet) -> float:
    """Drag area (m2): both ways weighted by their doubt, by size alone where they differ by more than 15 %."""
    by_speed, by_size = drag_areas(sheet)
    if abs(by_speed - by_size) > 0.15 * by_size:
        return by_size
    a, b = 1.0 / 0.15**2, 1.0 / 0.07**2
    return (a * by_speed + b * by_size) / (a + b)


def gear_ratios(car: CarSheet, radius: float, final: float = 4.0) -> list[float]:
    """Ratios, first to top, with a final drive of 4: only the product counts.

    Top by the engine's speed at 100 km/h, first for 8 km/h per 1000 rpm, between them i_k = top φ^(z−k) 1.1^((z−k)(z−k−1)/2).
    """
    per_metre = 2.0 * math.pi * radius
    top = car.engine_speed_at_100 * per_metre / (100.0 / 3.6) / final
    first = (1000.0 / 60.0) * per_metre / (8.0 / 3.6) / final
    z = car.gears
    if z == 1:
        return [top]
    step = max((first / top / 1.1 ** (0.5 * (z - 1) * (z - 2))) ** (1.0 / (z - 1)), 1.02)
    return [round(top * step ** (z - k) * 1.1 ** (0.5 * (z - k) * (z - k - 1)), 3) for k in range(1, z + 1)]


def lengthways(sheet: Sheet) -> bool:
    """Whether the engine stands lengthways."""
    return sheet.layout.startswith(("lengthways", "flat"))


def level_top_speed(sheet: Sheet, power: float) -> float:
    """Speed (m/s) at which a power (W at the crank) is used up on the level."""
    wheel = power * driveline_efficiency(sheet.car, lengthways(sheet))
    area, mass = drag_area(sheet), sheet.car.empty_mass + 75.0
    low, high = 1.0, 150.0
    for _ in range(60):
        v = 0.5 * (low + high)
        needed = mass * G0 * rolling_resistance(sheet.car) * v + 0.5 * RHO_SEA * area * v**3
        low, high = (v, high) if needed < wheel else (low, v)
    return low


# --- engine ---------------------------------------------------------------------------------------------------
def indicated_efficiency(ratio: float) -> float:
    """0.64 (1 − r^−0.4): the air-standard cycle less fuel-air and real-cycle losses (handbook, from memory)."""
    return float(0.64 * (1.0 - ratio**-0.4))


def kit_efficiency(engine: EngineSheet, kit: KitSheet) -> float:
    """Indicated efficiency with the kit: by its own ratio; 1.5 points less for later spark where it is unchanged."""
    ratio = kit.compression_ratio or engine.compression_ratio
    return indicated_efficiency(ratio) - (0.015 if ratio == engine.compression_ratio else 0.0)


def friction_factor(engine: EngineSheet) -> float:
    """Share of the motored correlation: engines became lighter-running in the nineties (handbook, from memory)."""
    return 0.65 if engine.year >= 1995 else 0.8


def air_needed(
    engine: EngineSheet, power: float, speed: float, efficiency: float, mixture: float, pumping: float
) -> float:
    """Air (kg/s) that burns for a power (W) at a speed (rev/s), friction and pumping (Pa) overcome."""
    swept = 0.5 * engine.displacement * speed
    indicated = power + (friction_factor(engine) * motored_friction_pressure(speed) + pumping) * swept
    return indicated * AIR_FUEL / (efficiency * power_factor_mixture(mixture) * LHV)


def filling_needed(engine: EngineSheet, power: float, speed: float, pumping: float = STOCK_PUMPING) -> float:
    """Volumetric efficiency, referred to the manifold at 40 °C, that gives a power without a turbo."""
    air = air_needed(engine, power, speed, indicated_efficiency(engine.compression_ratio), 0.90, pumping)
    return air * R_AIR * T_FILLING / (INTAKE_PRESSURE * 0.5 * engine.displacement * speed)


def filling_curve(engine: EngineSheet) -> tuple[list[float], list[float]]:
    """Speeds (rev/s) and volumetric efficiencies of the engine as sold, solved at rated power and highest torque."""
    torque_speed = engine.torque_speed or 0.7 * engine.power_speed
    rated = min(filling_needed(engine, engine.power, engine.power_speed), MOST_FILLING)
    if engine.torque is None:
        best = min(1.03 * rated, MOST_FILLING)
    else:
        power = 2.0 * math.pi * engine.torque * torque_speed
        best = min(max(filling_needed(engine, power, torque_speed, 8e3), rated), MOST_FILLING)
    points = {
        engine.idle_speed: 0.81 * best,
        0.45 * torque_speed: 0.91 * best,
        torque_speed: best,
        engine.power_speed: rated,
        engine.red_line: 0.94 * rated,
    }
    speeds = sorted(points)
    speeds = [N for N, after in zip(speeds, [*speeds[1:], math.inf], strict=True) if after - N > 1.0]
    return speeds, [round(points[N], 3) for N in speeds]


def kit_filling_factor(engine: EngineSheet, kit: KitSheet) -> float:
    """Factor on the filling as sold that makes the kit's boost, mixture and power agree.

    At full throttle power follows boost; without this factor a kit makes another power than it promises.
    """
    speed, pressure = kit.power_speed, P_STANDARD + kit.boost
    air = air_needed(engine, kit.power, speed, kit_efficiency(engine, kit), kit.mixture, KIT_PUMPING)
    reference = (CHARGE_TEMPERATURE / T_FILLING) ** 0.3
    held = pressure * 0.5 * engine.displacement * speed / (R_AIR * CHARGE_TEMPERATURE)
    return air / (held * reference) / filling_at(engine, speed)


def filling_at(engine: EngineSheet, speed: float) -> float:
    """Volumetric efficiency as sold at a speed (rev/s), linear between points."""
    speeds, values = filling_curve(engine)
    if speed <= speeds[0]:
        return values[0]
    for k in range(1, len(speeds)):
        if speed <= speeds[k]:
            share = (speed - speeds[k - 1]) / (speeds[k] - speeds[k - 1])
            return values[k - 1] + share * (values[k] - values[k - 1])
    return values[-1]


# --- heat that goes across gaps ---------------------------------------------------------------------------------
def disc_share(area: float, distance: float) -> float:
    """Share of a ball's radiation that meets a disc of `area` (m2), `distance` (m) from its middle to the ball's.

    (1 − 1/√(1 + (R/h)²))/2 (handbook of view factors, from memory).
    """
    ratio = math.sqrt(area / math.pi) / distance
    return 0.5 * (1.0 - 1.0 / math.sqrt(1.0 + ratio * ratio))


def rod_share(diameter: float, length: float, distance: float) -> float:
    """Share of a small ball's radiation that meets a rod whose middle is `distance` (m) away, square to it.

    Solid angle over 4π: ∫ d h dz/(h² + z²)^(3/2) along the rod = (2 d/h) (ℓ/2)/√(h² + ℓ²/4).
    """
    half = 0.5 * length
    return 2.0 * diameter / distance * half / math.hypot(distance, half) / (4.0 * math.pi)


def mean_distance(nearest: float, length: float) -> float:
    """Distance (m) whose inverse square is the mean along a hot part of that length (m), `nearest` at its middle.

    1/h² averaged over z from −ℓ/2 to ℓ/2 beside a point at h is 2 atan(ℓ/2h)/(ℓ h).
    """
    if length <= 0.0:
        return nearest
    return math.sqrt(0.5 * length * nearest / math.atan(0.5 * length / nearest))


def facing_area(
    exchange: float, distance: float, one: tuple[float, float], other: tuple[float, float]
) -> float:
    """Area (m2) of a facing link at a distance (m) that exchanges so much (m2, area times view factor).

    one, other: (size m, surface m2) of the parts it joins, neither with a shape: the model reads the area as either one's face
    before the other at its own size, and the larger exchange counts.
    """

    def given(area: float) -> float:
        views = (seen_by_size(*part, area, distance) for part in (one, other))
        return max(area * min(factor, 1.0, back / area) for factor, back in views)

    low, high = 1e-6, 4.0
    for _ in range(60):
        area = math.sqrt(low * high)
        low, high = (area, high) if given(area) < exchange else (low, area)
    return low
