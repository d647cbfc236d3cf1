"""Cooling and bay air of a random car: zones, passages, fan, and the cores that air passes."""

from typing import Any

from pen import Pen, text, word
from sketch import Sketch

Section = dict[str, Any]


def air(pen: Pen, s: Sketch) -> Section:
    """From the grille through the radiator into the bay and out of it."""
    zones: Section = {name: zone(pen, 15, 90, (0.06, 0.2)) for name in s.bays}
    passages: Section = {}
    if s.front:
        zones["front"] = zone(pen, 10, 45, (0.12, 0.3))
        for name in ("grille", "lower_grille")[: pen.whole(1, 2)]:
            passages[name] = opening(pen, s, "outside", "front", 4.0, 9.0, (0.5, 0.95))
        passages["gap"] = {**opening(pen, s, "front", s.bays[0], 0.2, 2.0), "kind": "gap"}
    behind = s.bays[0]
    if s.shroud:
        zones["shroud"], behind = zone(pen, 8, 20, (0.15, 0.3)), "shroud"
        passages["flaps"] = {
            **opening(pen, s, "shroud", s.bays[0], 2.0, 6.0),
            "one_way": word(not s.fan or pen.flip()),
        }
    passages["radiator"] = core_passage(pen, s, "radiator", behind)
    _through_the_bay(pen, s, passages)
    if s.airbox:
        zones["airbox"] = zone(pen, 3, 12, (0.015, 0.03))
        passages["snorkel"] = opening(pen, s, s.ducted, "airbox", 0.3, 0.6, (0.0, 0.5))
        passages["lid_gap"] = {**opening(pen, s, s.bays[0], "airbox", 0.005, 0.5), "kind": "gap"}
    if s.air_conditioning:
        passages["condenser"] = core_passage(pen, s, "condenser", s.bays[0])
    if s.oil_cooler == "to air":
        passages["oil_cooler"] = core_passage(pen, s, "oil_cooler", s.bays[0])
    section: Section = {"zones": zones, "passages": passages}
    if s.fan:
        passages["fan"] = {"from": "shroud", "to": s.bays[0], "kind": "fan", "height": "0.4 m"}
        section["fan"] = fan(pen, s)
    return section


def zone(pen: Pen, low: float, high: float, area: tuple[float, float]) -> Section:
    """A space of `low` to `high` litres."""
    return {
        "volume": pen.amount(low, high, "L"),
        "flow_area": pen.amount(*area, "m2"),
        "height": pen.amount(0.3, 0.8, "m"),
    }


def opening(
    pen: Pen,
    s: Sketch,
    first: str,
    second: str,
    low: float,
    high: float,
    pressure: tuple[float, float] | None = None,
) -> Section:
    """A way for air of `low` to `high` cm2 a kilowatt."""
    way: Section = {
        "from": first,
        "to": second,
        "area": pen.felt(low * s.power, high * s.power, "cm2"),
        "loss": pen.amount(1.4, 3.0, ""),
        "height": pen.amount(0.2, 0.9, "m"),
    }
    if pressure is not None:
        way["pressure_coefficient"] = pen.amount(*pressure, "")
    return way


def core_passage(pen: Pen, s: Sketch, core: str, to: str) -> Section:
    """Air from the front through a whole core."""
    way = {"from": s.ducted, "to": to, "core": core, "height": pen.amount(0.25, 0.6, "m")}
    return way if s.front else {**way, "pressure_coefficient": pen.amount(0.3, 0.9, "")}


def _through_the_bay(pen: Pen, s: Sketch, passages: Section) -> None:
    """A way from zone to zone, further ones as they come, and ways out."""
    for first, second in zip(s.bays, s.bays[1:], strict=False):
        passages[f"{first}_to_{second}"] = opening(pen, s, first, second, 1.5, 6.0)
    if len(s.bays) > 2 and pen.flip():
        passages["across"] = opening(pen, s, s.bays[0], s.bays[-1], 0.5, 3.0)
    passages["under"] = opening(pen, s, s.last_bay, "outside", 4.0, 10.0, (-0.25, 0.0))
    for name in s.bays[:-1]:
        if pen.flip():
            passages[f"out_of_{name}"] = opening(pen, s, name, "outside", 0.3, 4.0, (-0.3, 0.2))
    if pen.flip():
        passages["lid_edge"] = {
            **opening(pen, s, s.last_bay, "outside", 0.2, 1.0, (-0.2, 0.3)),
            "kind": "gap",
            "height": "0.9 m",
        }


