"""What covers a part and what shows of it: coverage, emissivity, the layers between."""

from heatproof.kit.records.parts import Cover, Part
from heatproof.laws.insulation import edge_gap_coverage
from heatproof.media.solids import emissivity as tabulated

FRONT, BACK, WHOLE = "front", "back", "whole"


def insulates(cover: Cover | None) -> bool:
    """Whether a cover is a layer with a skin of its own (a coating or film only changes the surface)."""
    return cover is not None and cover.kind in ("blanket", "sleeve", "wrap")


def coverage_of(part: Part) -> float:
    """Share of the surface a cover lies on, less what its edges leave bare."""
    cover = part.cover
    if cover is None:
        return 0.0
    if cover.edge_gap <= 0.0 or part.surface <= 0.0:
        return cover.coverage
    return edge_gap_coverage(cover.coverage, cover.edge_length, cover.edge_gap, part.surface)


def emissivity_of(part: Part, patch: str = WHOLE) -> float:
    """Of the part's own surface: given, or of its surface state at the working temperature."""
    if patch == BACK and part.back_emissivity is not None:
        return part.back_emissivity
    if part.finish is not None and part.material is not None:
        return tabulated(part.material, part.finish, part.finish_temperature).value
    return part.emissivity


def cover_thickness(part: Part) -> float:
    """m by which what covers a part moves its outline."""
    cover = part.cover
    if cover is None or not insulates(cover) or cover.thickness is None:
        return 0.0
    return cover.stand_off + cover.thickness + sum(layer.thickness for layer in cover.layers)
