"""What a random kit changes on its car, and the measures that may be fitted."""

from air_side import Section, rated, tube_and_fin
from bay_parts import cover, link, metal
from engine_side import manifold, pipe
from liquid_side import charge_water, turbo_water
from pen import Pen, text
from sketch import Sketch


def changes(pen: Pen, s: Sketch) -> Section:
    """The turbo with its oil, water and charge air; nothing without a turbo."""
    if not s.turbo:
        return {}
    made: Section = {
        "engine": {
            "rated_power": text(s.power, "kW"),
            "boost_from": f"{s.speed // 2} rpm",
            **(
                {"manifold_pressure": text(1.01 + s.boost, "bar absolute")}
                if pen.flip()
                else {"boost": text(s.boost, "bar gauge")}
            ),
        },
        "turbo": turbo(pen, s),
        "exhaust": {"manifold": manifold(pen, s, turbine=True)},
        "charge": {},
        "oil": {"lines": {"turbo_oil": turbo_oil(pen)}},
        "parts": turbo_parts(pen, s),
        "links": {
            "manifold_to_turbine": {"from": "manifold", "to": "turbine", "kind": "contact", "area": "20 cm2"},
            "turbine_to_compressor": link(pen, "turbine", "compressor"),
        },
    }
    if s.water:
        made["coolant"] = turbo_water(pen, s)
    if s.cooler != "none" or pen.flip():
        made["charge"] |= {
            "hot_pipe": pipe(pen, s, "hot_pipe", 4.2),
            "cold_pipe": pipe(pen, s, "cold_pipe", 4.6),
        }
        for name in ("hot_pipe", "cold_pipe"):
            made["parts"][name] = metal(
                pen, 0.4, 1.5, "aluminium alloy", 0.05, 0.2, pen.pick(s.bays), "55 mm"
            )
    if s.cooler != "none":
        cooler(pen, s, made)
    return made


def turbo(pen: Pen, s: Sketch) -> Section:
    """A turbine that swallows 0.02 to 0.035 cm2 a kilowatt; compressor by one efficiency."""
    made = {
        "part_turbine": "turbine",
        "part_bearing": "bearing",
        "part_compressor": "compressor",
        "turbine_efficiency": pen.felt(55, 72, "%"),
        "swallowing_area": text(s.power * pen.number(0.02, 0.035), "cm2"),
        "rotor_inertia": "2e-5 kg*m2",
        "turbine_wetted_area": pen.amount(0.02, 0.06, "m2"),
        "turbine_bore": text(3.2 * s.power**0.5, "mm"),
        "compressor_wetted_area": pen.amount(0.01, 0.05, "m2"),
        "neck_conductance": pen.felt(1, 6, "W/K"),
        "backplate_conductance": pen.felt(1, 8, "W/K"),
        "oil_conductance": pen.felt(4, 20, "W/K"),
        "oil_shaft_share": pen.amount(60, 100, "%"),
        "oil_line": "turbo_oil",
    }
    if pen.flip():
        made["compressor_map"] = compressor_map(pen, s)
    else:
        made["compressor_efficiency"] = pen.felt(60, 76, "%")
    return made | ({"water_line": "turbo_water", "water_area": pen.amount(30, 100, "cm2")} if s.water else {})


def compressor_map(pen: Pen, s: Sketch) -> Section:
    """Four speed lines that hold the full load: pressure rise with speed squared, falling towards choke."""
    flow, ratio = 1.5e-3 * s.power, 1.0 + 1.5 * s.boost + 0.5  # kg/s and total to total at the fastest line
    lines = []
    for share in (0.4, 0.6, 0.8, 1.0):
        points = [(x * share, 1.0 - 0.35 * (x - 0.3) ** 2) for x in (0.3, 0.55, 0.8, 1.0)]
        lines.append(
            {
                "speed": f"{round(160e3 * share)} rpm",
                "flow": [text(flow * x, "kg/s") for x, _ in points],
                "pressure_ratio": [text(1.0 + (ratio - 1.0) * share**2 * y) for _, y in points],
                "efficiency": [text(e, "%") for e in (64, 72, 70, 58)],
            }
        )
    reference = {
        "reference_temperature": f"{pen.whole(15, 30)} degC",
        "reference_pressure": "100 kPa absolute",
    }
    return {**reference, "lines": lines}


def turbo_oil(pen: Pen) -> Section:
    """Oil through the bearing housing, back to the sump."""
    return {
        "from": "gallery",
        "to": "sump",
        "bore": pen.amount(1.4, 2.6, "mm"),
        "length": "0.6 m",
        "volume": "0.06 L",
        "limit": {"continuous": "160 degC"},
    }


def turbo_parts(pen: Pen, s: Sketch) -> Section:
    """The three housings."""
    bay, iron = s.last_bay, "austenitic ductile iron D5S"
    parts = {
        "turbine": metal(pen, 2, 7, iron, 0.03, 0.08, bay, "110 mm"),
        "bearing": metal(pen, 1, 3, "grey cast iron", 0.01, 0.03, bay, "70 mm"),
        "compressor": metal(pen, 1, 3, "cast aluminium A356", 0.03, 0.08, bay, "120 mm"),
    }
    parts["bearing"]["limit"] = {"continuous": "220 degC"}
    if pen.flip():
        parts["turbine"]["lining"] = {"thickness": pen.amount(0.1, 0.6, "mm")}
    return parts


