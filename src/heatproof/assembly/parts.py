"""Parts, what covers them, and the links between them: masses, conduction, radiation, convection in the bay."""

import math

import numpy as np

from heatproof.kit.records.links import Conduction, Contact, Facing, Link, Radiation
from heatproof.kit.records.parts import Cover, Part
from heatproof.kit.records.variant import Variant
from heatproof.laws.view_factors import parallel_rectangles
from heatproof.media.air import conductivity_air
from heatproof.media.solids import material
from heatproof.network import signals as S
from heatproof.network.builder import VEHICLE_AIR, NetworkBuilder

T_SPECIFIC_HEAT = 400.0  # K at which a part's specific heat is taken
UNDERBODY_EXPOSURE = 0.4  # air speed at a part outside the bay over vehicle speed; estimate
PANEL_EXPOSURE = 0.3  # and at the outer face of a panel; estimate
STILL_GAP = 0.015  # m; air between closer faces conducts, it does not turn over
ROD, PLATE = 1, 0  # orientations of laws.convection
ROD_SIZE = 0.1  # m, parts up to this size are treated as cylinders across the air
SIGMA = 5.670374e-8


def capacity(part: Part) -> float:
    """Heat capacity (J/K): given, or mass times the material's specific heat."""
    if part.heat_capacity is not None:
        return part.heat_capacity
    assert part.material is not None  # the reader refuses a part with neither
    return part.mass * material(part.material).specific_heat.at(T_SPECIFIC_HEAT).value


def insulates(cover: Cover | None) -> bool:
    """Whether a cover is a layer with a skin of its own (a coating or film only changes the surface)."""
    return cover is not None and cover.kind in ("blanket", "sleeve", "wrap")


def surfaces(name: str, part: Part) -> list[tuple[str, float, float]]:
    """(mass, share of the surface, emissivity) of what shows outside: bare metal, and skin or coating."""
    cover = part.cover
    if cover is None:
        return [(name, 1.0, part.emissivity)]
    outer = f"{name}.skin" if insulates(cover) else name
    faces = [(outer, cover.coverage, cover.skin_emissivity), (name, 1.0 - cover.coverage, part.emissivity)]
    return [face for face in faces if face[1] > 0.0]


def fibre_conductivity(cover: Cover) -> tuple[float, float]:
    """a, c of k(T) = a + c T³ (W/m/K, K): solid conduction, and radiation between fibres.

    Fitted to the material's table; a given conductivity counts as constant.
    """
    if cover.conductivity is not None:
        return cover.conductivity, 0.0
    curve = material(cover.material or "").conductivity
    T = np.array(curve.T)
    k = np.array([point.value for point in curve.points])
    if T.size < 2:
        return float(k[0]), 0.0
    design = np.stack([np.ones_like(T), T**3], axis=1)
    (a, c), *_ = np.linalg.lstsq(design / k[:, None], np.ones_like(k), rcond=None)
    return max(float(a), 1e-3), max(float(c), 0.0)


def lay_masses(b: NetworkBuilder, variant: Variant) -> None:
    """A mass per part, and one per insulating skin."""
    for name, part in variant.parts.items():
        b.mass(name, capacity(part))
        if insulates(part.cover):
            lay_cover(b, name, part)


def lay_cover(b: NetworkBuilder, name: str, part: Part) -> None:
    """Skin mass, and the layer between: ∫k dT = a ΔT + (c/4) Δ(T⁴) over its thickness."""
    cover = part.cover
    assert cover is not None and cover.thickness is not None
    skin = f"{name}.skin"
    area = cover.coverage * part.surface
    specific_heat = material(cover.material).specific_heat.at(T_SPECIFIC_HEAT).value if cover.material else 900.0
    b.mass(skin, (cover.skin_mass or 0.5 * area) * specific_heat)
    a, c = fibre_conductivity(cover)
    b.conduction(name, skin, a * area / cover.thickness, name=f"{name}.cover")
    if c > 0.0:
        b.radiation(name, skin, c / (4.0 * SIGMA) * area / cover.thickness, name=f"{name}.cover")


def lay_surfaces(b: NetworkBuilder, variant: Variant) -> None:
    """Every part in its air, in outside air, its own heat, and the sun."""
    facing = facing_areas(variant)
    for name, part in variant.parts.items():
        if part.zone is not None and part.surface > 0.0:
            lay_in_zone(b, variant, name, part, facing.get(name, 0.0))
        lay_outside(b, name, part)
        if part.heat > 0.0:
            b.source(name, S.ENGINE_ON, part.heat, "electric and accessory heat")


