"""Answers held against each other: each finding names both and says what follows from either.

Ranges are those of common practice where no source stands beside them; outside `refused` no project is made.
"""

import math
from collections.abc import Iterator

from heatproof.kit.findings import Finding, Level, Where
from heatproof.sheet import rules as R
from heatproof.sheet.questions import Sheet

CONSISTENT = "measure or look up both again; the project is made with what stands here"


def cross_checks(sheet: Sheet, file: str = "") -> list[Finding]:
    """All of them, errors first."""
    found = [
        Finding(
            level, what, Where(file, 0, path), got=got, allowed=allowed, next_step=step, code=f"sheet.{code}"
        )
        for check in (geometry, engine, car, cooling, kit)
        for level, what, path, got, allowed, step, code in check(sheet)
    ]
    return sorted(found, key=lambda finding: finding.level != "error")


Said = tuple[Level, str, str, str, str, str, str]
"""Level, what, path, got, allowed, next step, code."""


def band(
    value: float,
    low: float,
    high: float,
    what: str,
    path: str,
    unit: str,
    step: str,
    code: str,
    refused: float = 4.0,
) -> Iterator[Said]:
    """A warning outside low … high, an error further out than `refused` times the end."""
    if low <= value <= high:
        return
    wrong = value > refused * high or value < low / refused
    yield (
        "error" if wrong else "warning",
        what,
        path,
        f"{value:.3g} {unit}".strip(),
        f"{low:g} to {high:g} {unit}".strip(),
        step,
        code,
    )


def geometry(sheet: Sheet) -> Iterator[Said]:
    """Displacement against bore and stroke; the bay against the engine in it; the radiator against the bay."""
    engine, bay, cooling = sheet.engine, sheet.bay, sheet.cooling
    swept = engine.cylinders * 0.25 * math.pi * engine.bore**2 * engine.stroke
    off = abs(swept / engine.displacement - 1.0)
    if off > 0.015:
        meant = f"bore and stroke give {swept * 1e3:.3f} L, the displacement says {engine.displacement * 1e3:.3f} L"
        step = f"correct one of them: with this displacement and stroke the bore would be {math.sqrt(engine.displacement / swept) * engine.bore * 1e3:.1f} mm"
        yield (
            "error" if off > 0.10 else "warning",
            meant,
            "engine.displacement",
            f"{100 * off:.1f} % apart",
            "1.5 %",
            step,
            "displacement",
        )
    if R.tyre_radius(sheet.car.tyre) is None:
        yield (
            "error",
            "tyre not understood",
            "car.tyre",
            sheet.car.tyre,
            "such as 185/60 R15",
            "copy it from the tyre's side",
            "tyre",
        )
    if not 1 <= sheet.car.gears <= 10:
        yield (
            "error",
            "number of gears out of range",
            "car.gears",
            str(sheet.car.gears),
            "1 to 10",
            "count the forward gears",
            "gears",
        )
    if not 1 <= engine.cylinders <= 16:
        yield (
            "error",
            "number of cylinders out of range",
            "engine.cylinders",
            str(engine.cylinders),
            "1 to 16",
            "count them",
            "cylinders",
        )
    if cooling.radiator_width > bay.width * 1.15:
        yield (
            "warning",
            "the radiator is wider than the bay",
            "cooling.radiator_width",
            f"{cooling.radiator_width:.2f} m",
            f"up to {bay.width:.2f} m",
            CONSISTENT,
            "radiator_width",
        )
    block = (engine.cylinders * 1.13 * engine.bore + 0.093) * 3.3 * engine.stroke * 3.2 * engine.stroke
    share = block / (bay.length * bay.width * bay.height)
    if share > 0.6:
        yield ("error", "the engine fills the bay", "bay.length", f"{100 * share:.0f} % of the box", "up to 60 %", "measure the bay's box and the bore and stroke again", "bay")  # fmt: skip


