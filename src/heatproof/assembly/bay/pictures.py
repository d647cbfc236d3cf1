"""A bay as a picture and as a model, coloured by temperature."""

import numpy as np

from heatproof.assembly.bay.hot_spots import BayState, LocalPeak
from heatproof.assembly.bay.scene import one_sided
from heatproof.kit.records.variant import Variant
from heatproof.shapes.pictures import View, glb_bytes, png_bytes, render
from heatproof.shapes.placement import Floats
from heatproof.shapes.scene import Scene

FROM_FRONT = View()


def with_local(state: BayState, peaks: list[LocalPeak]) -> Floats:
    """Temperature of every triangle of the scene (n,) K: patches, refined where local fields are known."""
    values = state.temperatures[state.scene.patch_of].copy()
    for peak in peaks:
        k = [part.name for part in state.scene.parts].index(peak.part)
        values[state.scene.first_triangle[k] : state.scene.first_triangle[k + 1]] = peak.triangles
    return values


def scale_of(values: Floats) -> tuple[float, float]:
    """Ends of a colour scale, K: rounded to 10 K, the hot end at the 98th percentile so that parts show."""
    low = 10.0 * np.floor((float(values.min()) - 273.15) / 10.0) + 273.15
    high = 10.0 * np.ceil((float(np.percentile(values, 98.0)) - 273.15) / 10.0) + 273.15
    return float(low), float(max(high, low + 10.0))


def lids(variant: Variant) -> tuple[str, ...]:
    """Panels that look downward: left out of pictures from above."""
    return tuple(
        name
        for name, part in variant.parts.items()
        if one_sided(part) and getattr(part.shape, "looks", (0.0, 0.0, 0.0))[2] < 0.0
    )


def bay_png(
    scene: Scene,
    values: Floats,
    *,
    size: tuple[int, int] = (1280, 800),
    view: View = FROM_FRONT,
    hide: tuple[str, ...] = (),
) -> bytes:
    """Picture of a bay as PNG; values K, per patch or triangle."""
    low, high = scale_of(values)
    return png_bytes(render(scene, values, low=low, high=high, size=size, view=view, hide=hide))


def bay_glb(scene: Scene, values: Floats) -> bytes:
    """Model of a bay as GLB with temperatures (K) at its vertices; values K, per patch or triangle."""
    low, high = scale_of(values)
    return glb_bytes(scene, values, low=low, high=high)
