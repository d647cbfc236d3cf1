"""Natural circulation of a liquid in a closed line, and whether the line may start at all."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from scipy.optimize import brentq

from heatproof.numerics.compiled import compiled

G0 = 9.80665
"""Standard gravity [m/s2]."""


@compiled
def drive_pressure(rho: float, beta: float, dT: float, height: float) -> float:
    """Driving pressure of a thermosiphon [Pa]: rho g beta dT H.

    rho [kg/m3], beta [1/K], dT hot leg minus cold leg [K], H height between the centres of cooler and
    heater [m].
    Source: Boussinesq integral round the loop.
    """
    return rho * 9.80665 * beta * dT * height


@compiled
def laminar_volume_flow(dp: float, length: float, diameter: float, mu: float) -> float:
    """Volume flow of laminar pipe flow [m3/s]: pi d^4 dp/(128 mu L); dp [Pa], L, d [m], mu [Pa s].

    Source: Hagen-Poiseuille.
    """
    return math.pi * diameter**4 * dp / (128.0 * mu * length)


def loop_flow_from_difference(
    *,
    rho: float,
    beta: float,
    mu: float,
    dT: float,
    height: float,
    length: float,
    diameter: float,
    K: float = 0.0,
) -> float:
    """Mass flow [kg/s] of a loop at given dT [K]; laminar friction plus minor losses K [-].

    rho [kg/m3], beta [1/K], mu [Pa s], height, length, diameter [m]. Zero where height or dT is not positive.
    Source: balance of `drive_pressure` with Hagen-Poiseuille and K rho V^2/2.
    """
    dp = drive_pressure(rho, beta, dT, height)
    if dp <= 0.0:
        return 0.0
    a = 128.0 * mu * length / (math.pi * diameter**4 * rho)
    b = K / (2.0 * rho * (0.25 * math.pi * diameter**2) ** 2)
    return 2.0 * dp / (a + math.sqrt(a * a + 4.0 * b * dp))


def loop_flow_from_heat(
    heat: float,
    *,
    rho: float,
    beta: float,
    mu: float,
    cp: float,
    height: float,
    length: float,
    diameter: float,
    K: float = 0.0,
) -> float:
    """Mass flow [kg/s] of a laminar loop that carries `heat` [W]; cp [J/(kg K)], the rest as in
    `loop_flow_from_difference`.

    K = 0: m = sqrt(rho^2 g beta H Q pi d^4/(128 mu L cp)). Source: energy and momentum balance of the loop.
    """
    if height <= 0.0 or heat <= 0.0:
        return 0.0
    a = 128.0 * mu * length / (math.pi * diameter**4 * rho)
    b = K / (2.0 * rho * (0.25 * math.pi * diameter**2) ** 2)
    drive = rho * G0 * beta * height * heat / cp
    top = math.sqrt(drive / a)
    if b == 0.0:
        return top
    return float(brentq(lambda m: (a + b * m) * m * m - drive, 0.0, top, xtol=1e-15))


def loop_constant(p: float, b: float) -> tuple[float, float]:
    """C [-] and exponent r [-] of Re = C (Gr_m/N_G)^r for a friction law f_D = p Re^-b: r = 1/(3 - b), C =
    (2/p)^r.

    Laminar (64, 1): 0.1768, 0.5; Blasius (0.316, 0.25): 1.956, 1/2.75.
    Source: Vijayan and Austregesilo, Nucl. Eng. Des. 152 (1994) 331; Vijayan, ibid. 215 (2002) 139.
    """
    r = 1.0 / (3.0 - b)
    return float((2.0 / p) ** r), r


def loop_reynolds(grashof_over_geometry: float) -> float:
    """Reynolds number of steady natural circulation [-] from Gr_m/N_G [-]: the smaller of both branches'
    flows.

    Laminar below the crossing of the two laws (Gr_m/N_G about 4.6e7), turbulent above.
    Source: `loop_constant`; Vijayan (2002).
    """
    laminar, turbulent = loop_constant(64.0, 1.0), loop_constant(0.316, 0.25)
    return float(
        min(
            laminar[0] * grashof_over_geometry ** laminar[1],
            turbulent[0] * grashof_over_geometry ** turbulent[1],
        )
    )


@dataclass(frozen=True)
class LineShape:
    """Verdict on a return line given by its heights from heater outlet to cooler inlet."""

    net_rise: float
    """End minus start height [m]; must be positive for circulation to start."""
    deepest_trap: float
    """Largest fall after a high point on the way up [m]; vapour and hot liquid collect there."""
    trap_index: int | None
    """Index of the point at the bottom of the deepest trap, None without one."""

    def rises_all_the_way(self) -> bool:
        """True without any falling stretch. Source: definition."""
        return self.net_rise > 0.0 and self.trap_index is None


def line_shape(heights: Sequence[float], tolerance: float = 1e-3) -> LineShape:
    """Net rise and deepest trap of a line from its point heights [m], heater outlet first; tolerance [m].

    A fall below an earlier high point costs rho g beta dT h of drive while hot fluid stands in it.
    Source: hydrostatics; rising return lines are common practice, no source.
    """
    if len(heights) < 2:
        raise ValueError(f"a line needs at least two heights, got {len(heights)}")
    high, deepest, where = heights[0], 0.0, None
    for i, z in enumerate(heights):
        high = max(high, z)
        if high - z > max(deepest, tolerance):
            deepest, where = high - z, i
    return LineShape(heights[-1] - heights[0], deepest, where)
