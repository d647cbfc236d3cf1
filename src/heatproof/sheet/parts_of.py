"""Parts of a project from the catalogue: added near something hot, moved, listed; with what hangs on them where asked."""

from dataclasses import dataclass

from heatproof.kit.findings import Refused, Where, unknown
from heatproof.kit.project import Project
from heatproof.kit.records.parts import Facing
from heatproof.kit.records.variant import Variant
from heatproof.kit.write import Value, write_edits
from heatproof.sheet import rules as R
from heatproof.sheet.build import HOT_LENGTH, HOT_RADIUS, plain
from heatproof.sheet.catalogue import Kind, catalogue, part_record
from heatproof.units.parse import read
from heatproof.units.quantity import Quantity, UnitError
from heatproof.units.si import mm

GAP = Quantity("mm", 1 * mm, 2.0, "Smallest distance between two parts")
NOW = 1e-3  # m: nearer than this two parts touch


@dataclass(frozen=True)
class Placed:
    """What was written: the part's key, the file, values by path."""

    part: str
    file: str
    edits: dict[str, Value]


def kind_of(name: str) -> Kind:
    """A kind of the catalogue. Refused with the nearest."""
    if name not in catalogue():
        step = "heatproof part list --kinds names them"
        raise Refused(
            [unknown(f"no kind of part {name!r}", name, catalogue(), next_step=step, code="part.kind")]
        )
    return catalogue()[name]


def hot_part(variant: Variant, name: str) -> str:
    """A part of the project. Refused with the nearest."""
    if name not in variant.parts:
        raise Refused([unknown(f"no part {name!r}", name, variant.parts, code="part.unknown")])
    return name


def distance_of(text: str) -> float:
    """Metres of a distance as written. Refused where it is none."""
    try:
        return read(text, GAP)
    except UnitError as error:
        raise Refused.of(
            error.what,
            got=error.got or text,
            allowed=error.allowed,
            next_step=error.next_step or "write 80 mm",
            code="value.unreadable",
        ) from error


def add_part(project: Project, kind: str, near: str, gap: str, name: str = "") -> Placed:
    """Adds a part of a kind to car.yaml, `gap` from a part, in that part's zone, with what passes between them.

    Refused where kind, part or distance are not known, or the name is taken.
    """
    row, variant, distance = kind_of(kind), project.variant(), distance_of(gap)
    hot = hot_part(variant, near)
    key = name or free_name(kind, variant)
    if key in variant.parts:
        raise Refused.of(
            "there is a part of that name",
            Where("car.yaml", 0, f"parts.{key}"),
            got=key,
            next_step="give another with --name",
            code="part.taken",
        )
    zone = variant.parts[hot].zone or "outside"
    edits: dict[str, Value] = {f"parts.{key}": plain(part_record(row, zone))}
    file = "kit.yaml" if in_kit_only(project, hot) else "car.yaml"
    edits |= {
        f"{'changes.' if file == 'kit.yaml' else ''}links.{hot}_to_{key}": facing(
            variant, hot, key, (row.seen_from(reach_of(hot, distance)), row.size, row.surface), distance
        )
    }
    if file == "kit.yaml":
        edits = {
            f"changes.parts.{key}" if path.startswith("parts.") else path: value
            for path, value in edits.items()
        }
    write(project, file, edits)
    return Placed(key, file, edits)


def move_part(project: Project, part: str, near: str, gap: str) -> Placed:
    """Sets the distance of a part from another: the facing link between them, made where there is none."""
    variant, distance = project.variant(), distance_of(gap)
    hot, moved = hot_part(variant, near), hot_part(variant, part)
    found = [
        key
        for key, link in variant.links.items()
        if isinstance(link, Facing) and {link.from_, link.to} == {hot, moved}
    ]
    if found:
        file, prefix = place_of_link(project, found[0])
        edits: dict[str, Value] = {f"{prefix}links.{found[0]}.distance": f"{distance * 1e3:g} mm"}
    else:
        file = "kit.yaml" if in_kit_only(project, hot) or in_kit_only(project, moved) else "car.yaml"
        prefix = "changes." if file == "kit.yaml" else ""
        own = variant.parts[moved]
        share = R.disc_share(0.25 * own.surface, reach_of(hot, distance))
        link = facing(variant, hot, moved, (share, own.size, own.surface), distance)
        edits = {f"{prefix}links.{hot}_to_{moved}": link}
    write(project, file, edits)
    return Placed(moved, file, edits)


def free_name(kind: str, variant: Variant) -> str:
    """The kind's name, numbered where it is taken."""
    taken = [kind, *(f"{kind}_{k}" for k in range(2, 100))]
    return next((name for name in taken if name not in variant.parts), kind)


def reach_of(hot: str, distance: float) -> float:
    """m from the middle of something hot to a part, as its radiation sees it."""
    return R.mean_distance(distance + HOT_RADIUS.get(hot, 0.03), HOT_LENGTH.get(hot, 0.0))


def facing(
    variant: Variant, hot: str, key: str, part: tuple[float, float, float], distance: float
) -> dict[str, Value]:
    """A facing link from something hot to a part: its share of what the hot part sends out, size (m), surface (m2)."""
    share, size, surface = part
    glowing = variant.parts[hot]
    exchange = glowing.surface * share
    area = R.facing_area(exchange, distance, (glowing.size, glowing.surface), (size, surface))
    ends: dict[str, Value] = {"from": hot, "to": key, "kind": "facing"}
    return ends | {"area": f"{area * 1e4:.3g} cm2", "distance": f"{distance * 1e3:g} mm"}


def in_kit_only(project: Project, part: str) -> bool:
    """Whether a part comes with the kit, so that the car by itself does not know it."""
    assert project.car is not None
    parts = project.car.tree.entries.get("parts")
    return part not in getattr(parts, "entries", {})


def place_of_link(project: Project, link: str) -> tuple[str, str]:
    """File and prefix of the path of a link. Refused where a measure adds it: which one moves it is for the engineer."""
    assert project.car is not None
    if link in getattr(project.car.tree.entries.get("links"), "entries", {}):
        return "car.yaml", ""
    changes = (
        getattr(project.kit.tree.entries.get("changes"), "entries", {}) if project.kit is not None else {}
    )
    if link in getattr(changes.get("links"), "entries", {}):
        return "kit.yaml", "changes."
    raise Refused.of(
        "a measure adds the link between them",
        Where("kit.yaml", 0, f"links.{link}"),
        next_step="change its distance in that measure",
        code="part.in_measure",
    )


def write(project: Project, file: str, edits: dict[str, Value]) -> None:
    """Writes values into a file of the project, whole or not at all."""
    write_edits(project.folder, project.files[file], edits)