def lay_in_zone(b: NetworkBuilder, variant: Variant, name: str, part: Part, facing: float) -> None:
    """Convection to the zone's air, and radiation of what no link speaks for to the zone's walls."""
    outside = part.zone == "outside"
    air = "ambient" if outside else f"air.{part.zone}"
    junction = VEHICLE_AIR if outside else air
    exposure = UNDERBODY_EXPOSURE if outside else 1.0
    orientation = ROD if part.size <= ROD_SIZE else PLATE
    walls = () if outside else variant.air.zones[part.zone].walls
    walls = tuple(w for w in walls if w != name)
    free = max(part.surface - facing, 0.0)
    for mass, share, emissivity in surfaces(name, part):
        b.convection(
            mass, air, share * part.surface, part.size, junction=junction, exposure=exposure, orientation=orientation
        )
        if is_wall(variant, name):
            continue
        if not walls:
            b.radiation(mass, "ambient", emissivity * share * free)
        for wall in walls:
            b.radiation(mass, wall, small_body(emissivity, share * free, variant.parts[wall]) / len(walls))


def is_wall(variant: Variant, name: str) -> bool:
    """Panels that bound a zone take up radiation; between themselves they are close in temperature."""
    return any(name in zone.walls for zone in variant.air.zones.values())


def small_body(emissivity: float, area: float, wall: Part) -> float:
    """Exchange area (m2) of a body inside a wall: two grey surfaces, all of the body's view on the wall."""
    if area <= 0.0:
        return 0.0
    wall_area = max(wall.surface, area)
    return area / (1.0 / emissivity + area / wall_area * (1.0 / wall.emissivity - 1.0))


def lay_outside(b: NetworkBuilder, name: str, part: Part) -> None:
    """Further surface in outside air, lining to the cabin, the far side of a wall, sunshine."""
    if part.outside_surface > 0.0:
        b.convection(
            name,
            "ambient",
            part.outside_surface,
            part.size,
            junction=VEHICLE_AIR,
            exposure=PANEL_EXPOSURE,
            orientation=PLATE,
        )
        b.radiation(name, "ambient", part.emissivity * part.outside_surface)
        if part.solar_absorptance > 0.0:
            b.source(name, S.SUN, part.solar_absorptance * part.outside_surface, "sun")
    if part.outside_conductance > 0.0:
        b.conduction(name, "ambient", part.outside_conductance)
    if part.inside_zone is not None and part.inside_surface > 0.0:
        air = f"air.{part.inside_zone}"
        b.convection(name, air, part.inside_surface, part.size, junction=air, orientation=PLATE)


def facing_factor(link: Facing) -> float:
    """View factor between equal parallel squares of the link's area at its distance."""
    side = math.sqrt(link.area)
    return parallel_rectangles(side, side, link.distance)


def facing_areas(variant: Variant) -> dict[str, float]:
    """Part → surface (m2) whose view the facing and radiation links already use up."""
    used: dict[str, float] = {}
    for link in variant.links.values():
        if isinstance(link, Facing):
            seen = link.area * facing_factor(link)
        elif isinstance(link, Radiation):
            seen = link.exchange_area
        else:
            continue
        for name in (link.from_, link.to):
            used[name] = used.get(name, 0.0) + seen
    return used


def exchange_area(area: float, view: float, eps1: float, eps2: float) -> float:
    """𝓕A of two equal faces with view factor `view`: surface, space and surface resistances in series."""
    return area / ((1.0 - eps1) / eps1 + 1.0 / max(view, 1e-9) + (1.0 - eps2) / eps2)


def lay_links(b: NetworkBuilder, variant: Variant) -> None:
    """Every link of the kit; radiation between covered parts goes by what shows outside."""
    for name, link in variant.links.items():
        if isinstance(link, Conduction):
            b.conduction(link.from_, link.to, link.conductance, name=name)
        elif isinstance(link, Contact):
            b.conduction(link.from_, link.to, link.area * link.contact_conductance, name=name)
        else:
            lay_radiation(b, variant, name, link)


def lay_radiation(b: NetworkBuilder, variant: Variant, name: str, link: Link) -> None:
    """A facing or radiation link, split over bare and covered shares of both parts."""
    one, two = variant.parts[link.from_], variant.parts[link.to]
    for mass1, share1, eps1 in surfaces(link.from_, one):
        for mass2, share2, eps2 in surfaces(link.to, two):
            share = share1 * share2
            if isinstance(link, Facing):
                area = share * exchange_area(link.area, facing_factor(link), eps1, eps2)
                if link.distance < STILL_GAP:
                    G = share * link.area * conductivity_air(350.0) / link.distance
                    b.conduction(mass1, mass2, G, name=f"{name}.air")
            else:
                assert isinstance(link, Radiation)
                area = share * link.exchange_area * (eps1 / one.emissivity) * (eps2 / two.emissivity)
            b.radiation(mass1, mass2, area, name=name)
