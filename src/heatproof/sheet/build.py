"""A whole project from a sheet: car.yaml, kit.yaml and the duties, every value that nobody gave marked with its rule."""

import math
import tomllib
from dataclasses import dataclass, field
from functools import cache
from typing import Any

from heatproof.kit.write import flow
from heatproof.sheet import rules as R
from heatproof.sheet.catalogue import catalogue, made, part_record
from heatproof.sheet.duties import duty_files
from heatproof.sheet.questions import Sheet

Tree = dict[str, Any]
TURBO_PARTS = ("turbine_housing", "exhaust_manifold", "downpipe", "catalyst")
NEAREST_LOOK, FURTHEST_LOOK = 0.10, 0.30  # m, of distances read off a layout's places
TURBINE_SIZE = 0.11  # m across the housing of a wheel of 50 mm
HOT_RADIUS = {"turbine_housing": 0.06, "exhaust_manifold": 0.04, "downpipe": 0.03, "catalyst": 0.06}  # m
HALF_HIDDEN = 0.5  # of the inlet pipe, whose near end is behind the compressor; two invented cars
HOT_LENGTH = {"turbine_housing": 0.0, "exhaust_manifold": 0.45, "downpipe": 0.6, "catalyst": 0.26}  # m
METALS = {
    "cast_iron": ("Si-Mo ductile iron", {"continuous": "835 degC", "source": "L051", "kind": "metal"}),
    "austenitic_iron": (
        "austenitic ductile iron D5S",
        {"continuous": "880 degC", "source": "L053 less 70 K; common practice, no source", "kind": "metal"},
    ),
    "stainless": ("stainless steel", {"continuous": "850 degC", "source": "L061", "kind": "metal"}),
    "cast_steel": (
        "stainless steel",
        {"continuous": "980 degC", "source": "L054 less 70 K; common practice, no source", "kind": "metal"},
    ),
}
PIPE_LIMIT = {"continuous": "850 degC", "short": "925 degC", "short_time": "10 min", "source": "L061"}


@cache
def layouts() -> dict[str, Tree]:
    """Layouts by name, each with what it takes from another filled in."""
    raw = tomllib.loads((R.DATA / "layouts.toml").read_text(encoding="utf-8"))
    whole: dict[str, Tree] = {}
    for name, layout in raw.items():
        base = whole.get(layout.get("like", ""), {})
        merged = base | layout
        for table in ("zones", "passages", "places", "stands"):
            entries = base.get(table, {}) | layout.get(table, {})
            merged[table] = {
                key: value
                for key, value in entries.items()
                if not (isinstance(value, dict) and value.get("remove"))
            }
        whole[name] = merged
    return whole


def mm(value: float) -> str:
    """Metres as mm."""
    return f"{value * 1e3:.4g} mm"


def m2(value: float) -> str:
    """m2, three digits."""
    return f"{value:.3g} m2"


def cm2(value: float) -> str:
    """m2 as cm2."""
    return f"{value * 1e4:.3g} cm2"


def litres(value: float) -> str:
    """m3 as L."""
    return f"{value * 1e3:.3g} L"


def metres(value: float) -> str:
    """Metres, to the millimetre."""
    return f"{value:.3f} m"


def rpm(value: float) -> str:
    """rev/s as rpm."""
    return f"{value * 60.0:.0f} rpm"


def percent(value: float) -> str:
    """A share in percent."""
    return f"{value * 100.0:.4g} %"


def celsius(value: float) -> str:
    """K as °C."""
    return f"{value - 273.15:.4g} degC"


