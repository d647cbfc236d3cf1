"""Coolant and oil of a random car."""

from typing import Any

from pen import Pen, text, word
from sketch import Sketch

Section = dict[str, Any]


def coolant(pen: Pen, s: Sketch) -> Section:
    """Pump, engine, radiator; bypass, heater and tank as they come. Flow falls back through the cold side."""
    bore = text(2.0 * s.power**0.5 + 10.0, "mm")
    top: Section = {
        "from": "hot",
        "to": "top",
        "bore": bore,
        "length": "0.5 m",
        "loss": "2",
        "part": "top_hose",
    }
    if s.thermostat:
        opens = pen.whole(76, 90)
        top |= {
            "kind": "thermostat",
            "opens": f"{opens} degC",
            "fully_open": f"{opens + pen.whole(6, 14)} degC",
            "leak": pen.amount(0.2, 2, "%"),
        }
    lines: Section = {
        "pump": {
            "from": "cold",
            "to": "jacket",
            "kind": "pump",
            "head": pen.amount(0.5, 1.6, "bar"),
            "head_speed": f"{s.speed} rpm",
            "free_flow": text(s.power * pen.number(1.3, 2.4), "L/min"),
        },
        "block": {**jacket(pen, s, "jacket", "head_in", bore), "metal": "block"},
        "head": {**jacket(pen, s, "head_in", "hot", bore), "metal": "head"},
        "upper_hose": top,
        "radiator": {
            "from": "top",
            "to": "bottom",
            "bore": bore,
            "volume": pen.amount(1, 3, "L"),
            "core": "radiator",
        },
        "lower_hose": {"from": "bottom", "to": "cold", "bore": bore, "length": "0.6 m", "part": "lower_hose"},
        "bypass": {
            "from": "hot",
            "to": "cold",
            "bore": pen.amount(8, 14, "mm"),
            "length": "0.4 m",
            "loss": "4",
        },
    }
    if s.heater:
        lines["heater_feed"] = {
            "from": "hot",
            "to": "heater",
            "bore": "14 mm",
            "length": "0.7 m",
            "loss": "5",
        }
        lines["heater_return"] = {
            "from": "heater",
            "to": "cold",
            "bore": "14 mm",
            "length": "0.7 m",
            "heat_loss": pen.amount(2, 60, "W/K"),
        }
    junctions: Section = {
        "cold": {"height": pen.amount(0.25, 0.5, "m"), "volume": "0.3 L"},
        "hot": {"height": pen.amount(0.5, 0.75, "m"), "volume": "0.4 L", "limit": {"continuous": "118 degC"}},
        "top": {"height": pen.amount(0.5, 0.7, "m"), "volume": "0.5 L"},
        "bottom": {"height": pen.amount(0.2, 0.4, "m"), "volume": "0.5 L"},
    }
    if s.tank:
        junctions["tank"] = {"height": "0.8 m", "volume": pen.amount(0.6, 2, "L")}
        lines["vent"] = {"from": "top", "to": "tank", "bore": "5 mm", "length": "0.6 m"}
        lines["make_up"] = {"from": "tank", "to": "cold", "bore": "16 mm", "length": "0.7 m", "loss": "2"}
    return {
        "glycol": pen.amount(30, 60, "%"),
        "cap_pressure": pen.amount(0.7, 1.6, "bar gauge"),
        "fixed_pressure": "tank" if s.tank else "top",
        "junctions": junctions,
        "lines": lines,
        "small_junctions": {"height": "0.5 m"},
    }


def jacket(pen: Pen, s: Sketch, first: str, second: str, bore: str) -> Section:
    """A water jacket."""
    return {
        "from": first,
        "to": second,
        "bore": bore,
        "loss": pen.amount(2, 8, ""),
        "volume": pen.amount(0.6, 2.5, "L"),
        "wetted_area": text(s.litres * pen.number(0.12, 0.22), "m2"),
    }


