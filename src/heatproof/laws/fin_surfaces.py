"""Heat transfer j and Fanning friction f of compact fin surfaces by correlation.

j = St Pr^(2/3); Re on D_h or, for louvers, on louver pitch. Compiled, callable from Python.
"""

import math

from heatproof.numerics.compiled import compiled


@compiled
def offset_strip_diameter(s: float, h: float, t: float, l: float) -> float:
    """Hydraulic diameter of an offset strip fin [m]: 4 s h l/[2 (s l + h l + t h) + t s].

    s free fin spacing, h free fin height, t thickness, l strip length [m]. Source: Manglik and Bergles
    (1995).
    """
    return 4.0 * s * h * l / (2.0 * (s * l + h * l + t * h) + t * s)


@compiled
def offset_strip_j(Re: float, alpha: float, delta: float, gamma: float) -> float:
    """Colburn j of offset strip fins [-]; Re [-] 120-1e4, alpha = s/h, delta = t/l, gamma = t/s [-]; +-20 %.

    j = 0.6522 Re^-0.5403 a^-0.1541 d^0.1499 g^-0.0678 [1 + 5.269e-5 Re^1.340 a^0.504 d^0.456 g^-1.055]^0.1.
    Source: Manglik and Bergles, Exp. Thermal Fluid Sci. 10 (1995) 171.
    """
    base = 0.6522 * Re**-0.5403 * alpha**-0.1541 * delta**0.1499 * gamma**-0.0678
    turbulent = 5.269e-5 * Re**1.340 * alpha**0.504 * delta**0.456 * gamma**-1.055
    return float(base * (1.0 + turbulent) ** 0.1)


@compiled
def offset_strip_f(Re: float, alpha: float, delta: float, gamma: float) -> float:
    """Fanning f of offset strip fins [-]; arguments as `offset_strip_j`; +-20 %.

    f = 9.6243 Re^-0.7422 a^-0.1856 d^0.3053 g^-0.2659 [1 + 7.669e-8 Re^4.429 a^0.920 d^3.767 g^0.236]^0.1.
    Source: Manglik and Bergles, Exp. Thermal Fluid Sci. 10 (1995) 171.
    """
    base = 9.6243 * Re**-0.7422 * alpha**-0.1856 * delta**0.3053 * gamma**-0.2659
    turbulent = 7.669e-8 * Re**4.429 * alpha**0.920 * delta**3.767 * gamma**0.236
    return float(base * (1.0 + turbulent) ** 0.1)


@compiled
def wieting_j(Re: float, length: float, aspect: float, thickness: float) -> float:
    """Colburn j of offset strip fins after Wieting [-]; Re [-], l/D_h, s/h, t/D_h [-].

    Re <= 1000: 0.483 (l/D)^-0.162 a^-0.184 Re^-0.536; Re >= 2000: 0.242 (l/D)^-0.322 (t/D)^0.089 Re^-0.368;
    between, linear in ln Re and ln j. Source: Wieting, J. Heat Transfer 97 (1975) 488; constants from memory.
    """
    if Re <= 1000.0:
        return float(0.483 * length**-0.162 * aspect**-0.184 * Re**-0.536)
    if Re >= 2000.0:
        return float(0.242 * length**-0.322 * thickness**0.089 * Re**-0.368)
    low = 0.483 * length**-0.162 * aspect**-0.184 * 1000.0**-0.536
    high = 0.242 * length**-0.322 * thickness**0.089 * 2000.0**-0.368
    return float(low * (high / low) ** (math.log(Re / 1000.0) / math.log(2.0)))


@compiled
def wieting_f(Re: float, length: float, aspect: float, thickness: float) -> float:
    """Fanning f of offset strip fins after Wieting [-]; arguments as `wieting_j`.

    Re <= 1000: 7.661 (l/D)^-0.384 a^-0.092 Re^-0.712; Re >= 2000: 1.136 (l/D)^-0.781 (t/D)^0.534 Re^-0.198;
    between, linear in logarithms. Source: Wieting, J. Heat Transfer 97 (1975) 488; constants from memory.
    """
    if Re <= 1000.0:
        return float(7.661 * length**-0.384 * aspect**-0.092 * Re**-0.712)
    if Re >= 2000.0:
        return float(1.136 * length**-0.781 * thickness**0.534 * Re**-0.198)
    low = 7.661 * length**-0.384 * aspect**-0.092 * 1000.0**-0.712
    high = 1.136 * length**-0.781 * thickness**0.534 * 2000.0**-0.198
    return float(low * (high / low) ** (math.log(Re / 1000.0) / math.log(2.0)))