@dataclass
class Builder:
    """A sheet being turned into a project. V: displacement in litres, v23 its power 2/3."""

    sheet: Sheet
    layout: Tree = field(init=False)
    V: float = field(init=False)

    def __post_init__(self) -> None:
        self.layout = layouts()[self.sheet.layout]
        self.V = self.sheet.engine.displacement * 1e3

    @property
    def v23(self) -> float:
        """Litres of displacement to the power 2/3: how surfaces grow."""
        return float(self.V ** (2.0 / 3.0))

    def height(self, share: float) -> str:
        """A height in the bay above the road."""
        return metres(self.sheet.bay.floor + share * self.sheet.bay.height)

    @property
    def faces(self) -> dict[str, float]:
        """m2 of the box's faces across x, y and z."""
        bay = self.sheet.bay
        return {"x": bay.width * bay.height, "y": bay.length * bay.height, "z": bay.length * bay.width}

    @property
    def radiator_face(self) -> float:
        """m2 of the radiator's core."""
        return self.sheet.cooling.radiator_width * self.sheet.cooling.radiator_height

    @property
    def has_condenser(self) -> bool:
        """Whether there is air conditioning."""
        return self.sheet.cooling.condenser_width > 0.0 and self.sheet.cooling.condenser_height > 0.0

    @property
    def oil_volume(self) -> float:
        """m3 of oil in all."""
        return self.sheet.cooling.oil or 2.6e-3 * self.V

    @property
    def wheel(self) -> float:
        """Turbine wheel over 50 mm."""
        return self.sheet.kit.turbine_wheel / 0.050

    # --- car ------------------------------------------------------------------------------------------------
    def car(self) -> Tree:
        """car.yaml."""
        return {
            "format": "heatproof car 1",
            "name": self.sheet.name,
            "note": "Made by heatproof new from a sheet; every value whose source begins with 'class' was made by a rule",
            "vehicle": self.vehicle(),
            "engine": self.engine(),
            "exhaust": self.exhaust(),
            "charge": self.charge(),
            "air": self.air(),
            "cores": self.cores(),
            "coolant": self.coolant(),
            "oil": self.oil(),
            "parts": self.parts(),
            "links": self.links(),
        }

    def vehicle(self) -> Tree:
        """Mass, resistance, gears."""
        car = self.sheet.car
        radius = R.tyre_radius(car.tyre) or 0.3
        grip = 0.75 if car.on_frame else 0.9
        return {
            "mass": made(f"{car.empty_mass + 75.0:.4g} kg", "mass"),
            "drag_area": made(m2(R.drag_area(self.sheet)), "drag_area"),
            "rolling_resistance": made(R.rolling_resistance(car), "rolling_resistance"),
            "wheel_radius": made(metres(radius), "wheel_radius"),
            "gear_ratios": R.gear_ratios(car, radius),
            "final_drive": 4.0,
            "driveline_efficiency": made(
                percent(R.driveline_efficiency(car, R.lengthways(self.sheet))), "driveline"
            ),
            "lateral_grip": made(grip, "grip"),
            "braking_grip": made(min(grip + 0.05, 0.9), "grip"),
        }

    def engine(self) -> Tree:
        """The engine as sold."""
        engine = self.sheet.engine
        speeds, values = R.filling_curve(engine)
        idle = 2.0 + 1.5 * self.has_condenser
        return {
            "displacement": litres(engine.displacement),
            "cylinders": engine.cylinders,
            "bore": mm(engine.bore),
            "stroke": mm(engine.stroke),
            "rated_power": f"{engine.power / 1e3:.4g} kW",
            "rated_speed": rpm(engine.power_speed),
            "max_speed": rpm(engine.red_line),
            "idle_speed": rpm(engine.idle_speed),
            "idle_power": made(f"{idle:g} kW", "accessories"),
            "indicated_efficiency": made(
                percent(R.indicated_efficiency(engine.compression_ratio)), "indicated_efficiency"
            ),
            "friction_factor": made(R.friction_factor(engine), "friction"),
            "volumetric_efficiency": {
                "speed": [rpm(N) for N in speeds],
                "value": values,
                "factor": made(1.0, "filling"),
            },
            "coolant_heat_factor": made(1.0, "coolant_heat"),
            "gas_temperature": made("420 degC", "gas_temperature"),
            "block": "engine_block",
            "head": "cylinder_head",
        }

    def exhaust(self) -> Tree:
        """Manifold, downpipe, catalyst, tail pipe as sold."""
        engine, exhaust = self.sheet.engine, self.sheet.exhaust
        cylinder = self.V / engine.cylinders
        bore = 0.038 * math.sqrt(cylinder / 0.45 * engine.power_speed * 60.0 / 6200.0)
        pipe = exhaust.pipe - 0.003
        tail = (exhaust.tail_pipe or exhaust.pipe) - 0.003
        tail_length = 1.2 if self.sheet.layout == "mid_engine" else 2.0 + 0.4 * self.sheet.car.width
        return {
            "manifold": {
                "part": "exhaust_manifold",
                "bore": made(mm(bore), "manifold_stock"),
                "length": made(mm(0.3 + 0.11 * cylinder), "manifold_stock"),
                "runners": engine.cylinders,
                "correlation_factor": made(1.6, "gas_side"),
            },
            "downpipe": {"part": "downpipe", "bore": mm(pipe), "length": made("600 mm", "pipe")},
            "catalyst": {
                "part": "catalyst",
                "wetted_area": made(m2(0.75 * self.V), "catalyst"),
                "bore": mm(exhaust.catalyst_diameter - 0.012),
                "length": made(mm(0.5 * exhaust.catalyst_length), "catalyst"),
            },
            "tailpipe": {
                "part": "tailpipe",
                "bore": mm(tail),
                "length": made(metres(tail_length), "pipe"),
                "silencer": True,
            },
        }

    def plenum(self) -> Tree:
        """The intake manifold's gas side."""
        return {
            "part": "intake_manifold",
            "volume": made(litres(1.9e-3 * self.V), "inlet"),
            "wetted_area": made(cm2(0.082 * self.v23), "inlet"),
        }

    def charge(self) -> Tree:
        """Filter, pipe and intake manifold as sold."""
        power = self.sheet.engine.power / 1e3
        bore = math.sqrt(4.0 * 1.0e-3 * power / (1.15 * math.pi * 28.0))
        return {
            "draws_from": "airbox",
            "filter": {
                "pressure_loss": made("1.3 kPa", "filter"),
                "at_flow": f"{1.5e-3 * power:.3g} kg/s",
            },
            "inlet_pipe": {
                "part": "inlet_pipe",
                "bore": made(mm(bore), "inlet"),
                "length": made("480 mm", "inlet"),
                "bends": 2,
            },
            "plenum": self.plenum(),
        }

    # --- air ------------------------------------------------------------------------------------------------
    def air(self) -> Tree:
        """Zones, passages, fan."""
        return {"zones": self.zones(), "passages": self.passages(), "fan": self.fan()}

    @property
    def front_zone(self) -> str:
        """Where the fan blows to."""
        return "nose" if "nose" in self.layout["zones"] else "bay_front"

    @property
    def radiator_height(self) -> str:
        """Middle of the radiator above the road."""
        return self.height(0.43)

    def zones(self) -> Tree:
        """Spaces of air."""
        bay, face = self.sheet.bay, self.radiator_face
        box = bay.length * bay.width * bay.height

        def zone(
            volume: float, flow_area: float, height: str, title: str, walls: list[str] | None = None
        ) -> Tree:
            out = {
                "volume": made(litres(volume), "zone"),
                "flow_area": made(m2(flow_area), "zone"),
                "height": made(height, "height"),
                "title": title,
            }
            return out | ({"walls": walls} if walls else {})

        zones = {"front": zone(0.10 * face, 0.70 * face, self.radiator_height, "Behind the grille")}
        if self.has_condenser:
            zones["between"] = zone(
                0.03 * face, 0.85 * face, self.radiator_height, "Between condenser and radiator"
            )
        zones["shroud"] = zone(0.045 * face, 0.75 * face, self.radiator_height, "Behind the radiator")
        for name, row in self.layout["zones"].items():
            zones[name] = zone(
                row["volume"] * box,
                row["flow"] * self.faces[row["face"]],
                self.height(row["height"]),
                row["title"],
                row["walls"],
            )
        tunnel = bay.tunnel_width * bay.tunnel_height
        zones["tunnel"] = zone(
            0.8 * tunnel,
            0.75 * tunnel,
            metres(max(bay.floor + 0.5 * bay.tunnel_height, 0.1)),
            "Under the floor",
        )
        zones["airbox"] = zone(4.5e-3 * self.V, 0.022, self.height(0.75), "Airbox")
        return zones

    @property
    def before_radiator(self) -> str:
        """The zone the radiator's air comes from."""
        return "between" if self.has_condenser else "front"

    def passages(self) -> Tree:
        """Ways between them and to the outside."""
        cooling, bay, front = self.sheet.cooling, self.sheet.bay, self.front_zone
        face = self.radiator_face
        around = (
            2.0
            * (cooling.radiator_width + cooling.radiator_height)
            * (0.008 if cooling.gap is None else cooling.gap)
        )
        passages: Tree = {}
        for name, area, loss, cp, height in (
            ("upper_grille", cooling.upper_grille, 1.9, 0.75, 0.62),
            ("lower_grille", cooling.lower_grille, 1.7, 0.88, 0.22),
        ):
            if area > 0.0:
                passages[name] = {
                    "from": "outside",
                    "to": "front",
                    "area": cm2(area),
                    "loss": made(loss, "grille"),
                    "pressure_coefficient": made(cp, "body_pressure"),
                    "height": made(self.height(height), "height"),
                }
        if self.has_condenser:
            condenser = cooling.condenser_width * cooling.condenser_height
            passages["condenser"] = {
                "from": "front",
                "to": "between",
                "core": "condenser",
                "share": "100 %",
                "height": self.radiator_height,
            }
            passages["front_to_between"] = {
                "from": "front",
                "to": "between",
                "area": made(cm2(max(face - condenser, 0.02 * face)), "gap"),
                "loss": 1.6,
                "height": self.radiator_height,
            }
        passages["radiator_open"] = {
            "from": self.before_radiator,
            "to": "shroud",
            "core": "radiator",
            "share": "100 %",
            "height": self.radiator_height,
        }
        if around > 0.0:
            passages["gap_round_radiator"] = {
                "from": "front",
                "to": front,
                "kind": "gap",
                "area": made(cm2(around), "gap"),
                "height": self.radiator_height,
            }
        passages["shroud_flaps"] = {
            "from": "shroud",
            "to": front,
            "area": made(cm2(0.08 * face), "passage"),
            "loss": 2.2,
            "height": self.radiator_height,
            "one_way": True,
        }
        passages["fan"] = {"from": "shroud", "to": front, "kind": "fan", "height": self.radiator_height}
        if front == "bay_front":
            below = 0.062 * self.faces["z"] * {"none": 1.6, "half": 1.0, "whole": 0.4}[bay.undertray]
            passages["front_under"] = {
                "from": front,
                "to": "outside",
                "area": made(cm2(below), "passage"),
                "loss": 2.0,
                "pressure_coefficient": made(-0.11, "body_pressure"),
                "height": made(self.height(0.06), "height"),
            }
            passages |= self.bonnet_gaps()
        for name, row in self.layout["passages"].items():
            passages[name] = self.layout_passage(row)
        tunnel = bay.tunnel_width * bay.tunnel_height
        passages["tunnel_out"] = {
            "from": "tunnel",
            "to": "outside",
            "area": made(cm2(1.1 * tunnel), "passage"),
            "loss": 1.4,
            "pressure_coefficient": made(-0.25 if front == "nose" else -0.135, "body_pressure"),
            "height": metres(max(bay.floor + 0.5 * bay.tunnel_height, 0.1)),
        }
        if bay.bonnet_vents > 0.0:
            passages["bonnet_vents"] = {
                "from": "bay_top",
                "to": "outside",
                "kind": "vent",
                "area": cm2(bay.bonnet_vents),
                "loss": 2.6,
                "pressure_coefficient": made(-0.2, "body_pressure"),
                "height": self.height(1.0),
            }
        snorkel = "bay_left" if front == "nose" else "front"
        passages["snorkel"] = {
            "from": snorkel,
            "to": "airbox",
            "area": made(f"{0.42e-3 * self.sheet.engine.power:.3g} cm2", "inlet"),
            "loss": 1.6,
            "height": self.height(0.62),
        }
        passages["airbox_leak"] = {
            "from": self.layout["stands"].get("battery", "bay_left"),
            "to": "airbox",
            "kind": "gap",
            "area": made("1.5 cm2", "inlet"),
            "height": self.height(0.7),
        }
        return passages

    def bonnet_gaps(self) -> Tree:
        """Gaps along the bonnet's edges."""
        width = self.sheet.bay.width
        return {
            name: {
                "from": zone, "to": "outside", "kind": "gap", "area": made(cm2(width * gap), "passage"),
                "pressure_coefficient": made(cp, "body_pressure"), "height": made(self.height(height), "height"),
            }
            for name, zone, gap, cp, height in (
                ("bonnet_rear_gap", "bay_top", 0.0064, 0.22, 0.97),
                ("bonnet_front_gap", "bay_front", 0.0040, 0.12, 0.77),
            )
        }  # fmt: skip

    def layout_passage(self, row: Tree) -> Tree:
        """A passage of the layout's table."""
        area = row["fixed"] * 1e-4 if "fixed" in row else row["share"] * self.faces[row["face"]]
        zones = self.layout["zones"]
        heights = [zones[row[end]]["height"] for end in ("from", "to") if row[end] in zones]
        share = row.get("height", sum(heights) / len(heights))
        if "tunnel" in (row["from"], row["to"]):
            share = min(share, 0.25)
        passage = {
            "from": row["from"],
            "to": row["to"],
            "area": made(cm2(area), "passage"),
            "loss": row["loss"],
            "height": made(self.height(share), "height"),
        }
        return passage | ({"pressure_coefficient": made(row["cp"], "body_pressure")} if "cp" in row else {})

    def fan(self) -> Tree:
        """All fans as one: air's speed u by the power over the blades' discs, flow 0.22 A u, head 0.096 u²."""
        cooling = self.sheet.cooling
        disc = 0.25 * math.pi * cooling.fan_diameter**2
        power = cooling.fan_power or cooling.fans * 230.0 * (cooling.fan_diameter / 0.385) ** 2
        u = (0.96 * power / (cooling.fans * 0.22 * 0.16 * disc * 0.6)) ** (1.0 / 3.0)
        on = cooling.thermostat + 12.0
        return {
            "passage": "fan",
            "pressure_at_rest": made(f"{0.096 * u * u:.3g} Pa", "fan"),
            "free_flow": made(f"{cooling.fans * 0.22 * disc * u:.3g} m3/s", "fan"),
            "power": f"{power:.3g} W",
            "low_speed": "65 %",
            "on_temperature": made(celsius(on), "fan_switch"),
            "high_temperature": made(celsius(on + 5.0), "fan_switch"),
            "sensor": "radiator_in",
        }

    # --- cores ----------------------------------------------------------------------------------------------
    def fins(self, width: float, height: float, depth: float, pitch: str, fouling: float, tube: str) -> Tree:
        """A brazed aluminium core of tubes and louvered fins."""
        return {
            "type": "tube_and_fin",
            "width": mm(width),
            "height": mm(height),
            "depth": mm(depth),
            "tube_height": tube,
            "fin_height": "8 mm",
            "fin_pitch": made(pitch, "core"),
            "louver_pitch": "1.2 mm",
            "louver_length": "6.8 mm",
            "louver_angle": "27 deg",
            "fouling_factor": made(fouling, "fouling"),
        }

    def cores(self) -> Tree:
        """Radiator and condenser."""
        cooling = self.sheet.cooling
        size = (cooling.radiator_width, cooling.radiator_height, cooling.radiator_depth)
        fouling = 0.86 if self.sheet.car.on_frame else 0.90
        cores = {
            "radiator": {
                "kind": "radiator",
                "line": "radiator",
                "mass": made(f"{560.0 * math.prod(size):.3g} kg", "part"),
                "geometry": self.fins(*size, "1.25 mm", fouling, "1.8 mm"),
            }
        }
        if self.has_condenser:
            width, height = cooling.condenser_width, cooling.condenser_height
            heat = 6.5 if self.sheet.car.on_frame else 5.5 if self.sheet.car.empty_mass > 1300.0 else 4.5
            cores["condenser"] = {
                "kind": "condenser",
                "mass": made(f"{2.2 * width * height / 0.17:.3g} kg", "part"),
                "heat": made(f"{heat} kW", "condenser"),
                "geometry": self.fins(width, height, 0.016, "1.4 mm", fouling, "1.5 mm"),
            }
        return cores

    # --- coolant and oil ------------------------------------------------------------------------------------
    def coolant(self) -> Tree:
        """Junctions and lines of the cooling circuit."""
        cooling, power = self.sheet.cooling, self.sheet.engine.power / 1e3
        core = 0.18 * self.radiator_face * cooling.radiator_depth
        total = cooling.coolant or 5.2e-3 * self.V
        rest = max(total - core, 0.5 * total)
        hose = cooling.hose - 0.008
        heater = 0.014

        def junction(height: float, volume: float, title: str, **more: Any) -> Tree:
            return {
                "height": made(self.height(height), "height"),
                "volume": made(litres(volume), "coolant_volume"),
                "title": title,
            } | more

        def line(
            start: str, end: str, bore: float, length: float, loss: float, volume: float, **more: Any
        ) -> Tree:
            return {
                "from": start,
                "to": end,
                "bore": made(mm(bore), "coolant_bore"),
                "length": f"{length:g} m",
                "loss": loss,
                "volume": made(litres(volume), "coolant_volume"),
            } | more

        def inside(bore: float, length: float) -> float:
            return 0.25 * math.pi * bore**2 * length

        limit = {
            "continuous": "118 degC",
            "short": "130 degC",
            "short_time": "45 min",
            "source": "common practice, no source; the longer time is for standing after key-off",
        }
        tank = 0.15 * rest
        opens = cooling.thermostat
        return {
            "glycol": "50 %",
            "cap_pressure": f"{cooling.cap / 1e5:.3g} bar gauge",
            "fill_temperature": "20 degC",
            "tank_air": made(litres(0.5 * tank + 0.2e-3), "coolant_volume"),
            "fixed_pressure": "tank",
            "junctions": {
                "engine_in": junction(0.42, 0.04 * rest, "Engine inlet"),
                "head_in": junction(0.62, 0.05 * rest, "Between block and head"),
                "engine_out": junction(0.74, 0.05 * rest, "Engine outlet", limit=limit),
                "radiator_in": junction(0.66, 0.075 * rest, "Radiator inlet"),
                "radiator_out": junction(0.22, 0.075 * rest, "Radiator outlet"),
                "heater_core": junction(0.6, 0.2e-3, "Heater core"),
                "tank": junction(0.9, tank, "Expansion tank", part="tank_shell", wetted_area=made(m2(0.06 * (tank * 1e3) ** (2 / 3)), "jacket")),
            },
            "lines": {
                "pump": {
                    "from": "engine_in", "to": "block_in", "kind": "pump", "head": made("1.15 bar", "coolant_pump"),
                    "head_speed": rpm(self.sheet.engine.power_speed), "free_flow": made(f"{2.5 * power:.3g} L/min", "coolant_pump"),
                },
                "block": line("block_in", "head_in", hose + 0.002, 0.5, 4, 0.20 * rest, metal="engine_block", wetted_area=made(m2(0.28 * self.v23), "jacket")),
                "head": line("head_in", "engine_out", hose + 0.002, 0.4, 5, 0.125 * rest, metal="cylinder_head", wetted_area=made(m2(0.245 * self.v23), "jacket")),
                "upper_hose": line("engine_out", "radiator_in", hose, 0.5, 2, inside(hose, 0.5), kind="thermostat", part="upper_hose", opens=celsius(opens), fully_open=made(celsius(opens + 11.5), "thermostat"), leak="0.6 %"),
                "radiator": line("radiator_in", "radiator_out", hose, 0.1, 3, core, core="radiator"),
                "lower_hose": line("radiator_out", "engine_in", hose, 0.6, 1.2, inside(hose, 0.6), part="lower_hose"),
                "bypass": line("engine_out", "engine_in", 0.335 * hose, 0.35, 4, 0.1e-3),
                "heater_feed": line("engine_out", "heater_core", heater, 0.7, 3, 0.15e-3, part="heater_hose"),
                "heater_return": line("heater_core", "engine_in", heater, 0.7, 6, 0.3e-3, heat_loss="8 W/K"),
                "vent": line("radiator_in", "tank", 0.005, 0.6, 1, 0.02e-3),
                "make_up": line("tank", "engine_in", 0.016, 0.7, 2, 0.15e-3),
            },
            "small_junctions": {"volume": "0.2 L", "height": self.height(0.5)},
        }  # fmt: skip

    def oil(self) -> Tree:
        """Sump, pump, bearings, head."""
        grade = self.sheet.cooling.oil_grade
        root = math.sqrt(self.V)
        limit = {
            "continuous": "135 degC",
            "short": "150 degC",
            "short_time": "5 min",
            "source": "from memory, synthetic oil",
        }
        return {
            "grade": grade,
            "fixed_pressure": "sump",
            "junctions": {
                "sump": {"volume": made(litres(max(self.oil_volume - 0.9e-3, 1.5e-3)), "oil"), "height": self.height(0.12), "part": "oil_pan", "wetted_area": made(m2(0.10 * self.v23), "oil"), "title": "Engine oil in the sump", "limit": limit},
                "gallery": {"volume": "0.3 L", "height": self.height(0.45), "title": "Oil gallery"},
            },
            "lines": {
                "pump": {"from": "sump", "to": "gallery", "kind": "displacement_pump", "displacement": made(f"{5.0 * self.V:.3g} cm3", "oil"), "relief": "4.5 bar", "volumetric_efficiency": "88 %"},
                "bearings": {"from": "gallery", "to": "sump", "bore": made(mm(3.1e-3 * root), "oil"), "length": "0.28 m", "loss": 3, "volume": "0.3 L", "heat": "engine", "metal": "engine_block", "wetted_area": made(m2(0.085 * self.v23), "oil")},
                "head_oil": {"from": "gallery", "to": "sump", "bore": made(mm(2.65e-3 * root), "oil"), "length": "0.5 m", "loss": 4, "volume": "0.3 L", "metal": "cylinder_head", "wetted_area": made(m2(0.055 * self.v23), "oil")},
            },
        }  # fmt: skip

    # --- parts ----------------------------------------------------------------------------------------------
    def stands(self, kind: str) -> str:
        """The zone a kind of part stands in."""
        belts = {"alternator", "compressor_body", "air_con_pipe", "headlamp_right", "tank_shell"}
        fixed = {
            "ignition_coils": "bay_top",
            "breather_hose": "bay_top",
            "cam_cover": "bay_top",
            "engine_cover": "bay_top",
            "bonnet_liner": "bay_top",
            "fan_motor": self.front_zone,
            "upper_hose": self.front_zone,
            "lower_hose": self.front_zone,
            "undertray": "bay_front",
            "bumper_skin": self.front_zone,
            "intake_manifold": self.layout["intake"],
            "injector_plugs": self.layout["intake"],
            "fuel_hose": self.layout["intake"],
            "gearbox": self.layout["gearbox"],
            "transfer_case": "tunnel",
        }
        if kind in self.layout["stands"]:
            return str(self.layout["stands"][kind])
        if kind in belts:
            return str(self.layout["belt"])
        if kind in self.sheet.near:
            return str(fixed.get(kind, self.layout["hot"]))
        return str(fixed.get(kind, "bay_left"))

    def fitted(self) -> list[str]:
        """Kinds of part the car has: the usual ones, and all that stand near something hot."""
        usual = [
            "inlet_pipe", "intake_manifold", "cam_cover", "brake_line", "loom", "heater_hose", "upper_hose", "lower_hose",
            "steering_boot", "drive_shaft_boot", "engine_mount", "starter_solenoid", "alternator", "fuel_hose",
            "ignition_coils", "injector_plugs", "oil_filter", "breather_hose", "tank_shell", "gearbox", "fan_motor",
            "oxygen_sensor_plug", "control_unit", "airbox_wall",
        ]  # fmt: skip
        if self.front_zone == "bay_front":
            usual += [
                "battery",
                "fuse_box",
                "brake_reservoir",
                "washer_bottle",
                "headlamp_left",
                "headlamp_right",
                "wiper_motor",
            ]
        if not self.sheet.car.automatic:
            usual += ["gear_cable"] if self.sheet.layout != "lengthways_turbo_high" else []
        if self.sheet.car.on_frame and self.sheet.car.driven == "all":
            usual.append("transfer_case")
        if self.has_condenser:
            usual += ["compressor_body", "air_con_pipe"]
        if self.sheet.bay.undertray != "none" and self.front_zone == "bay_front":
            usual.append("undertray")
        usual += [kind for kind in self.layout["places"] if kind in catalogue()]
        return list(dict.fromkeys([*usual, *self.sheet.near]))

    def parts(self) -> Tree:
        """The engine's metal, the exhaust as sold, the body, and everything else by the catalogue."""
        parts = self.engine_metal() | self.exhaust_metal()
        for kind in self.fitted():
            row = catalogue()["truck_gearbox" if kind == "gearbox" and self.sheet.car.on_frame else kind]
            part = part_record(row, self.stands(kind))
            if kind == "airbox_wall":
                part |= {"inside_zone": "airbox", "inside_surface": part["surface"]["value"]}
            if kind == "undertray":
                part["outside_surface"] = part["surface"]["value"]
            if kind == "intake_manifold":
                part["surface"] = made(m2(0.13 * self.v23), "part")
            near = self.sheet.near.get(kind)
            if near is not None and near.limit is not None:
                part["limit"] = {"continuous": celsius(near.limit), "source": "marking, as answered"}
            if near is not None and near.sleeve:
                part["cover"] = {
                    "kind": "sleeve",
                    "material": "silica cloth",
                    "thickness": "2 mm",
                    "coverage": "90 %",
                    "skin_emissivity": 0.12,
                    "skin_mass": "0.08 kg",
                    "title": f"Sleeve on {part['title'].lower()}",
                }
            parts[kind] = part
        return parts | self.body()

    def engine_metal(self) -> Tree:
        """Block, head and pan: a box by bore and stroke."""
        engine, hot = self.sheet.engine, self.front_zone
        row = engine.cylinders / (2 if self.sheet.layout == "flat_engine" else 1)
        length, side, tall = row * 1.13 * engine.bore + 0.093, 3.3 * engine.stroke, 3.2 * engine.stroke
        if self.sheet.layout == "flat_engine":
            side, tall = 2.2 * side, 0.7 * tall
        sides = 1.15 * (2.0 * (length + side) * tall + length * side)
        zone = "bay_front" if hot == "bay_front" else "bay_left"
        block = (22.0 if engine.block == "iron" else 14.0) * self.V
        metal = "grey cast iron" if engine.block == "iron" else "cast aluminium A356"
        head = 1.1 * (2.0 * (length + 2.2 * engine.stroke) * 0.1 + 2.2 * length * engine.stroke)
        return {
            "engine_block": {"mass": made(f"{block:.3g} kg", "engine_metal"), "material": metal, "surface": made(m2(sides), "engine_metal"), "zone": zone, "size": "0.35 m", "emissivity": 0.85, "title": "Engine block"},
            "cylinder_head": {"mass": made(f"{7.6 * self.V:.3g} kg", "engine_metal"), "material": "cast aluminium A356", "surface": made(m2(head), "engine_metal"), "zone": "bay_top", "size": "0.3 m", "emissivity": 0.6, "title": "Cylinder head"},
            "oil_pan": {"mass": made(f"{1.3 * self.V:.3g} kg", "engine_metal"), "material": "carbon steel", "surface": made(m2(0.18 * self.v23), "engine_metal"), "zone": zone, "size": "0.3 m", "emissivity": 0.9, "title": "Oil pan"},
        }  # fmt: skip

    def manifold(self, mass: float, metal: str, limit: Tree, coverage: float) -> Tree:
        """The exhaust manifold's metal under its pressed shield."""
        surface = self.hot_surfaces["exhaust_manifold"]
        part = {"mass": made(f"{mass:.3g} kg", "hot_metal"), "material": metal, "surface": made(m2(surface), "hot_metal"), "zone": self.layout["hot"], "size": "60 mm", "emissivity": made(0.85, "emissivity"), "title": "Exhaust manifold", "limit": limit}  # fmt: skip
        if coverage > 0.0:
            part["cover"] = {"kind": "wrap", "conductivity": "0.10 W/m/K", "thickness": "8 mm", "coverage": made(percent(coverage), "shield"), "skin_emissivity": 0.3, "skin_mass": "0.6 kg", "title": "Pressed shield round the manifold"}  # fmt: skip
        return part

    def exhaust_metal(self) -> Tree:
        """Manifold, downpipe, catalyst and tail pipe as sold."""
        exhaust, hot = self.sheet.exhaust, self.layout["hot"]

        def pipe(mass: float, surface: float, zone: str, size: float, title: str, limit: Tree | None) -> Tree:
            out = {"mass": made(f"{mass:.3g} kg", "hot_metal"), "material": "stainless steel", "surface": made(m2(surface), "hot_metal"), "zone": zone, "size": mm(size), "emissivity": made(0.7, "emissivity"), "title": title}  # fmt: skip
            return out | ({"limit": limit} if limit else {})

        down, can = self.hot_surfaces["downpipe"], self.hot_surfaces["catalyst"]
        return {
            "exhaust_manifold": self.manifold(2.85 * self.V, *METALS["cast_iron"], 0.72),
            "downpipe": pipe(28.0 * down, down, hot, exhaust.pipe, "Downpipe", PIPE_LIMIT),
            "catalyst": pipe(
                38.0 * can, can, "tunnel", exhaust.catalyst_diameter, "Catalyst can", PIPE_LIMIT
            ),
            "tailpipe": pipe(
                12.0, math.pi * exhaust.pipe * 3.6, "outside", exhaust.pipe, "Tail pipe and silencers", None
            ),
        }

    def body(self) -> Tree:
        """Panels that bound the bay, and the floor over the exhaust."""
        faces, bay = self.faces, self.sheet.bay

        def panel(
            area: float,
            zone: str,
            size: float,
            title: str,
            outside: float,
            weight: float,
            limit: Tree | None,
            **more: Any,
        ) -> Tree:
            out = {"mass": made(f"{weight * area:.3g} kg", "part"), "material": "carbon steel", "surface": made(m2(area), "part"), "zone": zone, "size": f"{size:g} m", "emissivity": 0.9, "outside_surface": m2(outside * area), "title": title} | more  # fmt: skip
            return out | ({"limit": limit} if limit else {})

        def practice(text: str) -> Tree:
            return {"continuous": text, "source": "common practice, no source"}

        bonnet = {"continuous": "80 degC", "short": "120 degC", "short_time": "60 min", "source": "L100"}
        tunnel = max(2.0 * bay.tunnel_width, 0.5)
        return {
            "bonnet": panel(faces["z"], "bay_top", 0.8, "Bonnet", 1.0, 8.2, bonnet, solar_absorptance=made(0.7, "paint")),
            "bulkhead": panel(0.85 * faces["x"], "bay_front" if self.front_zone == "nose" else "bay_rear", 0.6, "Bulkhead panel", 0.7, 12.9, practice("110 degC"), outside_conductance=made("5 W/K", "link")),
            "floor_panel": panel(tunnel, "tunnel", 0.8, "Floor above the exhaust", 1.0, 11.3, practice("90 degC"), outside_conductance=made("4 W/K", "link")),
            "left_panel": panel(0.65 * faces["y"], "bay_left", 0.6, "Left inner wing", 1.0, 10.0, None),
            "right_panel": panel(0.6 * faces["y"], "bay_right", 0.6, "Right inner wing", 1.0, 10.0, None),
            "front_panel": panel(0.5 * faces["x"], self.front_zone, 0.5, "Front cross member", 0.5, 10.0, None),
            "tunnel_shield": {"mass": "0.7 kg", "material": "carbon steel", "surface": "0.24 m2", "zone": "tunnel", "size": "0.3 m", "emissivity": 0.2, "title": "Shield over the catalyst (stock)"},
        }  # fmt: skip

    # --- links ----------------------------------------------------------------------------------------------
    def links(self) -> Tree:
        """Heat through metal and across gaps in the car as sold."""

        def conduction(a: str, b: str, conductance: float) -> Tree:
            return {
                "from": a,
                "to": b,
                "kind": "conduction",
                "conductance": made(f"{conductance:.3g} W/K", "link"),
            }

        links: Tree = {
            "manifold_to_head": {"from": "exhaust_manifold", "to": "cylinder_head", "kind": "contact", "area": made(cm2(35e-4 * self.V), "joint"), "contact_conductance": "550 W/m2/K"},
            "block_to_head": conduction("engine_block", "cylinder_head", 33.0 * self.V),
            "block_to_pan": conduction("engine_block", "oil_pan", 3.3 * self.V),
            "block_to_gearbox": conduction("engine_block", "gearbox", 26.0),
            "block_to_oil_filter": conduction("engine_block", "oil_filter", 2.7),
            "block_to_starter": conduction("engine_block", "starter_solenoid", 0.6),
            "block_to_mount": conduction("engine_block", "engine_mount", 0.28),
            "block_to_alternator": conduction("engine_block", "alternator", 1.1),
            **({"gearbox_to_transfer": conduction("gearbox", "transfer_case", 14.0)} if "transfer_case" in self.fitted() else {}),
            "head_to_cam_cover": conduction("cylinder_head", "cam_cover", 1.3),
            "head_to_intake": conduction("cylinder_head", "intake_manifold", 0.85),
            "head_to_coils": conduction("cylinder_head", "ignition_coils", 0.9),
            "head_to_injector_plugs": conduction("cylinder_head", "injector_plugs", 0.12),
            "cam_cover_to_breather": conduction("cam_cover", "breather_hose", 0.1),
            "head_to_fuel_hose": conduction("cylinder_head", "fuel_hose", 0.05),
            "downpipe_to_catalyst": conduction("downpipe", "catalyst", 0.5),
            "catalyst_to_floor": {"from": "catalyst", "to": "floor_panel", "kind": "radiation", "exchange_area": made("45 cm2", "link"), "title": "Past the stock shield"},
            "catalyst_to_shield": {"from": "catalyst", "to": "tunnel_shield", "kind": "facing", "area": "300 cm2", "distance": "60 mm"},
            "shield_to_floor": {"from": "tunnel_shield", "to": "floor_panel", "kind": "facing", "area": "0.12 m2", "distance": "35 mm"},
        }  # fmt: skip
        for hot in ("exhaust_manifold", "downpipe", "catalyst"):
            for kind, distance in self.looks(hot).items():
                links[f"{hot}_to_{kind}"] = self.facing(hot, kind, distance)
        return links

    @property
    def hot_surfaces(self) -> dict[str, float]:
        """m2 of every part that glows."""
        exhaust = self.sheet.exhaust
        return {
            "turbine_housing": 0.055 * self.wheel**2,
            "exhaust_manifold": 0.075 * self.v23,
            "downpipe": math.pi * exhaust.pipe * 0.6,
            "catalyst": math.pi
            * exhaust.catalyst_diameter
            * (exhaust.catalyst_length + 0.5 * exhaust.catalyst_diameter),
        }

    @property
    def hot_sizes(self) -> dict[str, float]:
        """m across every part that glows, as its record has it."""
        exhaust = self.sheet.exhaust
        return {
            "turbine_housing": TURBINE_SIZE * self.wheel,
            "exhaust_manifold": 0.060,
            "downpipe": exhaust.pipe,
            "catalyst": exhaust.catalyst_diameter,
        }

    def facing(self, hot: str, kind: str, distance: float) -> Tree:
        """What a hot part radiates to another across a gap."""
        share = catalogue()[kind].seen_from(R.mean_distance(distance + HOT_RADIUS[hot], HOT_LENGTH[hot]))
        exchange = self.hot_surfaces[hot] * share * (HALF_HIDDEN if kind == "inlet_pipe" else 1.0)
        part = catalogue()[kind]
        sizes = (self.hot_sizes[hot], self.hot_surfaces[hot]), (part.size, part.surface)
        area = R.facing_area(exchange, distance, *sizes)
        return {
            "from": hot,
            "to": kind,
            "kind": "facing",
            "area": cm2(area),
            "distance": f"{distance * 1e3:.0f} mm",
        }

    def looks(self, hot: str) -> dict[str, float]:
        """Parts that look at a hot one, with their distance (m): as answered, else by the layout's places."""
        bay, places, near = self.sheet.bay, self.layout["places"], self.sheet.near
        distances = {kind: answer.distance for kind, answer in near.items() if answer.to == hot}
        box = (bay.length, bay.width, bay.height)
        for kind, at in places.items():
            if kind in TURBO_PARTS or kind == "compressor_housing" or kind in near or hot not in places:
                continue
            apart = math.dist(
                [a * size for a, size in zip(at, box, strict=True)],
                [a * size for a, size in zip(places[hot], box, strict=True)],
            )
            own = 0.5 * min(catalogue()[kind].size, 0.08) if kind in catalogue() else 0.0
            free = apart - HOT_RADIUS[hot] - own
            if free < FURTHEST_LOOK:
                distances[kind] = max(free, NEAREST_LOOK)
        return distances

    # --- kit ------------------------------------------------------------------------------------------------
    def kit(self) -> Tree:
        """kit.yaml."""
        return {
            "format": "heatproof kit 1",
            "name": self.sheet.kit.name,
            "revision": "Draft 1",
            "currency": "EUR",
            "confidence": "95 %",
            "base": {"cost": "0 EUR", "mass": f"{self.kit_mass():.3g} kg", "labour": "330 min"},
            "changes": self.changes(),
        }

    def kit_mass(self) -> float:
        """kg of all the kit adds."""
        s2 = self.wheel**2
        return 1.15 * (7.5 * s2 + 3.1 * self.V + 4.0)

    def changes(self) -> Tree:
        """What the kit adds to the car or changes on it."""
        kit, engine, s = self.sheet.kit, self.sheet.engine, self.wheel
        s2 = s * s
        boost_from = kit.boost_from or 0.5 * kit.power_speed
        changes: Tree = {
            "engine": {
                "rated_power": f"{kit.power / 1e3:.4g} kW",
                "rated_speed": rpm(kit.power_speed),
                "boost": f"{kit.boost / 1e5:.3g} bar gauge",
                "boost_from": rpm(boost_from),
                "mixture_full_load": kit.mixture,
                "full_load_threshold": "55 %" if "tow" in self.sheet.uses else "80 %",
                "indicated_efficiency": made(percent(R.kit_efficiency(engine, kit)), "indicated_efficiency"),
                "volumetric_efficiency": {"factor": made(round(R.kit_filling_factor(engine, kit), 4), "kit_filling")},
            },
            "turbo": {
                "part_turbine": "turbine_housing",
                "part_bearing": "bearing_housing",
                "part_compressor": "compressor_housing",
                "compressor_efficiency": made("71 %", "turbo_efficiency"),
                "turbine_efficiency": made("66 %", "turbo_efficiency"),
                "mechanical_efficiency": "95 %",
                "swallowing_area": made(f"{4.2 * s2:.3g} cm2", "turbo"),
                "rotor_inertia": f"{1.9e-5 * s**5:.3g} kg*m2",
                "turbine_wetted_area": made(m2(0.040 * s2), "turbo"),
                "turbine_bore": mm(0.040 * s),
                "turbine_correlation_factor": made(2.0, "gas_side"),
                "compressor_wetted_area": m2(0.030 * s2),
                "neck_conductance": made(f"{2.6 * s:.3g} W/K", "turbo_heat"),
                "backplate_conductance": made(f"{3.5 * s:.3g} W/K", "turbo_heat"),
                "oil_conductance": made(f"{9.0 * s:.3g} W/K", "turbo_heat"),
                "oil_reference_flow": f"{2.0 * s:.3g} L/min",
                "oil_line": "turbo_oil",
            },
            "exhaust": {
                "manifold": {"part": "exhaust_manifold", "bore": mm(kit.runner_bore), "length": mm(kit.runner_length), "runners": engine.cylinders, "correlation_factor": made(1.6, "gas_side"), "turbine": True},
            },
            "charge": self.kit_charge(),
            "oil": {"lines": {"turbo_oil": {"from": "gallery", "to": "sump", "bore": "1.9 mm", "length": "0.6 m", "loss": 4, "volume": "0.06 L", "title": "Oil leaving the turbo", "limit": {"continuous": "160 degC", "short": "175 degC", "short_time": "10 min", "source": "from memory, synthetic oil"}}}},
            "parts": self.kit_parts(),
            "links": self.kit_links(),
        }  # fmt: skip
        if kit.water_cooled:
            changes["turbo"] |= {"water_area": f"{70.0 * s2:.3g} cm2", "water_line": "turbo_water"}
            high = self.layout["places"]["turbine_housing"][2]
            changes["coolant"] = {
                "lines": {
                    "turbo_feed": {"from": "head_in", "to": "turbo_in", "bore": "9 mm", "length": "0.55 m", "loss": 4, "volume": "0.04 L", "part": "turbo_water_hose"},
                    "turbo_water": {"from": "turbo_in", "to": "turbo_out", "bore": "9 mm", "length": "0.08 m", "loss": 5, "volume": "0.06 L"},
                    "turbo_return": {"from": "turbo_out", "to": "radiator_in", "bore": "9 mm", "length": "0.7 m", "loss": 4, "volume": "0.05 L"},
                },
                "junctions": {
                    "turbo_in": {"height": self.height(high - 0.05), "volume": "0.02 L", "title": "Turbo water inlet"},
                    "turbo_out": {"height": self.height(high), "volume": "0.02 L", "title": "Turbo water outlet", "limit": {"boil_margin": "3 K", "source": "common practice, no source"}},
                },
            }  # fmt: skip
        if kit.cooler == "water":
            changes |= {
                "air": self.water_air(),
                "cores": self.water_cores(),
                "circuits": {"low_temperature": self.water_circuit()},
            }
        elif kit.cooler != "none":
            changes |= {"air": self.kit_air(), "cores": {"charge_cooler": self.charge_cooler()}}
        return changes

    # --- charge cooling by water --------------------------------------------------------------------------------
    def water_air(self) -> Tree:
        """A radiator for the charge-cooling water ahead of the others."""
        kit, height = self.sheet.kit, self.height(0.35)
        face = kit.cooler_width * kit.cooler_height
        if self.has_condenser:
            around = {
                "from": "front",
                "to": "between",
                "kind": "gap",
                "area": made("150 cm2", "gap"),
                "height": self.radiator_height,
            }
            core = {
                "from": "front",
                "to": "between",
                "core": "low_temperature_radiator",
                "share": "100 %",
                "height": height,
            }
            return {"passages": {"low_temperature_radiator": core, "front_to_between": around}}
        share = min(face / self.radiator_face, 0.95)
        return {
            "zones": {"behind_cooler": {"volume": made(litres(0.05 * face), "zone"), "flow_area": made(m2(0.8 * face), "zone"), "height": height, "title": "Behind the charge-cooling radiator"}},
            "passages": {
                "low_temperature_radiator": {"from": "front", "to": "behind_cooler", "core": "low_temperature_radiator", "share": "100 %", "height": height},
                "radiator_covered": {"from": "behind_cooler", "to": "shroud", "core": "radiator", "share": percent(share), "height": height},
                "radiator_open": {"from": "front", "to": "shroud", "core": "radiator", "share": percent(1.0 - share), "height": self.radiator_height},
                "gap_between_cores": {"from": "front", "to": "behind_cooler", "kind": "gap", "area": made("60 cm2", "gap"), "height": height},
            },
        }  # fmt: skip

    def water_cores(self) -> Tree:
        """A charge cooler of plates for the kit's power, and the radiator of its water."""
        kit = self.sheet.kit
        size = (kit.cooler_width, kit.cooler_height, kit.cooler_depth)
        long = 0.2 * (kit.power / 165e3) ** 0.5
        return {
            "charge_cooler": {
                "kind": "charge_cooler", "circuit": "low_temperature", "coolant_line": "charge_cooler", "mass": made(f"{16.0 * long:.3g} kg", "part"),
                "geometry": {
                    "type": "plates_to_liquid", "width": made(mm(long), "charge_cooler"), "height": "105 mm", "depth": "95 mm", "charge_channel": "8 mm",
                    "charge_fin_pitch": made("2 mm", "charge_cooler"), "liquid_channel": "2 mm", "liquid_fin_pitch": "4 mm", "liquid_passes": 2,
                    "fin_thickness": "0.12 mm", "fin_offset_length": "4 mm", "plate_thickness": "0.5 mm", "fouling_factor": 0.95,
                },
            },
            "low_temperature_radiator": {
                "kind": "radiator", "circuit": "low_temperature", "line": "radiator", "mass": made(f"{800.0 * math.prod(size):.3g} kg", "part"),
                "geometry": self.fins(*size, "1.3 mm", 0.90, "1.8 mm") | {"passes": 2},
            },
        }  # fmt: skip

    def water_circuit(self) -> Tree:
        """Pump, charge cooler, radiator and header tank of the charge-cooling water."""

        def at(share: float, volume: str, title: str, **more: Any) -> Tree:
            return {"height": made(self.height(share), "height"), "volume": volume, "title": title} | more

        def line(
            start: str, end: str, length: str, loss: float, volume: str, bore: str = "18 mm", **more: Any
        ) -> Tree:
            return {
                "from": start,
                "to": end,
                "bore": bore,
                "length": length,
                "loss": loss,
                "volume": volume,
            } | more

        limit = {"continuous": "90 degC", "boil_margin": "10 K", "source": "common practice, no source"}
        return {
            "title": "Charge-cooling water", "glycol": "40 %", "cap_pressure": "0.5 bar gauge", "tank_air": "0.5 L",
            "fixed_pressure": "tank", "working_temperature": "60 degC",
            "junctions": {
                "tank": at(0.90, "0.8 L", "Header tank"),
                "pump_in": at(0.22, "0.1 L", "Pump inlet"),
                "cooler_in": at(0.63, "0.1 L", "Water into the charge cooler"),
                "cooler_out": at(0.76, "0.1 L", "Water out of the charge cooler", limit=limit),
                "radiator_in": at(0.50, "0.3 L", "Charge-cooling radiator inlet"),
                "radiator_out": at(0.28, "0.3 L", "Charge-cooling radiator outlet"),
            },
            "lines": {
                "pump": line("pump_in", "cooler_in", "1.1 m", 2, "0.3 L", kind="electric_pump", head=made("0.55 bar", "coolant_pump"), free_flow=made("32 L/min", "coolant_pump"), power="55 W", while_driving=True),
                "charge_cooler": line("cooler_in", "cooler_out", "0.1 m", 2.5, "0.25 L"),
                "to_radiator": line("cooler_out", "radiator_in", "1.0 m", 2, "0.25 L"),
                "radiator": line("radiator_in", "radiator_out", "0.1 m", 3, "0.8 L", core="low_temperature_radiator"),
                "to_pump": line("radiator_out", "pump_in", "0.4 m", 1, "0.1 L"),
                "vent": line("cooler_out", "tank", "0.5 m", 1, "0.01 L", bore="4 mm"),
                "make_up": line("tank", "pump_in", "0.8 m", 2, "0.09 L", bore="12 mm"),
            },
        }  # fmt: skip

    def kit_charge(self) -> Tree:
        """Charge pipes and the limits of the charge."""
        kit = self.sheet.kit
        pipes: Tree = {
            "hot_pipe": {
                "part": "hot_pipe",
                "bore": mm(kit.pipe),
                "length": metres(kit.hot_pipe_length),
                "bends": 3,
            }
        }
        if kit.cooler != "none":
            pipes |= {
                "cooler": "charge_cooler",
                "cold_pipe": {
                    "part": "cold_pipe",
                    "bore": mm(kit.pipe),
                    "length": metres(kit.cold_pipe_length),
                    "bends": 3,
                },
            }
        return pipes | {
            "plenum": self.plenum() | {"limit": {"continuous": celsius(kit.charge_limit), "short": celsius(kit.charge_limit + 5.0), "short_time": "2 min", "title": "Charge temperature", "source": "common practice, no source; ask your calibration"}},
            "inlet": {"limit": {"continuous": celsius(kit.intake_limit), "short": celsius(kit.intake_limit + 15.0), "short_time": "10 min", "title": "Intake temperature", "source": "common practice, no source; ask your calibration"}},
        }  # fmt: skip

    def kit_air(self) -> Tree:
        """The charge cooler ahead of the radiator."""
        kit = self.sheet.kit
        height = self.height(0.25)
        gap = 2.0 * (kit.cooler_width + kit.cooler_height) * 0.004
        face = kit.cooler_width * kit.cooler_height
        open_share = 1.0 - kit.covered
        passages: Tree = {
            "charge_cooler": {"from": "front", "to": "behind_cooler", "core": "charge_cooler", "share": "100 %", "height": height},
            "radiator_open": {"from": self.before_radiator, "to": "shroud", "core": "radiator", "share": percent(open_share), "height": self.radiator_height},
            "gap_between_cores": {"from": "front", "to": "behind_cooler", "kind": "gap", "area": made(cm2(gap), "gap"), "height": height},
        }  # fmt: skip
        if kit.covered > 0.0:
            passages["radiator_covered"] = {"from": "behind_cooler", "to": "shroud", "core": "radiator", "share": percent(kit.covered), "height": height}  # fmt: skip
        else:
            passages["cooler_out"] = {"from": "behind_cooler", "to": self.front_zone, "area": made(cm2(0.5 * face), "passage"), "height": height}  # fmt: skip
        return {
            "zones": {"behind_cooler": {"volume": made(litres(0.05 * face), "zone"), "flow_area": made(m2(0.8 * face), "zone"), "height": height, "title": "Behind the charge cooler"}},
            "passages": passages,
        }  # fmt: skip

    def charge_cooler(self) -> Tree:
        """The charge cooler's core by its build."""
        kit = self.sheet.kit
        size = (kit.cooler_width, kit.cooler_height, kit.cooler_depth)
        if kit.cooler == "bar_and_plate":
            geometry: Tree = {
                "type": "bar_and_plate",
                "width": mm(size[0]),
                "height": mm(size[1]),
                "depth": mm(size[2]),
                "charge_channel": "6.4 mm",
                "charge_fin_pitch": made("2.2 mm", "charge_cooler"),
                "air_channel": "9 mm",
                "air_fin_pitch": made("1.9 mm", "charge_cooler"),
            }
        else:
            geometry = self.fins(*size, "1.8 mm", 0.95, "6.4 mm") | {
                "tube_wall": "0.4 mm",
                "tube_fin_pitch": "2.5 mm",
            }
        return {
            "kind": "charge_cooler",
            "mass": made(f"{650.0 * math.prod(size):.3g} kg", "part"),
            "geometry": geometry,
        }

    def kit_parts(self) -> Tree:
        """Manifold, turbo, pipes and hoses of the kit."""
        kit, s2, hot = self.sheet.kit, self.wheel**2, self.layout["hot"]
        metal, limit = METALS[kit.manifold_metal]

        def housing(
            mass: float,
            material: str,
            surface: float,
            size: float,
            emissivity: float,
            title: str,
            limit: Tree,
        ) -> Tree:
            return {"mass": made(f"{mass * s2:.3g} kg", "hot_metal"), "material": material, "surface": made(m2(surface * s2), "hot_metal"), "zone": hot, "size": mm(size * self.wheel), "emissivity": made(emissivity, "emissivity"), "title": title, "limit": limit}  # fmt: skip

        def pipe(length: float, zone: str, title: str) -> Tree:
            outside = kit.pipe + 0.004
            return {"mass": made(f"{1.45 * length:.3g} kg", "part"), "material": "aluminium alloy", "surface": made(m2(math.pi * outside * length), "part"), "zone": zone, "size": mm(outside), "emissivity": 0.2, "title": title}  # fmt: skip

        turbine = housing(
            4.2,
            "austenitic ductile iron D5S",
            0.055,
            TURBINE_SIZE,
            0.9,
            "Turbine housing",
            METALS["austenitic_iron"][1],
        )
        if kit.blanket > 0.0:
            turbine["cover"] = {"kind": "blanket", "material": "silica mat", "thickness": "12 mm", "coverage": made(percent(kit.blanket), "shield"), "skin_emissivity": 0.35, "skin_mass": "0.25 kg", "title": "Turbine blanket skin"}  # fmt: skip
        parts = {
            "exhaust_manifold": self.manifold(3.1 * self.V, metal, limit, kit.manifold_shield),
            "turbine_housing": turbine,
            "bearing_housing": housing(1.8, "grey cast iron", 0.018, 0.07, 0.74, "Bearing housing, oil film", {"continuous": "220 degC", "short": "250 degC", "short_time": "15 min", "source": "L049", "kind": "coking"}),
            "compressor_housing": housing(1.5, "cast aluminium A356", 0.045, 0.12, 0.3, "Compressor housing", {"continuous": "180 degC", "short": "220 degC", "short_time": "10 min", "source": "L058"}),
            "hot_pipe": pipe(kit.hot_pipe_length, hot, "Hot charge pipe"),
        }  # fmt: skip
        if kit.cooler != "none":
            parts["cold_pipe"] = pipe(kit.cold_pipe_length, "bay_left", "Cold charge pipe")
        if kit.shield > 0.0:
            parts["turbo_shield"] = {"mass": f"{6.5 * kit.shield:.3g} kg", "material": "stainless steel", "surface": m2(2.0 * kit.shield), "zone": hot, "size": "0.2 m", "emissivity": made(0.3, "emissivity"), "title": "Shield behind the turbine", "limit": {"continuous": "850 degC", "source": "L061"}}  # fmt: skip
        kinds = ["charge_hose", "oil_return_hose", "wastegate_actuator"] + [
            "turbo_water_hose"
        ] * kit.water_cooled
        return parts | {kind: part_record(catalogue()[kind], hot) for kind in kinds}

    def kit_links(self) -> Tree:
        """Flanges, brackets, and what looks at the turbine."""

        def conduction(a: str, b: str, conductance: float) -> Tree:
            return {
                "from": a,
                "to": b,
                "kind": "conduction",
                "conductance": made(f"{conductance:.3g} W/K", "link"),
            }

        links: Tree = {
            "manifold_to_turbine": {"from": "exhaust_manifold", "to": "turbine_housing", "kind": "contact", "area": made("23 cm2", "joint"), "contact_conductance": "900 W/m2/K"},
            "turbine_to_downpipe": {"from": "turbine_housing", "to": "downpipe", "kind": "contact", "area": made("19 cm2", "joint"), "contact_conductance": "700 W/m2/K"},
            "compressor_to_hose": conduction("compressor_housing", "charge_hose", 0.6),
            "bearing_to_oil_hose": conduction("bearing_housing", "oil_return_hose", 0.12),
            "compressor_to_actuator": conduction("compressor_housing", "wastegate_actuator", 0.25),
        }  # fmt: skip
        if self.sheet.kit.water_cooled:
            links["bearing_to_water_hose"] = conduction("bearing_housing", "turbo_water_hose", 0.08)
        close = {"oil_return_hose": 0.09, "wastegate_actuator": 0.11} | (
            {"turbo_water_hose": 0.08} if self.sheet.kit.water_cooled else {}
        )
        for kind, distance in (close | self.looks("turbine_housing")).items():
            if not self.shielded(kind):
                links[f"turbine_to_{kind}"] = self.facing("turbine_housing", kind, distance)
        return links | self.shield_links()

    def shielded(self, kind: str) -> bool:
        """Whether the kit's shield stands between the turbine and a part."""
        near = self.sheet.near.get(kind)
        return self.sheet.kit.shield > 0.0 and (near.shielded if near is not None else kind == "bulkhead")

    def shield_links(self) -> Tree:
        """What the kit's shield takes up from turbine and manifold, and gives to what stands behind it."""
        area = self.sheet.kit.shield
        if area <= 0.0:
            return {}
        links = {
            "turbine_to_shield": {"from": "turbine_housing", "to": "turbo_shield", "kind": "facing", "area": cm2(min(area, 0.02)), "distance": "40 mm"},
            "manifold_to_shield": {"from": "exhaust_manifold", "to": "turbo_shield", "kind": "facing", "area": cm2(min(area, 0.016)), "distance": "60 mm"},
        }  # fmt: skip
        behind = {kind: near.distance for kind, near in self.sheet.near.items() if near.shielded}
        for kind, distance in ({"bulkhead": 0.10} | behind).items():
            if kind not in catalogue() and kind not in self.body():
                continue
            looking = 0.05 if kind == "bulkhead" else 0.25 * catalogue()[kind].surface
            links[f"shield_to_{kind}"] = {"from": "turbo_shield", "to": kind, "kind": "facing", "area": cm2(min(looking, area)), "distance": f"{max(0.5 * distance, 0.02) * 1e3:.0f} mm"}  # fmt: skip
        return links


