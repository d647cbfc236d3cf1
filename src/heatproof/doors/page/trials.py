"""Test day as long work: a log laid over the prediction, values corrected by logs, a new kit file kept.

Rooms that read logs are imported where they are used: a page without logs starts without them.
"""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from heatproof.assembly.model import lay_network
from heatproof.doors.page import units
from heatproof.doors.page.answers import margins_only
from heatproof.doors.page.logbook import as_refused, log_path
from heatproof.doors.page.units import T_text, dT_text, reader
from heatproof.doors.page.views.part_gains import value_title
from heatproof.doors.page.views.series import thinned
from heatproof.kit.findings import Finding, Refused
from heatproof.kit.project import Project
from heatproof.kit.records.variant import Variant
from heatproof.logs.reading.records import LogError
from heatproof.numerics.at_once import Progress
from heatproof.verdict.judged import judged
from heatproof.verdict.names import mass_title
from heatproof.verdict.spread import half_width
from heatproof.verdict.words import number

if TYPE_CHECKING:
    from heatproof.logs.correcting.correct import Correction
    from heatproof.logs.correcting.corrected_kit import CorrectedValue
    from heatproof.logs.correcting.correction_fit import TestRun
    from heatproof.logs.correcting.test_day import Prepared
    from heatproof.logs.correcting.undecided import Combination
    from heatproof.logs.predicting.against import ChannelResult

EXPECTED, LOOK = 1.5, 3.0
"""Of its doubt: up to here as expected; from here on wants looking into. Common practice, no source."""
MOST_POINTS, CLOSEST = 1500, 8


# --- measured over predicted --------------------------------------------------------------------------------
def lay_over(
    project: Project, fitted: tuple[str, ...], options: dict[str, Any], tell: Progress
) -> dict[str, Any]:
    """One log through the model: every probe against what it should have read. A job of the page."""
    from heatproof.logs.predicting.against import compare_with_model

    names = options["logs"]
    variant = project.variant(fitted)
    try:
        tell(0, 2, "reading")
        prepared = prepared_of(options, [names[0]], variant, also=names[1:])
        tell(1, 2, "the logged drive through the model")
        run = prepared.run
        found = compare_with_model(variant, run.logged, run.readings, from_s=run.from_s)
    except LogError as error:
        raise as_refused(error, names[0]) from error
    limits = {part.mass: part.limit.continuous for part in judged(variant)}
    rows = [channel_view(variant, one, run, limits.get(one.place)) for one in found.channels]
    return {
        "log": names[0],
        "also": names[1:],
        "from": run.logged.from_s + run.from_s,
        "channels": rows,
        "figures": figures(found.channels),
        "findings": [{"level": f.level, "text": f.text()} for f in prepared.findings],
        "ambient": reader().temperature(run.logged.weather.ambient, 1),
    }


def prepared_of(
    options: dict[str, Any], names: Sequence[str], variant: Variant, also: Sequence[str] = ()
) -> "Prepared":
    """A run from its files. Refused, LogError."""
    from heatproof.doors.day_options import DayOptions
    from heatproof.logs.correcting.test_day import prepare, read_files

    home = Path(options["folder"])
    told = DayOptions(options.get("ambient") or None, options["altitude"], options["sun"])
    joined = read_files([log_path(home, name) for name in (*names, *also)], home)
    return prepare(joined, variant, name=Path(names[0]).stem, day=told.day())


def figures(channels: "Sequence[ChannelResult]") -> list[dict[str, str]]:
    """How well it did, in four figures."""
    if not channels:
        return []
    good = sum(1 for one in channels if one.normalised <= EXPECTED)
    bad = sum(1 for one in channels if one.normalised >= LOOK)
    rms = float(np.sqrt(np.mean([one.rms**2 for one in channels])))
    peak = max((one.peak_predicted - one.peak_measured for one in channels), key=abs)
    step = reader().step
    return [
        {"label": "As expected of their doubt", "value": f"{good} of {len(channels)}"},
        {"label": "Want looking into", "value": number(bad)},
        {"label": "Off by, root mean square", "value": f"{number(reader().difference_value(rms), 1)} {step}"},
        {"label": "Peaks off by at most", "value": reader().difference(peak, 1)},
    ]


def channel_view(
    variant: Variant, one: "ChannelResult", run: "TestRun", limit: float | None
) -> dict[str, Any]:
    """One probe: figures, and both histories on the log's own clock."""
    rows = thinned(one.time_s, one.measured, MOST_POINTS)
    sd = float(np.hypot(one.model_sd, one.doubt.total_K))
    values = {k: np.round(units.T(v[rows]), 2).tolist() for k, v in (("measured", one.measured), ("predicted", one.predicted))}  # fmt: skip
    return {
        "column": one.column,
        "place": one.place,
        "title": mass_title(variant, one.place),
        "sensor": one.sensor,
        "off": dT_text(-one.bias, 1),
        "spread": number(reader().difference_value(one.spread), 1),
        "later": "–" if np.isnan(one.shift_s) else f"{number(one.shift_s)} s",
        "of_doubt": number(one.normalised, 1),
        "state": "as expected"
        if one.normalised <= EXPECTED
        else "look into it"
        if one.normalised >= LOOK
        else "fair",
        "peaks": f"{T_text(one.peak_measured)} / {T_text(one.peak_predicted)}",
        "limit": None if limit is None else units.T(limit),
        "half": reader().difference_value(half_width(sd, variant.confidence)),
        "time": np.round(one.time_s[rows] + run.logged.from_s, 2).tolist(),
        **values,
    }


