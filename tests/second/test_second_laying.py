"""What is laid for covers, facing links and hot faces, worked out a second time from the pages' words.

`test_second.py` takes conductances and exchange areas from the laid network, so a slip in laying them would be in both
solutions. Here they are made anew from the car's records: layers by integrating over the radius, view factors by rays of
this file's own, walls by their formulas on the theory pages. Nothing of `assembly` is called but the laying itself.
"""

import math
from functools import cache
from pathlib import Path

import numpy as np
import pytest

import heatproof
from heatproof.assembly.model import lay_network
from heatproof.kit.read import read_project
from heatproof.media.solids import material

EXAMPLES = Path(heatproof.__file__).parent / "examples"
RAYS = 200_000


@cache
def car(example: str, *, sleeved: bool):
    """The example, geometry off: with every sleeve and blanket its measures have, or without any measure."""
    project = read_project(EXAMPLES / example)
    covers = [m for m in project.measures if any(w in m for w in ("sleeve", "blanket"))]
    fitted = dict.fromkeys([*project.fitted, *covers]) if sleeved else []
    variant = project.variant(list(fitted)).with_value("bay.geometry", "off")
    return variant, lay_network(variant)


def rows(network, kind: str) -> list:
    """(first, second, row) of every link of a kind; ends by name."""
    names = [*network.masses, "ambient"]
    return [
        (names[min(int(r["i"]), len(names) - 1)], names[min(int(r["j"]), len(names) - 1)], r)
        for r in getattr(network.model, kind)
    ]


def radius(part) -> float:
    """Tube, cylinder or ball by shape; a part without one is a tube up to 100 mm; else flat."""
    if part.shape is not None:
        return 0.5 * part.shape.diameter if part.shape.kind in ("tube", "cylinder", "sphere") else math.inf
    return 0.5 * part.size if part.size <= 0.1 else math.inf


def bends(part) -> int:
    return (
        0 if math.isinf(radius(part)) else 2 if part.shape is not None and part.shape.kind == "sphere" else 1
    )


def resisting(part, inner: float, outer: float) -> float:
    """∫ A₁/A(r) dr over a layer, by Simpson's rule."""
    r = np.linspace(inner, outer, 2001)
    with np.errstate(invalid="ignore"):
        A = np.ones_like(r) if bends(part) == 0 else ((radius(part) + r) / radius(part)) ** bends(part)
    w = np.ones(r.size)
    w[1:-1:2], w[2:-1:2] = 4.0, 2.0
    return float((w / A).sum() * (outer - inner) / (r.size - 1) / 3.0)


def solid_part(layer) -> float:
    """a of k = a + c T³: least squares over the table, each point by its own size; a given k alone where one is given."""
    if layer.conductivity is not None:
        return layer.conductivity
    curve = material(layer.material).conductivity
    T, k = np.array(curve.T), np.array([p.value for p in curve.points])
    if T.size < 2:
        return float(k[0])
    scaled = np.stack([1.0 / k, T**3 / k])
    (a, _) = np.linalg.solve(scaled @ scaled.T, scaled.sum(axis=1))
    return max(float(a), 1e-3)


def covered(variant) -> list[str]:
    return [
        n
        for n, p in variant.parts.items()
        if p.cover is not None and p.cover.kind in ("blanket", "sleeve", "wrap")
    ]


@pytest.mark.parametrize("example", ["hatchback", "pickup"])
def test_layers_and_skins(example: str) -> None:
    variant, network = car(example, sleeved=True)
    conduction, convection = rows(network, "conduction"), rows(network, "convection")
    names = covered(variant)
    assert len(names) >= 2
    for name in names:
        part = variant.parts[name]
        cover = part.cover
        share = max(cover.coverage - cover.edge_length * cover.edge_gap / part.surface, 0.0)
        layers, out = [cover, *cover.layers], cover.stand_off
        for k, layer in enumerate(layers):
            end = "skin" if k == len(layers) - 1 else f"layer_{k + 1}"
            laid = sum(
                float(r["G"]) for _, b, r in conduction if b.startswith(name) and b.endswith(f".{end}")
            )
            wanted = solid_part(layer) * share * part.surface / resisting(part, out, out + layer.thickness)
            assert laid == pytest.approx(wanted, rel=1e-6), (name, k)
            out += layer.thickness
        grown = 1.0 if bends(part) == 0 else ((radius(part) + out) / radius(part)) ** bends(part)
        skins = [r for a, _, r in convection if a.startswith(name) and a.endswith(".skin")]
        if part.zone is not None:
            assert sum(float(r["area"]) for r in skins) == pytest.approx(
                share * part.surface * grown, rel=1e-9
            ), name
            length = part.size + (2.0 * out if bends(part) and part.size <= 0.1 else 0.0)
            assert {round(float(r["length"]), 9) for r in skins} == {round(length, 9)}, name


# --- view factors by rays ---------------------------------------------------------------------------------
def rays(area: float) -> tuple[np.ndarray, np.ndarray]:
    """Starts on a square of that area at the origin looking along z, and cosine-spread directions (3, n)."""
    rng = np.random.default_rng(7)
    side = math.sqrt(area)
    start = np.zeros((3, RAYS))
    start[:2] = side * (rng.random((2, RAYS)) - 0.5)
    u, phi = rng.random(RAYS), 2.0 * math.pi * rng.random(RAYS)
    return start, np.stack([np.sqrt(u) * np.cos(phi), np.sqrt(u) * np.sin(phi), np.sqrt(1.0 - u)])


