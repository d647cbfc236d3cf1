"""Density and viscosity of whatever a branch carries."""

import numpy as np

from heatproof.media.air import viscosity_air
from heatproof.media.liquids import liquid_density, liquid_viscosity
from heatproof.network.arrays import AIR, EXHAUST
from heatproof.numerics.compiled import compiled, compiled_inner

R_AIR, CP_AIR = 287.05, 1008.0  # J/kg/K
GLASS = 120.0  # K; no liquid curve is asked below its own validity
GASES = (AIR, EXHAUST)


@compiled
def density(fluid, coef, T, pressure):
    """kg/m3 of fluid number `fluid` at T (K); gases at `pressure` (Pa absolute)."""
    if fluid == AIR or fluid == EXHAUST:
        return pressure / (R_AIR * T)
    return liquid_density(T, coef)


@compiled_inner
def kinematic_viscosity(fluid, coef, T, pressure):
    """m2/s of fluid number `fluid` at T (K); gases at `pressure` (Pa absolute)."""
    if fluid == AIR or fluid == EXHAUST:
        return viscosity_air(T) * R_AIR * T / pressure
    return liquid_viscosity(T, coef)


@compiled_inner
def saturation_temperature(p0, step, table, p):
    """K at which the coolant boils at p (Pa absolute), from a table at equal steps of pressure."""
    x = (p - p0) / step
    i = min(max(int(np.floor(x)), 0), table.size - 2)
    f = min(max(x - i, 0.0), 1.0)
    return table[i] * (1.0 - f) + table[i + 1] * f
