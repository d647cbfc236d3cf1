"""Parts as triangles with named patches, and the scene they form."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from heatproof.shapes.errors import ShapeError
from heatproof.shapes.placement import Floats, Placement

Ints = NDArray[np.int64]
WHOLE = "whole"
FRONT, BACK = "front", "back"


@dataclass(frozen=True, eq=False)
class Body:
    """One part's surface: triangles in metres with outward normals, each belonging to one named patch.

    `twin[t]` is the triangle on the other face of a thin sheet, or −1 on a solid's skin.
    """

    name: str
    vertices: Floats
    faces: Ints
    patches: tuple[str, ...] = (WHOLE,)
    patch_of: Ints = field(default_factory=lambda: np.empty(0, dtype=np.int64))
    twin: Ints = field(default_factory=lambda: np.empty(0, dtype=np.int64))

    def __post_init__(self) -> None:
        count = len(self.faces)
        fields = [("vertices", float, None), ("faces", np.int64, None), ("patch_of", np.int64, 0)]
        for name, dtype, empty in [*fields, ("twin", np.int64, -1)]:
            array = np.array(getattr(self, name), dtype=dtype)
            if empty is not None and array.size == 0:
                array = np.full(count, empty, dtype=dtype)
            array.setflags(write=False)
            object.__setattr__(self, name, array)
        self._refuse_nonsense()

    def _refuse_nonsense(self) -> None:
        if len(self.faces) == 0:
            raise ShapeError("the part has no triangles", where=self.name)
        if not np.isfinite(self.vertices).all():
            raise ShapeError("the part has vertices that are not finite", where=self.name)
        if len(self.patch_of) != len(self.faces) or self.patch_of.max() >= len(self.patches):
            raise ShapeError("every triangle needs one of the part's patches", where=self.name)
        if len(set(self.patches)) < len(self.patches):
            raise ShapeError("two patches have the same name", where=self.name, got=", ".join(self.patches))
        if not (self.areas > 0.0).any():
            raise ShapeError("every triangle of the part has zero area", where=self.name)

    @cached_property
    def triangles(self) -> Floats:
        """Corner points (n, 3, 3) m."""
        return self.vertices[self.faces]

    @cached_property
    def _cross(self) -> Floats:
        t = self.triangles
        return np.cross(t[:, 1] - t[:, 0], t[:, 2] - t[:, 0])

    @cached_property
    def areas(self) -> Floats:
        """Triangle areas (n,) m2."""
        return 0.5 * np.linalg.norm(self._cross, axis=1)

    @cached_property
    def normals(self) -> Floats:
        """Unit outward normals (n, 3); zero where a triangle has no area."""
        double = 2.0 * self.areas[:, None]
        return np.divide(self._cross, double, out=np.zeros_like(self._cross), where=double > 0.0)

    @cached_property
    def centres(self) -> Floats:
        """Triangle centroids (n, 3) m."""
        return self.triangles.mean(axis=1)

    @cached_property
    def patch_areas(self) -> Floats:
        """Area of each patch m2."""
        return np.asarray(np.bincount(self.patch_of, self.areas, len(self.patches)), dtype=float)

    @cached_property
    def centre(self) -> Floats:
        """Area-weighted centre of the surface m."""
        return np.asarray(np.average(self.centres, axis=0, weights=self.areas))

    @cached_property
    def bounds(self) -> Floats:
        """Lowest and highest corner (2, 3) m."""
        used = self.vertices[self.faces.ravel()]
        return np.stack([used.min(axis=0), used.max(axis=0)])

    @cached_property
    def key(self) -> str:
        """Hash of everything rays depend on: name, patches, triangles."""
        digest = hashlib.sha256("\0".join((self.name, *self.patches)).encode())
        for array in (self.vertices, self.faces, self.patch_of, self.twin):
            digest.update(str(array.shape).encode() + np.ascontiguousarray(array).tobytes())
        return digest.hexdigest()

    def placed(self, placement: Placement) -> "Body":
        """The part turned and shifted."""
        return replace(self, vertices=placement.apply(self.vertices))

    def with_patches(self, patches: Sequence[str], patch_of: ArrayLike) -> "Body":
        """The part with its triangles assigned to patches; patches without a triangle are left out."""
        used, index = np.unique(np.asarray(patch_of), return_inverse=True)
        names = tuple(patches[k] for k in used)
        return replace(self, patches=names, patch_of=index.reshape(-1))


def solid_part(name: str, mesh: Any) -> Body:
    """Body from a closed mesh (anything with `vertices` and `faces`), one patch `whole`."""
    return Body(name, mesh.vertices, mesh.faces)


def thin_part(name: str, mesh: Any) -> Body:
    """Body from an open sheet: the sheet's triangles are patch `front`, their reverse patch `back`."""
    faces = np.asarray(mesh.faces, dtype=np.int64)
    n = len(faces)
    both = np.concatenate([faces, faces[:, ::-1]])
    side = np.repeat([0, 1], n)
    twin = np.concatenate([np.arange(n, 2 * n), np.arange(n)])
    return Body(name, mesh.vertices, both, (FRONT, BACK), side, twin)


