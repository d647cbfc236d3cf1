"""Temperatures of a bay after a run: of every patch, and where on a part that spreads heat poorly it is hottest.

A mass has one temperature. Where radiation arrives unevenly and the wall conducts little along itself, the
place that gets most is hotter. The local field keeps the mass's temperature as its level: all heat that does
not arrive as radiation is taken as spread evenly, and enters as an equivalent air temperature

    T_e = T_m + (ε σ T_m⁴ − ε Ḡ)/h,

so that even irradiation Ḡ gives T_m everywhere. Steady in the deviation, hence an upper bound in a short pull.
"""

from contextlib import suppress
from dataclasses import dataclass
from functools import lru_cache
from hashlib import sha256
from typing import Any, cast

import numpy as np

from heatproof.assembly.bay.exchange import Surface, surfaces_of
from heatproof.assembly.bay.factors import factors_of, folder
from heatproof.assembly.bay.lumps import faces_of, lumps_of
from heatproof.assembly.bay.scene import scene_of
from heatproof.assembly.bay.splits import patches_of
from heatproof.assembly.covers import insulates
from heatproof.assembly.model import Solved
from heatproof.kit.faces import gas_walls
from heatproof.kit.records.parts import Part as PartRecord
from heatproof.kit.records.variant import Variant
from heatproof.media.solids import material
from heatproof.network.paths import Path, paths_at
from heatproof.shapes.hot_spots import Sheet, local_temperatures, radiosity, triangle_view_factors
from heatproof.shapes.placement import Floats
from heatproof.shapes.scene import Scene
from heatproof.shapes.tracing import read_or_discard, write_whole

SIGMA = 5.670374419e-8
SPREADS = (
    0.15  # W/K, k t above which a part's wall evens out what arrives: it has no local peak worth a figure
)
T_CONDUCTIVITY = 400.0  # K
LEAST_COEFFICIENT = 2.0  # W/m2/K, so that a part in dead air still has something to lose heat to
RAYS_PER_TRIANGLE = 256
SMALL_DIFFERENCE = (
    1e-3  # K, between two masses, below which a link's conductance cannot be told from its heat
)


@dataclass(frozen=True, eq=False)
class BayState:
    """A bay at one instant, or each patch at its own hottest. Temperatures K, in the order of the scene's
    patches; `time` s, None for the peaks."""

    scene: Scene
    temperatures: Floats
    time: float | None


@dataclass(frozen=True, eq=False)
class LocalPeak:
    """Where a part is hottest: mean of what shows and local peak, K; the place, m; a value per triangle, K."""

    part: str
    mean: float
    peak: float
    place: tuple[float, float, float]
    triangles: Floats


def hottest_row(solved: Solved) -> int:
    """Stored row at which the bay's surfaces are hottest on average."""
    surfaces = surfaces_of(solved.variant)
    index = [solved.run.network.mass(s.mass) for s in surfaces]
    area = scene_of(solved.variant).patch_areas[[s.patch for s in surfaces]] * [s.share for s in surfaces]
    return int(np.argmax(solved.run.state[:, index] @ area))


def row_at(solved: Solved, time: float | None) -> int:
    """Stored row at a time (s), or the hottest where it is None."""
    if time is None:
        return hottest_row(solved)
    return int(np.clip(np.searchsorted(solved.run.time, time), 0, len(solved.run.time) - 1))


def bay_at(solved: Solved, time: float | None = None) -> BayState:
    """Every patch at one time (s); the hottest instant where left out."""
    row = row_at(solved, time)
    values = _patches(solved, solved.run.state[row : row + 1])[0]
    return BayState(scene_of(solved.variant), values, float(solved.run.time[row]))


def bay_peaks(solved: Solved) -> BayState:
    """Every patch at its own hottest."""
    return BayState(scene_of(solved.variant), _patches(solved, solved.run.state).max(axis=0), None)


def _patches(solved: Solved, states: np.ndarray) -> Floats:
    """Mean temperature of what shows of every patch (rows, patches) K."""
    scene = scene_of(solved.variant)
    total = np.zeros((len(states), len(scene.patch_names)))
    for s in surfaces_of(solved.variant):
        total[:, s.patch] += s.share * states[:, solved.run.network.mass(s.mass)]
    return total


def sent(solved: Solved, row: int) -> Floats:
    """Radiosity of every patch and of the surroundings (patches + 1,) W/m2 at a stored row."""
    scene, network = scene_of(solved.variant), solved.run.network
    eps = np.zeros(len(scene.patch_names))
    emitted = np.zeros(len(scene.patch_names))
    for s in surfaces_of(solved.variant):
        T = float(solved.run.state[row, network.mass(s.mass)])
        eps[s.patch] += s.share * s.emissivity
        emitted[s.patch] += s.share * s.emissivity * T**4
    factors = cast(Any, factors_of(solved.variant))  # what radiosity reads of view factors, it has
    mean = (emitted / eps) ** 0.25
    return radiosity(factors, mean, np.minimum(eps, 1.0), T_out=solved.run.around.temperature)


