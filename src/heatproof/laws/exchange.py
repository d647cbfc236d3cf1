"""Heat exchangers by effectiveness and number of transfer units.

Symbols: NTU = UA/C_min [-], Cr = C_min/C_max [-] in 0..1, C = m_dot cp [W/K], eps = Q/(C_min (T_h,in -
T_c,in)).
The compiled functions are safe at zero flow.
"""

import math

import numpy as np
from scipy.optimize import brentq

from heatproof.numerics.compiled import compiled

C_FLOOR = 1e-9
"""Smallest capacity rate used in a division [W/K]."""

UNMIXED, CMAX_MIXED, CMIN_MIXED, BOTH_MIXED, COUNTERFLOW, PARALLEL = 0, 1, 2, 3, 4, 5
ARRANGEMENTS = {
    "crossflow both unmixed": UNMIXED,
    "crossflow larger stream mixed": CMAX_MIXED,
    "crossflow smaller stream mixed": CMIN_MIXED,
    "crossflow both mixed": BOTH_MIXED,
    "counterflow": COUNTERFLOW,
    "parallel flow": PARALLEL,
}
"""Arrangement by name; the numbers are what `effectiveness` and `exchanger_links` take."""


@compiled
def effectiveness_one_stream(NTU: float) -> float:
    """Effectiveness [-] at Cr = 0: 1 - exp(-NTU), NTU [-]. Source: Incropera/DeWitt eq. 11.35a."""
    return 1.0 - math.exp(-NTU)


@compiled
def _smaller_of_two_poisson(a: float, b: float) -> float:
    """E[min(X, Y)] for Poisson X, Y with means a >= b: sum over n of P(X > n) P(Y > n)."""
    pa = math.exp(-a) if a < 700.0 else 0.0
    pb = math.exp(-b)
    qa, qb = 1.0 - pa, 1.0 - pb
    total = qa * qb
    n = 0
    while qb > 1e-7 and n < 400:
        n += 1
        pa *= a / n
        pb *= b / n
        qa = max(qa - pa, 0.0)
        qb = max(qb - pb, 0.0)
        total += qa * qb
    return total


@compiled
def _smaller_of_two_normal(a: float, b: float) -> float:
    """The same for large b, by the normal limit of both counts."""
    theta = math.sqrt(a + b)
    d = (b - a) / theta
    phi = math.exp(-0.5 * d * d) / math.sqrt(2.0 * math.pi)
    below = 0.5 * math.erfc(-d / math.sqrt(2.0))
    return a * below + b * (1.0 - below) - theta * phi


@compiled
def effectiveness_crossflow_unmixed(NTU: float, Cr: float) -> float:
    """Effectiveness of crossflow, both streams unmixed, exact [-]; NTU [-] >= 0, Cr [-] 0..1.

    eps = 1/(Cr NTU) sum_n P(n, NTU) P(n, Cr NTU), P(n, x) = 1 - exp(-x) sum_{m<=n} x^m/m!; series for
    Cr NTU <= 60 (error < 1e-6), its normal limit above (error < 1e-4).
    Source: Mason, Proc. 2nd US Nat. Congr. Appl. Mech. (1954) 801; Shah and Sekulic, Fundamentals of Heat
    Exchanger Design (2003), table 3.6.
    """
    b = Cr * NTU
    if b < 1e-6:
        return 1.0 - math.exp(-NTU)
    if b <= 60.0:
        return _smaller_of_two_poisson(NTU, b) / b
    return _smaller_of_two_normal(NTU, b) / b


@compiled
def effectiveness_crossflow_unmixed_handbook(NTU: float, Cr: float) -> float:
    """Effectiveness of crossflow, both unmixed, the usual approximation [-]; NTU [-], Cr [-] 0..1.

    eps = 1 - exp[(NTU^0.22/Cr)(exp(-Cr NTU^0.78) - 1)]; up to 0.012 off the exact form.
    Source: Incropera/DeWitt, Fundamentals of Heat and Mass Transfer, eq. 11.32.
    """
    if NTU <= 0.0:
        return 0.0
    if Cr < 1e-9:
        return 1.0 - math.exp(-NTU)
    return float(1.0 - math.exp(NTU**0.22 / Cr * (math.exp(-Cr * NTU**0.78) - 1.0)))


