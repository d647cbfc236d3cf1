"""Boiling of a stagnant or slow coolant on a hot wall."""

from heatproof.numerics.compiled import compiled


@compiled
def nucleate_boiling_coefficient(superheat: float, p: float) -> float:
    """Pool boiling coefficient of water on a metal wall [W/(m2 K)]; superheat T_w - T_sat [K] 0..20, p [Pa]
    abs.

    h = 5.56 dT^3 (p/p_0)^0.4 for q > 15.8 kW/m2, h = 1042 dT^(1/3) (p/p_0)^0.4 below it, p_0 = 101.325
    kPa, on a
    horizontal surface; glycol mixtures boil 20-40 % weaker. The larger of both forms is used: they cross
    there.
    Source: Jakob and Hawkins (1957), Elements of Heat Transfer, simplified water relations, as in Holman,
    Heat Transfer, table 9-3; from memory.
    """
    if superheat <= 0.0:
        return 0.0
    dT = min(superheat, 25.0)
    weak, strong = 1042.0 * dT ** (1 / 3), 5.56 * dT**3
    return float(max(weak, strong) * (p / 101325.0) ** 0.4)


@compiled
def boiled_off(heat: float, latent_heat: float) -> float:
    """Mass evaporated [kg] by a heat [J]: Q/h_fg; latent heat [J/kg]. Source: definition of latent heat."""
    return max(heat, 0.0) / latent_heat
