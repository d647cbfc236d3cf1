"""Parts of a random bay: the working ones, panels, and judged ones with their links, covers and shapes."""

from math import pi
from typing import Any

from pen import Pen, text
from sketch import Sketch

Section = dict[str, Any]
NAMED = (
    "brake_line",
    "loom",
    "battery",
    "engine_mount",
    "control_unit",
    "steering_boot",
    "fuel_line",
    "alternator",
)
JUDGED = (*NAMED, *(f"part_{k}" for k in range(9, 131)))
RUBBER, PLASTIC = "EPDM rubber", "PA66-GF30"
DENSITIES = {RUBBER: 1150.0, PLASTIC: 1370.0, "carbon steel": 7850.0}  # kg/m3
CELL = (0.22, 0.4, 0.34)  # m, room each shaped part has to itself
CELLS = [(x, y, z) for z in (0.35, 0.72) for y in (-0.42, 0.0, 0.42) for x in (-0.35, -0.1, 0.15, 0.4)]


def parts(pen: Pen, s: Sketch, exhaust: Section, *, count: int) -> Section:
    """Every part the usual sections of the car name, a bonnet perhaps, so many judged parts."""
    hot, cool = s.last_bay, s.bays[0]
    found: Section = {
        "block": metal(pen, 14 * s.litres, 22 * s.litres, "grey cast iron", 0.2, 0.6, cool, "0.3 m"),
        "head": metal(
            pen,
            5 * s.litres,
            8 * s.litres,
            "cast aluminium A356",
            max(0.1, 0.06 * s.litres),
            max(0.25, 0.12 * s.litres),
            pen.pick(s.bays),
            "0.3 m",
        ),
        "oil_pan": metal(pen, 1.5, 4, "carbon steel", 0.15, 0.35, cool, "0.3 m"),
        "plenum": plain(pen, PLASTIC, 0.1, 0.25, pen.pick(s.bays), "0.2 m"),
        "top_hose": plain(pen, RUBBER, 0.04, 0.09, cool, "40 mm"),
        "lower_hose": plain(pen, RUBBER, 0.04, 0.09, cool, "40 mm"),
        "inlet_pipe": plain(pen, RUBBER, 0.05, 0.12, cool, "70 mm"),
    }
    steel = {"manifold": ("Si-Mo ductile iron", hot), "downpipe": ("stainless steel", hot)}
    steel |= {"catalyst": ("stainless steel", hot), "tail": ("stainless steel", "outside")}
    for piece in (piece for piece in exhaust.values() if piece["part"] in steel):
        material, where = steel[piece["part"]]
        found[piece["part"]] = metal(pen, 2, 8, material, 0.06, 0.2, where, "60 mm")
    if pen.flip():
        found["manifold"]["cover"] = cover(pen, "wrap")
    if pen.flip():
        found["bonnet"] = panel(pen, s, pen.pick(s.bays))
    for name in JUDGED[:count]:
        found[name] = judged(pen, s, name)
    return found


def metal(
    pen: Pen, low: float, high: float, material: str, least: float, most: float, zone: str, size: str
) -> Section:
    """A casting or a sheet of `low` to `high` kg."""
    return {
        "mass": pen.felt(low, high, "kg"),
        "material": material,
        "surface": pen.amount(least, most, "m2"),
        "zone": zone,
        "size": size,
        "emissivity": pen.felt(0.3, 0.9, ""),
    }


def plain(pen: Pen, material: str, least: float, most: float, zone: str, size: str) -> Section:
    """A hose or a moulding."""
    part = {"mass": pen.amount(0.2, 2, "kg"), "material": material, "surface": pen.amount(least, most, "m2")}
    return {**part, "zone": zone, "size": size}


def panel(pen: Pen, s: Sketch, zone: str) -> Section:
    """A panel with the open air on its far side, in the sun; perhaps a second zone behind it."""
    made: Section = {
        "mass": pen.amount(5, 15, "kg"),
        "material": "carbon steel",
        "surface": "0.6 m2",
        "zone": zone,
        "size": "0.6 m",
        "outside_surface": pen.amount(0.2, 1.2, "m2"),
        "solar_absorptance": pen.amount(0.3, 0.9, ""),
        "outside_conductance": pen.amount(0, 4, "W/K"),
    }
    if len(s.bays) > 1 and pen.flip():
        made |= {"inside_zone": s.bays[0] if zone != s.bays[0] else s.bays[1], "inside_surface": "0.3 m2"}
    return made