@compiled
def effectiveness_cmax_mixed(NTU: float, Cr: float) -> float:
    """Effectiveness of crossflow, stream of larger C mixed [-]; NTU [-], Cr [-] 0..1.

    eps = (1/Cr)(1 - exp{-Cr [1 - exp(-NTU)]}). Source: Incropera/DeWitt eq. 11.33.
    """
    if Cr < 1e-9:
        return 1.0 - math.exp(-NTU)
    return (1.0 - math.exp(-Cr * (1.0 - math.exp(-NTU)))) / Cr


@compiled
def effectiveness_cmin_mixed(NTU: float, Cr: float) -> float:
    """Effectiveness of crossflow, stream of smaller C mixed [-]; NTU [-], Cr [-] 0..1.

    eps = 1 - exp{-(1/Cr)[1 - exp(-Cr NTU)]}. Source: Incropera/DeWitt eq. 11.34.
    """
    if Cr < 1e-9:
        return 1.0 - math.exp(-NTU)
    return 1.0 - math.exp(-(1.0 - math.exp(-Cr * NTU)) / Cr)


@compiled
def effectiveness_both_mixed(NTU: float, Cr: float) -> float:
    """Effectiveness of crossflow, both streams mixed [-]; NTU [-], Cr [-] 0..1; not monotone in NTU.

    1/eps = 1/(1 - exp(-NTU)) + Cr/(1 - exp(-Cr NTU)) - 1/NTU.
    Source: Shah and Sekulic (2003), table 3.6; Kays and London ch. 2.
    """
    if NTU < 1e-9:
        return NTU
    if Cr * NTU < 1e-9:
        return 1.0 - math.exp(-NTU)
    return 1.0 / (1.0 / (1.0 - math.exp(-NTU)) + Cr / (1.0 - math.exp(-Cr * NTU)) - 1.0 / NTU)


@compiled
def effectiveness_counterflow(NTU: float, Cr: float) -> float:
    """Effectiveness of counterflow [-]; NTU [-], Cr [-] 0..1.

    eps = (1 - e)/(1 - Cr e), e = exp(-NTU (1 - Cr)); Cr = 1: NTU/(1 + NTU). Source: Incropera/DeWitt eq.
    11.29.
    """
    if 1.0 - Cr < 1e-7:
        return NTU / (1.0 + NTU)
    e = math.exp(-NTU * (1.0 - Cr))
    return (1.0 - e) / (1.0 - Cr * e)


@compiled
def effectiveness_parallel(NTU: float, Cr: float) -> float:
    """Effectiveness of parallel flow [-]: [1 - exp(-NTU (1 + Cr))]/(1 + Cr); NTU [-], Cr [-] 0..1.

    Source: Incropera/DeWitt eq. 11.28.
    """
    return (1.0 - math.exp(-NTU * (1.0 + Cr))) / (1.0 + Cr)


@compiled
def effectiveness(NTU: float, Cr: float, arrangement: int) -> float:
    """Effectiveness [-] for an arrangement number of `ARRANGEMENTS`; NTU [-], Cr [-] 0..1.

    Source: the functions of this module.
    """
    if arrangement == 0:
        return effectiveness_crossflow_unmixed(NTU, Cr)
    if arrangement == 1:
        return effectiveness_cmax_mixed(NTU, Cr)
    if arrangement == 2:
        return effectiveness_cmin_mixed(NTU, Cr)
    if arrangement == 3:
        return effectiveness_both_mixed(NTU, Cr)
    if arrangement == 4:
        return effectiveness_counterflow(NTU, Cr)
    return effectiveness_parallel(NTU, Cr)