# --- corrections --------------------------------------------------------------------------------------------
def correct_by(
    project: Project, fitted: tuple[str, ...], options: dict[str, Any], tell: Progress
) -> dict[str, Any]:
    """Values moved by logs, with what doubt is left, and what that does to the closest parts. A job of the page."""
    from heatproof.logs.correcting.correct import correct
    from heatproof.logs.correcting.corrected_kit import corrected_values, kit_text, project_with_kit
    from heatproof.logs.correcting.correction_fit import FitSettings
    from heatproof.logs.correcting.parameters import chosen_parameters
    from heatproof.logs.correcting.test_day import proposed_parameters
    from heatproof.logs.correcting.undecided import undecided
    from heatproof.logs.predicting.places import places

    variant, names = project.variant(fitted), options["logs"]
    done = 0

    def counted(what: str) -> None:
        nonlocal done
        done += 1
        tell(done, 0, value_title(what) if "." in what else what)

    try:
        runs = [prepared_of(options, [name], variant).run for name in names]
        settings = FitSettings(jobs=1)
        paths = options.get("paths") or []
        parameters = (
            chosen_parameters(variant, paths)
            if paths
            else proposed_parameters(project, variant, runs, settings=settings, tell=counted)
        )
        if not parameters:
            raise Refused([nothing_told(names)])
        found = correct(variant, parameters, runs, settings, tell=counted)
        weak = undecided(found, places(variant, lay_network(variant)))
    except LogError as error:
        raise as_refused(error, names[0]) from error
    values = corrected_values(found)
    kept: dict[str, Any] = {"closest": [], "unwritten": ""}
    try:
        text, _ = kit_text(project, variant, values, f"logs {', '.join(names)}")
        after = project_with_kit(project, text)
        margins = [margins_only(read, read.variant(fitted), counted) for read in (project, after)]
        kept |= {"closest": closest(variant, *margins), "_kit": text}
    except Refused as refused:  # what was fitted is worth showing where it cannot be written
        kept["unwritten"] = "; ".join(f"{f.where.path}: {f.what}" for f in refused.findings[:3])
    return {
        "logs": list(names),
        "values": [value_view(one) for one in values],
        "channels": residual_view(found),
        "undecided": [undecided_view(variant, one) for one in weak[:6]],
        "at_bound": [value_title(path) for path in found.at_bound],
        "settled": found.settled,
        "solves": found.solves,
        **kept,
    }


def nothing_told(names: Sequence[str]) -> Finding:
    """The logs say nothing about any uncertain value."""
    return Finding(
        "error",
        "these logs tell nothing of any uncertain value",
        got=", ".join(names),
        next_step="say where the probes sit, or log a run that heats the parts in question",
    )


def value_view(one: "CorrectedValue") -> dict[str, Any]:
    """Before and after with their doubt (two standard deviations), and how far it moved in its own deviations."""
    low, high = one.interval
    return {
        "path": one.path,
        "title": value_title(one.path),
        "before": one.text(one.before),
        "after": one.text(one.after),
        "interval": f"{one.text(low)} to {one.text(high)}",
        "moved": f"{number(one.x, 1)}",
        "left": f"{number(100.0 * one.x_sd)} %",
    }


def residual_view(found: "Correction") -> list[dict[str, str]]:
    """Each probe's root mean square before and after, biases of sensors aside."""
    rows = sorted(found.residual.items(), key=lambda item: -item[1][0])
    scale = reader().difference_value
    return [
        {
            "column": column,
            "run": run,
            "before": number(scale(before), 1),
            "after": number(scale(after), 1),
            "sensor": dT_text(found.sensor_bias[column][0], 1) if column in found.sensor_bias else "",
        }
        for (column, run), (before, after) in rows
    ]


def closest(
    variant: Variant, before: dict[tuple[str, str], float], after: dict[tuple[str, str], float]
) -> list[dict[str, Any]]:
    """The parts with least margin after it, and what they had before; K without spreads."""
    titles = {part.part: part.title for part in judged(variant)}
    worst: dict[str, tuple[float, str]] = {}
    for (part, duty), margin in after.items():
        if part not in worst or margin < worst[part][0]:
            worst[part] = margin, duty
    order = sorted(worst, key=lambda part: worst[part][0])[:CLOSEST]
    return [
        {
            "part": part,
            "title": titles.get(part, part),
            "before": dT_text(min(m for (p, _), m in before.items() if p == part)),
            "after": dT_text(worst[part][0]),
            "over": worst[part][0] <= 0.0,
        }
        for part in order
        if any(p == part for p, _ in before)
    ]


def undecided_view(variant: Variant, one: "Combination") -> dict[str, Any]:
    """Values the logs cannot tell apart, and the thermocouple that would."""
    return {
        "values": [value_title(path) for path, _ in one.weights[:3]],
        "told": f"{number(100.0 * one.told)} %",
        "probe": mass_title(variant, one.probe) if one.probe else "",
        "left": f"{number(100.0 * one.left)} %",
    }


def keep_corrections(folder: Path, project: Project, text: str) -> dict[str, str]:
    """A new kit file beside the old one; nothing that is there is touched. Refused."""
    from heatproof.logs.correcting.corrected_kit import new_name, write_new_kit

    path = new_name(folder)
    write_new_kit(project, path, text)
    return {
        "file": path.name,
        "next_step": f"kit.yaml stays as it is; to work with the corrections, put {path.name} in its place",
    }
