"""Compact liquid curves for the solver's hot loop: seven numbers per liquid.

coef = [r0, r1, r2, A, B, C, cp]:  rho = r0 + r1 t + r2 t^2 with t = T - 363.15 K [kg/m3],
ln nu = A + B/(T - C) [m2/s], cp [J/(kg K)] constant.
"""

import numpy as np
from scipy.optimize import least_squares

from heatproof.numerics.compiled import compiled

T_REFERENCE = 363.15
"""Origin of the density polynomial and the temperature at which cp is taken [K]."""


@compiled
def liquid_density(T: float, coef: np.ndarray) -> float:
    """Density [kg/m3] at T [K] from the seven coefficients. Source: this module's curve."""
    t = T - 363.15
    return float(coef[0] + t * (coef[1] + t * coef[2]))


@compiled
def liquid_viscosity(T: float, coef: np.ndarray) -> float:
    """Kinematic viscosity [m2/s] at T [K] from the seven coefficients; held above C + 20 K.

    Source: this module's curve, Vogel's form.
    """
    return float(np.exp(coef[3] + coef[4] / max(T - coef[5], 20.0)))


def fit_liquid(T: np.ndarray, rho: np.ndarray, nu: np.ndarray, cp: float) -> np.ndarray:
    """Coefficients [7] from samples: T [K], density [kg/m3], kinematic viscosity [m2/s], cp [J/(kg K)].

    Least relative squares. Source: Vogel's viscosity form, H. Vogel, Phys. Z. 22 (1921) 645.
    """
    t = T - T_REFERENCE
    design = np.vander(t, 3, increasing=True) / rho[:, None]
    r = np.linalg.lstsq(design, np.ones_like(rho), rcond=None)[0]
    log_nu = np.log(nu)

    def misfit(C: float) -> tuple[np.ndarray, np.ndarray]:
        columns = np.stack([np.ones_like(T), 1.0 / (T - C)], axis=1)
        ab = np.linalg.lstsq(columns, log_nu, rcond=None)[0]
        return columns @ ab - log_nu, ab

    C = least_squares(lambda q: misfit(q[0])[0], [160.0], bounds=(0.0, float(T.min()) - 25.0)).x[0]
    A, B = misfit(C)[1]
    return np.array([*r, A, B, C, cp])
