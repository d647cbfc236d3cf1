"""Measured compact surfaces: j and f by table, interpolated in logarithms."""

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from io import StringIO

import numpy as np

from heatproof.media.names import UnknownName


@dataclass(frozen=True)
class Surface:
    """Geometry of one tabulated surface in SI; None where the table gives none.

    spacing [m], fins_per_m [1/m], Dh [m], thickness [m], beta area per core (flat tube) or passage volume
    [1/m],
    sigma free over frontal area [-], fin_share A_f/A [-].
    """

    name: str
    family: str
    spacing: float | None
    fins_per_m: float | None
    Dh: float
    thickness: float | None
    beta: float | None
    sigma: float | None
    fin_share: float | None


def _rows(name: str) -> list[dict[str, str]]:
    text = files("heatproof.laws").joinpath("data", name).read_text(encoding="utf-8")
    return list(csv.DictReader(StringIO("".join(f"{x}\n" for x in text.splitlines() if x[0] != "#"))))


def _number(text: str) -> float | None:
    return float(text) if text else None


@cache
def surfaces() -> dict[str, Surface]:
    """Tabulated surfaces by name. Source: Kays and London, Compact Heat Exchangers, 3rd ed. [SI units]."""
    return {
        row["surface"]: Surface(
            row["surface"],
            row["family"],
            _number(row["plate_spacing_m"]),
            _number(row["fins_per_m"]),
            float(row["hydraulic_diameter_m"]),
            _number(row["fin_thickness_m"]),
            _number(row["area_density_per_m"]),
            _number(row["sigma"]),
            _number(row["fin_area_share"]),
        )
        for row in _rows("surfaces.csv")
    }


@cache
def _curves(name: str) -> tuple[tuple[np.ndarray, np.ndarray], tuple[np.ndarray, np.ndarray]]:
    surface(name)
    rows = [row for row in _rows("surfaces_j_f.csv") if row["surface"] == name]
    pairs = []
    for column in ("j", "f"):
        kept = [(float(r["Re"]), float(r[column])) for r in rows if r[column]]
        Re, y = np.log(np.array(kept)).T
        pairs.append((Re, y))
    return pairs[0], pairs[1]


def surface(name: str) -> Surface:
    """One tabulated surface by name, e.g. `11.1`; raises UnknownName. Source: as `surfaces` [SI units]."""
    if name not in surfaces():
        raise UnknownName("compact surface", name, surfaces())
    return surfaces()[name]


def surface_range(name: str) -> tuple[float, float]:
    """Reynolds range of a table [-]. Source: as `surfaces`."""
    Re = np.exp(_curves(name)[0][0])
    return float(Re[0]), float(Re[-1])


def surface_j_f(Re: float, name: str) -> tuple[float, float]:
    """Colburn j [-] and Fanning f [-] of a tabulated surface at Re [-] on 4 r_h.

    Exact at the table's points, linear in logarithms between; beyond the ends the last slope continues
    (see `surface_range`). Source: Kays and London, Compact Heat Exchangers, 3rd ed.
    """
    x = float(np.log(Re))
    found = []
    for X, Y in _curves(name):
        i = int(np.clip(np.searchsorted(X, x) - 1, 0, len(X) - 2))
        found.append(float(np.exp(Y[i] + (Y[i + 1] - Y[i]) * (x - X[i]) / (X[i + 1] - X[i]))))
    return found[0], found[1]
