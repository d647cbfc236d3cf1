"""Parts, covers, limits, links; shapes, patches and the bay: numbers that belong together. Whether shapes fit is the
shapes' own concern."""

from collections.abc import Iterator

from heatproof.kit.faces import fluid_walls, gas_walls, two_faced
from heatproof.kit.findings import Findings, nearest
from heatproof.kit.graph import islands
from heatproof.kit.records.parts import Cover, Facing, Limit, Part
from heatproof.kit.records.shapes import Bay, Cone, Patches, Plate, Tube
from heatproof.kit.records.variant import Variant
from heatproof.media.solids import FINISH_FAMILY, finishes, materials
from heatproof.units.quantity import Amount

# --- parts and links ------------------------------------------------------------------------------------------
INSULATING = ("blanket", "sleeve", "wrap")


def check_parts(variant: Variant, findings: Findings) -> None:
    """Every part stores heat, is linked to something and can lose heat; limits make sense."""
    for name, part in variant.parts.items():
        _part(variant, name, part, findings)
    _linked(variant, findings)
    _links(variant, findings)
    for path, limit in limits(variant):
        _limit(variant, path, limit, findings)


def _part(variant: Variant, name: str, part: Part, findings: Findings) -> None:
    path = f"parts.{name}"
    where = variant.where(path)
    if part.material is None and part.heat_capacity is None:
        findings.error(
            f"part {name!r} has neither material nor heat_capacity",
            where,
            next_step="add one of the two",
            code="part.no_material",
        )
    if part.zone is not None and part.surface <= 0:
        findings.error(
            f"part {name!r} stands in zone {part.zone!r} but has no surface",
            where,
            next_step="add surface: …",
            code="part.no_surface",
        )
    if (part.inside_zone is not None) != (part.inside_surface > 0):
        findings.error(
            f"part {name!r} needs inside_zone and inside_surface together",
            where,
            next_step="add the other one",
            code="part.inside",
        )
    _material(variant, f"{path}.material", part.material, findings)
    if part.cover is not None:
        _cover(variant, f"{path}.cover", part.cover, findings)


def _cover(variant: Variant, path: str, cover: Cover, findings: Findings) -> None:
    _material(variant, f"{path}.material", cover.material, findings)
    for k, layer in enumerate(cover.layers):
        _material(variant, f"{path}.layers.{k}.material", layer.material, findings)
        if layer.material is None and layer.conductivity is None:
            findings.error(
                f"layer {k + 1} needs material or conductivity",
                variant.where(path),
                next_step="add one of the two",
                code="layer.material",
            )
    if cover.kind not in INSULATING:
        return
    if cover.thickness is None or (cover.material is None and cover.conductivity is None):
        findings.error(
            f"a {cover.kind} needs thickness, and material or conductivity",
            variant.where(path),
            next_step="add what is missing",
            code="cover.material",
        )


def _material(variant: Variant, path: str, name: str | None, findings: Findings) -> None:
    known = materials()
    if name is not None and name not in known:
        findings.error(
            f"no material named {name!r}",
            variant.where(path),
            got=name,
            nearest=nearest(name, known),
            next_step="take a name of the materials table, or give heat_capacity (conductivity of a cover)",
            code="material.unknown",
        )


def _linked(variant: Variant, findings: Findings) -> None:
    """Groups of parts joined by links; each must touch air or a fluid somewhere."""
    edges = [(link.from_, link.to) for link in variant.links.values()]
    touched = {name for name, part in variant.parts.items() if part.zone is not None} | wetted(variant)
    for group in islands(variant.parts, edges):
        if group & touched:
            continue
        name = next(n for n in variant.parts if n in group)
        what = (
            f"part {name!r} is linked to nothing"
            if len(group) == 1
            else f"parts {', '.join(sorted(group))} are linked to each other only: no heat path to ambient"
        )
        findings.error(
            what,
            variant.where(f"parts.{name}"),
            next_step="add zone: … and surface: …, or a link",
            code="part.alone",
        )


def wetted(variant: Variant) -> set[str]:
    """Parts that touch gas, coolant, oil or charge air, or that bound a zone."""
    names = {piece.part for piece in variant.exhaust.values()} | {variant.engine.block, variant.engine.head}
    for network in variant.liquids.values():
        names |= {p for line in network.lines.values() for p in (line.part, line.metal) if p is not None}
        names |= {junction.part for junction in network.junctions.values() if junction.part is not None}
    names |= {wall for zone in variant.air.zones.values() for wall in zone.walls}
    charge, turbo = variant.charge, variant.turbo
    names |= {
        pipe.part for pipe in (charge.inlet_pipe, charge.hot_pipe, charge.cold_pipe, charge.plenum) if pipe
    }
    if turbo is not None:
        names |= {turbo.part_turbine, turbo.part_bearing, turbo.part_compressor}
    return names