def fan(pen: Pen, s: Sketch) -> Section:
    """A fan of 4 to 10 litres a second for each kilowatt."""
    on = pen.whole(88, 100)
    return {
        "passage": "fan",
        "pressure_at_rest": pen.amount(120, 400, "Pa"),
        "free_flow": pen.amount(4e-3 * s.power, 1e-2 * s.power, "m3/s"),
        "on_temperature": f"{on} degC",
        "high_temperature": f"{on + pen.whole(2, 8)} degC",
        "sensor": "hot",
        "with_air_conditioning": word(pen.flip()),
        "run_on": f"{pen.pick((0, 60, 240))} s",
    }


def cores(pen: Pen, s: Sketch) -> Section:
    """The radiator by its rating or its dimensions; condenser and oil cooler where there are any."""
    found: Section = {"radiator": {"kind": "radiator", "line": "radiator", "mass": pen.amount(2, 9, "kg")}}
    if pen.flip():
        found["radiator"]["geometry"] = tube_and_fin(pen, s.power)
    else:
        found["radiator"]["rated"] = rated(pen, s, 8.0, 15.0, hot=0.02, cold=0.009)
    if s.air_conditioning:
        found["condenser"] = {
            "kind": "condenser",
            "mass": pen.amount(1.5, 3, "kg"),
            "heat": pen.amount(2, 7, "kW"),
            "geometry": tube_and_fin(pen, s.power, deep=16),
        }
    if s.oil_cooler != "none":
        found["oil_cooler"] = oil_cooler(pen, s)
    return found


def oil_cooler(pen: Pen, s: Sketch) -> Section:
    """Oil to the engine's water, or to air, by a rated point."""
    core: Section = {"kind": "oil_cooler", "line": "oil_cooler", "mass": pen.amount(0.5, 2, "kg")}
    if s.oil_cooler == "to water":
        core["coolant_line"] = "lower_hose"
        core["rated"] = {
            "hot_flow": "0.25 kg/s",
            "cold_flow": "1.5 kg/s",
            "heat_per_kelvin": pen.felt(80, 400, "W/K"),
            "hot_loss": "40 kPa",
            "liquid_loss": "2 kPa",
        }
    else:
        core["rated"] = {**rated(pen, s, 0.5, 2.0, hot=0.002, cold=0.002), "hot_loss": "40 kPa"}
    return core


def rated(pen: Pen, s: Sketch, low: float, high: float, *, hot: float, cold: float) -> Section:
    """A rated point of `low` to `high` W/K and flows of `hot` and `cold` kg/s, each a kilowatt."""
    return {
        "hot_flow": text(hot * s.power, "kg/s"),
        "cold_flow": text(cold * s.power, "kg/s"),
        "heat_per_kelvin": pen.felt(
            min(low, 0.6e3 * cold) * s.power, min(high, 0.85e3 * min(cold, 3.5 * hot)) * s.power, "W/K"
        ),
        "hot_share": pen.amount(20, 60, "%"),
        "face_area": text(0.18 * cold * s.power, "m2"),
        "air_loss": pen.amount(50, 250, "Pa"),
    }


def tube_and_fin(pen: Pen, power: float, deep: float = 0.0) -> Section:
    """Flat tubes and louvred fins, larger for more power."""
    return {
        "type": "tube_and_fin",
        "width": text(45.0 * power**0.5 + 150.0, "mm"),
        "height": pen.amount(220, 480, "mm"),
        "depth": f"{deep or pen.whole(16, 50)} mm",
        "tube_height": "1.8 mm",
        "fin_height": "8 mm",
        "fin_pitch": pen.amount(1.1, 2.0, "mm"),
        "louver_pitch": "1.2 mm",
        "louver_length": "6.8 mm",
        "louver_angle": f"{pen.whole(22, 30)} deg",
        "fouling_factor": pen.felt(0.75, 1.0, ""),
    }
