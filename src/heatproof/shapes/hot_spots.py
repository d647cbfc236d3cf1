"""Local peak on thin parts that conduct poorly: a hose, a loom, a plastic cover.

A lumped part has one temperature; where radiation arrives unevenly and the wall cannot spread it, the
nearest spot is hotter. Steady balance of every triangle of a thin sheet:

    ε G + h (T_air − T) + ε_b G_b + h_b (T_b − T) + Σ_n k t (cot α + cot β)/2 (T_n − T)/A
        = (ε + ε_b) σ T⁴

with G the irradiation (W/m2) from rays that the triangle itself sends: by reciprocity the same as counting
what arrives, with far less noise on a small triangle. Steady, so an upper bound for a short pull.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.sparse import csc_array, diags_array
from scipy.sparse.linalg import spsolve

from heatproof.shapes.errors import ShapeError
from heatproof.shapes.placement import Floats
from heatproof.shapes.rays import rays_of_triangles
from heatproof.shapes.scene import Body, Ints, Scene
from heatproof.shapes.tracing import SceneTracer
from heatproof.shapes.view_factors import ViewFactors

STEFAN_BOLTZMANN = 5.670374419e-8  # W/m2K4, CODATA 2018
NEWTON_STEPS = 50
SETTLED = 1e-9  # K


def radiosity(
    factors: ViewFactors, temperatures: ArrayLike, emissivities: ArrayLike, *, T_out: float
) -> Floats:
    """What each patch sends, emitted and reflected, W/m2 (n + 1,); last: the surroundings at T_out.

    Grey diffuse enclosure: J_i = ε_i σ T_i⁴ + (1 − ε_i) (Σ_j F_ij J_j + F_i,out σ T_out⁴); temperatures in K.
    Source: Modest, Radiative Heat Transfer, net-radiation method for grey diffuse enclosures.
    """
    T, eps = np.asarray(temperatures, dtype=float), np.asarray(emissivities, dtype=float)
    n = len(factors.area)
    if T.shape != (n,) or eps.shape != (n,):
        raise ShapeError(
            "one temperature and one emissivity per patch", got=f"{T.shape}, {eps.shape}", allowed=str(n)
        )
    if not ((eps > 0.0) & (eps <= 1.0)).all() or not (T > 0.0).all():
        raise ShapeError("emissivities must be above 0 and at most 1, temperatures above 0 K")
    J_out = STEFAN_BOLTZMANN * T_out**4
    reflected = (1.0 - eps)[:, None] * factors.factor
    sent = eps * STEFAN_BOLTZMANN * T**4 + (1.0 - eps) * factors.to_surroundings * J_out
    return np.append(np.linalg.solve(np.eye(n) - reflected, sent), J_out)


def triangle_view_factors(
    scene: Scene,
    part: str,
    *,
    triangles: ArrayLike | None = None,
    rays: int = 1024,
    seed: int = 1,
    tracer: str = "auto",
) -> Floats:
    """F from single triangles of a part to every patch and the surroundings (m, n + 1); rows sum to 1.

    `rays` per triangle, a power of two: one standard error of an entry is below √(F(1 − F)/rays).
    Rays that meet a reverse side (buried triangles) count towards the triangle's own patch.
    """
    own = scene.part(part)
    chosen = np.arange(len(own.faces)) if triangles is None else np.asarray(triangles, dtype=np.int64)
    log2_count = round(np.log2(rays))
    whole = SceneTracer(scene, tracer)
    ends = whole.ends(*rays_of_triangles(own, chosen, log2_count=log2_count, seed=seed)).hit
    n = len(scene.patch_names)
    index = [p.name for p in scene.parts].index(part)
    own_patch = (own.patch_of[chosen] + scene.first_patch[index]).repeat(1 << log2_count)
    column = np.where(ends >= 0, scene.patch_of[np.maximum(ends, 0)], np.where(ends == -1, n, own_patch))
    row = np.arange(len(chosen)).repeat(1 << log2_count)
    counts = np.bincount(row * (n + 1) + column, minlength=len(chosen) * (n + 1))
    return counts.reshape(len(chosen), n + 1) / float(1 << log2_count)


@dataclass(frozen=True)
class Sheet:
    """A thin wall: conductivity W/mK, thickness m, emissivity and convection W/m2K of lit side and back.

    The back side sees and touches `T_back` (K), for instance what flows in a hose; `back_emissivity` 0: no
    radiation there.
    """

    conductivity: float
    thickness: float
    emissivity: float
    h: float
    T_air: float
    h_back: float = 0.0
    T_back: float = 293.15
    back_emissivity: float = 0.0


def sheet_laplacian(corners: Floats, faces: Ints, *, conductivity: float, thickness: float) -> csc_array:
    """Lateral conduction matrix (v, v) W/K of a sheet with triangles `faces` (m, 3), `corners` (m, 3, 3) m.

    Finite volumes round the vertices: an edge conducts k t (cot α + cot β)/2, α and β the angles that face
    it. Exact for any linear temperature field, which conductances from centroid to centroid are not.
    Source: Pinkall and Polthier (1993), Experimental Mathematics 2(1).
    """
    n = int(faces.max()) + 1
    rows, columns, values = [], [], []
    for k in range(3):
        next_corner, other = (k + 1) % 3, (k + 2) % 3
        a, b = corners[:, next_corner] - corners[:, k], corners[:, other] - corners[:, k]
        cross = np.maximum(np.linalg.norm(np.cross(a, b), axis=1), 1e-30)
        G = 0.5 * conductivity * thickness * np.einsum("ij,ij->i", a, b) / cross
        i, j = faces[:, next_corner], faces[:, other]
        rows += [i, j, i, j]
        columns += [j, i, i, j]
        values += [-G, -G, G, G]
    index = (np.concatenate(rows), np.concatenate(columns))
    return csc_array((np.concatenate(values), index), shape=(n, n))


def local_temperatures(
    part: Body, irradiation: ArrayLike, sheet: Sheet, *, triangles: ArrayLike | None = None
) -> Floats:
    """Steady temperature (m,) K of each triangle of a thin part, lit side under `irradiation` (m,) W/m2.

    `triangles`: which of the part's triangles form the sheet (default: all of a solid's skin, or the front
    of a thin sheet). Edges without a neighbour are adiabatic. Raises ShapeError when it does not settle.
    """
    if triangles is None:
        triangles = np.flatnonzero((part.twin < 0) | (part.twin > np.arange(len(part.twin))))
    own = np.asarray(triangles, dtype=np.int64)
    G = np.asarray(irradiation, dtype=float)
    if G.shape != own.shape or not np.isfinite(G).all():
        raise ShapeError(
            "one finite irradiation per triangle", where=part.name, got=str(G.shape), allowed=str(own.shape)
        )
    if min(sheet.conductivity, sheet.thickness) <= 0.0:
        raise ShapeError("conductivity and thickness must be above zero", where=part.name)
    used, flat = np.unique(part.faces[own], return_inverse=True)
    faces = flat.reshape(-1, 3)

    def at_vertices(per_triangle: Floats) -> Floats:
        return np.asarray(np.bincount(faces.ravel(), np.repeat(per_triangle / 3.0, 3), len(used)), float)

    area = at_vertices(part.areas[own])
    lateral = sheet_laplacian(
        part.triangles[own], faces, conductivity=sheet.conductivity, thickness=sheet.thickness
    )
    gain = sheet.emissivity * at_vertices(part.areas[own] * G) + area * (
        sheet.h * sheet.T_air
        + sheet.h_back * sheet.T_back
        + sheet.back_emissivity * STEFAN_BOLTZMANN * sheet.T_back**4
    )
    linear = lateral + diags_array(area * (sheet.h + sheet.h_back))
    radiating = area * (sheet.emissivity + sheet.back_emissivity) * STEFAN_BOLTZMANN
    T = _balanced(linear.tocsc(), radiating, gain, start=max(sheet.T_air, sheet.T_back), where=part.name)
    return np.asarray(T[faces].mean(axis=1))


def _balanced(linear: csc_array, radiating: Floats, gain: Floats, *, start: float, where: str) -> Floats:
    """T (m,) with linear @ T + radiating T⁴ = gain, by Newton's method (convex: from above)."""
    T = np.full(len(gain), start)
    for _ in range(NEWTON_STEPS):
        residual = linear @ T + radiating * T**4 - gain
        step = spsolve((linear + diags_array(4.0 * radiating * T**3)).tocsc(), residual)
        T = T - step
        if np.abs(step).max() < SETTLED * max(1.0, float(np.abs(T).max())):
            return np.asarray(T)
    raise ShapeError(
        "local temperatures did not settle", where=where, got=f"last step {np.abs(step).max():.2g} K"
    )
