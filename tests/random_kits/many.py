"""What makes a project large: many parts and panels, further pipes, loops of water and oil, openings for air."""

from itertools import pairwise
from typing import Any

from air_side import opening
from bay_parts import JUDGED, link, metal, panel
from pen import Pen, text
from sketch import Sketch

Section = dict[str, Any]
MANY_PARTS = (3, 8, 15, 30, *range(40, 110, 5))  # most of them many, the first few to shrink to
FURTHER = tuple(f"further_{k}" for k in range(1, 5))


def how_many_parts(pen: Pen, s: Sketch) -> int:
    """Judged parts of a large project."""
    return pen.pick(MANY_PARTS) if s.large else 0


def further_pipes(pen: Pen, s: Sketch) -> Section:
    """Up to three lengths of exhaust pipe, of a part each."""
    bore = text(4.2 * s.power**0.5, "mm")
    names = [f"{name}_pipe" for name in FURTHER[: pen.whole(0, 3)]] if s.large else []
    return {name: {"part": name, "bore": bore, "length": pen.amount(200, 900, "mm")} for name in names}


def further_water(pen: Pen, s: Sketch, coolant: Section) -> None:
    """Up to four loops beside the radiator, each past a body that cools the water or is warmed by it."""
    for name in FURTHER[: pen.whole(0, 4)] if s.large else ():
        joint, bore = f"{name}_joint", pen.amount(6, 12, "mm")
        coolant["junctions"][joint] = {"height": pen.amount(0.3, 0.7, "m"), "volume": "0.05 L"}
        coolant["lines"][f"{name}_feed"] = {
            "from": "hot",
            "to": joint,
            "bore": bore,
            "length": "0.6 m",
            "loss": "4",
        }
        coolant["lines"][f"{name}_return"] = {
            "from": joint,
            "to": pen.pick(("cold", "bottom")),
            "bore": bore,
            "length": "0.6 m",
            "metal": f"{name}_body",
            "wetted_area": pen.amount(100, 800, "cm2"),
        }


def further_oil(pen: Pen, s: Sketch, oil: Section) -> None:
    """Up to three ways from the gallery to the sump, each by a joint of its own."""
    for name in FURTHER[: pen.whole(0, 3)] if s.large else ():
        joint = f"{name}_joint"
        oil["junctions"][joint] = {"height": pen.amount(0.3, 0.7, "m"), "volume": "0.05 L"}
        for line, first, second in ((f"{name}_feed", "gallery", joint), (f"{name}_drain", joint, "sump")):
            oil["lines"][line] = {
                "from": first,
                "to": second,
                "bore": pen.amount(2, 4, "mm"),
                "length": "0.5 m",
                "volume": "0.05 L",
            }


def further_parts(pen: Pen, s: Sketch, car: Section) -> Section:
    """A part for every further pipe and body, and panels."""
    bay, steel, iron = pen.pick(s.bays), "stainless steel", "cast aluminium A356"
    found = {
        piece["part"]: metal(pen, 0.5, 3, steel, 0.03, 0.1, s.last_bay, "60 mm")
        for name, piece in car["exhaust"].items()
        if name.startswith("further")
    }
    bodies = [line["metal"] for line in car["coolant"]["lines"].values() if "metal" in line]
    for name in (b for b in bodies if b.startswith("further")):
        found[name] = metal(pen, 0.5, 5, iron, 0.03, 0.1, pen.pick(s.bays), "0.1 m")
    if s.large:
        found |= {f"panel_{k}": panel(pen, s, bay) for k in range(pen.whole(0, 6))}
    return found


def further_links(pen: Pen, s: Sketch, names: Section) -> Section:
    """From part to part, along the list."""
    judged = [name for name in JUDGED if name in names] if s.large else []
    return {f"{a}_to_{b}": link(pen, a, b) for a, b in pairwise(judged) if pen.flip()}


def further_openings(pen: Pen, s: Sketch) -> Section:
    """Ways for air between zones further apart, and out of any of them."""
    found: Section = {}
    for name in FURTHER[: pen.whole(0, 4)] if s.large else ():
        first, second = pen.pick(s.bays), pen.pick((*s.bays, "outside"))
        if first != second:
            outside = (-0.3, 0.2) if second == "outside" else None
            found[f"{name}_hole"] = opening(pen, s, first, second, 0.3, 3.0, outside)
    return found
