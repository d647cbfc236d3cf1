"""Conduction through layers, blankets and sleeves."""

import math
from collections.abc import Callable, Sequence

Conductivity = Callable[[float], float]
"""k(T_mean) [W/(m K)] of a layer at its mean temperature [K]."""


def plane_resistance(thickness: float, k: float, area: float = 1.0) -> float:
    """Resistance of a plane layer [K/W]: L/(k A); L [m], k [W/(m K)], A [m2]. Source: Fourier's law."""
    return thickness / (k * area)


def cylinder_resistance(r_inner: float, r_outer: float, k: float, length: float = 1.0) -> float:
    """Resistance of a cylindrical layer [K/W]: ln(r2/r1)/(2 pi k L); r, L [m], k [W/(m K)].

    Source: Incropera/DeWitt eq. 3.28.
    """
    return math.log(r_outer / r_inner) / (2.0 * math.pi * k * length)


def critical_radius(k: float, h: float) -> float:
    """Radius at which a thicker cylindrical layer starts to save heat [m]: k/h; k [W/(m K)], h [W/(m2 K)].

    Source: Incropera/DeWitt example 3.5.
    """
    return k / h


def layered_flux(
    layers: Sequence[tuple[float, Conductivity]], T_hot: float, T_cold: float, radius: float | None = None
) -> tuple[float, list[float]]:
    """Heat through layers with k(T): flux on the hot face [W/m2] and the boundary temperatures [K] [n + 1].

    layers: (thickness [m], k(T_mean [K]) [W/(m K)]) from the hot side; radius [m] of the hot face of a
    cylinder,
    None for a plane. Each k is taken at the mean of its two boundaries; fixed point to 1e-6 K.
    Source: series resistances with mean conductivities (exact for k linear in T).
    """
    n = len(layers)
    T = [T_hot + (T_cold - T_hot) * i / n for i in range(n + 1)]
    flux = 0.0
    for _ in range(200):
        R = _layer_resistances(layers, T, radius)
        flux = (T_hot - T_cold) / sum(R)
        new = [T_hot]
        for r in R:
            new.append(new[-1] - flux * r)
        change = max(abs(a - b) for a, b in zip(T, new, strict=True))
        T = new
        if change < 1e-6:
            break
    return flux, T


def _layer_resistances(
    layers: Sequence[tuple[float, Conductivity]], T: Sequence[float], radius: float | None
) -> list[float]:
    """Resistances per area of the hot face [m2 K/W] with each k at the mean of its boundary temperatures."""
    R, r = [], radius
    for i, (thickness, k) in enumerate(layers):
        mean = k(0.5 * (T[i] + T[i + 1]))
        if r is None or radius is None:
            R.append(thickness / mean)
        else:
            R.append(radius * math.log((r + thickness) / r) / mean)
            r += thickness
    return R


def blanket_conductance(
    area: float, thickness: float, k: float, coverage: float = 1.0, gap: float = 0.0, k_air: float = 0.04
) -> float:
    """Conductance of a blanket from the hot skin to its outer skin [W/K], over the covered area only.

    G = coverage A/(t/k + gap/k_air); A [m2], thickness, air gap under it [m], k [W/(m K)], coverage [-] 0..1.
    The uncovered area (1 - coverage) A stays bare and is modelled as its own surface. A loose edge that lets
    air under the blanket is such bare area, not a larger k. Source: series of layers; bare share common
    practice.
    """
    if not 0.0 <= coverage <= 1.0:
        raise ValueError(f"coverage must lie in 0..1, got {coverage}")
    return coverage * area / (thickness / k + gap / k_air)


def edge_gap_coverage(coverage: float, perimeter: float, edge_gap: float, area: float) -> float:
    """Coverage [-] left when the blanket ends an edge gap [m] short along its perimeter [m] of a body of area
    [m2].

    Source: geometry, first order in the gap.
    """
    return max(0.0, coverage - perimeter * edge_gap / area)


def fin_rod_heat(diameter: float, k: float, h: float, dT: float) -> float:
    """Heat of an infinitely long pin [W]: sqrt(h P k A) dT; d [m], k [W/(m K)], h [W/(m2 K)], dT [K].

    Source: Incropera/DeWitt eq. 3.80.
    """
    return math.sqrt(h * math.pi * diameter * k * 0.25 * math.pi * diameter**2) * dT
