"""A bay as tables and as JSON."""

from typing import Any

from rich.table import Table
from rich.text import Text

from heatproof.doors.console import console, plain_table, print_findings
from heatproof.study.questions.bay import BayView
from heatproof.verdict.words import ZERO_C, clock, temperature

MOST = 20  # rows of a table


def print_bay(view: BayView, *, with_clearances: bool) -> None:
    """What it is, its hottest patches and places, clearances where asked for, findings."""
    out = console()
    out.print(Text(head(view), style="bold"))
    when = clock(view.state.time or 0.0)
    out.print(Text(f"{view.solved.duty.name} at {when}, where not said otherwise.", style="dim"))
    out.print()
    out.print(patch_table(view))
    out.print()
    out.print(local_table(view))
    out.print()
    if with_clearances:
        out.print(clearance_rows(view))
        out.print()
    print_findings(view.findings)


def head(view: BayView) -> str:
    """`46 parts, 19,960 triangles, 51 patches; view factors to 0.003.`"""
    error = float(view.factors.error.max())
    return (
        f"{len(view.scene.parts)} parts, {len(view.scene.patch_of):,} triangles, "
        f"{len(view.scene.patch_names)} patches; largest standard error of a view factor {error:.1g}."
    )


def named(view: BayView, part: str, patch: str = "whole") -> str:
    """A part's title, with the patch where it has several."""
    record = view.variant.parts.get(part)
    title = (record.title if record is not None else "") or part
    return title if patch == "whole" else f"{title}, {patch}"


def patch_table(view: BayView) -> Table:
    """Hottest patches first."""
    table = plain_table(("Surface", "Then", "Peak", "Area"), left=("Surface",), fold=False)
    order = view.peaks.temperatures.argsort()[::-1][:MOST]
    for k in order:
        part, patch = view.scene.patch_names[k]
        area = f"{view.scene.patch_areas[k] * 1e4:.0f} cm²"
        now, peak = view.state.temperatures[k], view.peaks.temperatures[k]
        table.add_row(named(view, part, patch), temperature(now), temperature(peak), area)
    return table


def local_table(view: BayView) -> Table:
    """Hottest places of parts that spread heat poorly."""
    table = plain_table(
        ("Hottest place of", "There", "Mean", "x", "y", "z"), left=("Hottest place of",), fold=False
    )
    for peak in view.local[:MOST]:
        place = [f"{c:.2f} m".replace("-", "−") for c in peak.place]
        table.add_row(named(view, peak.part), temperature(peak.peak), temperature(peak.mean), *place)
    return table


def clearance_rows(view: BayView) -> Table:
    """Nearest pairs first, with what the trade asks for."""
    table = plain_table(("Between", "Clear", "Least", "Better"), left=("Between",), fold=False)
    for gap in view.gaps[: 2 * MOST]:
        one = gap.clearance
        least = [f"{v * 1e3:.0f} mm" if v is not None else "" for v in (gap.least, gap.comfortable)]
        pair = f"{named(view, one.part)} – {named(view, one.other)}"
        table.add_row(pair, f"{one.distance * 1e3:.0f} mm", *least)
    return table


def bay_data(view: BayView) -> dict[str, Any]:
    """The object of `bay --json`. Temperatures degC, lengths m, areas m2."""
    return {
        "duty": view.duty,
        "time_s": view.state.time,
        "geometry_was_off": view.switched,
        "parts": len(view.scene.parts),
        "triangles": len(view.scene.patch_of),
        "view_factor_error": float(view.factors.error.max()),
        "patches": [
            {
                "part": part,
                "patch": patch,
                "area_m2": float(view.scene.patch_areas[k]),
                "degC": float(view.state.temperatures[k]) - ZERO_C,
                "peak_degC": float(view.peaks.temperatures[k]) - ZERO_C,
                "to_surroundings": float(view.factors.to_surroundings[k]),
            }
            for k, (part, patch) in enumerate(view.scene.patch_names)
        ],
        "local_peaks": [
            {
                "part": peak.part,
                "peak_degC": peak.peak - ZERO_C,
                "mean_degC": peak.mean - ZERO_C,
                "place_m": list(peak.place),
            }
            for peak in view.local
        ],
        "clearances": [
            {
                "part": gap.clearance.part,
                "other": gap.clearance.other,
                "distance_m": gap.clearance.distance,
                "point_m": list(gap.clearance.point),
                "other_point_m": list(gap.clearance.other_point),
                "case": gap.case,
                "least_m": gap.least,
                "comfortable_m": gap.comfortable,
            }
            for gap in view.gaps
        ],
        "findings": view.findings,
    }
