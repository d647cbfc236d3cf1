"""Parts, what covers them, the links between them: masses, conduction, radiation, convection in the bay."""

import numpy as np

from heatproof.assembly.bay.gaps import STILL_GAP, still_air
from heatproof.assembly.bay.lay import decided_by_shapes, in_scene, sheltered_share
from heatproof.assembly.bay.lumps import Face, faces_of, lumps_of
from heatproof.assembly.bay.splits import default_splits
from heatproof.assembly.covers import (
    ROD_SIZE,
    cover_thickness,
    coverage_of,
    emissivity_of,
    insulates,
    round_of,
)
from heatproof.assembly.facing import View, view_of
from heatproof.kit.faces import gas_walls
from heatproof.kit.records.parts import Conduction, Contact, Cover, Facing, Layer, Link, Part, Radiation
from heatproof.kit.records.variant import Variant
from heatproof.laws.radiation import exchange_factor_plates
from heatproof.media.air import conductivity_air
from heatproof.media.solids import material
from heatproof.network import signals as S
from heatproof.network.builder import NetworkBuilder
from heatproof.network.rows import VEHICLE_AIR
from heatproof.shapes.patches import FACING

T_SPECIFIC_HEAT = 400.0  # K at which a part's specific heat is taken
UNDERBODY_EXPOSURE = 0.4  # air speed at a part outside the bay over vehicle speed; estimate
PANEL_EXPOSURE = 0.3  # and at the outer face of a panel; estimate
ROD, PLATE = 1, 0  # orientations of laws.convection
SIGMA = 5.670374e-8
T_STAND_OFF = 600.0  # K at which the air under a cover that stands off is taken
INNER_FACE = 500.0  # J/m2/K of its inner face: foil and the first fibres; estimate
UNDER_EMISSIVITY = 0.7  # of that face; estimate


def capacity(part: Part) -> float:
    """Heat capacity (J/K): given, or mass times the material's specific heat."""
    if part.heat_capacity is not None:
        return part.heat_capacity
    assert part.material is not None  # the reader refuses a part with neither
    return part.mass * material(part.material).specific_heat.at(T_SPECIFIC_HEAT).value


def fibre_conductivity(layer: Layer) -> tuple[float, float]:
    """a, c of k(T) = a + c T³ (W/m/K, K): solid conduction, and radiation between fibres.

    Fitted to the material's table; a given conductivity counts as constant.
    """
    if layer.conductivity is not None:
        return layer.conductivity, 0.0
    curve = material(layer.material or "").conductivity
    T = np.array(curve.T)
    k = np.array([point.value for point in curve.points])
    if T.size < 2:
        return float(k[0]), 0.0
    design = np.stack([np.ones_like(T), T**3], axis=1)
    (a, c), *_ = np.linalg.lstsq(design / k[:, None], np.ones_like(k), rcond=None)
    return max(float(a), 1e-3), max(float(c), 0.0)


def lay_masses(b: NetworkBuilder, variant: Variant) -> None:
    """A mass per part or patch, one per insulating skin, the layer of an insulated shield."""
    for name, part in variant.parts.items():
        lumps = lumps_of(variant, name)
        for lump in lumps:
            b.mass(lump.mass, capacity(part) * lump.share)
            if insulates(part.cover):
                lay_cover(b, lump.mass, part, sum(share for _, share in lump.patches) * part.surface)
        if part.insulation is not None and len(lumps) > 1:
            front, back = lumps
            lay_layer(
                b,
                (front.mass, back.mass),
                part.insulation,
                0.5 * part.surface / part.insulation.thickness,
                f"{name}.cover",
            )


def layers_of(cover: Cover) -> list[Layer]:
    """Insulating layers from the inside out."""
    assert cover.thickness is not None
    inner = Layer(material=cover.material, thickness=cover.thickness, conductivity=cover.conductivity)
    return [inner, *cover.layers]


