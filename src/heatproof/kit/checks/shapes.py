"""Shapes, patches and the bay: numbers that belong together. Whether parts fit is the shapes' own concern."""

from heatproof.kit.faces import fluid_walls, gas_walls, two_faced
from heatproof.kit.findings import Findings, nearest
from heatproof.kit.records.parts import Part
from heatproof.kit.records.shapes import Bay, Cone, Patches, Plate, Tube
from heatproof.kit.records.variant import Variant
from heatproof.media.solids import FINISH_FAMILY, finishes

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
        )


def _shape(variant: Variant, path: str, shape: object, findings: Findings) -> None:
    for key in VECTORS:
        if (values := getattr(shape, key, None)) is not None:
            wanted = 2 if key == "size" and isinstance(shape, Plate) else 3
            _three(variant, f"{path}.{key}", values, wanted, findings)
            if key in ("along", "looks") and not any(values):
                findings.error(
                    f"{key} has no direction", variant.where(f"{path}.{key}"), next_step="write [0, 0, 1]"
                )
    if isinstance(shape, Tube) and len(shape.path) < 2:
        findings.error(
            "a path needs two points or more", variant.where(f"{path}.path"), got=str(len(shape.path))
        )
    if isinstance(shape, Cone) and max(shape.base_diameter, shape.top_diameter) <= 0.0:
        findings.error("a cone needs a diameter", variant.where(path), next_step="add base_diameter: …")


def _patches(variant: Variant, name: str, part: Part, patches: Patches, findings: Findings) -> None:
    where = variant.where(f"parts.{name}.patches")
    if part.shape is None:
        findings.error(
            f"part {name!r} has patches but no shape", where, next_step="add shape: …, or remove patches"
        )
    elif two_faced(part):
        findings.error(
            f"plate {name!r} has its front and back as patches already", where, next_step="remove patches"
        )
    if patches.split == "facing":
        target = variant.parts.get(patches.towards or "")
        if target is None or target.shape is None:
            findings.error(
                "split: facing needs `towards`, a part with a shape",
                where,
                got=patches.towards or "",
                next_step="add towards: and a part's name",
            )
    if patches.split == "along":
        if patches.direction is None:
            findings.error("split: along needs a direction", where, next_step="add direction: [x, y, z]")
        elif len(patches.direction) != 3 or not any(patches.direction):
            findings.error("direction needs 3 numbers, not all zero", where, next_step="write [0, 1, 0]")
    if patches.conductivity is None and part.material is None:
        findings.error(
            f"patches of {name!r} need a material or a conductivity", where, next_step="add conductivity: …"
        )
    if name in fluid_walls(variant):
        findings.error(
            f"part {name!r} is the wall of a flow, which keeps it at one temperature",
            where,
            next_step="remove patches; its hot spots are computed from where radiation arrives",
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
        )


def _insulation(variant: Variant, name: str, part: Part, findings: Findings) -> None:
    where = variant.where(f"parts.{name}")
    if (
        part.insulation is not None
        and part.insulation.material is None
        and part.insulation.conductivity is None
    ):
        findings.error("insulation needs a material or a conductivity", where, next_step="add one of the two")
    if part.lining is not None and name not in gas_walls(variant):
        findings.error(
            f"part {name!r} has a lining but no exhaust gas flows through it",
            where,
            next_step="remove lining",
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
        )
    if bay.rays_per_patch < 512:
        findings.error(
            "too few rays per patch",
            where,
            got=str(bay.rays_per_patch),
            allowed="512 or more",
            next_step="write 16384",
        )
    if bay.geometry == "on" and not any(part.shape for part in variant.parts.values()):
        findings.error(
            "geometry is on but no part has a shape", where, next_step="add shapes, or geometry: off"
        )
