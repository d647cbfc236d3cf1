"""Colour of a temperature, from stops given as data (`ramp.json`), mixed in OKLab."""

import json
from collections.abc import Sequence
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from heatproof.shapes.errors import ShapeError
from heatproof.shapes.placement import Floats

# Ottosson (2020), "A perceptual color space for image processing": linear sRGB → cone response → Lab.
CONES = np.array(
    [[0.4122214708, 0.5363325363, 0.0514459929], [0.2119034982, 0.6806995451, 0.1073969566],
     [0.0883024619, 0.2817188376, 0.6299787005]]
)  # fmt: skip
LAB = np.array(
    [[0.2104542553, 0.7936177850, -0.0040720468], [1.9779984951, -2.4285922050, 0.4505937099],
     [0.0259040371, 0.7827717662, -0.8086757660]]
)  # fmt: skip


@cache
def ramp_data() -> dict[str, Any]:
    """The file's content: `stops` 0…1, `light` and `dark` hex colours, default scale of surfaces in °C."""
    return dict(json.loads(files("heatproof.shapes").joinpath("ramp.json").read_text(encoding="utf-8")))


def _linear(hexes: Sequence[str]) -> Floats:
    try:
        values = np.array([[int(h.lstrip("#")[k : k + 2], 16) for k in (0, 2, 4)] for h in hexes]) / 255.0
    except ValueError:
        raise ShapeError(
            "a colour stop is not a hex colour", got=", ".join(hexes), allowed="#RRGGBB"
        ) from None
    return np.where(values <= 0.04045, values / 12.92, ((values + 0.055) / 1.055) ** 2.4)  # IEC 61966-2-1


def colours(share: ArrayLike, hexes: Sequence[str], *, stops: Sequence[float] | None = None) -> Floats:
    """sRGB colours (…, 3) 0…1 at `share` 0…1 of the ramp; beyond it, its end colours."""
    if len(hexes) < 2 or (stops is not None and len(stops) != len(hexes)):
        raise ShapeError("a ramp needs two or more colours, one per stop", got=f"{len(hexes)} colours")
    at = np.linspace(0.0, 1.0, len(hexes)) if stops is None else np.asarray(stops)
    lab = np.cbrt(_linear(hexes) @ CONES.T) @ LAB.T
    mixed = np.stack([np.interp(np.asarray(share, dtype=float), at, lab[:, k]) for k in range(3)], axis=-1)
    linear = np.clip((mixed @ np.linalg.inv(LAB).T) ** 3 @ np.linalg.inv(CONES).T, 0.0, 1.0)
    return np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
