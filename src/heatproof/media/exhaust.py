"""Burned gas of petrol with air, by relative air/fuel ratio lambda; dry air is its limit at infinity."""

import numpy as np

from heatproof.media.data_files import rows_of
from heatproof.numerics.compiled import compiled

AFR_STOICHIOMETRIC = 14.6
"""Air/fuel ratio by mass of CH1.87 with dry air [-]."""
T_REFERENCE = 298.15
"""Sensible enthalpy is zero here [K]."""
LAMBDA_RICHEST = 0.75
"""Richest mixture of the table [-]; a richer one is held at this value."""


def _nodes() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Node abscissa, gas constants, coefficients [property, node, order] (cp, viscosity, conductivity)."""
    rows = list(rows_of("exhaust.csv"))
    lambdas = list(dict.fromkeys(row["lambda"] for row in rows))
    x = np.array([_abscissa(float("inf") if name == "air" else float(name)) for name in lambdas])
    gas = np.array([next(float(r["gas_constant"]) for r in rows if r["lambda"] == name) for name in lambdas])
    order = ("cp", "viscosity", "conductivity")
    table = {(r["property"], r["lambda"]): [float(r[f"c{i}"]) for i in range(6)] for r in rows}
    return x, gas, np.array([[table[prop, name] for name in lambdas] for prop in order])


def _abscissa(lam: float) -> float:
    """lambda on the rich side; on the lean side 1 + mass fraction of surplus air, in which cp is linear."""
    if lam <= 1.0:
        return max(lam, LAMBDA_RICHEST)
    if lam == float("inf"):
        return 2.0
    return 1.0 + (lam - 1.0) * AFR_STOICHIOMETRIC / (1.0 + lam * AFR_STOICHIOMETRIC)


_X, _R, _C = _nodes()


@compiled
def _place(lam: float) -> tuple[int, float]:
    """Left node and weight of the right node for lambda."""
    if lam <= 1.0:
        x = max(lam, 0.75)
    elif lam > 1e6:
        x = 2.0
    else:
        x = 1.0 + (lam - 1.0) * 14.6 / (1.0 + lam * 14.6)
    i = 0
    while i < _X.size - 2 and x > _X[i + 1]:
        i += 1
    return i, (x - _X[i]) / (_X[i + 1] - _X[i])


@compiled
def _horner(c: np.ndarray, s: float) -> float:
    return float(c[0] + s * (c[1] + s * (c[2] + s * (c[3] + s * (c[4] + s * c[5])))))


@compiled
def _property(which: int, T: float, lam: float) -> float:
    i, f = _place(lam)
    s = 1e-3 * min(max(T, 250.0), 1500.0)
    return (1.0 - f) * _horner(_C[which, i], s) + f * _horner(_C[which, i + 1], s)


@compiled
def cp_exhaust(T: float, lam: float) -> float:
    """Isobaric specific heat of burned gas [J/(kg K)] at T [K], lambda [-]; 250-1450 K, lambda >= 0.75.

    Source: media/data/exhaust.csv, fit within 0.1 % to frozen gas of GRI-Mech 3.0 by Cantera.
    """
    return _property(0, T, lam)


@compiled
def viscosity_exhaust(T: float, lam: float) -> float:
    """Dynamic viscosity of burned gas [Pa s] at T [K], lambda [-]. Source: as `cp_exhaust`."""
    return _property(1, T, lam)


@compiled
def conductivity_exhaust(T: float, lam: float) -> float:
    """Thermal conductivity of burned gas [W/(m K)] at T [K], lambda [-]. Source: as `cp_exhaust`."""
    return _property(2, T, lam)


@compiled
def gas_constant_exhaust(lam: float) -> float:
    """Gas constant of burned gas [J/(kg K)] at lambda [-]. Source: as `cp_exhaust`."""
    i, f = _place(lam)
    return float((1.0 - f) * _R[i] + f * _R[i + 1])


@compiled
def gamma_exhaust(T: float, lam: float) -> float:
    """Ratio of specific heats of burned gas [-] at T [K], lambda [-]: cp/(cp - R).

    Source: as `cp_exhaust`.
    """
    cp = cp_exhaust(T, lam)
    return cp / (cp - gas_constant_exhaust(lam))


@compiled
def density_exhaust(T: float, p: float, lam: float) -> float:
    """Density of burned gas [kg/m3] at T [K], p [Pa], lambda [-]: p/(R T). Source: ideal gas."""
    return p / (gas_constant_exhaust(lam) * T)


@compiled
def _enthalpy_of(c: np.ndarray, s: float) -> float:
    return float(
        s * (c[0] + s * (c[1] / 2 + s * (c[2] / 3 + s * (c[3] / 4 + s * (c[4] / 5 + s * c[5] / 6)))))
    )


@compiled
def enthalpy_exhaust(T: float, lam: float) -> float:
    """Sensible enthalpy of burned gas above 298.15 K [J/kg] at T [K], lambda [-].

    The exact integral of `cp_exhaust`, so straight beyond its range. Source: as `cp_exhaust`; 250-1500 K.
    """
    i, f = _place(lam)
    held = min(max(T, 250.0), 1500.0)
    s, s0 = 1e-3 * held, 1e-3 * 298.15
    left = _enthalpy_of(_C[0, i], s) - _enthalpy_of(_C[0, i], s0)
    right = _enthalpy_of(_C[0, i + 1], s) - _enthalpy_of(_C[0, i + 1], s0)
    return 1e3 * ((1.0 - f) * left + f * right) + (T - held) * cp_exhaust(held, lam)


@compiled
def temperature_exhaust(h: float, lam: float) -> float:
    """Temperature of burned gas [K] from sensible enthalpy h [J/kg] above 298.15 K and lambda [-].

    Newton on `enthalpy_exhaust`, to 1e-6 K. Source: inverse of `enthalpy_exhaust`.
    """
    T = 298.15 + h / 1180.0
    for _ in range(12):
        step = (enthalpy_exhaust(T, lam) - h) / cp_exhaust(T, lam)
        T -= step
        if abs(step) < 1e-6:
            break
    return T


@compiled
def combustion_efficiency(lam: float, ceiling: float = 0.97) -> float:
    """Share of the fuel's heating value released [-] at lambda [-], 0.6 < lambda.

    min(ceiling, 1 - 1.335 (1 - lambda)): frozen water-gas equilibrium, within 0.2 points over 0.75..1; the
    ceiling stands for real engines (0.95-0.98). Source: element balance as for `cp_exhaust`; ceiling from
    Heywood, Internal Combustion Engine Fundamentals (1988), fig. 3-9, from memory.
    """
    return float(min(ceiling, max(0.0, 1.0 - 1.335 * (1.0 - lam))))
