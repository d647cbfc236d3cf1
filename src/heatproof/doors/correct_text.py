"""A correction on the terminal and as JSON: values, what was not told apart, fit, hold-out, verdicts."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from heatproof.doors.console import print_table, say
from heatproof.doors.log_data import finite
from heatproof.verdict.words import MISSING, difference, margin_text, number, share

if TYPE_CHECKING:
    from heatproof.logs.correcting.correct import Correction
    from heatproof.logs.correcting.corrected_kit import CorrectedValue
    from heatproof.logs.correcting.hold_out import HeldOut
    from heatproof.logs.correcting.undecided import Combination
    from heatproof.verdict.verdict import Verdict

MOVED_FAR, BIAS_FAR = 2.0, 2.0
MOST_ROWS = 15


# --- text -------------------------------------------------------------------------------------------------
def print_correction(
    found: "Correction",
    values: "Sequence[CorrectedValue]",
    weak: "Sequence[Combination]",
    titles: Mapping[str, str],
) -> None:
    """Sentence, values, what was not told apart, fit."""
    say(sentence(found, values), style="bold")
    say()
    heads = ("Value", "Was", "Spread", "Is", "95 % between", "Spread", "Told")
    print_table(heads, [value_cells(one) for one in values], left=("Value",))
    say(
        "Spread: two standard deviations. Told: share of the value's variance that the logs took away.",
        style="dim",
    )
    say()
    warned = warnings_of(found, values)
    for line in warned:
        say(line, style="yellow")
    if warned:
        say()
    print_weak(weak, titles)
    say("Root mean square of measured less predicted", style="bold")
    rows = [
        (column, run, f"{number(a, 1)} K", f"{number(b, 1)} K", bias_text(found, column))
        for (column, run), (a, b) in sorted(found.residual.items(), key=lambda item: -item[1][1])
    ]
    print_table(("Channel", "Run", "Before", "After", "Sensor reads high by"), rows, left=("Channel", "Run"))
    say()


def sentence(found: "Correction", values: "Sequence[CorrectedValue]") -> str:
    """How many values, from what, and how much better it fits."""
    before, after = (np.sqrt(np.mean([r[k] ** 2 for r in found.residual.values()])) for k in (0, 1))
    runs = len(found.runs)
    return (
        f"{len(values)} {'value' if len(values) == 1 else 'values'} corrected from {runs} {'run' if runs == 1 else 'runs'}, "
        f"{len({w.key for w in found.weighed})} channels: misfit {number(before, 1)} K before, {number(after, 1)} K after."
    )


def value_cells(one: "CorrectedValue") -> tuple[str, ...]:
    """One value."""
    low, high = one.interval
    return (
        one.path,
        one.text(one.before),
        relative(one.before_sd, one.before, one),
        one.text(one.after),
        f"{one.text(low)} … {one.text(high)}",
        relative(one.after_sd, one.after, one),
        share(max(1.0 - one.x_sd**2, 0.0)),
    )


def relative(sd: float, value: float, one: "CorrectedValue") -> str:
    """± two standard deviations, in per cent; in K for temperatures."""
    if one.member.quantity.kind == "temperature":
        return f"± {number(2 * sd)} K"
    percent = 200.0 * sd / max(abs(value), 1e-30)
    return f"± {number(percent, 1 if percent < 10 else 0)} %"


def bias_text(found: "Correction", column: str) -> str:
    """`+0.6 ± 0.8 K`."""
    value, sd = found.sensor_bias[column]
    return f"{difference(value, 1).removesuffix(' K')} ± {number(2 * sd, 1)} K"


def warnings_of(found: "Correction", values: "Sequence[CorrectedValue]") -> list[str]:
    """What wants looking into."""
    lines = [
        f"{one.path} moved by {number(abs(one.x), 1)} standard deviations: was its spread too narrow, or does the "
        "model lack something here?"
        for one in values
        if abs(one.x) > MOVED_FAR
    ]
    lines += [
        f"{column} in {run}: {number(rest, 1)} K are left, more than sensor and weather explain. The model lacks something "
        "there, and this channel was given less weight for it."
        for (column, run), rest in found.unexplained().items()
    ]
    lines += [
        f"{', '.join(p.paths)} name one source, so they moved as one"
        for p in found.parameters
        if len(p.members) > 1
    ]
    lines += [
        f"{path}: made {number(factor, 1)} times wider, for the log does not follow it as evenly as derivatives say "
        "(a thermostat or fan that switches at another time)"
        for path, factor in found.widened.items()
    ]
    lines += [f"{path} stands at the end of its range" for path in found.at_bound]
    lines += [f"{path} could not be moved: the model does not solve there" for path in found.unsolved]
    for column, (bias, _) in found.sensor_bias.items():
        own = next(w.doubt.own_K for w in found.weighed if w.key == column)
        if abs(bias) > BIAS_FAR * own:
            lines.append(f"{column}: reads off by {difference(bias, 1)}, more than such a sensor should")
    if not found.settled:
        lines.append("The weights had not quite settled: take the intervals as a lower bound.")
    return lines


def print_weak(weak: "Sequence[Combination]", titles: Mapping[str, str]) -> None:
    """What the logs could not tell, and where one more thermocouple would help."""
    if not weak:
        say("Every combination of these values is told by the logs better than it was known before.")
        say()
        return
    say("Not told apart by these logs", style="bold")
    for one in weak:
        say(f"  {combination_text(one)}{probe_text(one, titles)}")
    say()


def combination_text(one: "Combination") -> str:
    """`a up and b down together`."""
    if one.single:
        return f"{one.weights[0][0]}: hardly seen ({share(one.told)} told)"
    parts = [f"{path} {'up' if weight > 0 else 'down'}" for path, weight in one.weights]
    return f"{', '.join(parts[:-1])} and {parts[-1]} together ({share(one.told)} told)"


def probe_text(one: "Combination", titles: Mapping[str, str]) -> str:
    """Where a thermocouple would help."""
    if not one.probe or one.left > 0.9:
        return "; no further thermocouple would help much"
    title = titles.get(one.probe, one.probe)
    named = one.probe if title == one.probe else f"{one.probe} ({title})"
    return f"; a thermocouple at {named} would take away {share(1.0 - one.left)} of what is left"


def print_held_out(runs: "Sequence[HeldOut]") -> None:
    """Runs that took no part."""
    for run in runs:
        word = "predicted better" if run.better else "predicted no better: do not trust this correction yet"
        say(
            f"Held out: {run.name}, {word} ({number(run.before, 1)} K before, {number(run.after, 1)} K after)",
            style="bold",
        )
        rows = [(c, p, f"{number(a, 1)} K", f"{number(b, 1)} K") for c, p, a, b in run.channels]
        print_table(("Channel", "Place", "Before", "After"), rows, left=("Channel", "Place"))
        say()


def print_verdicts(before: "Verdict", after: "Verdict") -> None:
    """Each part once, its worst duty, before and after."""
    say("Verdict", style="bold")
    say(f"  before: {before.sentence}")
    say(f"  after:  {after.sentence}")
    say()
    old = {row.part: row for row in before.worst_rows}
    rows = []
    for row in after.worst_rows:
        was = old.get(row.part)
        shown = MISSING if was is None else margin_text(was.margin, was.half)
        moved = MISSING if was is None else difference(row.margin - was.margin, 1)
        rows.append((row.title, row.duty_name, shown, margin_text(row.margin, row.half), moved, row.state))
    print_table(
        ("Part", "Duty", "Before", "After", "Moved", "State"),
        rows[:MOST_ROWS],
        left=("Part", "Duty", "State"),
    )
    if len(rows) > MOST_ROWS:
        say(f"… {len(rows) - MOST_ROWS} more parts, all with more left; --json holds all of them")
    say()


# --- JSON -------------------------------------------------------------------------------------------------
def correction_data(
    found: "Correction", values: "Sequence[CorrectedValue]", weak: "Sequence[Combination]"
) -> dict[str, Any]:
    """The object of `correct --json`, without verdicts."""
    return {
        "sentence": sentence(found, values),
        "values": [value_data(one) for one in values],
        "correlation": correlation(found),
        "not_told_apart": [
            {"weights": dict(one.weights), "told": one.told, "probe": one.probe, "variance_left": one.left}
            for one in weak
        ],
        "channels": [
            {
                "column": column,
                "run": run,
                "rms_before_K": a,
                "rms_after_K": b,
                "sensor_bias_K": found.sensor_bias[column][0],
                "sensor_bias_sd_K": found.sensor_bias[column][1],
            }
            for (column, run), (a, b) in found.residual.items()
        ],
        "warnings": warnings_of(found, values),
        "settled": found.settled,
        "solves": found.solves,
    }


def correlation(found: "Correction") -> dict[str, Any]:
    """Names and matrix."""
    sd = found.sd
    return {
        "paths": [p.path for p in found.parameters],
        "matrix": (found.covariance / np.outer(sd, sd)).tolist(),
    }


def value_data(one: "CorrectedValue") -> dict[str, Any]:
    """One value, SI and text."""
    low, high = one.interval
    return {
        "path": one.path,
        "before_SI": one.before,
        "before_sd_SI": one.before_sd,
        "after_SI": one.after,
        "after_sd_SI": one.after_sd,
        "low_SI": finite(low),
        "high_SI": finite(high),
        "moved_sd": one.x,
        "before": one.text(one.before),
        "after": one.text(one.after),
    }


def held_out_data(runs: "Sequence[HeldOut]") -> list[dict[str, Any]]:
    """Runs that took no part."""
    return [
        {
            "run": run.name,
            "rms_before_K": run.before,
            "rms_after_K": run.after,
            "channels": [
                {"column": c, "place": p, "rms_before_K": a, "rms_after_K": b} for c, p, a, b in run.channels
            ],
        }
        for run in runs
    ]