def oil(pen: Pen, s: Sketch) -> Section:
    """Sump, pump, bearings; head and cooler as they come."""
    lines: Section = {
        "pump": {
            "from": "sump",
            "to": "gallery",
            "kind": "displacement_pump",
            "displacement": text(s.litres * pen.number(4, 7), "cm3"),
            "relief": pen.amount(3, 6, "bar"),
        },
        "bearings": {
            "from": "gallery",
            "to": "sump",
            "bore": text(3.1 * s.litres**0.5, "mm"),
            "length": "0.3 m",
            "volume": "0.3 L",
            "heat": "engine",
            "metal": "block",
            "wetted_area": "0.1 m2",
        },
    }
    if pen.flip():
        lines["head_oil"] = {
            "from": "gallery",
            "to": "sump",
            "bore": "3.6 mm",
            "length": "0.5 m",
            "volume": "0.3 L",
            "metal": "head",
            "wetted_area": "0.08 m2",
        }
    if s.oil_cooler != "none":
        lines["oil_cooler"] = {
            "from": "gallery",
            "to": "sump",
            "bore": pen.amount(4, 8, "mm"),
            "length": "0.6 m",
            "volume": "0.3 L",
            "core": "oil_cooler",
        }
        if pen.flip():
            lines["oil_cooler"] |= {
                "kind": "thermostat",
                "opens": "90 degC",
                "fully_open": "105 degC",
                "leak": "2 %",
            }
    sump = {
        "height": "0.2 m",
        "volume": text(2.2 * s.litres, "L"),
        "part": "oil_pan",
        "wetted_area": "0.15 m2",
    }
    return {
        "grade": pen.pick(("5W-30", "10W-40", "0W-20")),
        "fixed_pressure": "sump",
        "junctions": {"sump": sump, "gallery": {"height": "0.45 m", "volume": "0.3 L"}},
        "lines": lines,
    }


def charge_water(pen: Pen, s: Sketch) -> Section:
    """The circuit of a liquid-cooled charge cooler: pump, cooler, low-temperature radiator."""
    bore = pen.amount(16, 24, "mm")
    lines: Section = {
        "pump": {
            "from": "pump_in",
            "to": "cooler_in",
            "kind": "electric_pump",
            "head": pen.amount(0.3, 1, "bar"),
            "free_flow": text(s.power * pen.number(0.15, 0.4), "L/min"),
            "while_driving": "true",
            "run_on": f"{pen.pick((0, 1, 5))} min",
            "bore": bore,
        },
        "cooler": {"from": "cooler_in", "to": "cooler_out", "bore": bore, "volume": "0.4 L"},
        "radiator": {
            "from": "cooler_out",
            "to": "pump_in",
            "bore": bore,
            "volume": "0.8 L",
            "core": "low_radiator",
        },
    }
    return {
        "glycol": pen.amount(30, 50, "%"),
        "cap_pressure": "0.5 bar gauge",
        "fixed_pressure": "cooler_out",
        "junctions": {
            "pump_in": {"height": "0.4 m", "volume": "0.1 L"},
            "cooler_in": {"height": "0.5 m", "volume": "0.1 L"},
            "cooler_out": {"height": "0.7 m", "volume": pen.amount(0.1, 1, "L")},
        },
        "lines": lines,
    }


def turbo_water(pen: Pen, s: Sketch) -> Section:
    """Water through the bearing housing, forced by the engine's pump or by one of its own."""
    feed: Section = {
        "from": "head_in",
        "to": "turbo_in",
        "bore": pen.amount(7, 12, "mm"),
        "length": "0.5 m",
        "loss": "4",
    }
    if s.electric_pump:
        feed |= {
            "kind": "electric_pump",
            "head": pen.amount(0.05, 0.3, "bar"),
            "free_flow": pen.amount(5, 15, "L/min"),
            "while_driving": word(pen.flip()),
            "run_on": f"{pen.pick((0, 2, 10))} min",
        }
    return {
        "junctions": {
            "turbo_in": {"height": pen.amount(0.35, 0.55, "m"), "volume": "0.02 L"},
            "turbo_out": {
                "height": pen.amount(0.4, 0.6, "m"),
                "volume": "0.02 L",
                "limit": {"boil_margin": "3 K"},
            },
        },
        "lines": {
            "turbo_feed": feed,
            "turbo_water": {"from": "turbo_in", "to": "turbo_out", "bore": "9 mm", "volume": "0.06 L"},
            "turbo_return": {
                "from": "turbo_out",
                "to": pen.pick(("cold", "top")),
                "bore": pen.amount(7, 12, "mm"),
                "length": "0.7 m",
                "loss": "4",
            },
        },
    }