def effectiveness_multipass(NTU: float, Cr: float, passes: int, arrangement: int = UNMIXED) -> float:
    """Effectiveness of `passes` equal passes in overall counterflow, mixed between passes [-].

    With pass value eps1 at NTU/passes: Z = ((1 - eps1 Cr)/(1 - eps1))^passes, eps = (Z - 1)/(Z - Cr);
    Cr = 1: passes eps1/(1 + (passes - 1) eps1). Total NTU [-], Cr [-] 0..1.
    Source: Kays and London, Compact Heat Exchangers, ch. 2; Shah and Sekulic (2003), eq. 3.131.
    """
    if passes < 1:
        raise ValueError(f"an exchanger has at least one pass, got {passes}")
    eps1 = effectiveness(NTU / passes, Cr, arrangement)
    if 1.0 - Cr < 1e-7:
        return passes * eps1 / (1.0 + (passes - 1) * eps1)
    if 1.0 - eps1 < 1e-12:
        return 1.0
    Z = ((1.0 - eps1 * Cr) / (1.0 - eps1)) ** passes
    return (Z - 1.0) / (Z - Cr)


def transfer_units(eps: float, Cr: float, arrangement: int = UNMIXED) -> float:
    """NTU [-] that gives effectiveness eps [-] at Cr [-]; ValueError where no NTU up to 1000 does.

    Source: numerical inverse of `effectiveness` (Brent).
    """
    top = 1000.0
    if arrangement == BOTH_MIXED:  # the rising branch only
        grid = np.geomspace(1e-3, 50.0, 400)
        top = float(grid[int(np.argmax([effectiveness(n, Cr, arrangement) for n in grid]))])
    best = effectiveness(top, Cr, arrangement)
    if not 0.0 <= eps <= best:
        raise ValueError(f"effectiveness {eps} is out of reach at Cr {Cr:.4g}: allowed 0..{best:.4f}")
    return float(brentq(lambda n: effectiveness(n, Cr, arrangement) - eps, 0.0, top, xtol=1e-12))


def log_mean_difference(dT1: float, dT2: float) -> float:
    """Logarithmic mean of two end temperature differences of the same sign [K].

    (dT1 - dT2)/ln(dT1/dT2), with its limit for equal ends. Source: Incropera/DeWitt eq. 11.15.
    """
    if dT1 * dT2 <= 0.0:
        raise ValueError(f"end differences must be non-zero and of one sign, got {dT1} and {dT2} K")
    ratio = dT1 / dT2
    if abs(ratio - 1.0) < 1e-6:
        return 0.5 * (dT1 + dT2)
    return (dT1 - dT2) / math.log(ratio)


@compiled
def exchanger_conductance(UA: float, Ch: float, Cc: float, arrangement: int) -> float:
    """E = eps C_min [W/K], so that Q = E (T_h,in - T_c,in); UA [W/K], Ch, Cc [W/K] >= 0.

    Source: definition of effectiveness.
    """
    c_min, c_max = max(min(Ch, Cc), 1e-9), max(Ch, Cc, 1e-9)
    return effectiveness(UA / c_min, c_min / c_max, arrangement) * c_min


@compiled
def exchanger_links(hAh: float, hAc: float, Ch: float, Cc: float, arrangement: int) -> tuple[float, float]:
    """Conductances [W/K] of an exchanger with metal mass: inlet of the hot stream to metal, metal to cold
    inlet.

    g = C (1 - exp(-hA/C)) per stream, E = eps C_min with UA = 1/(1/hAh + 1/hAc), s = E (1/gh + 1/gc);
    Gh = s gh, Gc = s gc. Their series is E exactly at steady state; each goes to zero with its own flow.
    hA [W/K] >= 0, C [W/K] >= 0. Source: derived for this program from the definition of effectiveness.
    """
    Ch, Cc = max(Ch, 1e-9), max(Cc, 1e-9)
    hAh, hAc = max(hAh, 1e-9), max(hAc, 1e-9)
    gh = -Ch * math.expm1(-hAh / Ch)
    gc = -Cc * math.expm1(-hAc / Cc)
    E = exchanger_conductance(hAh * hAc / (hAh + hAc), Ch, Cc, arrangement)
    return E * (1.0 + gh / gc), E * (1.0 + gc / gh)