def engine(sheet: Sheet) -> Iterator[Said]:
    """Mean pressures, piston speed, and whether so much air goes through the engine."""
    own = sheet.engine
    pressure = 2.0 * own.power / (own.displacement * own.power_speed) / 1e5
    step = "power, displacement and speed of rated power do not belong together: look each up again; an engine with a turbo as sold is outside this sheet"
    yield from band(
        pressure,
        7.5,
        11.5,
        "mean pressure at rated power of an engine without a turbo",
        "engine.power",
        "bar",
        step,
        "mean_pressure",
        1.6,
    )
    if own.torque is not None:
        at = own.torque_speed or 0.7 * own.power_speed
        yield from band(
            4.0 * math.pi * own.torque / own.displacement / 1e5,
            9.0,
            12.5,
            "mean pressure at highest torque",
            "engine.torque",
            "bar",
            step,
            "torque",
            1.6,
        )
        if 2.0 * math.pi * own.torque * at > 1.02 * own.power:
            yield (
                "warning",
                "torque at its speed is more power than the rated power",
                "engine.torque_speed",
                f"{2e-3 * math.pi * own.torque * at:.0f} kW",
                f"below {own.power / 1e3:.0f} kW",
                CONSISTENT,
                "torque_power",
            )
    yield from band(
        2.0 * own.stroke * own.red_line,
        8.0,
        25.0,
        "mean piston speed at the red line",
        "engine.red_line",
        "m/s",
        "look the stroke and the red line up again",
        "piston_speed",
        1.5,
    )
    if own.red_line <= own.power_speed:
        yield (
            "warning",
            "the red line lies below the speed of rated power",
            "engine.red_line",
            f"{own.red_line * 60:.0f} rpm",
            f"above {own.power_speed * 60:.0f} rpm",
            CONSISTENT,
            "red_line",
        )
    if own.idle_speed >= 0.5 * own.power_speed:
        yield (
            "error",
            "the idle speed is not far below the speed of rated power",
            "engine.idle_speed",
            f"{own.idle_speed * 60:.0f} rpm",
            f"below {own.power_speed * 30:.0f} rpm",
            "read the rev counter again",
            "idle",
        )
    filling = R.filling_needed(own, own.power, own.power_speed)
    if filling > R.MOST_FILLING:
        yield (
            "warning",
            f"the power is more than the air this engine can take in (filling {filling:.2f}); the project has {R.MOST_FILLING:g} and so less power",
            "engine.power",
            f"{own.power / 1e3:.4g} kW",
            f"about {own.power / 1e3 * R.MOST_FILLING / filling:.0f} kW",
            "look up power, its speed and the compression ratio",
            "filling",
        )


def car(sheet: Sheet) -> Iterator[Said]:
    """Top speed against power, the rev counter against top speed, the trailer against the car."""
    by_speed, by_size = R.drag_areas(sheet)
    off = by_speed / by_size - 1.0
    if abs(off) > 0.15:
        meant = f"the top speed asks for a drag area of {by_speed:.2f} m2, width, height and drag coefficient for {by_size:.2f} m2; the second is taken"
        would = R.level_top_speed(sheet, sheet.engine.power) * 3.6
        yield (
            "warning",
            meant,
            "car.top_speed",
            f"{100 * off:+.0f} %",
            "15 %",
            f"with the second the car runs {would:.0f} km/h: is its speed limited, or reached in the last but one gear?",
            "top_speed",
        )
    speed = sheet.car.engine_speed_at_100 * sheet.car.top_speed * 3.6 / 100.0 / sheet.engine.power_speed
    yield from band(
        speed,
        0.75,
        1.10,
        "engine speed at top speed in top gear over that of rated power",
        "car.engine_speed_at_100",
        "",
        "below: the top gear is an overdrive; above: read the rev counter again, in top gear",
        "gearing",
        1.6,
    )
    if sheet.car.trailer_mass > 1.5 * sheet.car.empty_mass and not sheet.car.on_frame:
        yield (
            "warning",
            "the trailer is heavier than 1.5 times the car",
            "car.trailer_mass",
            f"{sheet.car.trailer_mass:.0f} kg",
            f"up to {1.5 * sheet.car.empty_mass:.0f} kg",
            CONSISTENT,
            "trailer",
        )
    if "tow" in sheet.uses and sheet.car.trailer_mass <= 0.0:
        yield (
            "error",
            "sold for towing, and no trailer is given",
            "car.trailer_mass",
            "0 kg",
            "the heaviest braked trailer",
            "give its mass, or leave tow out of uses",
            "tow",
        )


