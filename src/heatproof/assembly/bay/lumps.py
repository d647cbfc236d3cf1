"""Which masses a part consists of, and what of each shows outside.

One mass a part, unless its surface is split into patches, it is a poor conductor that faces something hot (`splits`), or a
shield of two skins; the first keeps the part's name.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from heatproof.assembly.bay.scene import patch_shares
from heatproof.assembly.bay.splits import default_splits, default_wall, face_share, patches_of
from heatproof.assembly.covers import BACK, FRONT, WHOLE, coverage_of, emissivity_of, insulates, skin_growth
from heatproof.kit.faces import two_faced
from heatproof.kit.records.parts import Part
from heatproof.kit.records.variant import Variant
from heatproof.shapes.patches import AWAY, FACING

HOT_FACE = "hot_face"


@dataclass(frozen=True)
class Lump:
    """A mass of a part: its name, share of the part's heat capacity, and the patches it has with their shares
    of the part's surface."""

    mass: str
    share: float
    patches: tuple[tuple[str, float], ...] = ((WHOLE, 1.0),)


@dataclass(frozen=True)
class Face:
    """What shows outside: mass, patch, share of the patch and of the part's surface, emissivity; growth: area over that
    share, where a cover on a round part carries its skin further out."""

    mass: str
    patch: str
    of_patch: float
    of_part: float
    emissivity: float
    growth: float = 1.0


def geometry_on(variant: Variant) -> bool:
    """Whether shapes decide what radiates to what."""
    return variant.bay is not None and variant.bay.geometry == "on"


def lumps_of(variant: Variant, name: str) -> tuple[Lump, ...]:
    """Masses of a part."""
    part = variant.parts[name]
    if part.shape is None or not geometry_on(variant):
        hot = name in default_splits(variant)
        return _body_and_face(variant, name, face_share(variant, name)) if hot else (Lump(name, 1.0),)
    if two_faced(part):
        halves = ((FRONT, 0.5), (BACK, 0.5))
        if part.insulation is None:
            return (Lump(name, 1.0, halves),)
        return (Lump(name, 0.5, halves[:1]), Lump(f"{name}.back", 0.5, halves[1:]))
    if patches_of(variant, name) is None:
        return (Lump(name, 1.0),)
    shares = patch_shares(variant, name)
    if part.patches is None:
        return _body_and_face(variant, name, shares[FACING])
    own = list(shares.items())
    first = Lump(name, own[0][1], (own[0],))
    return (first, *(Lump(f"{name}.{label(patch)}", share, ((patch, share),)) for patch, share in own[1:]))


def _body_and_face(variant: Variant, name: str, share: float) -> tuple[Lump, ...]:
    """A part split by default: the body keeps the name, so that what joins the part joins its body. Of a wall that a
    flow washes the face is the outer half."""
    mass = 0.5 * share if default_wall(variant, name).washed else share
    return (
        Lump(name, 1.0 - mass, ((AWAY, 1.0 - share),)),
        Lump(f"{name}.{HOT_FACE}", mass, ((FACING, share),)),
    )


def label(patch: str) -> str:
    """A patch's name as part of a mass's name."""
    return patch.replace(" ", "_")


def masses_of(variant: Variant, name: str) -> tuple[str, ...]:
    """Names of all masses of a part's own body; what is judged is the hottest of them."""
    return tuple(lump.mass for lump in lumps_of(variant, name))


def faces_of(variant: Variant, name: str) -> Iterator[Face]:
    """Everything of a part that shows outside: own surface, and skin or coating over the covered share."""
    part = variant.parts[name]
    covered = coverage_of(part)
    for lump in lumps_of(variant, name):
        for patch, share in lump.patches:
            yield from _of_patch(part, lump.mass, patch, share, covered)


def _of_patch(part: Part, mass: str, patch: str, share: float, covered: float) -> Iterator[Face]:
    if part.cover is not None and covered > 0.0:
        outer = f"{mass}.skin" if insulates(part.cover) else mass
        yield Face(outer, patch, covered, covered * share, part.cover.skin_emissivity, skin_growth(part))
    if covered < 1.0:
        yield Face(mass, patch, 1.0 - covered, (1.0 - covered) * share, emissivity_of(part, patch))