def sees(part, area: float, d: float) -> tuple[float, float]:
    """(view factor, area that looks back): plate, box face, cylinder, ball by shape; tube of its size, disc beyond 100 mm."""
    x, w = rays(area)
    kind = part.shape.kind if part.shape is not None else ""
    if kind in ("plate", "box"):
        a, b = sorted(part.shape.size)[-2:]
        at = x[:2] + w[:2] * d / w[2]
        return float(np.mean((np.abs(at[0]) < a / 2) & (np.abs(at[1]) < b / 2))), a * b
    if kind == "sphere":
        h = d + 0.5 * part.shape.diameter
        b = (x * w).sum(axis=0) - h * w[2]
        return float(
            np.mean(b**2 > (x**2).sum(axis=0) + h**2 - (h - d) ** 2)
        ), 0.5 * math.pi * part.shape.diameter**2
    if kind in ("cylinder", "tube") or part.size <= 0.1:
        D = part.shape.diameter if kind else part.size
        if kind == "cylinder":
            L = part.shape.length
        elif kind == "tube":
            L = sum(math.dist(p, q) for p, q in zip(part.shape.path, part.shape.path[1:], strict=False))
        else:
            L = max(part.surface, area) / (math.pi * D)
        h = d + D / 2
        p, q, c = w[0] ** 2 + w[2] ** 2, x[0] * w[0] - h * w[2], x[0] ** 2 + h**2 - (D / 2) ** 2
        disc = q**2 - p * c
        t = (-q - np.sqrt(np.maximum(disc, 0.0))) / p
        return float(
            np.mean((disc > 0.0) & (t > 0.0) & (np.abs(x[1] + t * w[1]) < L / 2))
        ), 0.5 * math.pi * D * L
    R = max(0.5 * part.size, math.sqrt(area / math.pi))
    at = x[:2] + w[:2] * d / w[2]
    return float(np.mean(np.hypot(*at) < R)), math.pi * R**2


@pytest.mark.parametrize("example", ["hatchback", "pickup"])
def test_facing_links(example: str) -> None:
    """The face is read both ways and the larger exchange counts. Within 3 %: before a disc a round face stands for the square, and
    before a cylinder the two ways are averaged apart."""
    variant, network = car(example, sleeved=False)
    radiation = rows(network, "radiation")
    tried = 0
    for name, link in variant.links.items():
        if link.kind != "facing":
            continue
        ends = (link.to, link.from_)
        both = {large: sees(variant.parts[large], link.area, link.distance) for large in ends}
        large = max(both, key=lambda end: min(both[end][0], both[end][1] / link.area))
        small = next(end for end in ends if end != large)
        known = all(variant.parts[n].cover is None and variant.parts[n].finish is None for n in ends)
        if not known or set(ends) & walls(variant):  # a wall takes up more from the same part
            continue
        between = [
            float(r["FA"])
            for a, b, r in radiation
            if {a.split(".")[0], b.split(".")[0]} == {small, large} and not {a, b} & {"ambient"}
        ]
        F, back = both[large]
        F = min(F, 1.0, back / link.area)
        e1, e2 = (variant.parts[n].emissivity for n in (small, large))
        A2 = max(back, link.area * F)
        wanted = 1.0 / ((1 - e1) / (e1 * link.area) + 1 / (link.area * F) + (1 - e2) / (e2 * A2))
        assert sum(between) == pytest.approx(wanted, rel=0.03), name
        tried += 1
    assert tried >= 5


def walls(variant) -> set[str]:
    """Parts that zones radiate to: their links share ends with facing ones."""
    return {wall for zone in variant.air.zones.values() for wall in zone.walls}


@pytest.mark.parametrize("example", ["hatchback", "pickup"])
def test_hot_faces(example: str) -> None:
    """k A/t through a washed wall, less the half of it the flow's own link has; k t L/d round a dry one (L as a disc's)."""
    variant, network = car(example, sleeved=True)
    faces = [n for n in network.masses if n.endswith(".hot_face")]
    assert faces
    sources = {p.part for p in variant.exhaust.values()} | {variant.turbo.part_turbine}
    washed = {line.part for net in variant.liquids.values() for line in net.lines.values()}
    charge = variant.charge
    washed |= {
        p.part for p in (charge.inlet_pipe, charge.hot_pipe, charge.cold_pipe, charge.plenum) if p is not None
    }
    C = np.array(network.model.capacity)
    for face in faces:
        name = face.removesuffix(".hot_face")
        part = variant.parts[name]
        rho, k = 1200.0, 0.25
        if part.material is not None:
            solid = material(part.material)
            rho, k = solid.density.at(400.0).value, solid.conductivity.at(400.0).value
        t = min(max(part.mass / rho / part.surface, 0.5e-3), 0.5 * part.size)
        seen = 0.0
        for link in variant.links.values():
            ends = {getattr(link, "from_", ""), getattr(link, "to", "")}
            if link.kind == "facing" and name in ends and ends & sources:
                (hot,) = ends - {name}
                own, (theirs, back) = (
                    sees(variant.parts[hot], link.area, link.distance),
                    sees(part, link.area, link.distance),
                )
                mine = min(own[0], own[1] / link.area) >= min(theirs, back / link.area)
                seen += (
                    link.area * (math.pi / 2.0 if bends(part) else 1.0)
                    if mine
                    else max(back, link.area * theirs)
                )
        s = min(max(seen / part.surface, 0.1), 0.5)
        (G,) = [float(r["G"]) for a, b, r in rows(network, "conduction") if {a, b} == {face, name}]
        if name in washed:
            wanted = k * s * part.surface / t / (1.0 - 0.5 * s)
        else:
            wanted = k * t * 2.0 * math.sqrt(math.pi * s * part.surface) / math.sqrt(0.5 * part.surface)
        assert pytest.approx(wanted, rel=1e-9) == G, name
        held = C[network.mass(face)] / (C[network.mass(face)] + C[network.mass(name)])
        assert held == pytest.approx(0.5 * s if name in washed else s, rel=1e-6), name
