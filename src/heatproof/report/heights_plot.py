"""Lines of the kit with their heights along the way: what must rise, and where air or vapour could stay."""

from collections.abc import Sequence

import numpy as np

from heatproof.report.kit_items import KitLine
from heatproof.report.plots import INK, PARTS, new_figure, svg
from heatproof.report.reader_units import ReaderUnits


def heights_plot(lines: Sequence[KitLine], tank: tuple[str, float] | None, units: ReaderUnits) -> str:
    """Height over way, one curve a line, ends named; the tank's level dashed."""
    figure, axes = new_figure(2.9, left=0.6, bottom=0.45, top=0.1)
    factor = 1.0 / 0.0254 if units.us else 1.0
    for k, one in enumerate(lines):
        z = np.array(one.heights) * factor
        s = np.linspace(0.0, one.line.length, z.size) * factor
        colour = PARTS[k % len(PARTS)]
        axes.plot(s, z, color=colour, lw=2.0, marker="o", ms=3.5)
        axes.annotate(
            one.title,
            (s[-1], z[-1]),
            xytext=(5, 0),
            textcoords="offset points",
            fontsize=7.5,
            color=INK,
            va="center",
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6},
            zorder=5,
        )
    if tank is not None:
        axes.axhline(tank[1] * factor, color="#888888", lw=0.8, ls="--")
        axes.annotate(
            tank[0],
            (0.0, tank[1] * factor),
            xytext=(4, 1.5),
            textcoords="offset points",
            fontsize=7,
            color="#555555",
            va="bottom",
        )
    axes.margins(y=0.12)
    unit = "in" if units.us else "m"
    axes.set_xlabel(f"way along the line in order of flow [{unit}]", fontsize=8)
    axes.set_ylabel(f"height above the road [{unit}]", fontsize=8)
    axes.set_xlim(left=0.0, right=1.35 * max(one.line.length for one in lines) * factor)
    return svg(figure)
