"""Vehicle, engine, exhaust and charge path of a random car."""

from math import pi
from typing import Any

from pen import Pen, text, word
from sketch import Sketch

Section = dict[str, Any]


def vehicle(pen: Pen, s: Sketch) -> Section:
    """A car that its engine can move: 6 to 16 kg a kilowatt."""
    first, top, gears = pen.number(3.2, 4.4), pen.number(0.75, 1.0), pen.whole(4, 6)
    ratios = [first * (top / first) ** (k / (gears - 1)) for k in range(gears)]
    return {
        "mass": text(s.bare_power * pen.number(6.0, 16.0), "kg"),
        "drag_area": pen.amount(0.5, 1.1, "m2"),
        "wheel_radius": pen.amount(0.27, 0.36, "m"),
        "gear_ratios": [text(ratio) for ratio in ratios],
        "final_drive": pen.amount(3.4, 4.4, ""),
    }


def engine(pen: Pen, s: Sketch) -> Section:
    """The engine as it left the factory; bore and stroke give its displacement."""
    slender = pen.number(0.9, 1.15)
    bore = (4.0 * s.litres * 1e-3 / (pi * s.cylinders * slender)) ** (1.0 / 3.0)
    filled = pen.number(0.8, 0.95)
    return {
        "displacement": text(s.litres, "L"),
        "cylinders": str(s.cylinders),
        "bore": text(1e3 * bore, "mm"),
        "stroke": text(1e3 * bore * slender, "mm"),
        "rated_power": text(s.bare_power, "kW"),
        "rated_speed": f"{s.speed} rpm",
        "max_speed": f"{s.speed + 500} rpm",
        "idle_power": pen.amount(0.8, 4.0, "kW"),
        "friction_factor": pen.felt(0.5, 0.9, ""),
        "coolant_heat_factor": pen.felt(0.85, 1.2, ""),
        "head_share": pen.amount(40, 70, "%"),
        "volumetric_efficiency": {
            "speed": ["800 rpm", f"{s.speed // 2} rpm", f"{s.speed + 500} rpm"],
            "value": [text(0.9 * filled), text(filled), text(0.95 * filled)],
            "spread": "3 %",
        },
        "block": "block",
        "head": "head",
    }


def exhaust(pen: Pen, s: Sketch) -> Section:
    """Manifold; pipe, catalyst and tail as they come."""
    bore = 4.2 * s.power**0.5  # mm
    pieces: Section = {"manifold": manifold(pen, s, turbine=False)}
    if pen.flip():
        pieces["downpipe"] = {
            "part": "downpipe",
            "bore": text(bore, "mm"),
            "length": pen.amount(300, 900, "mm"),
        }
    if pen.flip():
        pieces["catalyst"] = {
            "part": "catalyst",
            "wetted_area": pen.amount(0.5, 2.0, "m2"),
            "bore": text(2.0 * bore, "mm"),
            "length": pen.amount(90, 180, "mm"),
        }
    if pen.flip():
        pieces["tail"] = {
            "part": "tail",
            "bore": text(bore, "mm"),
            "length": pen.amount(1, 4, "m"),
            "silencer": word(pen.flip()),
        }
    return pieces


def manifold(pen: Pen, s: Sketch, *, turbine: bool) -> Section:
    """The manifold, with the turbine behind it or not."""
    return {
        "part": "manifold",
        "bore": text(3.4 * s.power**0.5, "mm"),
        "length": pen.amount(150, 450, "mm"),
        "runners": str(s.cylinders),
        "correlation_factor": pen.felt(1.0, 2.0, ""),
        "turbine": word(turbine),
    }


def charge(pen: Pen, s: Sketch) -> Section:
    """Intake of the car: filter, perhaps a pipe and a throttle, plenum."""
    flow = 1.1e-3 * s.power  # kg/s
    section: Section = {
        "draws_from": "airbox" if s.airbox else pen.pick(("outside", s.bays[0])),
        "filter": {"pressure_loss": pen.amount(0.3, 2.0, "kPa"), "at_flow": text(flow, "kg/s")},
        "plenum": {
            "part": "plenum",
            "volume": text(1.6 * s.litres, "L"),
            "wetted_area": pen.amount(600, 1800, "cm2"),
            "limit": {"continuous": "60 degC"},
        },
    }
    if pen.flip():
        section["inlet_pipe"] = pipe(pen, s, "inlet_pipe", 5.2)
    if pen.flip():
        section["throttle"] = {"bore": text(4.8 * s.power**0.5, "mm")}
    return section


def pipe(pen: Pen, s: Sketch, part: str, wide: float) -> Section:
    """A charge pipe of `wide` mm times the root of the power in kW."""
    return {
        "part": part,
        "bore": text(wide * s.power**0.5, "mm"),
        "length": pen.amount(150, 1200, "mm"),
        "bends": str(pen.whole(1, 4)),
    }