def lay_cover(b: NetworkBuilder, mass: str, part: Part, surface: float) -> None:
    """Layers and skin on the covered share of a lump's surface (m2), with a mass between any two layers."""
    cover = part.cover
    assert cover is not None
    area = coverage_of(part) * surface
    layers = layers_of(cover)
    known = material(cover.material).specific_heat.at(T_SPECIFIC_HEAT) if cover.material else None
    specific_heat = known.value if known is not None else 900.0
    whole = max(part.surface, 1e-9)
    share = (cover.skin_mass or 0.5 * coverage_of(part) * whole) * specific_heat * surface / whole
    inner = lay_stand_off(b, mass, part, area) if cover.stand_off > 0.0 else mass
    bend, out = round_of(part), cover.stand_off
    for k, layer in enumerate(layers):
        outer = f"{mass}.skin" if k == len(layers) - 1 else f"{mass}.layer_{k + 1}"
        b.mass(outer, share / len(layers))
        over = area / bend.flat_thickness(out, out + layer.thickness)
        lay_layer(b, (inner, outer), layer, over, f"{mass}.cover")
        inner, out = outer, out + layer.thickness


def lay_stand_off(b: NetworkBuilder, mass: str, part: Part, area: float) -> str:
    """Air and radiation between a part and the inner face of a cover that stands off it; that face's mass."""
    cover = part.cover
    assert cover is not None
    inner = b.mass(f"{mass}.under", INNER_FACE * area)
    air = conductivity_air(T_STAND_OFF) / round_of(part).flat_thickness(0.0, cover.stand_off)
    b.conduction(mass, inner, air * area, name=f"{mass}.cover")
    across = exchange_factor_plates(emissivity_of(part), UNDER_EMISSIVITY)
    b.radiation(mass, inner, across * area, name=f"{mass}.cover")
    return inner


def lay_layer(b: NetworkBuilder, ends: tuple[str, str], layer: Layer, over: float, name: str) -> None:
    """A layer between two masses: ∫k dT = a ΔT + (c/4) Δ(T⁴), times `over`, area over thickness (m)."""
    a, c = fibre_conductivity(layer)
    b.conduction(*ends, a * over, name=name)
    if c > 0.0:
        b.radiation(*ends, c / (4.0 * SIGMA) * over, name=name)


def lay_surfaces(b: NetworkBuilder, variant: Variant) -> None:
    """Every part in its air, in outside air, its own heat, and the sun."""
    facing = facing_areas(variant)
    for name, part in variant.parts.items():
        if part.zone is not None and part.surface > 0.0:
            lay_in_zone(b, variant, name, part, facing.get(name, 0.0))
        for lump in lumps_of(variant, name):
            lay_outside(b, lump.mass, part, lump.share)
            if part.heat > 0.0:
                b.source(lump.mass, S.ENGINE_ON, part.heat * lump.share, "electric and accessory heat")


def lay_in_zone(b: NetworkBuilder, variant: Variant, name: str, part: Part, facing: float) -> None:
    """Convection to the zone's air, and radiation of what no link speaks for to the zone's walls."""
    outside = part.zone == "outside"
    air = "ambient" if outside else f"air.{part.zone}"
    junction = VEHICLE_AIR if outside else air
    exposure = UNDERBODY_EXPOSURE if outside else 1.0
    orientation = ROD if part.size <= ROD_SIZE else PLATE
    walls = () if outside or part.zone is None else variant.air.zones[part.zone].walls
    walls = tuple(w for w in walls if w != name)
    free, split = max(part.surface - facing, 0.0), name in default_splits(variant)
    for face in faces_of(variant, name):
        area = face.of_part * part.surface * face.growth
        open_air = area * (1.0 - sheltered_share(variant, name, face.patch))
        size = part.size + (2.0 * cover_thickness(part) if face.growth > 1.0 and orientation == ROD else 0.0)
        b.convection(
            face.mass, air, open_air, size, junction=junction, exposure=exposure, orientation=orientation
        )
        if is_wall(variant, name) or in_scene(variant, name):
            continue
        eps, seen = face.emissivity, face.of_part * free * face.growth
        if split:
            taken = facing if face.patch == FACING else 0.0
            whole = face.of_part / face.of_patch * part.surface
            seen = face.of_patch * max(whole - taken, 0.0) * face.growth
        if not walls:
            b.radiation(face.mass, "ambient", eps * seen)
        for wall in walls:
            b.radiation(face.mass, wall, small_body(eps, seen, variant.parts[wall]) / len(walls))


def is_wall(variant: Variant, name: str) -> bool:
    """Panels that bound a zone take up radiation; between themselves they are close in temperature."""
    return any(name in zone.walls for zone in variant.air.zones.values())


def small_body(emissivity: float, area: float, wall: Part) -> float:
    """Exchange area (m2) of a body inside a wall: two grey surfaces, all of the body's view on the wall."""
    if area <= 0.0:
        return 0.0
    wall_area = max(wall.surface, area)
    return area / (1.0 / emissivity + area / wall_area * (1.0 / wall.emissivity - 1.0))


