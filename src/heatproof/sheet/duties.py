"""Duties from the car and what the kit is sold for, each named by what it asks."""

import math
from typing import Any

from heatproof.media.air import G0
from heatproof.sheet import rules as R
from heatproof.sheet.questions import Sheet

Tree = dict[str, Any]
LAP = [
    {"straight": "520 m"}, {"radius": "45 m", "length": "85 m"}, {"straight": "210 m"}, {"radius": "80 m", "length": "130 m"},
    {"straight": "330 m"}, {"radius": "28 m", "length": "60 m"}, {"straight": "410 m"}, {"radius": "110 m", "length": "190 m"},
    {"straight": "180 m"}, {"radius": "35 m", "length": "75 m"}, {"straight": "300 m"}, {"radius": "60 m", "length": "110 m"},
]  # fmt: skip
"""An invented circuit of 2.6 km, corners of 28 to 110 m."""
OF_TOP = 0.97  # of the top speed: flat out, and steady
MOST_GRADE_SHARE = 0.9  # of the kit's power that a hill may ask for


def grade_speed(sheet: Sheet, grade: float, wanted: float, added: float) -> float:
    """Speed (m/s) up a grade, `wanted` where the kit's power allows it."""
    car = sheet.car
    mass = car.empty_mass + 75.0 + added
    wheel = MOST_GRADE_SHARE * sheet.kit.power * R.driveline_efficiency(car, R.lengthways(sheet))
    slope = mass * G0 * (R.rolling_resistance(car) + math.sin(math.atan(grade)))
    v = wanted
    while v > 5.0 and slope * v + 0.5 * R.RHO_SEA * R.drag_area(sheet) * v**3 > wheel:
        v *= 0.97
    return v


def duty_files(sheet: Sheet, condenser: bool) -> dict[str, Tree]:
    """Name of a file to its duty."""
    made = {key: tree for name in sheet.uses for key, tree in duties_of(name, sheet, condenser).items()}
    return {key: {"format": "heatproof duty 1"} | tree for key, tree in made.items()}