def wall_of(variant: Variant, name: str) -> tuple[float, float] | None:
    """Conductivity (W/m/K) and thickness (m) of a part's wall; None where neither is known."""
    part, patches = variant.parts[name], patches_of(variant, name)
    if patches is not None:
        k = patches.conductivity
        if k is None and part.material is not None:
            k = material(part.material).conductivity.at(T_CONDUCTIVITY).value
        return (k, patches.wall) if k is not None else None
    if part.material is None or part.surface <= 0.0:
        return None
    solid = material(part.material)
    sides = 0.5 if _two_sided_area(part) else 1.0
    thickness = part.mass / (solid.density.at(T_CONDUCTIVITY).value * part.surface * sides)
    return solid.conductivity.at(T_CONDUCTIVITY).value, thickness


def _two_sided_area(part: PartRecord) -> bool:
    """Whether `surface` counts both faces of a sheet."""
    return getattr(part.shape, "faces", "") == "both"


def has_local_peak(variant: Variant, name: str) -> bool:
    """Whether a part's wall spreads heat so poorly that its hottest place is worth a figure."""
    part = variant.parts[name]
    if part.shape is None or insulates(part.cover) or name in gas_walls(variant):
        return False
    wall = wall_of(variant, name)
    return wall is not None and wall[0] * wall[1] < SPREADS


def local_peaks(solved: Solved, time: float | None = None, parts: tuple[str, ...] = ()) -> list[LocalPeak]:
    """Local peaks of the parts that spread heat poorly (or of those named) at one time, hottest first."""
    row = row_at(solved, time)
    J, paths = sent(solved, row), paths_at(solved.run, row)
    names = parts or tuple(n for n in solved.variant.parts if has_local_peak(solved.variant, n))
    found = [_local(solved, name, row, J, paths) for name in names]
    return sorted(found, key=lambda peak: -peak.peak)


@lru_cache(maxsize=512)
def _seen(scene: Scene, name: str) -> Floats:
    """What each triangle of a part sees, patches and surroundings (n, patches + 1); kept in the user's cache."""
    key = sha256(f"{RAYS_PER_TRIANGLE}/{name}/{scene.key}".encode()).hexdigest()[:32]
    path, shape = folder() / f"seen-{key}.npz", (len(scene.part(name).faces), len(scene.patch_names) + 1)
    kept = read_or_discard(path, ("seen",), [])
    if kept is not None and kept["seen"].shape == shape:
        return np.asarray(kept["seen"], dtype=float)
    found = triangle_view_factors(scene, name, rays=RAYS_PER_TRIANGLE)
    with suppress(OSError):  # a cache that cannot be written costs time, nothing else
        write_whole(path, {"seen": found.astype(np.float32)})
    return found


def _local(solved: Solved, name: str, row: int, J: Floats, paths: list[Path]) -> LocalPeak:
    variant, scene = solved.variant, scene_of(solved.variant)
    part = scene.part(name)
    wall = wall_of(variant, name)
    assert wall is not None
    G = _seen(scene, name) @ J
    T = np.empty(len(part.faces))
    for lump in lumps_of(variant, name):
        own = np.flatnonzero(np.isin(part.patch_of, [part.patches.index(p) for p, _ in lump.patches]))
        T[own] = _field(solved, name, lump.mass, row, own, G[own], wall, paths)
    hot = int(np.argmax(T))
    mean = float(np.average(T, weights=part.areas))
    x, y, z = (float(c) for c in part.centres[hot])
    return LocalPeak(name, mean, float(T[hot]), (x, y, z), T)


def _field(
    solved: Solved,
    name: str,
    mass: str,
    row: int,
    own: np.ndarray,
    G: Floats,
    wall: tuple[float, float],
    paths: list[Path],
) -> Floats:
    """Temperature of each triangle of one lump (n,) K."""
    variant, part = solved.variant, scene_of(solved.variant).part(name)
    k, t = wall
    T_m = float(solved.run.state[row, solved.run.network.mass(mass)])
    eps = sum(
        f.of_patch * f.emissivity for f in faces_of(variant, name) if f.mass == mass and f.of_patch > 0.5
    )
    eps = min(max(eps, 0.02), 1.0)
    area = float(part.areas[own].sum())
    air, fluid = (
        _conductance(solved, mass, row, paths, kinds) for kinds in (("convection",), ("wetted", "duct"))
    )
    h = max(air / area, LEAST_COEFFICIENT)
    if fluid > 0.0:
        h += 1.0 / (area / fluid + t / k)
    mean_G = float(np.average(G, weights=part.areas[own]))
    T_e = T_m + (eps * SIGMA * T_m**4 - eps * mean_G) / h
    sheet = Sheet(conductivity=k, thickness=t, emissivity=eps, h=h, T_air=T_e)
    return local_temperatures(part, G, sheet, triangles=own)


def _conductance(solved: Solved, mass: str, row: int, paths: list[Path], kinds: tuple[str, ...]) -> float:
    """W/K from a mass through its links of some kinds, from their heat and temperatures."""
    run = solved.run
    names = {n: k for k, n in enumerate(run.network.masses)}
    total = 0.0
    for path in paths:
        if path.kind not in kinds or mass not in (path.first, path.second):
            continue
        ends = [
            float(run.state[row, names[n]]) if n in names else run.around.temperature
            for n in (path.first, path.second)
        ]
        if abs(ends[0] - ends[1]) > SMALL_DIFFERENCE:
            total += path.heat / (ends[0] - ends[1])
    return max(total, 0.0)


__all__ = ["BayState", "LocalPeak", "Surface", "bay_at", "bay_peaks", "local_peaks"]