def _links(variant: Variant, findings: Findings) -> None:
    for name, link in variant.links.items():
        where = variant.where(f"links.{name}")
        if link.from_ == link.to:
            findings.error(
                f"link {name!r} joins a part to itself",
                where,
                next_step="correct from or to",
                code="link.loop",
            )
        if not isinstance(link, Facing):
            continue
        for part in (link.from_, link.to):
            surface = variant.parts[part].surface + variant.parts[part].outside_surface
            if link.area > surface * 1.001:
                faced, there = (Amount(f"{area * 1e4:.4g} cm2", area, "cm2") for area in (link.area, surface))
                findings.warning(
                    f"link {name!r} faces more area than part {part!r} has",
                    where,
                    got=f"{faced} of {there}",
                    next_step="correct one of the two",
                    amounts=(faced, there),
                    code="link.area",
                )


def limits(variant: Variant) -> Iterator[tuple[str, Limit]]:
    """`(path, limit)` of everything that is judged."""
    for name, part in variant.parts.items():
        if part.limit is not None:
            yield f"parts.{name}.limit", part.limit
        if part.cover is not None and part.cover.limit is not None:
            yield f"parts.{name}.cover.limit", part.cover.limit
    for title, network in variant.liquids.items():
        for name, junction in network.junctions.items():
            if junction.limit is not None:
                yield f"{title}.junctions.{name}.limit", junction.limit
        for name, line in network.lines.items():
            if line.limit is not None:
                yield f"{title}.lines.{name}.limit", line.limit
    for key, place in (("inlet", variant.charge.inlet), ("plenum", variant.charge.plenum)):
        if place.limit is not None:
            yield f"charge.{key}.limit", place.limit


def _limit(variant: Variant, path: str, limit: Limit, findings: Findings) -> None:
    where = variant.where(path)
    if limit.continuous is None and limit.short is None and limit.boil_margin is None:
        findings.error("limit holds no temperature", where, next_step="add continuous: …", code="limit.empty")
    if (limit.short is None) != (limit.short_time is None):
        findings.error(
            "limit needs short and short_time together",
            where,
            next_step="add the other one",
            code="limit.short",
        )
    if limit.short is not None and limit.continuous is not None and limit.short <= limit.continuous:
        ends = tuple(Amount(f"{T - 273.15:.4g} degC", T, "degC") for T in (limit.short, limit.continuous))
        findings.error(
            "short limit must lie above the continuous one",
            where,
            got=f"{ends[0]} against {ends[1]}",
            next_step="correct one of the two",
            amounts=ends,
            code="limit.order",
        )
    if limit.boil_margin is not None and not path.startswith(("coolant.", "circuits.")):
        findings.error("boil_margin belongs to coolant only", where, next_step="remove it", code="limit.boil")


# --- shapes and the bay ---------------------------------------------------------------------------------------
VECTORS = ("size", "position", "turn", "along", "looks")


def check_shapes(variant: Variant, findings: Findings) -> None:
    """Three numbers a place, patches that can be cut, a bay with room inside, surface states that exist."""
    for name, part in variant.parts.items():
        if part.shape is not None:
            _shape(variant, f"parts.{name}.shape", part.shape, findings)
        if part.patches is not None:
            _patches(variant, name, part, part.patches, findings)
        _finish(variant, name, part, findings)
        _insulation(variant, name, part, findings)
    for name, core in variant.cores.items():
        if core.shape is not None:
            _shape(variant, f"cores.{name}.shape", core.shape, findings)
    if variant.bay is not None:
        _bay(variant, variant.bay, findings)


def _three(variant: Variant, path: str, values: tuple[float, ...], wanted: int, findings: Findings) -> None:
    if len(values) != wanted:
        findings.error(
            f"{path.rsplit('.', 1)[-1]} needs {wanted} numbers",
            variant.where(path),
            got=str(len(values)),
            next_step="write [x, y, z]" if wanted == 3 else "write [length, width]",
            code="shape.numbers",
        )


def _shape(variant: Variant, path: str, shape: object, findings: Findings) -> None:
    for key in VECTORS:
        if (values := getattr(shape, key, None)) is not None:
            wanted = 2 if key == "size" and isinstance(shape, Plate) else 3
            _three(variant, f"{path}.{key}", values, wanted, findings)
            if key in ("along", "looks") and not any(values):
                findings.error(
                    f"{key} has no direction",
                    variant.where(f"{path}.{key}"),
                    next_step="write [0, 0, 1]",
                    code="shape.direction",
                )
    if isinstance(shape, Tube) and len(shape.path) < 2:
        findings.error(
            "a path needs two points or more",
            variant.where(f"{path}.path"),
            got=str(len(shape.path)),
            code="shape.path",
        )
    if isinstance(shape, Cone) and max(shape.base_diameter, shape.top_diameter) <= 0.0:
        findings.error(
            "a cone needs a diameter",
            variant.where(path),
            next_step="add base_diameter: …",
            code="shape.cone",
        )


