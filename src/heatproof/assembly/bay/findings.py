"""What deserves a look in the shapes of a bay."""

from heatproof.assembly.bay.bodies import bare_shape
from heatproof.assembly.bay.kept import per_variant
from heatproof.assembly.bay.refused import place_of
from heatproof.assembly.bay.scene import WALLS, bay_of, one_sided, scene_of, shape_of
from heatproof.kit.checks.plausible import DOUBTED, REFUSED
from heatproof.kit.findings import Finding, Level
from heatproof.kit.records.parts import Part
from heatproof.kit.records.variant import Variant
from heatproof.shapes.clearance import overlap_findings, place_findings
from heatproof.shapes.errors import ShapeFinding
from heatproof.shapes.scene import Body
from heatproof.units.quantity import Amount

AREA_DIFFERS = 1.35  # times by which a shape's area may differ from the part's surface unsaid


@per_variant
def bay_findings(variant: Variant) -> list[Finding]:
    """What deserves a look: open meshes, wrong scale or place, areas that disagree; parts in each other are errors."""
    scene, bay = scene_of(variant), bay_of(variant)
    found: list[ShapeFinding] = []
    for name, record in variant.parts.items():
        if record.shape is not None:
            built = shape_of(variant, name)
            found += [*built.findings, *place_findings(built.part, lower=bay.lower, upper=bay.upper)]
            found += area_findings(name, record, bare_shape(variant, name))
    panels = [name for name, record in variant.parts.items() if one_sided(record)]
    found += overlap_findings(scene, walls=(WALLS, *panels))
    return [kit_finding(variant, finding) for finding in found]


def area_findings(name: str, record: Part, part: Body) -> list[ShapeFinding]:
    """A shape whose area is far from the surface the part gives heat to air with: a warning, much further an error.

    Air would cool one body and radiation heat another.
    """
    area, surface = float(part.patch_areas.sum()), record.surface
    if surface <= 0.0:
        return []
    times = max(area / surface, surface / area)
    if times <= AREA_DIFFERS:
        return []
    drawn, stated = (Amount(f"{value:.3g} m2", value, "m2") for value in (area, surface))
    level: Level = "error" if times >= REFUSED else "warning" if times >= DOUBTED else "note"
    what, got = (
        f"shape and surface disagree {times:.3g} times in area",
        f"{drawn} by the shape, surface: {stated}",
    )
    return [ShapeFinding(level, name, what, got, "correct one of the two", (drawn, stated))]


def kit_finding(variant: Variant, finding: ShapeFinding) -> Finding:
    """A finding with its place in the files."""
    what = f"{finding.part}: {finding.what}" if finding.part else finding.what
    return Finding(
        finding.level,
        what,
        place_of(variant, finding.part),
        got=finding.got,
        next_step=finding.next_step,
        amounts=finding.amounts,
        code="bay.shape",
    )
