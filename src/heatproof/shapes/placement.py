"""Where a shape stands: turn first, then shift."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from heatproof.shapes.errors import ShapeError

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Placement:
    """A shape's own axes in the bay: point = rotation @ own point + position (m).

    Bay axes: x rearwards, y right, z up. A shape of revolution has its own axis along z; a plate lies in its
    own x-y plane and its front looks along its own +z.
    """

    position: tuple[float, float, float] = (0.0, 0.0, 0.0)
    rotation: tuple[tuple[float, float, float], ...] = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))

    def apply(self, points: ArrayLike) -> Floats:
        """Points (…, 3) m from the shape's own axes to bay axes."""
        turned: Floats = np.asarray(points, dtype=float) @ np.array(self.rotation).T
        return turned + np.array(self.position)


AS_DRAWN = Placement()


def _rows(matrix: Floats) -> tuple[tuple[float, float, float], ...]:
    return tuple((float(a), float(b), float(c)) for a, b, c in matrix)


def _triple(values: ArrayLike, what: str) -> Floats:
    array = np.asarray(values, dtype=float)
    if array.shape != (3,) or not np.isfinite(array).all():
        raise ShapeError(f"{what} must be three finite numbers", got=str(values), next_step="write [x, y, z]")
    return array


def axis_turn(axis: ArrayLike, angle: float) -> Floats:
    """Rotation matrix (3, 3): `angle` rad about `axis`, right-hand rule (Rodrigues' formula)."""
    x, y, z = np.asarray(axis, dtype=float) / np.linalg.norm(axis)
    k = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    turn: Floats = np.eye(3) + np.sin(angle) * k + (1.0 - np.cos(angle)) * (k @ k)
    return turn


def place(position: ArrayLike = (0.0, 0.0, 0.0), *, turn_deg: ArrayLike = (0.0, 0.0, 0.0)) -> Placement:
    """Placement at `position` (m), turned about the bay's x, then y, then z axis by `turn_deg` (degrees)."""
    at = _triple(position, "position")
    a, b, c = np.radians(_triple(turn_deg, "turn"))
    matrix = axis_turn((0, 0, 1), c) @ axis_turn((0, 1, 0), b) @ axis_turn((1, 0, 0), a)
    return Placement((float(at[0]), float(at[1]), float(at[2])), _rows(matrix))


def place_along(
    direction: ArrayLike, *, position: ArrayLike = (0.0, 0.0, 0.0), roll_deg: float = 0.0
) -> Placement:
    """Placement whose own z axis points along `direction`; `roll_deg` turns the shape about it."""
    way, at = _triple(direction, "direction"), _triple(position, "position")
    length = np.linalg.norm(way)
    if length == 0.0:
        raise ShapeError("direction has no length", got="[0, 0, 0]", next_step="name the way the axis points")
    way = way / length
    # Shortest turn from +z to `way`; straight down has no unique one, so turn about x.
    cross = np.cross((0.0, 0.0, 1.0), way)
    angle = float(np.arctan2(np.linalg.norm(cross), way[2]))
    turn = axis_turn(cross if np.linalg.norm(cross) > 1e-12 else (1.0, 0.0, 0.0), angle)
    matrix = turn @ axis_turn((0, 0, 1), np.radians(roll_deg))
    return Placement((float(at[0]), float(at[1]), float(at[2])), _rows(matrix))
