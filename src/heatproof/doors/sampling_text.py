"""A sampled check as a table and as JSON."""

from typing import Any

from rich.text import Text

from heatproof.doors.console import console, print_table
from heatproof.study.questions.sampled_check import SampledCheck, SampledRow
from heatproof.study.runs.switches import reason_text
from heatproof.verdict.spread import half_width
from heatproof.verdict.words import difference, margin_text, share

CLOSEST = 6  # rows shown beside those that disagree
MOST = 24
BENDS = "bends within the spread; nothing switches"


def print_sampled(sampled: SampledCheck, required: float) -> None:
    """Head, the margins that disagree and the closest ones, what to take. required: confidence of the bands."""
    out = console()
    out.print()
    apart = sampled.disagreeing
    head = f"Sampled: {sampled.count} draws of all uncertain values; every limit holds in {share(sampled.all_holding)}."
    out.print(Text(head, style="bold"))
    if sampled.unsolved:
        out.print(f"{sampled.unsolved} draws were not solved; they count as not holding.")
    closest = sorted((row for row in sampled.rows if row.found.agrees), key=lambda row: row.low)[:CLOSEST]
    columns = ("Part", "Duty", "First order", "Sampled", "5 to 95 %", "Sure", "Sampled", "Why they differ")
    rows = [cells(row, required) for row in [*apart[:MOST], *closest]]
    print_table(columns, rows, left=("Part", "Duty", "Why they differ"))
    if len(apart) > MOST:
        out.print(f"{len(apart) - MOST} more differ; --json has all.")
    said = (
        f"In {len(apart)} of {len(sampled.rows)} margins the two differ by more than {sampled.count} draws leave "
        "open: take the sampled figure there."
        if apart
        else f"In all {len(sampled.rows)} margins the two agree as well as {sampled.count} draws can tell."
    )
    out.print(Text(said, style="dim"))


def cells(row: SampledRow, required: float) -> tuple[str, ...]:
    """One row: margin and mean of the draws, each with the band its standard deviation gives."""
    one = row.found
    why = "; ".join(reason_text(reason) for reason in row.why[:2]) or BENDS
    return (
        row.title,
        row.duty_name,
        margin_text(one.nominal, half_width(one.sd_first_order, required)),
        margin_text(one.mean_sampled, half_width(one.sd_sampled, required)),
        f"{difference(row.low)} to {difference(row.high)}",
        share(one.confidence_first_order),
        share(one.confidence_sampled),
        "" if one.agrees else why,
    )


def sampled_data(sampled: SampledCheck) -> dict[str, Any]:
    """The object under `sampling` of `check --json`."""
    return {
        "draws": sampled.count,
        "seed": sampled.seed,
        "unsolved": sampled.unsolved,
        "all_hold": sampled.all_holding,
        "rows": [
            {
                "part": row.found.key[0],
                "duty": row.found.key[1],
                "margin_K": row.found.nominal,
                "sd_first_order_K": row.found.sd_first_order,
                "mean_sampled_K": row.found.mean_sampled,
                "sd_sampled_K": row.found.sd_sampled,
                "low_K": row.low,
                "high_K": row.high,
                "confidence_first_order": row.found.confidence_first_order,
                "confidence_sampled": row.found.confidence_sampled,
                "agrees": row.found.agrees,
                "why": [
                    {
                        "what": reason.name,
                        "low": reason.low,
                        "high": reason.high,
                        "share": reason.share,
                        "correlation": reason.correlation,
                    }
                    for reason in row.why
                ],
            }
            for row in sampled.rows
        ],
    }
