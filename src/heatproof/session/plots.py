"""Plots of runs and verdicts. matplotlib comes with `pip install 'heatproof[notebook]'` and is imported when first needed."""

from collections.abc import Mapping
from typing import TYPE_CHECKING

from heatproof.assembly.model import Solved
from heatproof.report.extras import need
from heatproof.verdict.judged import judged
from heatproof.verdict.verdict import Verdict
from heatproof.verdict.words import ZERO_C

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def axes_or_new(axes: "Axes | None") -> "Axes":
    """The given axes, or those of a new figure."""
    if axes is not None:
        return axes
    need("matplotlib", "notebook")
    from matplotlib import pyplot

    return pyplot.subplots(layout="constrained")[1]


def plot_history(solved: Solved, *masses: str, axes: "Axes | None" = None) -> "Axes":
    """Temperatures (°C) over time (min) of the named parts; limits dashed, key-off dotted."""
    drawn = axes_or_new(axes)
    stored = solved.run
    limits = {
        name: part.limit.continuous for part in judged(solved.variant) for name in (part.mass, *part.further)
    }
    for name in masses:
        T = stored.state[:, stored.network.mass(name)] - ZERO_C
        (curve,) = drawn.plot(stored.time / 60.0, T, label=name.replace("_", " "))
        limit = limits.get(name)
        if limit is not None:
            drawn.axhline(limit - ZERO_C, color=curve.get_color(), ls="--", lw=0.8)
    drawn.axvline(stored.duty.key_off / 60.0, color="0.4", ls=":", lw=1.0)
    drawn.set_xlabel("time [min]")
    drawn.set_ylabel("temperature [°C]")
    drawn.set_title(solved.duty.name)
    drawn.legend()
    return drawn


def plot_margins(verdicts: Mapping[str, Verdict], most: int = 12, axes: "Axes | None" = None) -> "Axes":
    """Margins (K) of the parts with least left, one mark a verdict, so that variants stand side by side."""
    drawn = axes_or_new(axes)
    first = next(iter(verdicts.values()))
    parts = [row.part for row in first.worst_rows[:most]][::-1]
    titles = {row.part: row.title for row in first.rows}
    for k, (name, verdict) in enumerate(verdicts.items()):
        known = {row.part: row for row in verdict.worst_rows[::-1]}
        pairs = [(y, known[part].margin) for y, part in enumerate(parts) if part in known]
        drawn.plot([m for _, m in pairs], [y for y, _ in pairs], "osD^v"[k % 5], label=name)
    drawn.axvline(0.0, color="0.2", lw=1.0)
    drawn.set_yticks(range(len(parts)), [titles[part] for part in parts])
    drawn.set_xlabel("margin [K]")
    drawn.legend()
    return drawn