def cooler(pen: Pen, s: Sketch, made: Section) -> None:
    """The charge cooler of the kind sketched, and the air or liquid that reaches it."""
    made["charge"]["cooler"] = "charge_cooler"
    core: Section = {"kind": "charge_cooler", "mass": pen.amount(1.5, 6, "kg")}
    made["cores"] = {"charge_cooler": core}
    passages: Section = made.setdefault("air", {}).setdefault("passages", {})
    front = {"from": s.ducted, "to": s.bays[0], "height": "0.35 m"}
    if s.cooler.startswith("to air"):
        passages["charge_cooler"] = {**front, "core": "charge_cooler"}
        if s.cooler.endswith("rated"):
            core["rated"] = {
                **rated(pen, s, 0.4, 0.8, hot=0.0011, cold=0.004),
                "hot_loss": pen.amount(2, 12, "kPa"),
            }
        elif s.cooler.endswith("plate"):
            core["geometry"] = bar_and_plate(pen, s)
        else:
            core["geometry"] = {**tube_and_fin(pen, s.power), "tube_height": "6 mm", "tube_fin_pitch": "3 mm"}
        return
    core["coolant_line"] = "cooler" if s.circuit else "lower_hose"
    if pen.flip():
        core["geometry"] = plates(pen, s)
    else:
        core["rated"] = {
            "hot_flow": text(0.0011 * s.power, "kg/s"),
            "cold_flow": "0.4 kg/s",
            "heat_per_kelvin": text(s.power * pen.number(0.5, 0.9), "W/K"),
            "hot_loss": pen.amount(2, 12, "kPa"),
        }
    if s.circuit:
        core["circuit"] = "low"
        made["circuits"] = {"low": charge_water(pen, s)}
        made["cores"]["low_radiator"] = {
            "kind": "radiator",
            "circuit": "low",
            "line": "radiator",
            "mass": "2.5 kg",
            "geometry": {**tube_and_fin(pen, s.power, deep=26), "passes": "2"},
        }
        passages["low_radiator"] = {**front, "core": "low_radiator"}


def bar_and_plate(pen: Pen, s: Sketch) -> Section:
    """Plates and offset fins, larger for more power."""
    return {
        "type": "bar_and_plate",
        "width": text(40.0 * s.power**0.5, "mm"),
        "height": pen.amount(120, 300, "mm"),
        "depth": pen.amount(50, 100, "mm"),
        "charge_channel": "6.4 mm",
        "charge_fin_pitch": pen.amount(1.8, 3, "mm"),
        "air_channel": "9 mm",
        "air_fin_pitch": pen.amount(1.6, 3, "mm"),
    }


def plates(pen: Pen, s: Sketch) -> Section:
    """Plates between charge air and liquid."""
    return {
        "type": "plates_to_liquid",
        "width": text(15.0 * s.power**0.5, "mm"),
        "height": pen.amount(80, 140, "mm"),
        "depth": pen.amount(70, 120, "mm"),
        "charge_channel": "8 mm",
        "charge_fin_pitch": pen.amount(1.6, 3, "mm"),
        "liquid_channel": "2 mm",
        "liquid_passes": str(pen.whole(1, 2)),
    }


def measures(pen: Pen, s: Sketch, parts: Section) -> Section:
    """Measures that fit this kit, each fitted or not; no two change the same value."""
    hot = "turbine" if s.turbo else "manifold"
    found: Section = {
        "blanket": {"cost": "58 EUR", "set": {f"parts.{hot}.cover": cover(pen, "blanket")}},
        "higher_cap": {"set": {"coolant.cap_pressure": "1.7 bar gauge"}},
        "vent": {
            "add": {
                "air": {
                    "passages": {
                        "vent": {
                            "from": s.last_bay,
                            "to": "outside",
                            "kind": "vent",
                            "area": pen.amount(50, 300, "cm2"),
                            "pressure_coefficient": "-0.2",
                            "height": "0.88 m",
                        }
                    }
                }
            }
        },
        "shield": {
            "mass": "0.8 kg",
            "add": {
                "parts": {"shield": metal(pen, 0.4, 1.2, "stainless steel", 0.05, 0.2, s.last_bay, "0.2 m")},
                "links": {
                    "to_shield": {
                        "from": hot,
                        "to": "shield",
                        "kind": "facing",
                        "area": "150 cm2",
                        "distance": "40 mm",
                    }
                },
            },
            "remove": [f"links.manifold_to_{name}" for name in ("brake_line",) if name in parts],
        },
        "polished_shield": {"needs": ["shield"], "set": {"parts.shield.emissivity": "0.1"}},
    }
    if s.fan:
        found["fan_runs_on"] = {"set": {"air.fan.run_on": "5 min"}}
    if s.airbox:
        found["lid"] = {"set": {"air.passages.lid_gap.area": "0.5 cm2"}, "excludes": ["baffle"]}
        found["baffle"] = {"set": {"air.passages.lid_gap.loss": "6"}}
    if s.front:
        found["seals"] = {"set": {"air.passages.gap.area": "10 cm2"}}
    if s.water:
        lines = [f"coolant.lines.{name}" for name in ("turbo_feed", "turbo_water", "turbo_return")]
        ends = [f"coolant.junctions.{name}" for name in ("turbo_in", "turbo_out")]
        found["no_turbo_water"] = {"remove": ["turbo.water_line", *lines, *ends]}
    return {name: fitted(pen, name, entry, found) for name, entry in found.items() if entry is not None}


def fitted(pen: Pen, name: str, entry: Section, found: Section) -> Section:
    """The entry, marked `fitted` or not; none that would need or exclude another."""
    alone = "needs" not in entry and name not in ("lid", "baffle")
    entry = {key: value for key, value in entry.items() if value}
    return entry | ({"fitted": "true"} if alone and pen.flip() else {})
