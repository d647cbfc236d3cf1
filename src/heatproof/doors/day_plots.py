"""Plots of a test day: measured and predicted of each channel, one PNG each."""

import re
from pathlib import Path
from typing import TYPE_CHECKING

from heatproof.doors.plots import new_figure, save_plot

if TYPE_CHECKING:
    from heatproof.logs.predicting.against import Against, ChannelResult

MEASURED, PREDICTED, BAND = "#1b6ca8", "#c4501b", "#c4501b"


def plot_against(found: "Against", folder: Path) -> list[Path]:
    """A file for every channel, worst first. Refused where matplotlib is missing."""
    folder.mkdir(parents=True, exist_ok=True)
    out = []
    for number, one in enumerate(found.channels, start=1):
        path = folder / f"{number:02d}-{file_name(one.column)}.png"
        plot_channel(one, found, path)
        out.append(path)
    return out


def file_name(column: str) -> str:
    """A column name as part of a file name."""
    return re.sub(r"[^A-Za-z0-9]+", "-", column).strip("-").lower()[:48] or "channel"


def plot_channel(one: "ChannelResult", found: "Against", path: Path) -> None:
    """Temperatures over time, with the doubt of the prediction and key-off."""
    figure, axes = new_figure(8.0, 4.2)
    minutes = one.time_s / 60.0
    predicted = one.predicted - 273.15
    axes.fill_between(
        minutes,
        predicted - 2 * one.model_sd,
        predicted + 2 * one.model_sd,
        color=BAND,
        alpha=0.15,
        linewidth=0,
    )
    axes.plot(minutes, one.measured - 273.15, color=MEASURED, linewidth=1.0, label="measured")
    axes.plot(minutes, predicted, color=PREDICTED, linewidth=1.4, label="predicted, ± 2 sd")
    if found.logged.soak > 0.0:
        axes.axvline(found.logged.key_off / 60.0, color="0.4", linewidth=0.8, linestyle="--")
        axes.annotate(
            "key-off", (found.logged.key_off / 60.0, 1.0), xycoords=("data", "axes fraction"),
            xytext=(4, -12), textcoords="offset points", color="0.35", fontsize=9,
        )  # fmt: skip
    axes.set_xlabel("Time, min")
    axes.set_ylabel("Temperature, °C")
    axes.set_title(f"{one.column}  at  {one.place}", loc="left", fontsize=11)
    axes.grid(True, color="0.9", linewidth=0.6)
    axes.legend(frameon=False, loc="best")
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    save_plot(figure, path)