def lay_outside(b: NetworkBuilder, mass: str, part: Part, share: float) -> None:
    """A lump's share of further surface in outside air, lining to the cabin, a wall's far side, sunshine."""
    if part.outside_surface > 0.0:
        area = share * part.outside_surface
        b.convection(
            mass, "ambient", area, part.size, junction=VEHICLE_AIR, exposure=PANEL_EXPOSURE, orientation=PLATE
        )
        b.radiation(mass, "ambient", part.emissivity * area)
        if part.solar_absorptance > 0.0:
            b.source(mass, S.SUN, part.solar_absorptance * area, "sun")
    if part.outside_conductance > 0.0:
        b.conduction(mass, "ambient", share * part.outside_conductance)
    if part.inside_zone is not None and part.inside_surface > 0.0:
        air = f"air.{part.inside_zone}"
        b.convection(mass, air, share * part.inside_surface, part.size, junction=air, orientation=PLATE)


def facing_areas(variant: Variant) -> dict[str, float]:
    """Part → surface (m2) whose view the facing and radiation links already use up."""
    used: dict[str, float] = {}
    for link in variant.links.values():
        if isinstance(link, Facing):
            view = view_of(variant, link)
            seen = view.area * view.factor
        elif isinstance(link, Radiation):
            seen = link.exchange_area
        else:
            continue
        for name in (link.from_, link.to):
            used[name] = used.get(name, 0.0) + seen
    return used


def exchange_area(view: View, eps: float, eps_other: float) -> float:
    """𝓕A (m2) of two faces: surface, space and surface resistances in series; eps of the smaller face, eps_other of the other."""
    space = 1.0 / max(view.area * view.factor, 1e-9)
    return 1.0 / ((1.0 - eps) / (eps * view.area) + space + (1.0 - eps_other) / (eps_other * view.other_area))


def lay_links(b: NetworkBuilder, variant: Variant) -> None:
    """Every link of the kit; radiation between covered parts goes by what shows outside."""
    for name, link in variant.links.items():
        if isinstance(link, Conduction):
            lay_conduction(b, variant, name, link, link.conductance)
        elif isinstance(link, Contact):
            lay_conduction(b, variant, name, link, link.area * link.contact_conductance)
        else:
            lay_radiation(b, variant, name, link)


def lay_conduction(b: NetworkBuilder, variant: Variant, name: str, link: Link, G: float) -> None:
    """A conductance (W/K) spread over the lumps of both parts by their shares."""
    for one in lumps_of(variant, link.from_):
        for two in lumps_of(variant, link.to):
            b.conduction(one.mass, two.mass, G * one.share * two.share, name=name)


def shown_to(variant: Variant, name: str, other: str) -> list[tuple[Face, float]]:
    """Faces of a part that a link to another part sees, and the share of its area on each: the hot face alone where the
    part is split for such links."""
    faces = list(faces_of(variant, name))
    if name in default_splits(variant) and other in gas_walls(variant):
        return [(face, face.of_patch) for face in faces if face.patch == FACING]
    return [(face, face.of_part) for face in faces]


def lay_radiation(b: NetworkBuilder, variant: Variant, name: str, link: Link) -> None:
    """A facing or radiation link, split over bare and covered shares of both parts; shapes take its place."""
    if decided_by_shapes(variant, link):
        return
    one, two = variant.parts[link.from_], variant.parts[link.to]
    eps_one, eps_two = emissivity_of(one), emissivity_of(two)
    for f1, share1 in shown_to(variant, link.from_, link.to):
        for f2, share2 in shown_to(variant, link.to, link.from_):
            share = share1 * share2
            if isinstance(link, Facing):
                view = view_of(variant, link)
                near, far = (f1, f2) if view.small == link.from_ else (f2, f1)
                area = share * near.growth * exchange_area(view, near.emissivity, far.emissivity)
                if link.distance < STILL_GAP:
                    hot = bool({link.from_, link.to} & gas_walls(variant))
                    G = share * link.area * still_air(hot=hot) / link.distance
                    b.conduction(f1.mass, f2.mass, G, name=f"{name}.air")
            else:
                assert isinstance(link, Radiation)
                area = share * link.exchange_area * (f1.emissivity / eps_one) * (f2.emissivity / eps_two)
            b.radiation(f1.mass, f2.mass, area, name=name)
