"""What the kit brings that somebody must fit: lines, openings, covers, shields, cores; seen against the bare car."""

from dataclasses import dataclass

from heatproof.assembly.coolant import line_heights
from heatproof.kit.findings import Refused
from heatproof.kit.project import Project
from heatproof.kit.records.air import Core, Passage
from heatproof.kit.records.liquids import Line
from heatproof.kit.records.parts import Cover, Part
from heatproof.kit.records.shapes import Plate
from heatproof.kit.records.variant import Variant
from heatproof.verdict.names import spaced


@dataclass(frozen=True)
class KitLine:
    """A coolant or oil line that the car did not have, or not like this. heights m along it, in order of flow."""

    section: str
    key: str
    line: Line
    heights: tuple[float, ...]

    @property
    def title(self) -> str:
        return self.line.title or spaced(self.key)

    @property
    def rise(self) -> float:
        """m from its first to its last point."""
        return self.heights[-1] - self.heights[0]

    @property
    def slope(self) -> float:
        """Rise over length, as a share."""
        return self.rise / self.line.length

    @property
    def trap(self) -> float:
        """m: the deepest fall on the way up, or rise on the way down."""
        up = self.rise >= 0.0
        edge, worst = self.heights[0], 0.0
        for z in self.heights:
            edge = max(edge, z) if up else min(edge, z)
            worst = max(worst, edge - z if up else z - edge)
        return worst


@dataclass(frozen=True)
class KitItems:
    """Everything, in the order of the files."""

    lines: tuple[KitLine, ...]
    openings: tuple[tuple[str, Passage, Passage | None], ...]
    covers: tuple[tuple[str, Part, Cover], ...]
    shields: tuple[tuple[str, Part, Plate], ...]
    cores: tuple[tuple[str, Core], ...]
    parts: tuple[str, ...]


def kit_items(project: Project, variant: Variant) -> KitItems:
    """What differs from the bare car; everything where the car alone cannot be built."""
    try:
        bare: Variant | None = project.bare_car()
    except Refused:
        bare = None
    known = bare.parts if bare is not None else {}
    cores = bare.cores if bare is not None else {}
    new = tuple(key for key, part in variant.parts.items() if known.get(key) != part)
    return KitItems(
        lines=tuple(changed_lines(variant, bare)),
        openings=tuple(changed_openings(variant, bare)),
        covers=tuple(covers(variant, bare)),
        shields=tuple(
            (key, part, part.shape)
            for key, part in variant.parts.items()
            if key not in known and isinstance(part.shape, Plate)
        ),
        cores=tuple((key, core) for key, core in variant.cores.items() if cores.get(key) != core),
        parts=new,
    )


def changed_lines(variant: Variant, bare: Variant | None) -> list[KitLine]:
    """Circuit by circuit."""
    found = []
    for section, record in variant.liquids.items():
        before = bare.liquids.get(section) if bare is not None else None
        old = dict(before.lines) if before is not None else {}
        for key, line in record.lines.items():
            if old.get(key) != line:
                found.append(KitLine(section, key, line, heights_of(record, line)))
    return found


def heights_of(record: object, line: Line) -> tuple[float, ...]:
    """m: ends, and what the file says between them."""
    ends = line_heights(record, line.model_copy(update={"heights": (), "route": ()}))  # type: ignore[arg-type, type-var]
    between = line.heights or tuple(point[2] for point in line.route)
    return (ends[0], *between, ends[-1])


def changed_openings(variant: Variant, bare: Variant | None) -> list[tuple[str, Passage, Passage | None]]:
    """Openings and gaps with an area that are new or of another size; the car's own beside them."""
    old = bare.air.passages if bare is not None else {}
    return [
        (key, passage, old.get(key))
        for key, passage in variant.air.passages.items()
        if passage.area is not None and (key not in old or old[key].area != passage.area)
    ]


def covers(variant: Variant, bare: Variant | None) -> list[tuple[str, Part, Cover]]:
    """Blankets, sleeves, wraps, coatings that the kit brings."""
    found = []
    for key, part in variant.parts.items():
        before = bare.parts.get(key) if bare is not None else None
        if part.cover is not None and (before is None or before.cover != part.cover):
            found.append((key, part, part.cover))
    return found