@dataclass(frozen=True, eq=False)
class Scene:
    """Named parts in one space. What a ray meets after all of them is the surroundings."""

    parts: tuple[Body, ...]

    def __post_init__(self) -> None:
        names = [part.name for part in self.parts]
        if not names:
            raise ShapeError("the scene has no parts")
        if len(set(names)) < len(names):
            double = sorted({name for name in names if names.count(name) > 1})
            raise ShapeError("two parts have the same name", got=", ".join(double))

    def part(self, name: str) -> Body:
        """The part of that name; ShapeError listing what exists otherwise."""
        for part in self.parts:
            if part.name == name:
                return part
        raise ShapeError("no such part", got=name, allowed=", ".join(p.name for p in self.parts))

    def with_part(self, part: Body) -> "Scene":
        """The scene with this part added, or in place of the part of the same name."""
        if part.name in (p.name for p in self.parts):
            return Scene(tuple(part if p.name == part.name else p for p in self.parts))
        return Scene((*self.parts, part))

    def without(self, name: str) -> "Scene":
        """The scene without that part."""
        self.part(name)
        return Scene(tuple(p for p in self.parts if p.name != name))

    def moved(self, name: str, placement: Placement) -> "Scene":
        """The scene with one part turned and shifted from where it stands."""
        return self.with_part(self.part(name).placed(placement))

    @cached_property
    def key(self) -> str:
        """Hash of the scene's geometry (order of parts included)."""
        return hashlib.sha256("".join(part.key for part in self.parts).encode()).hexdigest()

    @cached_property
    def patch_names(self) -> tuple[tuple[str, str], ...]:
        """(part, patch) of every patch, in the order of all results."""
        return tuple((part.name, patch) for part in self.parts for patch in part.patches)

    @cached_property
    def first_triangle(self) -> Ints:
        """Where each part's triangles start in the scene (parts + 1,)."""
        return np.cumsum([0] + [len(part.faces) for part in self.parts])

    @cached_property
    def first_patch(self) -> Ints:
        """Where each part's patches start in the scene (parts + 1,)."""
        return np.cumsum([0] + [len(part.patches) for part in self.parts])

    @cached_property
    def triangles(self) -> Floats:
        """Corner points of all triangles (n, 3, 3) m."""
        return np.concatenate([part.triangles for part in self.parts])

    @cached_property
    def normals(self) -> Floats:
        """Unit normals of all triangles (n, 3)."""
        return np.concatenate([part.normals for part in self.parts])

    @cached_property
    def patch_of(self) -> Ints:
        """Scene-wide patch index of every triangle (n,)."""
        pairs = zip(self.parts, self.first_patch[:-1], strict=True)
        return np.concatenate([part.patch_of + first for part, first in pairs])

    @cached_property
    def twin(self) -> Ints:
        """Scene-wide index of the other face of a thin sheet, or −1 (n,)."""
        pairs = zip(self.parts, self.first_triangle[:-1], strict=True)
        return np.concatenate([np.where(part.twin >= 0, part.twin + first, -1) for part, first in pairs])

    @cached_property
    def patch_areas(self) -> Floats:
        """Area of every patch m2."""
        return np.concatenate([part.patch_areas for part in self.parts])
