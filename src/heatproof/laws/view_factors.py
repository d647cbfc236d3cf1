"""View factors with closed forms: checks for the ray caster, and first guesses."""

import math


def parallel_rectangles(a: float, b: float, gap: float) -> float:
    """View factor between equal, aligned, parallel rectangles a by b [m] at distance gap [m] [-].

    Source: Howell, Catalog of Radiation Heat Transfer Configuration Factors, C-11; Incropera/DeWitt table
    13.2.
    """
    X, Y = a / gap, b / gap
    x, y = math.sqrt(1.0 + X * X), math.sqrt(1.0 + Y * Y)
    total = math.log(x * y / math.sqrt(1.0 + X * X + Y * Y))
    total += X * y * math.atan(X / y) + Y * x * math.atan(Y / x) - X * math.atan(X) - Y * math.atan(Y)
    return 2.0 / (math.pi * X * Y) * total


def perpendicular_rectangles(height: float, depth: float, edge: float) -> float:
    """View factor from a rectangle `depth` deep to one `height` high sharing the edge [-]; lengths [m].

    Source: Howell C-14; Incropera/DeWitt table 13.2.
    """
    H, W = height / edge, depth / edge
    h2, w2 = H * H, W * W
    s = math.sqrt(h2 + w2)
    total = W * math.atan(1.0 / W) + H * math.atan(1.0 / H) - s * math.atan(1.0 / s)
    first = (1.0 + w2) * (1.0 + h2) / (1.0 + w2 + h2)
    second = w2 * (1.0 + w2 + h2) / ((1.0 + w2) * (w2 + h2))
    third = h2 * (1.0 + h2 + w2) / ((1.0 + h2) * (h2 + w2))
    total += 0.25 * (math.log(first) + w2 * math.log(second) + h2 * math.log(third))
    return total / (math.pi * W)


def coaxial_discs(r1: float, r2: float, gap: float) -> float:
    """View factor from disc 1 to parallel coaxial disc 2 [-]; radii and gap [m].

    Source: Howell C-41; Incropera/DeWitt table 13.2.
    """
    R1, R2 = r1 / gap, r2 / gap
    S = 1.0 + (1.0 + R2 * R2) / (R1 * R1)
    return 0.5 * (S - math.sqrt(S * S - 4.0 * (r2 / r1) ** 2))


def parallel_cylinders(radius: float, gap: float) -> float:
    """View factor between equal, infinitely long, parallel cylinders [-]; radius, surface gap [m].

    F = [sqrt(X^2 - 1) + asin(1/X) - X]/pi, X = 1 + gap/(2 r). Source: Incropera/DeWitt table 13.1.
    """
    X = 1.0 + gap / (2.0 * radius)
    return (math.sqrt(X * X - 1.0) + math.asin(1.0 / X) - X) / math.pi


def plane_to_row_of_cylinders(diameter: float, pitch: float) -> float:
    """View factor from an infinite plane to a row of parallel cylinders [-]; diameter, pitch [m].

    Source: Incropera/DeWitt table 13.1.
    """
    q = diameter / pitch
    return 1.0 - math.sqrt(1.0 - q * q) + q * math.atan(math.sqrt((1.0 - q * q) / (q * q)))


def wedge(angle: float) -> float:
    """View factor between equal, infinitely long plates meeting at an angle [rad] [-]: 1 - sin(angle/2).

    Source: Incropera/DeWitt table 13.1.
    """
    return 1.0 - math.sin(0.5 * angle)


def sphere_to_disc(radius: float, distance: float) -> float:
    """View factor from a sphere to a coaxial disc of radius [m] at distance [m] from its centre [-].

    F = 0.5 [1 - 1/sqrt(1 + (r/h)^2)]. Source: Rohsenow et al., Handbook of Heat Transfer, 3rd ed., p. 7.84.
    """
    return 0.5 * (1.0 - 1.0 / math.sqrt(1.0 + (radius / distance) ** 2))


def hollow_cylinder_to_itself(diameter: float, height: float) -> float:
    """View factor of the inside of an open cylinder to itself [-]; lengths [m].

    F = 1 + H - sqrt(1 + H^2), H = height/diameter. Source: Howell C-78 family.
    """
    H = height / diameter
    return 1.0 + H - math.sqrt(1.0 + H * H)


def concentric_cylinders(r1: float, r2: float, length: float) -> tuple[float, float]:
    """View factors of finite concentric cylinders [-]: outer to inner F21, outer to itself F22; lengths [m].

    Source: Howell C-91 family; Incropera/DeWitt fig. 13.6 gives the chart.
    """
    X, Y = r2 / r1, length / r1
    A, B = X * X + Y * Y - 1.0, Y * Y - X * X + 1.0
    root = math.sqrt((A + 2.0) ** 2 - (2.0 * X) ** 2)
    inner = root * math.acos(B / (X * A)) + B * math.asin(1.0 / X) - 0.5 * math.pi * A
    F21 = (1.0 - (math.acos(B / A) - inner / (2.0 * Y)) / math.pi) / X
    q, x2 = math.sqrt(4.0 * X * X + Y * Y) / Y, X * X
    ratio = (4.0 * (x2 - 1.0) + Y * Y / x2 * (x2 - 2.0)) / (Y * Y + 4.0 * (x2 - 1.0))
    ends = q * math.asin(ratio) - math.asin((x2 - 2.0) / x2) + 0.5 * math.pi * (q - 1.0)
    seen = 2.0 * math.atan(2.0 * math.sqrt(x2 - 1.0) / Y) - 0.5 * Y * ends
    return F21, 1.0 - 1.0 / X + seen / (math.pi * X)
