"""Radiation between grey, diffuse surfaces."""

import math

import numpy as np

from heatproof.numerics.compiled import compiled

SIGMA = 5.670374419e-8
"""Stefan-Boltzmann constant [W/(m2 K4)] (CODATA 2018, exact)."""


@compiled
def emissive_power(T: float) -> float:
    """Black-body emissive power [W/m2]: sigma T^4, T [K]. Source: Stefan-Boltzmann."""
    return 5.670374419e-8 * T * T * T * T


@compiled
def radiation_coefficient(T1: float, T2: float) -> float:
    """Linearised black exchange coefficient [W/(m2 K)]: sigma (T1^2 + T2^2)(T1 + T2), T [K].

    Source: factorised T1^4 - T2^4, exact.
    """
    return 5.670374419e-8 * (T1 * T1 + T2 * T2) * (T1 + T2)


@compiled
def flux_to_surroundings(eps: float, T: float, T_surroundings: float) -> float:
    """Net flux of a small grey body in large surroundings [W/m2]: eps sigma (T^4 - T_sur^4); eps [-], T [K].

    Source: Incropera/DeWitt eq. 1.7.
    """
    return eps * (emissive_power(T) - emissive_power(T_surroundings))


def exchange_factor_plates(eps1: float, eps2: float, shields: tuple[tuple[float, float], ...] = ()) -> float:
    """Exchange factor between parallel plates [-]: q = F sigma (T1^4 - T2^4); emissivities [-].

    1/F = 1/eps1 + 1/eps2 - 1 + sum over shields of (1/eps_a + 1/eps_b - 1), (eps_a, eps_b) the two faces.
    Source: Incropera/DeWitt eqs. 13.19, 13.28.
    """
    resistance = 1.0 / eps1 + 1.0 / eps2 - 1.0
    resistance += sum(1.0 / a + 1.0 / b - 1.0 for a, b in shields)
    return 1.0 / resistance


def shield_temperature(T1: float, T2: float, eps1: float, eps2: float, faces: tuple[float, float]) -> float:
    """Temperature of one shield between parallel plates [K]; T [K], emissivities [-], faces towards 1 and 2.

    Source: flux continuity of two gaps in series (Incropera/DeWitt sect. 13.3.4).
    """
    F1 = exchange_factor_plates(eps1, faces[0])
    F2 = exchange_factor_plates(faces[1], eps2)
    return float(((F1 * T1**4 + F2 * T2**4) / (F1 + F2)) ** 0.25)


def exchange_factor_concentric(eps1: float, eps2: float, area_ratio: float) -> float:
    """Exchange factor of the inner of two concentric bodies, on its own area [-].

    1/F = 1/eps1 + (A1/A2)(1/eps2 - 1); A1/A2 [-] = r1/r2 (cylinders) or (r1/r2)^2 (spheres).
    Source: Incropera/DeWitt eqs. 13.20, 13.21.
    """
    return 1.0 / (1.0 / eps1 + area_ratio * (1.0 / eps2 - 1.0))


def exchange_factor_concentric_shielded(
    eps1: float, eps2: float, r1: float, r2: float, r_shield: float, faces: tuple[float, float]
) -> float:
    """Exchange factor on area 1 [-] of concentric cylinders with one thin shield; radii [m], faces inward,
    outward.

    Source: series of `exchange_factor_concentric` resistances (Incropera/DeWitt sect. 13.3.4).
    """
    inner = 1.0 / eps1 + r1 / r_shield * (1.0 / faces[0] - 1.0)
    outer = 1.0 / faces[1] + r_shield / r2 * (1.0 / eps2 - 1.0)
    return 1.0 / (inner + r1 / r_shield * outer)


def exchange_areas(F: np.ndarray, area: np.ndarray, eps: np.ndarray) -> np.ndarray:
    """Total exchange areas of a closed grey enclosure [m2], symmetric, shape [n, n], zero diagonal.

    Q_i = sum_j G_ij sigma (T_i^4 - T_j^4), G_ij = A_i eps_i B_ij, with the share of i's emission absorbed
    by j,
    all reflections counted, B = [I - F diag(1 - eps)]^-1 F diag(eps).
    F view factors [n, n] with rows summing to 1 and A_i F_ij = A_j F_ji, area [m2] [n], eps [n] in (0, 1].
    Source: Hottel and Sarofim, Radiative Transfer (1967); Gebhart's absorption factors; Siegel and Howell.
    """
    rows = F.sum(axis=1)
    if np.abs(rows - 1.0).max() > 1e-6:
        worst = int(np.abs(rows - 1.0).argmax())
        raise ValueError(
            f"view factors of surface {worst} sum to {rows[worst]:.6f}, not to 1: enclosure not closed"
        )
    if eps.min() <= 0.0 or eps.max() > 1.0:
        raise ValueError(f"emissivities must lie in (0, 1], got {eps.min()} to {eps.max()}")
    n = len(area)
    absorbed = np.linalg.solve(np.eye(n) - F * (1.0 - eps)[None, :], F * eps[None, :])
    G = (area * eps)[:, None] * absorbed
    G = 0.5 * (G + G.T)
    np.fill_diagonal(G, 0.0)
    return G


def enclosure_heat(F: np.ndarray, area: np.ndarray, eps: np.ndarray, T: np.ndarray) -> np.ndarray:
    """Net heat leaving each surface of a closed grey enclosure [W] at T [K]; arguments as `exchange_areas`.

    Source: as `exchange_areas`.
    """
    E = SIGMA * T**4
    G = exchange_areas(F, area, eps)
    return G.sum(axis=1) * E - G @ E


@compiled
def coated_emissivity(eps_bare: float, eps_coated: float, coverage: float) -> float:
    """Area-mean emissivity [-] of a partly coated surface, coverage [-] 0..1. Source: area mean."""
    return coverage * eps_coated + (1.0 - coverage) * eps_bare


def wire_shadow(open_fraction: float) -> float:
    """Share of diffuse radiation passing a perforated sheet [-]: its open area fraction [-].

    Source: definition.
    """
    if not 0.0 <= open_fraction <= 1.0:
        raise ValueError(f"open fraction must lie in 0..1, got {open_fraction}")
    return open_fraction


def blackbody_spectral_radiance(T: float, wavelength: float) -> float:
    """Spectral radiance of a black body [W/(m2 sr m)] at T [K], wavelength [m].

    Source: Planck's law, CODATA 2018.
    """
    h, c, k = 6.62607015e-34, 299792458.0, 1.380649e-23
    return 2.0 * h * c * c / wavelength**5 / math.expm1(h * c / (wavelength * k * T))
