"""One side of a compact heat exchanger core: coefficient, conductance and pressure drop from flow and state.

A `Side` is pure geometry plus a surface law Re, Pr -> (j, f); `core_side` does the arithmetic for any of
them.
Geometries that make a side are in `core_geometry`.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

from heatproof.laws.fins import fin_efficiency, fin_parameter, overall_surface_efficiency
from heatproof.laws.pressure_loss import fit_branch
from heatproof.numerics.compiled import compiled

SurfaceLaw = Callable[[float, float], tuple[float, float]]
"""(Re on Dh, Pr) -> (Colburn j, Fanning f) [-]."""


@dataclass(frozen=True)
class Stream:
    """State of a stream: rho [kg/m3] at inlet, mu [Pa s], cp [J/(kg K)], k [W/(m K)], rho_out [kg/m3] or
    None.
    """

    rho: float
    mu: float
    cp: float
    k: float
    rho_out: float | None = None

    @property
    def Pr(self) -> float:
        """Prandtl number [-]. Source: definition."""
        return self.mu * self.cp / self.k


@dataclass(frozen=True)
class Side:
    """One side of a core: wetted area A, free-flow area Ac, frontal area Af [m2], Dh, flow length L [m];
    fin_share A_f/A [-], fin_length (half height), fin_thickness [m], fin_k [W/(m K)]; Kc, Ke constants
    come from sigma = Ac/Af and `square` passages or plates."""

    area: float
    free_area: float
    frontal_area: float
    Dh: float
    length: float
    fin_share: float
    fin_length: float
    fin_thickness: float
    fin_k: float
    law: SurfaceLaw

    @property
    def sigma(self) -> float:
        """Free over frontal area [-]. Source: definition."""
        return self.free_area / self.frontal_area


@dataclass(frozen=True)
class SideResult:
    """Re [-], h [W/(m2 K)], surface efficiency [-], hA = eta_o h A [W/K], pressure drop dp [Pa]."""

    Re: float
    h: float
    efficiency: float
    hA: float
    dp: float


@compiled
def entrance_loss_core(sigma: float, turbulent: bool) -> float:
    """Entrance loss Kc [-] of a core of many passages, sigma = free/frontal area [-].

    Square passages: laminar -0.4252 s^2 + 0.0326 s + 1.1798; Re > 1e4 -0.419 s^2 + 0.0208 s + 0.4033.
    Source: fits to Kays and London, Compact Heat Exchangers, fig. 5-4.
    """
    if turbulent:
        return -0.419 * sigma * sigma + 0.0208 * sigma + 0.4033
    return -0.4252 * sigma * sigma + 0.0326 * sigma + 1.1798


@compiled
def exit_loss_core(sigma: float, momentum: float) -> float:
    """Exit loss Ke [-]: 1 - 2 K_d s + s^2; momentum factor K_d [-] of the core flow.

    K_d = 1 at infinite Re, 1.2 plates laminar, 1.333 circle, 1.378 square. Source: Kays, Trans. ASME 72
    (1950) 1067.
    """
    return 1.0 - 2.0 * momentum * sigma + sigma * sigma


@compiled
def core_pressure_drop(
    G: float, rho_in: float, rho_out: float, sigma: float, Kc: float, Ke: float, f: float, area_ratio: float
) -> float:
    """Pressure drop of a core [Pa].

    dp = G^2/(2 rho_i) [(1 - s^2 + Kc) + 2 (rho_i/rho_o - 1) + f (A/Ac) rho_i/rho_m - (1 - s^2 - Ke)
    rho_i/rho_o],
    1/rho_m the mean of 1/rho; G [kg/(m2 s)] in the free area, rho [kg/m3], sigma, Kc, Ke, Fanning f, A/Ac
    [-].
    Source: Kays and London, Compact Heat Exchangers, eq. 2-26.
    """
    r = rho_in / rho_out
    entry = 1.0 - sigma * sigma + Kc
    friction = f * area_ratio * 0.5 * (1.0 + r)
    leave = (1.0 - sigma * sigma - Ke) * r
    return G * G / (2.0 * rho_in) * (entry + 2.0 * (r - 1.0) + friction - leave)


def core_side(side: Side, flow: float, stream: Stream) -> SideResult:
    """Coefficient, conductance and pressure drop of one side at mass flow [kg/s] > 0 and a stream state [SI].

    h = j G cp Pr^(-2/3); straight-fin efficiency; losses by `core_pressure_drop` with laminar constants for
    Re < 2300. Source: Kays and London, Compact Heat Exchangers, ch. 2.
    """
    if flow <= 0.0:
        raise ValueError(f"flow through a core side must be positive, got {flow} kg/s")
    G = flow / side.free_area
    Re = G * side.Dh / stream.mu
    j, f = side.law(Re, stream.Pr)
    h = j * G * stream.cp * stream.Pr ** (-2 / 3)
    eta = 1.0
    if side.fin_share > 0.0:
        mL = fin_parameter(h, side.fin_k, side.fin_thickness) * side.fin_length
        eta = overall_surface_efficiency(side.fin_share, fin_efficiency(mL))
    turbulent = Re > 2300.0
    Kc = entrance_loss_core(side.sigma, turbulent)
    Ke = exit_loss_core(side.sigma, 1.03 if turbulent else 1.378)
    rho_out = stream.rho_out or stream.rho
    dp = core_pressure_drop(G, stream.rho, rho_out, side.sigma, Kc, Ke, f, side.area / side.free_area)
    return SideResult(Re, h, eta, eta * h * side.area, dp)


def conductance_power_law(side: Side, stream: Stream, low: float, high: float) -> tuple[float, float]:
    """hA = c m^n [W/K] of a side through two flows [kg/s], for the solver's kernel: c, n.

    Source: two points of `core_side`; between them within a few per cent, watch the laminar transition.
    """
    first, second = core_side(side, low, stream).hA, core_side(side, high, stream).hA
    n = math.log(second / first) / math.log(high / low)
    return second / high**n, n


def branch_constants(side: Side, stream: Stream, low: float, high: float) -> tuple[float, float]:
    """a [Pa s/kg], b [Pa s2/kg2] of dp = a m + b m|m| of a side, through two flows [kg/s].

    Source: two points of `core_side`, fitted as in `pressure_loss.fit_branch`.
    """
    return fit_branch(low, core_side(side, low, stream).dp, high, core_side(side, high, stream).dp)