def cooling(sheet: Sheet) -> Iterator[Said]:
    """Radiator, fan and hose against power; grille against radiator."""
    own, power = sheet.cooling, sheet.engine.power / 1e3
    face = own.radiator_width * own.radiator_height
    yield from band(
        1e4 * face / power,
        18.0,
        45.0,
        "radiator face for the power as sold",
        "cooling.radiator_width",
        "cm2/kW",
        CONSISTENT,
        "radiator",
        2.5,
    )
    yield from band(
        (own.upper_grille + own.lower_grille) / face,
        0.25,
        0.80,
        "open grille over radiator face",
        "cooling.lower_grille",
        "",
        "the open area only: width × height × share that is not bars",
        "grille",
        3.0,
    )
    discs = own.fans * 0.25 * math.pi * own.fan_diameter**2 / face
    yield from band(
        discs,
        0.25,
        0.85,
        "blades' discs over radiator face",
        "cooling.fan_diameter",
        "",
        "count the fans and measure over the blades",
        "fan",
        2.0,
    )
    if own.condenser_width * own.condenser_height > 1.15 * face:
        yield (
            "warning",
            "the condenser is larger than the radiator",
            "cooling.condenser_width",
            "",
            "",
            CONSISTENT,
            "condenser",
        )
    bore = own.hose - 0.008
    speed = 1.7e-3 / 60.0 * power / (0.25 * math.pi * bore**2)
    yield from band(
        speed,
        0.8,
        4.5,
        "speed of the water in the radiator hose",
        "cooling.hose",
        "m/s",
        "measure the hose outside",
        "hose",
        3.0,
    )
    if own.coolant is not None:
        yield from band(
            own.coolant / sheet.engine.displacement,
            3.0,
            8.0,
            "coolant per litre of displacement",
            "cooling.coolant",
            "",
            "all of it, heater included",
            "coolant",
            2.0,
        )
    if own.oil is not None:
        yield from band(
            own.oil / sheet.engine.displacement,
            1.5,
            4.0,
            "oil per litre of displacement",
            "cooling.oil",
            "",
            "all of it, filter included",
            "oil",
            2.0,
        )


def kit(sheet: Sheet) -> Iterator[Said]:
    """Power against boost, turbine against power, charge cooler against radiator."""
    engine, own = sheet.engine, sheet.kit
    factor = R.kit_filling_factor(engine, own)
    would = promised(sheet)
    meant = f"boost, mixture and compression ratio give {would / 1e3:.0f} kW with the filling as sold, {own.power / 1e3:.0f} kW are promised; the filling is multiplied by {factor:.2f}"
    if factor > 1.15 or factor < 0.80:
        step = "which of the two was measured? correct the other: power follows boost at full throttle"
        yield (
            "error" if factor > 1.5 or factor < 0.5 else "warning",
            meant,
            "kit.power",
            f"{own.power / 1e3:.4g} kW at {own.boost / 1e5:.2g} bar",
            "a factor of 0.80 to 1.15",
            step,
            "power_boost",
        )
    if own.power <= engine.power:
        yield (
            "warning",
            "the kit promises no more power than the engine has",
            "kit.power",
            f"{own.power / 1e3:.4g} kW",
            f"above {engine.power / 1e3:.4g} kW",
            CONSISTENT,
            "kit_power",
        )
    yield from band(
        own.turbine_wheel**2 * 1e6 / (own.power / 1e3),
        9.0,
        26.0,
        "turbine wheel squared for the power promised",
        "kit.turbine_wheel",
        "mm2/kW",
        "measure the wheel at its inlet, not the housing",
        "turbine",
        2.5,
    )
    if own.boost_from is not None and own.boost_from >= own.power_speed:
        yield (
            "error",
            "full boost begins above the speed of the power promised",
            "kit.boost_from",
            f"{own.boost_from * 60:.0f} rpm",
            f"below {own.power_speed * 60:.0f} rpm",
            "correct one of the two",
            "boost_from",
        )
    if own.power_speed > engine.red_line:
        yield (
            "error",
            "the power is promised above the red line",
            "kit.power_speed",
            f"{own.power_speed * 60:.0f} rpm",
            f"up to {engine.red_line * 60:.0f} rpm",
            "correct one of the two",
            "kit_speed",
        )
    face = sheet.cooling.radiator_width * sheet.cooling.radiator_height
    if (
        own.cooler not in ("none", "water")
        and own.covered * face > 1.3 * own.cooler_width * own.cooler_height
    ):
        yield (
            "error",
            "the charge cooler covers more of the radiator than its own face",
            "kit.covered",
            f"{100 * own.covered:.0f} %",
            f"up to {100 * own.cooler_width * own.cooler_height / face:.0f} %",
            "overlap over the radiator's face",
            "covered",
        )


def promised(sheet: Sheet) -> float:
    """Power (W) that boost and mixture of the kit give with the filling as sold."""
    engine, own = sheet.engine, sheet.kit
    low, high = 1e3, 2e6
    for _ in range(60):
        power = 0.5 * (low + high)
        tried = own.model_copy(update={"power": power})
        low, high = (power, high) if R.kit_filling_factor(engine, tried) < 1.0 else (low, power)
    return low