def project_files(sheet: Sheet) -> dict[str, str]:
    """Name to text of every file of the project that a sheet gives."""
    builder = Builder(sheet)
    files = {"car.yaml": yaml_text(builder.car()), "kit.yaml": yaml_text(builder.kit())}
    return files | {
        f"duties/{key}.yaml": yaml_text(duty)
        for key, duty in duty_files(sheet, builder.has_condenser).items()
    }


def yaml_text(tree: Tree, indent: int = 0) -> str:
    """A tree as YAML: sections in blocks, each entry of a section of named things on one line."""
    lines = []
    for key, value in tree.items():
        pad = "  " * indent
        if (
            isinstance(value, dict)
            and (indent < 2 and value)
            and any(isinstance(v, dict) for v in value.values())
            and "value" not in value
        ):
            lines.append(f"{pad}{key}:")
            lines.append(yaml_text(value, indent + 1).rstrip("\n"))
        else:
            lines.append(f"{pad}{key}: {flow(plain(value))}")
    return "\n".join(lines) + "\n"


def plain(value: Any) -> Any:
    """With every number and switch as text, as files have them."""
    if isinstance(value, dict):
        return {key: plain(below) for key, below in value.items()}
    if isinstance(value, list | tuple):
        return [plain(below) for below in value]
    if isinstance(value, bool):
        return "true" if value else "false"
    return f"{value:.6g}" if isinstance(value, float) else str(value)
