"""Answers as tables with units, and runs as labelled arrays.

Every table's `attrs["units"]` says the unit of each of its columns. pandas and xarray come with
`pip install 'heatproof[notebook]'` and are imported when first needed.
"""

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from heatproof.assembly.model import Solved
from heatproof.network import signals as S
from heatproof.report.extras import need
from heatproof.study.questions.choose import Chosen
from heatproof.study.questions.compare import Comparison
from heatproof.study.questions.rating import Rating
from heatproof.study.questions.size import Sized
from heatproof.study.questions.sweep import Swept
from heatproof.study.questions.tolerance import Tolerances
from heatproof.units.quantity import Quantity
from heatproof.units.results import columns, plain
from heatproof.units.show import in_unit
from heatproof.verdict.explain import Explanation
from heatproof.verdict.verdict import Row, Verdict
from heatproof.verdict.words import ZERO_C

if TYPE_CHECKING:
    import pandas
    import xarray

SIGNALS: dict[str, tuple[int, str]] = {
    "vehicle_speed": (S.VEHICLE_SPEED, "m/s"),
    "engine_speed": (S.ENGINE_SPEED, "rev/s"),
    "brake_power": (S.BRAKE_POWER, "W"),
    "manifold_pressure": (S.MANIFOLD_PRESSURE, "Pa"),
    "exhaust_temperature": (S.EXHAUST_TEMPERATURE, "K"),
}
"""Name in a Dataset → place in the run's signals, unit."""


Columns = Mapping[str, str]
"""Name of a column → its unit; empty where it has none."""

LIMIT_INDEX = ("part", "duty")
LIMITS: Columns = {
    column.key: column.unit.symbol if column.unit else ""
    for column in columns(Row)
    if column.key not in LIMIT_INDEX
}


def table(rows: Iterable[Mapping[str, Any]], units: Columns, index: tuple[str, ...]) -> "pandas.DataFrame":
    """A frame of the rows, its columns in the order of `units`; `attrs["units"]` holds them."""
    pandas = need("pandas", "notebook")
    frame = pandas.DataFrame(list(rows), columns=[*index, *units]).set_index(list(index))
    frame.attrs["units"] = {name: unit for name, unit in units.items() if unit}
    return frame


def limits_frame(verdict: Verdict) -> "pandas.DataFrame":
    """One row a limit and duty, indexed by (part, duty): temperatures degC, differences K, time s."""
    return table(map(plain, verdict.rows), LIMITS, LIMIT_INDEX)


def causes_frame(explanation: Explanation) -> "pandas.DataFrame":
    """Causes of a part's rise (K), largest first; they add up to it."""
    rows = ({"cause": cause, "rise_K": rise} for cause, rise in explanation.causes)
    return table(rows, {"rise_K": "K"}, ("cause",))


def comparison_frame(comparison: Comparison) -> "pandas.DataFrame":
    """One row a part, one column a variant: least margin, K."""
    names = [compared.name for compared in comparison.variants]
    least = [{row.part: row.margin for row in c.verdict.worst_rows} for c in comparison.variants]
    rows = (
        {"part": part, **{name: known.get(part) for name, known in zip(names, least, strict=True)}}
        for part in comparison.titles()
    )
    return table(rows, dict.fromkeys(names, "K"), ("part",))


def sets_frame(chosen: Chosen) -> "pandas.DataFrame":
    """The best set of measures, those next to it and those on the front, cheapest first."""
    sets = dict.fromkeys(
        [*([chosen.best] if chosen.best else []), chosen.closest, *chosen.runners_up, *chosen.front]
    )
    rows = (
        {
            "measures": ", ".join(chosen_set.measures),
            "cost": chosen_set.cost,
            "mass_kg": chosen_set.mass,
            "labour_min": chosen_set.labour / 60.0,
            "slack_K": chosen_set.slack,
            "part": chosen_set.part,
            "duty": chosen_set.duty,
            "holds": chosen_set.holds,
        }
        for chosen_set in sorted(sets, key=lambda chosen_set: (not chosen_set.holds, chosen_set.price))
    )
    units = {
        "cost": chosen.currency,
        "mass_kg": "kg",
        "labour_min": "min",
        "slack_K": "K",
        "part": "",
        "duty": "",
    }
    return table(rows, {**units, "holds": ""}, ("measures",))


def tolerances_frame(tolerances: Tolerances) -> "pandas.DataFrame":
    """One row a value, each in its own declared unit (column `unit`)."""
    rows = (
        {
            "path": item.path,
            "unit": item.quantity.unit,
            "nominal": in_unit(item.nominal, item.quantity),
            "alone": in_unit(item.alone, item.quantity),
            "together": in_unit(item.together, item.quantity),
            "slack_K": item.slack,
            "part": item.part,
            "duty": item.duty,
        }
        for item in tolerances.items
    )
    columns = ("unit", "nominal", "alone", "together", "slack_K", "part", "duty")
    return table(rows, {name: "K" if name == "slack_K" else "" for name in columns}, ("path",))


def rating_frame(rating: Rating) -> "pandas.DataFrame":
    """One row a cell: highest ambient (degC) at which every limit holds; NaN where none does."""
    rows = (
        {
            "level": cell.level,
            "use": cell.use,
            "altitude_m": cell.altitude,
            "air_conditioning": cell.air_conditioning,
            "ambient_degC": None if cell.ambient is None else cell.ambient - ZERO_C,
            "part": cell.part,
            "duty": cell.duty,
            "power_kW": cell.power / 1e3,
        }
        for cell in rating.cells
    )
    units = {"ambient_degC": "degC", "part": "", "duty": "", "power_kW": "kW"}
    return table(rows, units, ("level", "use", "altitude_m", "air_conditioning"))


def sizes_frame(sized: Sized) -> "pandas.DataFrame":
    """One row a size, each in its own declared unit (column `unit`)."""

    def shown(value: float, quantity: Quantity) -> float:
        return in_unit(value, quantity)

    rows = (
        {
            "path": size.path,
            "unit": size.quantity.unit,
            "before": shown(size.before, size.quantity),
            "found": shown(size.found, size.quantity),
            "low": shown(size.low, size.quantity),
            "high": shown(size.high, size.quantity),
        }
        for size in sized.sizes
    )
    return table(rows, dict.fromkeys(("unit", "before", "found", "low", "high"), ""), ("path",))


def sweep_frame(swept: Swept) -> "pandas.DataFrame":
    """One row a variant: smallest margin K, power kW, then every margin K by part and duty."""
    keys = tuple(dict.fromkeys(key for outcome in swept.outcomes for key in outcome.margins))
    names = {key: f"{key[0]}, {key[1]}" for key in keys}
    rows = (
        {
            **dict(zip(swept.columns, texts, strict=True)),
            "smallest_margin_K": outcome.smallest,
            "power_kW": outcome.power / 1e3,
            **{name: outcome.margins.get(key) for key, name in names.items()},
        }
        for texts, outcome in zip(swept.rows, swept.outcomes, strict=True)
    )
    units = {"smallest_margin_K": "K", "power_kW": "kW", **dict.fromkeys(names.values(), "K")}
    return table(rows, units, swept.columns)


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