def _patches(variant: Variant, name: str, part: Part, patches: Patches, findings: Findings) -> None:
    where = variant.where(f"parts.{name}.patches")
    if patches.split == "none":
        return
    if part.shape is None:
        findings.error(
            f"part {name!r} has patches but no shape",
            where,
            next_step="add shape: …, or remove patches",
            code="patches.no_shape",
        )
    elif two_faced(part):
        findings.error(
            f"plate {name!r} has its front and back as patches already",
            where,
            next_step="remove patches",
            code="patches.plate",
        )
    if patches.split == "facing":
        target = variant.parts.get(patches.towards or "")
        if target is None or target.shape is None:
            findings.error(
                "split: facing needs `towards`, a part with a shape",
                where,
                got=patches.towards or "",
                next_step="add towards: and a part's name",
                code="patches.facing",
            )
    if patches.split == "along":
        if patches.direction is None:
            findings.error(
                "split: along needs a direction",
                where,
                next_step="add direction: [x, y, z]",
                code="patches.along",
            )
        elif len(patches.direction) != 3 or not any(patches.direction):
            findings.error(
                "direction needs 3 numbers, not all zero",
                where,
                next_step="write [0, 1, 0]",
                code="shape.direction",
            )
    if patches.conductivity is None and part.material is None:
        findings.error(
            f"patches of {name!r} need a material or a conductivity",
            where,
            next_step="add conductivity: …",
            code="patches.material",
        )
    if name in fluid_walls(variant):
        findings.error(
            f"part {name!r} is the wall of a flow, which keeps it at one temperature",
            where,
            next_step="remove patches; its hot spots are computed from where radiation arrives",
            code="patches.wall",
        )


def _finish(variant: Variant, name: str, part: Part, findings: Findings) -> None:
    if part.finish is None:
        return
    path = f"parts.{name}.finish"
    states = finishes().get(FINISH_FAMILY.get(part.material or "", part.material or ""), {})
    if part.finish not in states:
        findings.error(
            f"no surface state {part.finish!r} of {part.material or 'a part without material'}",
            variant.where(path),
            got=part.finish,
            allowed=", ".join(states),
            nearest=nearest(part.finish, states),
            next_step="take a state of the table, or give emissivity",
            code="finish.unknown",
        )


def _insulation(variant: Variant, name: str, part: Part, findings: Findings) -> None:
    where = variant.where(f"parts.{name}")
    if (
        part.insulation is not None
        and part.insulation.material is None
        and part.insulation.conductivity is None
    ):
        findings.error(
            "insulation needs a material or a conductivity",
            where,
            next_step="add one of the two",
            code="lining.material",
        )
    if part.lining is not None and name not in gas_walls(variant):
        findings.error(
            f"part {name!r} has a lining but no exhaust gas flows through it",
            where,
            next_step="remove lining",
            code="lining.no_gas",
        )
    if two_faced(part):
        return
    for key, given in (
        ("insulation", part.insulation is not None),
        ("back_emissivity", part.back_emissivity is not None),
        ("ventilated: false", not part.ventilated),
    ):
        if given:
            findings.error(
                f"{key} belongs to a plate with two faces, which {name!r} is not",
                where,
                next_step="give it shape: {kind: plate, …}, or remove the key",
                code="patches.faces",
            )


def _bay(variant: Variant, bay: Bay, findings: Findings) -> None:
    where = variant.where("bay")
    for key in ("lower", "upper"):
        _three(variant, f"bay.{key}", getattr(bay, key), 3, findings)
    if any(low >= high for low, high in zip(bay.lower, bay.upper, strict=False)):
        findings.error(
            "the bay's lower corner must lie below its upper one in x, y and z",
            where,
            next_step="correct one",
            code="bay.corners",
        )
    if bay.rays_per_patch < 512:
        findings.error(
            "too few rays per patch",
            where,
            got=str(bay.rays_per_patch),
            allowed="512 or more",
            next_step="write 16384",
            code="bay.rays",
        )
    if bay.geometry == "on" and not any(part.shape for part in variant.parts.values()):
        findings.error(
            "geometry is on but no part has a shape",
            where,
            next_step="add shapes, or geometry: off",
            code="bay.no_shape",
        )
