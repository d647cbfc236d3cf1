"""For a Python session: variants, runs, and results as labelled arrays, tables and plots.

    from heatproof import check, read_project, run, variant
    from heatproof.report.session import histories, limits_frame, plot_history

pandas, xarray and matplotlib come with `pip install 'heatproof[notebook]'` and are imported when first needed.
"""

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from heatproof.assembly.model import Solved, lay_network
from heatproof.kit.project import Project
from heatproof.kit.read import read_project
from heatproof.kit.records.variant import Variant
from heatproof.network import signals as S
from heatproof.report.extras import need
from heatproof.study.check import variant_of
from heatproof.study.explain import named_duty
from heatproof.verdict.explain import Explanation
from heatproof.verdict.judged import judged
from heatproof.verdict.solving import solve_all
from heatproof.verdict.verdict import Verdict
from heatproof.verdict.words import ZERO_C

if TYPE_CHECKING:
    import pandas
    import xarray
    from matplotlib.axes import Axes

SIGNALS: dict[str, tuple[int, str]] = {
    "vehicle_speed": (S.VEHICLE_SPEED, "m/s"),
    "engine_speed": (S.ENGINE_SPEED, "rev/s"),
    "brake_power": (S.BRAKE_POWER, "W"),
    "manifold_pressure": (S.MANIFOLD_PRESSURE, "Pa"),
    "exhaust_temperature": (S.EXHAUST_TEMPERATURE, "K"),
}
"""Name in a Dataset → place in the run's signals, unit."""


def variant(project: Project | str | Path, measures: Iterable[str] | None = None, **values: float) -> Variant:
    """The car with the kit and the named measures (None: those the kit has).

    values: dotted paths with `__` for the dots, SI: `variant(project, cores__radiator__mass=6.0)`. Raises Refused,
    and KeyError for a path that is not there.
    """
    read = project if isinstance(project, Project) else read_project(project)
    built, _ = variant_of(read, measures)
    for name, value in values.items():
        built = built.replace(name.replace("__", "."), value)
    return built


def run(project: Project, built: Variant | None = None, *duties: str) -> dict[str, Solved]:
    """Duty key to its run, for the named duties (none: all). Raises Refused and DutyNotSolved."""
    chosen = built if built is not None else variant(project)
    wanted = {k: d for name in duties for k, d in named_duty(project, name).items()} or project.duties
    return solve_all(chosen, wanted, lay_network(chosen))


# --- tables -----------------------------------------------------------------------------------------------
def limits_frame(verdict: Verdict) -> "pandas.DataFrame":
    """One row a limit and duty, indexed by (part, duty): temperatures degC, differences K, time s."""
    pandas = need("pandas", "notebook")
    rows = [
        {
            "part": row.part,
            "duty": row.duty,
            "title": row.title,
            "peak_degC": row.found.peak - ZERO_C,
            "time_s": row.found.time,
            "limit_degC": row.found.limit - ZERO_C,
            "margin_K": row.margin,
            "spread_K": row.half,
            "confidence": row.confidence,
            "state": row.state,
        }
        for row in verdict.rows
    ]
    return pandas.DataFrame(rows).set_index(["part", "duty"])


def causes_frame(told: Explanation) -> "pandas.DataFrame":
    """Causes of a part's rise (K), largest first; they add up to it."""
    pandas = need("pandas", "notebook")
    return pandas.DataFrame(told.causes, columns=["cause", "rise_K"]).set_index("cause")


def histories(solved: Solved, *, every: float | None = None) -> "xarray.Dataset":
    """One run: `temperature` (time, mass) K, `flow` (time, branch) kg/s, signals (time). time s.

    every: s between rows, by straight lines between stored steps; the steps as stored where None.
    """
    xarray = need("xarray", "notebook")
    stored = solved.run
    time = stored.time if every is None else np.arange(0.0, stored.time[-1] + 1e-9, every)
    masses, branches = list(stored.network.masses), list(stored.network.branches)

    def at(columns: np.ndarray) -> np.ndarray:
        if every is None:
            return columns
        return np.stack([np.interp(time, stored.time, c) for c in columns.T], axis=1)

    data: dict[str, Any] = {
        "temperature": (("time", "mass"), at(stored.state[:, : len(masses)]), {"units": "K"}),
        "flow": (("time", "branch"), at(stored.flow), {"units": "kg/s"}),
    }
    for name, (k, unit) in SIGNALS.items():
        data[name] = (("time",), at(stored.signal[:, [k]])[:, 0], {"units": unit})
    coordinates = {"time": ("time", time, {"units": "s"}), "mass": masses, "branch": branches}
    about = {"duty": solved.duty.name, "kit": solved.variant.name, "key_off_s": float(stored.duty.key_off)}
    return xarray.Dataset(data, coords=coordinates, attrs=about)


# --- plots ------------------------------------------------------------------------------------------------
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
    limits = {part.mass: part.limit.continuous for part in judged(solved.variant)}
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
