"""The catalogue: kinds of part found in engine bays, with class figures, as data."""

import math
from dataclasses import dataclass
from functools import cache
from typing import Any

from heatproof.sheet.rules import MARK, data_rows, disc_share, rod_share, rules


@dataclass(frozen=True)
class Kind:
    """One kind. mass kg; surface m2, all the air touches; size m; limits K are texts as a file has them."""

    kind: str
    title: str
    mass: float
    material: str
    heat_capacity: float | None
    surface: float
    size: float
    wall: float | None
    conductivity: float | None
    emissivity: float
    limit: dict[str, str]
    caution: str
    heat: float

    def seen_from(self, distance: float) -> float:
        """Share of a ball's radiation that meets the part, its middle `distance` (m) from the ball's.

        A long part is a rod of its size, another a disc of a quarter of its surface, which a convex body shows on average.
        """
        length = self.surface / (math.pi * self.size)
        if length > 3.0 * self.size:
            return min(rod_share(self.size, length, distance), 0.5)
        return disc_share(0.25 * self.surface, distance)


@cache
def catalogue() -> dict[str, Kind]:
    """Kinds by name."""
    return {row["kind"]: kind_of(row) for row in data_rows("catalogue.csv")}


def kind_of(row: dict[str, str]) -> Kind:
    """A kind from its row."""

    def number(key: str, scale: float = 1.0) -> float | None:
        return float(row[key]) * scale if row[key] else None

    limit = {"continuous": f"{row['continuous_degC']} degC"}
    if row["short_degC"]:
        limit |= {"short": f"{row['short_degC']} degC", "short_time": f"{row['short_min']} min"}
    return Kind(
        kind=row["kind"],
        title=row["title"],
        mass=float(row["mass_kg"]),
        material=row["material"],
        heat_capacity=number("heat_capacity_J_per_K"),
        surface=float(row["surface_cm2"]) * 1e-4,
        size=float(row["size_mm"]) * 1e-3,
        wall=number("wall_mm", 1e-3),
        conductivity=number("conductivity"),
        emissivity=float(row["emissivity"]),
        limit=limit | {"source": row["limit_source"]},
        caution=row["caution"],
        heat=number("heat_W") or 0.0,
    )


def part_record(kind: Kind, zone: str) -> dict[str, Any]:
    """A part of that kind as car.yaml has it."""
    part: dict[str, Any] = {"mass": made(f"{kind.mass:g} kg", "part")}
    if kind.material:
        part["material"] = kind.material
    else:
        part["heat_capacity"] = made(f"{kind.heat_capacity:g} J/K", "part")
    part |= {
        "surface": made(f"{kind.surface * 1e4:g} cm2", "part"),
        "zone": zone,
        "size": f"{kind.size * 1e3:g} mm",
        "emissivity": kind.emissivity,
        "title": kind.title,
        "limit": kind.limit,
    }
    if kind.heat:
        part["heat"] = f"{kind.heat:g} W"
    if kind.caution:
        part["caution"] = kind.caution
    return part


def made(text: str | float, rule: str) -> dict[str, Any]:
    """A value made by a rule, as a file has it: with the rule's spread where it is felt, and its source."""
    row = rules()[rule]
    value: dict[str, Any] = {"value": text if isinstance(text, str) else f"{text:.4g}"}
    if row.spread:
        value["spread"] = row.spread
    return value | {"source": MARK + rule}
