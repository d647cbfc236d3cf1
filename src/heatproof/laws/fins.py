"""Fin efficiency and overall efficiency of a finned surface."""

import math

from scipy.special import iv, kv

from heatproof.numerics.compiled import compiled


@compiled
def fin_efficiency(mL: float) -> float:
    """Efficiency of a straight fin with adiabatic tip [-]: tanh(mL)/(mL), mL [-].

    Source: Incropera/DeWitt eq. 3.89.
    """
    return math.tanh(mL) / mL if mL > 1e-6 else 1.0


@compiled
def fin_parameter(h: float, k: float, thickness: float) -> float:
    """Fin parameter m [1/m]: sqrt(2 h/(k t)); h [W/(m2 K)], k [W/(m K)], t [m]; both faces wet.

    Source: Incropera/DeWitt sect. 3.6.2.
    """
    return math.sqrt(2.0 * h / (k * thickness))


@compiled
def overall_surface_efficiency(fin_share: float, efficiency: float) -> float:
    """Overall efficiency of a finned surface [-]: 1 - (A_f/A)(1 - eta_f); A_f/A [-], eta_f [-].

    Source: Incropera/DeWitt eq. 3.102.
    """
    return 1.0 - fin_share * (1.0 - efficiency)


def annular_fin_efficiency(r_base: float, r_tip: float, thickness: float, k: float, h: float) -> float:
    """Efficiency of an annular fin of constant thickness, adiabatic tip [-]; r, t [m], k [W/(m K)], h [W/(m2
    K)].

    eta = 2 r1/(m (r2^2 - r1^2)) [K1(m r1) I1(m r2) - I1(m r1) K1(m r2)]/[I0(m r1) K1(m r2) + K0(m r1) I1(m
    r2)].
    Source: Kern and Kraus, Extended Surface Heat Transfer (1972); Incropera/DeWitt eq. 3.91.
    """
    m = fin_parameter(h, k, thickness)
    a, b = m * r_base, m * r_tip
    top = kv(1, a) * iv(1, b) - iv(1, a) * kv(1, b)
    bottom = iv(0, a) * kv(1, b) + kv(0, a) * iv(1, b)
    return float(2.0 * r_base / (m * (r_tip**2 - r_base**2)) * top / bottom)