@compiled
def louver_j(
    Re: float, theta: float, Fp: float, Lp: float, Fl: float, Td: float, Ll: float, Tp: float, df: float
) -> float:
    """Colburn j of louvered fins on flat tubes [-]; Re [-] on louver pitch, 100-3000; within 15 % for 89 % of
    data.

    j = Re^-0.49 (theta/90)^0.27 (Fp/Lp)^-0.14 (Fl/Lp)^-0.29 (Td/Lp)^-0.23 (Ll/Lp)^0.68 (Tp/Lp)^-0.28
    (df/Lp)^-0.05; theta [deg], fin pitch, louver pitch, fin length, tube depth, louver length, tube pitch,
    fin
    thickness in one length unit [m]. Source: Chang and Wang, Int. J. Heat Mass Transfer 40 (1997) 533.
    """
    shape = (theta / 90.0) ** 0.27 * (Fp / Lp) ** -0.14 * (Fl / Lp) ** -0.29 * (Td / Lp) ** -0.23
    return float(Re**-0.49 * shape * (Ll / Lp) ** 0.68 * (Tp / Lp) ** -0.28 * (df / Lp) ** -0.05)


@compiled
def louver_diameter(Fp: float, Fl: float, df: float) -> float:
    """Hydraulic diameter of the louvered fin channel [m]: 2 (Fl - df)(Fp - df)/[(Fl - df) + (Fp - df)];
    lengths [m].

    Source: Chang et al., Int. J. Heat Mass Transfer 43 (2000) 2237.
    """
    return 2.0 * (Fl - df) * (Fp - df) / ((Fl - df) + (Fp - df))


@compiled
def _louver_f_low(
    Re: float,
    theta: float,
    Fp: float,
    Lp: float,
    Fl: float,
    Fd: float,
    Ll: float,
    Tp: float,
    Dm: float,
    df: float,
) -> float:
    Dh = louver_diameter(Fp, Fl, df)
    f1 = 14.39 * Re ** (-0.805 * Fp / Fl) * math.log(1.0 + Fp / Lp) ** 3.04
    f2 = math.log((df / Fp) ** 0.48 + 0.9) ** -1.435 * (Dh / Lp) ** -3.01 * math.log(0.5 * Re) ** -3.01
    f3 = (Fp / Ll) ** -0.308 * (Fd / Ll) ** -0.308 * math.exp(-0.1167 * Tp / Dm) * theta**0.35
    return float(f1 * f2 * f3)


@compiled
def _louver_f_high(
    Re: float, theta: float, Fp: float, Lp: float, Fl: float, Ll: float, Tp: float, Dm: float, df: float
) -> float:
    Dh = louver_diameter(Fp, Fl, df)
    f1 = 4.97 * Re ** (0.6049 - 1.064 / theta**0.2) * math.log((df / Fp) ** 0.5 + 0.9) ** -0.527
    f2 = (Dh / Lp * math.log(0.3 * Re)) ** -2.966 * (Fp / Ll) ** (-0.7931 * Tp / (Tp - Dm))
    f3 = (Tp / Dm) ** -0.0446 * math.log(1.2 + (Lp / Fp) ** 1.4) ** -3.553 * theta**-0.477
    return float(f1 * f2 * f3)


@compiled
def louver_f(
    Re: float,
    theta: float,
    Fp: float,
    Lp: float,
    Fl: float,
    Fd: float,
    Ll: float,
    Tp: float,
    Dm: float,
    df: float,
    blend: bool = True,
) -> float:
    """Fanning f of louvered fins on flat tubes [-]; Re [-] on louver pitch, 20-5000 (held below 20).

    Two branches meeting (with a jump) at Re 150; `blend`: between 130 and 230
    f = sqrt([(1 + w) f(130)^2 + (1 - w) f(230)^2]/2), w = 3.6 - 0.02 Re.
    theta [deg]; Fp, Lp, Fl, fin depth Fd, Ll, Tp, tube height Dm, df in one length unit [m].
    Source: Chang et al., Int. J. Heat Mass Transfer 43 (2000) 2237; blend: ibid. 49 (2006) 4250, from memory.
    """
    Re = max(Re, 20.0)
    if blend and 130.0 < Re < 230.0:
        low = _louver_f_low(130.0, theta, Fp, Lp, Fl, Fd, Ll, Tp, Dm, df)
        high = _louver_f_high(230.0, theta, Fp, Lp, Fl, Ll, Tp, Dm, df)
        w = 3.6 - 0.02 * Re
        return math.sqrt(((1.0 + w) * low * low + (1.0 - w) * high * high) / 2.0)
    if Re < 150.0:
        return _louver_f_low(Re, theta, Fp, Lp, Fl, Fd, Ll, Tp, Dm, df)
    return _louver_f_high(Re, theta, Fp, Lp, Fl, Ll, Tp, Dm, df)