def judged(pen: Pen, s: Sketch, name: str) -> Section:
    """A part with a limit: by its heat capacity or its material, making heat of its own or not.

    As much of it as its surface can hold (`kit.checks.plausible` refuses more), and no longer than that lets it be.
    """
    surface = pen.number(0.012, 0.3)
    volume = pen.number(0.03, 1.2) * surface**1.5 / (6.0 * pi**0.5)
    part: Section = {
        "surface": text(surface, "m2"),
        "zone": pen.pick(s.bays),
        "size": pen.amount(6, min(300.0, 700.0 * surface**0.5), "mm"),
        "emissivity": pen.felt(0.1, 0.95, ""),
        "limit": {"continuous": f"{pen.whole(60, 130)} degC"},
    }
    if pen.flip():
        material = pen.pick((RUBBER, PLASTIC, "carbon steel"))
        part |= {"material": material, "mass": text(DENSITIES[material] * volume, "kg")}
    else:
        part |= {
            "heat_capacity": text(2.5e6 * volume, "J/K"),
            "mass": text(2.5e6 * volume / pen.number(450, 2500), "kg"),
        }
    if name in ("alternator", "control_unit"):
        part["heat"] = pen.amount(5, 200, "W")
    if pen.flip():
        part["cover"] = cover(pen, "sleeve")
    return part


def cover(pen: Pen, kind: str) -> Section:
    """An insulating cover, by material or by conductivity; perhaps standing off, perhaps short of its edges."""
    made: Section = {
        "kind": kind,
        "thickness": pen.amount(2, 14, "mm"),
        "coverage": pen.amount(50, 100, "%"),
        "skin_emissivity": pen.amount(0.1, 0.9, ""),
        "skin_mass": pen.amount(0.05, 0.8, "kg"),
    }
    made |= {"material": "silica mat"} if pen.flip() else {"conductivity": pen.amount(0.04, 0.2, "W/m/K")}
    if pen.flip():
        made |= {"stand_off": pen.amount(1, 8, "mm")}
    if pen.flip():
        made |= {"edge_gap": pen.amount(1, 10, "mm"), "edge_length": pen.amount(50, 600, "mm")}
    return made


def links(pen: Pen, names: Section, hot: str) -> Section:
    """From the hot part to judged ones and to its neighbours, each of a kind as it comes."""
    found: Section = {
        "hot_to_head": {"from": hot, "to": "head", "kind": "contact", "area": pen.amount(5, 50, "cm2")}
    }
    for name in (n for n in JUDGED if n in names):
        found[f"{hot}_to_{name}"] = link(pen, hot, name)
    return found


def link(pen: Pen, first: str, second: str) -> Section:
    """A facing, conducting, touching or radiating pair."""
    kind = pen.pick(("facing", "conduction", "contact", "radiation"))
    ends = {"from": first, "to": second, "kind": kind}
    if kind == "facing":
        return {**ends, "area": pen.felt(10, 200, "cm2"), "distance": pen.amount(3, 300, "mm")}
    if kind == "conduction":
        return {**ends, "conductance": pen.felt(0.01, 0.6, "W/K")}
    if kind == "contact":
        return {
            **ends,
            "area": pen.amount(0.1, 3, "cm2"),
            "contact_conductance": pen.felt(200, 3000, "W/m2/K"),
        }
    return {**ends, "exchange_area": pen.felt(2, 80, "cm2")}


# --- shapes -----------------------------------------------------------------------------------------------
def give_shapes(pen: Pen, s: Sketch, found: Section) -> Section:
    """Shapes for the first parts, each in a cell of its own; returns the bay round them."""
    for name, place in zip((n for n in found if n not in ("bonnet", "tail")), CELLS, strict=False):
        found[name]["shape"] = shape(pen, place)
    for name in (
        n
        for n in JUDGED
        if found.get(n, {}).get("shape", {}).get("kind") in ("box", "tube") and "material" in found[n]
    ):
        if pen.flip():
            found[name]["patches"] = {
                "split": "along",
                "direction": ["0", "1", "0"],
                "count": str(pen.whole(2, 6 if s.large else 3)),
            }
    bay: Section = {
        "geometry": "on",
        "lower": ["-0.55 m", "-0.7 m", "0.1 m"],
        "upper": ["0.6 m", "0.7 m", "1.0 m"],
        "rays_per_patch": "512",
    }
    return bay | ({"top": "bonnet"} if "bonnet" in found else {})


def shape(pen: Pen, place: tuple[float, float, float]) -> Section:
    """A body that stays inside its cell."""
    kind = pen.pick(("box", "cylinder", "plate", "sphere", "tube"))
    length = pen.number(0.05, 0.9 * CELL[0])
    at = [text(x, "m") for x in place]
    if kind == "box":
        return {"kind": kind, "size": [text(length, "m"), "0.1 m", pen.amount(40, 200, "mm")], "position": at}
    if kind == "cylinder":
        return {
            "kind": kind,
            "diameter": text(length, "m"),
            "length": pen.amount(50, 250, "mm"),
            "position": at,
        }
    if kind == "plate":
        return {"kind": kind, "size": [text(length, "m"), "0.15 m"], "position": at, "looks": ["1", "0", "0"]}
    if kind == "sphere":
        return {"kind": kind, "diameter": text(length, "m"), "position": at}
    ends = [[at[0], text(place[1] + step, "m"), at[2]] for step in (-0.15, 0.15)]
    return {"kind": kind, "diameter": pen.amount(6, 80, "mm"), "path": ends}
