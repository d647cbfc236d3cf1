"""The temperature scale drawn on a picture: twelve steps and the figures at its ends."""

import numpy as np
from numpy.typing import NDArray

from heatproof.shapes.placement import Floats
from heatproof.shapes.ramp import colours

# Figures of five rows by three columns, one octal digit a row.
GLYPHS = {
    "0": "75557", "1": "26227", "2": "71747", "3": "71717", "4": "55711", "5": "74717", "6": "74757",
    "7": "71111", "8": "75757", "9": "75717", "−": "00700", "°": "75700", "C": "74447",
    " ": "00000",
}  # fmt: skip
DOT = 2  # pixels per dot of a figure
BAR_HEIGHT, STEP_WIDTH, GAP = 10, 14, 8


def text_mask(text: str) -> NDArray[np.bool_]:
    """Dots (5 · DOT, width) of a text made of the known figures."""
    columns = []
    for letter in text:
        rows = [[bool(int(row) >> (2 - k) & 1) for k in range(3)] for row in GLYPHS[letter]]
        columns.append(np.pad(np.array(rows), ((0, 0), (0, 1))))
    return np.kron(np.concatenate(columns, axis=1), np.ones((DOT, DOT), dtype=bool)).astype(bool)


def draw_scale(image: NDArray[np.uint8], steps: Floats, low: float, high: float, ink: str) -> None:
    """Draw the scale at the lower left, in place; left out where the picture is too small for it."""
    masks = [text_mask(f"{value:.0f}".replace("-", "−") + " °C") for value in (low, high)]
    bar = np.repeat((steps * 255.0).astype(np.uint8), STEP_WIDTH, axis=0)
    width = len(bar) + masks[0].shape[1] + masks[1].shape[1] + 4 * GAP
    if image.shape[1] < width or image.shape[0] < 4 * BAR_HEIGHT:
        return
    colour = (colours([0.0], [ink, ink])[0] * 255.0).astype(np.uint8)
    top, x = image.shape[0] - GAP - BAR_HEIGHT, GAP
    for mask, body in ((masks[0], bar), (masks[1], None)):
        area = image[top : top + mask.shape[0], x : x + mask.shape[1]]
        area[mask] = colour
        x += mask.shape[1] + GAP
        if body is not None:
            image[top : top + BAR_HEIGHT, x : x + len(body)] = body
            x += len(body) + GAP
