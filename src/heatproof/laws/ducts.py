"""Fully developed laminar flow in ducts, and j, f of plain channels."""

import math

from heatproof.laws.convection import nusselt_duct
from heatproof.numerics.compiled import compiled

NU_CIRCLE_T, NU_CIRCLE_H, FRE_CIRCLE = 3.66, 4.364, 16.0
"""Round duct: Nu at constant wall temperature and constant flux, Fanning f Re [-]."""


@compiled
def laminar_friction_rectangle(aspect: float) -> float:
    """Fanning f Re [-] of a rectangular duct, aspect short/long [-] 0..1.

    24 (1 - 1.3553 a + 1.9467 a^2 - 1.7012 a^3 + 0.9564 a^4 - 0.2537 a^5).
    Source: Shah and London, Laminar Flow Forced Convection in Ducts (1978), eq. 341.
    """
    a = aspect
    return 24.0 * (1.0 + a * (-1.3553 + a * (1.9467 + a * (-1.7012 + a * (0.9564 - 0.2537 * a)))))


@compiled
def laminar_nusselt_rectangle_h1(aspect: float) -> float:
    """Nu [-] of a rectangular duct at constant axial flux, aspect short/long [-] 0..1.

    8.235 (1 - 2.0421 a + 3.0853 a^2 - 2.4765 a^3 + 1.0578 a^4 - 0.1861 a^5).
    Source: Shah and London (1978), eq. 357.
    """
    a = aspect
    return 8.235 * (1.0 + a * (-2.0421 + a * (3.0853 + a * (-2.4765 + a * (1.0578 - 0.1861 * a)))))


@compiled
def laminar_nusselt_rectangle_t(aspect: float) -> float:
    """Nu [-] of a rectangular duct at constant wall temperature, aspect short/long [-] 0..1.

    7.541 (1 - 2.610 a + 4.970 a^2 - 5.119 a^3 + 2.702 a^4 - 0.548 a^5).
    Source: Shah and London (1978), eq. 347.
    """
    a = aspect
    return 7.541 * (1.0 + a * (-2.610 + a * (4.970 + a * (-5.119 + a * (2.702 - 0.548 * a)))))


def channel_j_f(
    Re: float, Pr: float, aspect: float, diameter_over_length: float = 0.0
) -> tuple[float, float]:
    """Colburn j [-] and Fanning f [-] of a plain rectangular channel; Re, Pr [-], aspect short/long [-],
    D_h/L [-].

    Laminar: Nu at constant wall temperature, f Re, with the apparent f of the developing length as
    f Re + (K/4) Re D_h/L, K = 1.3; turbulent: Gnielinski with (1 + (D/L)^(2/3)) and Petukhov's friction /4.
    Source: Shah and London (1978); Gnielinski (2013); K from memory, 1.2-1.5 for aspect 1 to 0.1.
    """
    laminar = laminar_nusselt_rectangle_t(aspect)
    Nu = nusselt_duct(Re, Pr, laminar, 1.0 + float(diameter_over_length) ** (2 / 3))
    f_laminar = laminar_friction_rectangle(aspect) / Re + 1.3 / 4.0 * diameter_over_length
    if Re <= 2300.0:
        f = f_laminar
    else:
        top = (0.790 * math.log(max(Re, 4000.0)) - 1.64) ** -2 / 4.0
        share = min((Re - 2300.0) / 1700.0, 1.0)
        low = laminar_friction_rectangle(aspect) / 2300.0 + 1.3 / 4.0 * diameter_over_length
        f = low + (top - low) * share
    return Nu / (Re * Pr ** (1 / 3)), f