def duties_of(use: str, sheet: Sheet, condenser: bool) -> dict[str, Tree]:
    """Duties that stand for a use."""
    day, car, kit = sheet.hottest_day, sheet.car, sheet.kit

    def air(ambient: float, altitude: float = 100.0, sun: float = 700.0) -> Tree:
        return {
            "ambient": f"{ambient - 273.15:.3g} degC",
            "altitude": f"{altitude:g} m",
            "humidity": "30 %",
            "sun": f"{sun:g} W/m2",
        }

    def kmh(v: float) -> str:
        return f"{v * 3.6:.0f} km/h"

    def duty(
        name: str,
        use: str,
        air: Tree,
        cooled: bool,
        begin: float,
        drive: Tree,
        idle: float,
        soak: float,
        **start: str,
    ) -> Tree:
        return {
            "name": name, "use": use, "air": air, "air_conditioning": cooled and condenser,
            "start": {"speed": kmh(begin / 3.6), "settle": "15 min"} | start, "drive": drive,
            "idle_before_key_off": f"{idle:g} s", "soak": f"{soak:g} min",
        }  # fmt: skip

    load = f"{car.added_mass:g} kg"
    if use == "town":
        drive: Tree = {
            "kind": "crawl",
            "speed": "14 km/h",
            "moving": "20 s",
            "standing": "25 s",
            "duration": "25 min",
        }
        return {
            "town_crawl": duty(
                "Town crawl on the hottest day", "street", air(day, sun=900.0), True, 110.0, drive, 0.0, 20.0
            )
        }
    if use == "motorway":
        geared = sheet.engine.red_line / car.engine_speed_at_100 * 100.0 / 3.6
        top = OF_TOP * min(R.level_top_speed(sheet, kit.power), geared)
        drive = {"kind": "cruise", "speed": kmh(top), "duration": "10 min"}
        return {
            "flat_out": duty(
                f"Flat out at {kmh(top)}", "street", air(day - 8.0), False, 120.0, drive, 60.0, 20.0
            )
        }
    if use in ("hill", "altitude"):
        high = use == "altitude"
        grade, name = (
            (0.07, "Long hill, 7 %, heaviest load")
            if not high
            else (0.06, "Mountain pass at 2000 m, 6 %, heaviest load")
        )
        v = grade_speed(sheet, grade, (80.0 if high else 110.0) / 3.6, car.added_mass)
        drive = {
            "kind": "grade",
            "speed": kmh(v),
            "grade": f"{100 * grade:g} %",
            "added_mass": load,
            "duration": "12 min",
        }
        weather = air(day - 12.0, 2000.0) if high else air(day - 2.0, 600.0, 850.0)
        return {
            "mountain_pass" if high else "long_hill": duty(
                name, "grade", weather, True, 70.0, drive, 20.0, 25.0
            )
        }
    if use == "tow":
        v = grade_speed(sheet, 0.06, 75.0 / 3.6, car.trailer_mass)
        drive = {
            "kind": "grade",
            "speed": kmh(v),
            "grade": "6 %",
            "added_mass": f"{car.trailer_mass:g} kg",
            "duration": "18 min",
        }
        return {
            "trailer_hill": duty(
                "Heaviest trailer up 6 %",
                "tow",
                air(max(day, 311.15), sun=900.0),
                True,
                70.0,
                drive,
                15.0,
                35.0,
            )
        }
    if use == "pulls":
        first, last = (f"{60.0 * share * sheet.engine.red_line:.0f} rpm" for share in (0.40, 0.96))
        gear = min(3, car.gears)
        drive = {
            "kind": "pulls",
            "gear": gear,
            "from_speed": first,
            "to_speed": last,
            "rest": "45 s",
            "rest_speed": "70 km/h",
            "count": 10,
        }
        return {
            "ten_pulls": duty(
                f"Ten pulls in gear {gear}", "street", air(day - 5.0), False, 70.0, drive, 10.0, 20.0
            )
        }
    if use == "track":
        return {
            "track_session": duty(
                "Twenty minutes of track, no cool-down",
                "track",
                air(day - 5.0),
                False,
                60.0,
                {"kind": "lap", "duration": "20 min", "lap": LAP},
                15.0,
                40.0,
            )
        }
    if use == "cold":
        drive = {"kind": "cruise", "speed": "100 km/h", "duration": "25 min"}
        return {
            "cold_start": duty(
                "Cold start at −15 °C, then 100 km/h",
                "street",
                air(258.15, sun=0.0),
                False,
                0.0,
                drive,
                10.0,
                20.0,
                cold="true",
            )
        }
    return {
        "dyno": duty(
            "Five dyno pulls before a weak fan",
            "track",
            air(303.15, sun=0.0),
            False,
            20.0,
            dyno(sheet),
            60.0,
            30.0,
        )
    }


def dyno(sheet: Sheet) -> Tree:
    """Five pulls of 12 s on rollers, 60 s of rest between, in the air of a fan that blows at 20 km/h."""
    kit = sheet.kit
    full = kit.boost_from or 0.5 * kit.power_speed
    points: list[tuple[float, float, float]] = []
    for k in range(5):
        begin = 72.0 * k
        points += [
            (begin, 0.5 * full, 3e3),
            (begin + 1.0, full, 0.8 * kit.power * full / kit.power_speed),
            (begin + 12.0, kit.power_speed, 0.97 * kit.power),
            (begin + 13.0, 0.5 * full, 3e3),
        ]
    points.append((360.0, 0.5 * full, 3e3))
    return {
        "kind": "trace",
        "time": [f"{t:g} s" for t, _, _ in points],
        "speed": ["20 km/h"] * len(points),
        "engine_speed": [f"{60.0 * N:.0f} rpm" for _, N, _ in points],
        "power": [f"{P / 1e3:.4g} kW" for _, _, P in points],
    }
