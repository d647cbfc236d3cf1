"""What covers a part and what shows of it: coverage, emissivity, the layers between."""

import math
from dataclasses import dataclass

from heatproof.kit.records.parts import Cover, Part
from heatproof.kit.records.shapes import Cylinder, Sphere, Tube
from heatproof.laws.insulation import edge_gap_coverage
from heatproof.media.solids import emissivity as tabulated

FRONT, BACK, WHOLE = "front", "back", "whole"
ROD_SIZE = 0.1  # m, parts up to this size are treated as cylinders across the air


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


@dataclass(frozen=True)
class Round:
    """The curve of a surface that layers lie on. radius m: of the part's own surface, inf where it is flat; bends: ways
    it is curved in, 0 flat, 1 a tube, 2 a ball."""

    radius: float = math.inf
    bends: int = 0

    def growth(self, out: float) -> float:
        """Area of the surface `out` (m) further out over the part's own: (r + out)/r of a tube, its square of a ball."""
        return 1.0 if self.bends == 0 else ((self.radius + out) / self.radius) ** self.bends

    def flat_thickness(self, inner: float, outer: float) -> float:
        """m: thickness of the flat layer on the part's own area that resists as the layer between `inner` and `outer` (m
        out from the part's surface): r ln(r2/r1) of a tube, r² (1/r1 − 1/r2) of a ball.

        Source: Incropera/DeWitt eqs. 3.28, 3.36.
        """
        if self.bends == 0:
            return outer - inner
        r1, r2 = self.radius + inner, self.radius + outer
        return self.radius * math.log(r2 / r1) if self.bends == 1 else self.radius**2 * (1.0 / r1 - 1.0 / r2)


FLAT = Round()


def round_of(part: Part) -> Round:
    """How a part's surface is curved: by its shape; where it has none, a part up to `ROD_SIZE` is a tube of that size."""
    shape = part.shape
    if isinstance(shape, Tube | Cylinder):
        return Round(0.5 * shape.diameter, 1)
    if isinstance(shape, Sphere):
        return Round(0.5 * shape.diameter, 2)
    return Round(0.5 * part.size, 1) if shape is None and part.size <= ROD_SIZE else FLAT


def skin_growth(part: Part) -> float:
    """Area of the outer skin of what covers a part over the part's own: what air and radiation meet."""
    return round_of(part).growth(cover_thickness(part))


def cover_thickness(part: Part) -> float:
    """m by which what covers a part moves its outline."""
    cover = part.cover
    if cover is None or not insulates(cover) or cover.thickness is None:
        return 0.0
    return cover.stand_off + cover.thickness + sum(layer.thickness for layer in cover.layers)
