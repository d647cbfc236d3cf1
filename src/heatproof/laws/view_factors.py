"""View factors with closed forms: checks for the ray caster, and first guesses."""

import math

import numpy as np

GAUSS = [(float(x), float(w)) for x, w in zip(*np.polynomial.legendre.leggauss(8), strict=True)]
"""Nodes and weights on −1..1."""


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


def parallel_rectangles_centred(side: float, a: float, b: float, gap: float) -> float:
    """View factor from a square of `side` [m] to a parallel rectangle a by b [m] at distance gap [m], middles opposite [-].

    Four sums over corners of G = [v s atan(v/s) + u t atan(u/t) - gap^2/2 ln(u^2 + v^2 + gap^2)]/(2 pi),
    s^2 = u^2 + gap^2, t^2 = v^2 + gap^2, u and v between corners. Source: Howell C-13 (parallel rectangles, edges parallel).
    """
    total = 0.0
    for x, u_sign in ((0.5 * side, 1.0), (-0.5 * side, -1.0)):
        for y, v_sign in ((0.5 * side, 1.0), (-0.5 * side, -1.0)):
            for p, p_sign in ((0.5 * a, 1.0), (-0.5 * a, -1.0)):
                for q, q_sign in ((0.5 * b, 1.0), (-0.5 * b, -1.0)):
                    u, v = x - p, y - q
                    s, t = math.hypot(u, gap), math.hypot(v, gap)
                    G = v * s * math.atan(v / s) + u * t * math.atan(u / t)
                    G -= 0.5 * gap * gap * math.log(u * u + v * v + gap * gap)
                    total += u_sign * v_sign * p_sign * q_sign * G
    return total / (2.0 * math.pi * side * side)


def element_to_cylinder(radius: float, length: float, height: float, offset: float = 0.0) -> float:
    """View factor from a small plane element, parallel to a cylinder's axis and looking squarely at it [-]; lengths [m].

    height: of the element over the axis; offset: along the axis from the cylinder's middle. Source: Howell B-30 (right
    circular cylinder, element in the plane through its end), for the parts on both sides of the element.
    """
    before, behind = 0.5 * length - offset, 0.5 * length + offset
    return _half_cylinder(radius, before, height) + _half_cylinder(radius, behind, height)


def _half_cylinder(radius: float, length: float, height: float) -> float:
    """Howell B-30: of the cylinder from the element's own plane on; negative where it lies the other way."""
    if length == 0.0:
        return 0.0
    L, H = abs(length) / radius, height / radius
    X, Y = (1.0 + H) ** 2 + L * L, (1.0 - H) ** 2 + L * L
    first = math.atan(L / math.sqrt(H * H - 1.0)) / (math.pi * H)
    ratio = (X - 2.0 * H) / (H * math.sqrt(X * Y)) * math.atan(math.sqrt(X * (H - 1.0) / (Y * (H + 1.0))))
    whole = first + L / math.pi * (ratio - math.atan(math.sqrt((H - 1.0) / (H + 1.0))) / H)
    return math.copysign(whole, length)


def face_to_cylinder(side: float, radius: float, length: float, gap: float) -> float:
    """View factor from a square of `side` [m], parallel to a cylinder's axis, at distance gap [m] from its surface [-].

    Across the axis the long cylinder's factor, (sin φ2 - sin φ1)/2 between its tangents (crossed strings), averaged over the
    face; times the element's share of the long one, averaged along it. Exact for a small face, and for a wide one before a
    long cylinder; within 3 % of rays for faces as wide as a cylinder is long.
    Source: crossed strings (Hottel and Sarofim, Radiative Transfer, 1967, from memory).
    """
    height = radius + gap
    along, across = 0.0, 0.0
    for node, weight in GAUSS:
        y = 0.5 * side * node
        along += 0.5 * weight * element_to_cylinder(radius, length, height, y) * height / radius
        middle, half = math.atan(y / height), math.asin(radius / math.hypot(y, height))
        low, high = max(middle - half, -0.5 * math.pi), min(middle + half, 0.5 * math.pi)
        across += 0.5 * weight * 0.5 * (math.sin(high) - math.sin(low))
    return along * across


def face_to_sphere(area: float, radius: float, gap: float) -> float:
    """View factor from a disc of area [m2] to a sphere on its axis, gap [m] from its nearest point [-].

    Reciprocal of `sphere_to_disc`: A1 F12 = A2 F21.
    Source: that of `sphere_to_disc`; reciprocity of view factors.
    """
    height, disc = radius + gap, math.sqrt(area / math.pi)
    return 4.0 * math.pi * radius**2 * sphere_to_disc(disc, height) / area


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
