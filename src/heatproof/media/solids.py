"""Solid materials, surface finishes and temperature limits, each value with its band and source."""

from dataclasses import dataclass
from functools import cache

import numpy as np

from heatproof.media.data_files import rows_of
from heatproof.media.names import UnknownName

PROPERTIES = ("density", "conductivity", "specific_heat")
"""Bulk properties [kg/m3], [W/(m K)], [J/(kg K)]."""


FINISH_FAMILY = {
    "stainless 304": "stainless steel",
    "stainless 316": "stainless steel",
    "heat-resistant cast steel": "stainless steel",
    "nickel alloy": "stainless steel",
    "Si-Mo ductile iron": "cast iron",
    "ductile iron (ferritic)": "cast iron",
    "austenitic ductile iron D5S": "cast iron",
    "grey cast iron": "cast iron",
    "cast aluminium A356": "aluminium alloy",
    "PA66-GF30": "plastic",
    "PA66-GF25": "plastic",
    "PA6-GF30": "plastic",
    "polyamide": "plastic",
    "polypropylene": "plastic",
    "polyacetal": "plastic",
    "PTFE": "plastic",
    "FKM rubber": "EPDM rubber",
    "natural rubber": "EPDM rubber",
    "polychloroprene": "EPDM rubber",
    "silicone rubber": "EPDM rubber",
    "silicone rubber, filled": "EPDM rubber",
    "E-glass mat": "silica cloth",
    "ceramic-fibre blanket": "silica cloth",
}
"""Material whose emissivity rows stand in for a material without its own (common practice, no source)."""


@dataclass(frozen=True)
class Value:
    """A value with its band (about 2 sigma), source, confidence (high, medium, low) and note."""

    value: float
    low: float
    high: float
    source: str
    confidence: str
    note: str

    @property
    def spread(self) -> float:
        """Half band over value [-], the larger side. Source: definition."""
        return max(self.high - self.value, self.value - self.low) / abs(self.value)


@dataclass(frozen=True)
class Curve:
    """Values over temperature [K]; linear between points, held outside."""

    T: tuple[float, ...]
    points: tuple[Value, ...]

    def at(self, T: float) -> Value:
        """Value with band at T [K]; source and note of the nearest point. Source: the table."""
        nearest = self.points[int(np.argmin(np.abs(np.array(self.T) - T)))]
        value, low, high = (
            float(np.interp(T, self.T, [getattr(p, field) for p in self.points]))
            for field in ("value", "low", "high")
        )
        return Value(value, low, high, nearest.source, nearest.confidence, nearest.note)


@dataclass(frozen=True)
class Material:
    """Density [kg/m3], conductivity [W/(m K)], specific heat [J/(kg K)] of a solid over temperature [K]."""

    name: str
    density: Curve
    conductivity: Curve
    specific_heat: Curve


@dataclass(frozen=True)
class Limit:
    """A temperature limit: continuous and short-term [K] (low, high; None where not given).

    `kind` and `note` say what it is: a boiling point or a burn threshold is not a service limit.
    """

    id: str
    item: str
    grade: str
    continuous: tuple[float, float] | None
    short_term: tuple[float, float] | None
    short_duration: str
    kind: str
    source: str
    confidence: str
    note: str


def _point(row: dict[str, str]) -> Value:
    numbers = (float(row["value"]), float(row["low"]), float(row["high"]))
    return Value(*numbers, row["source"], row["confidence"], row["note"])


def _curve(rows: list[dict[str, str]]) -> Curve:
    ordered = sorted(rows, key=lambda row: float(row["T_degC"]))
    return Curve(tuple(273.15 + float(r["T_degC"]) for r in ordered), tuple(_point(r) for r in ordered))


@cache
def materials() -> dict[str, Material]:
    """All solids by name [SI]. Source: media/data/materials.csv, a source per row."""
    table: dict[str, dict[str, list[dict[str, str]]]] = {}
    for row in rows_of("materials.csv"):
        table.setdefault(row["material"], {}).setdefault(row["property"], []).append(row)
    return {name: Material(name, *(_curve(props[p]) for p in PROPERTIES)) for name, props in table.items()}


def material(name: str) -> Material:
    """One solid by name [SI]; raises UnknownName with `.nearest`. Source: as `materials`."""
    if name not in materials():
        raise UnknownName("material", name, materials())
    return materials()[name]


@cache
def finishes() -> dict[str, dict[str, Curve]]:
    """Emissivity [-] curves by material, then surface state. Source: media/data/emissivity.csv."""
    table: dict[str, dict[str, list[dict[str, str]]]] = {}
    for row in rows_of("emissivity.csv"):
        table.setdefault(row["material"], {}).setdefault(row["state"], []).append(row)
    return {name: {state: _curve(rows) for state, rows in states.items()} for name, states in table.items()}


def emissivity(name: str, state: str, T: float) -> Value:
    """Total emissivity [-] of a material with a surface state at T [K]; raises UnknownName for either.

    A material without rows of its own takes those of `FINISH_FAMILY`. Source: as `finishes`.
    """
    family = FINISH_FAMILY.get(name, name)
    if family not in finishes():
        raise UnknownName("material with emissivity", name, [*finishes(), *FINISH_FAMILY])
    states = finishes()[family]
    if state not in states:
        raise UnknownName(f"surface state of {name}", state, states)
    return states[state].at(T)


def _range(low: str, high: str, kelvin: float) -> tuple[float, float] | None:
    return (float(low) + kelvin, float(high) + kelvin) if low else None


@cache
def limits() -> dict[str, Limit]:
    """Temperature limits by id [K]; differences (unit K in the file) are left out.

    Source: media/data/limits.csv, a source per row.
    """
    found = {}
    for r in rows_of("limits.csv"):
        if r["unit"] != "degC":
            continue
        found[r["id"]] = Limit(
            r["id"],
            r["item"],
            r["grade"],
            _range(r["continuous_low"], r["continuous_high"], 273.15),
            _range(r["short_low"], r["short_high"], 273.15),
            r["short_duration"],
            r["kind"],
            r["source"],
            r["confidence"],
            r["note"],
        )
    return found


def limit(identity: str) -> Limit:
    """One limit by id such as `L034` [K]; raises UnknownName. Source: as `limits`."""
    if identity not in limits():
        raise UnknownName("limit", identity, limits())
    return limits()[identity]
