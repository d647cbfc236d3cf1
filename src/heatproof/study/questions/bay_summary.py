"""What a check says of the bay in space, in few lines; `heatproof bay` has it all."""

from collections.abc import Iterable, Mapping

from heatproof.assembly.bay.advice import (
    Gap,
    clearance_findings,
    clearances,
    degrees,
    link_clearances,
    soaking_findings,
)
from heatproof.assembly.bay.findings import bay_findings
from heatproof.assembly.bay.hot_spots import has_local_peak, local_peaks
from heatproof.assembly.bay.lumps import geometry_on
from heatproof.assembly.model import Solved
from heatproof.kit.findings import Finding, Level, Refused
from heatproof.kit.records.variant import Variant
from heatproof.shapes.errors import ShapeError
from heatproof.verdict.verdict import Row, Verdict

WITHIN = 0.10  # m, clearances looked at
LISTED = 4
WORTH_LOOKING = 60.0  # K of margin beyond which a local peak is not looked for
LEAST_RISE = 5.0  # K over the part's own temperature
NEXT = "heatproof bay PROJECT --clearances lists them all"


def bay_summary(variant: Variant) -> list[Finding]:
    """Shapes, clearances and soaked insulation, each in one finding; where geometry is off, distances of facing links."""
    if not geometry_on(variant):
        near = [gap for gap in link_clearances(variant) if clearance_findings(variant, [gap])]
        return [clearance_finding(near)] if near else []
    try:
        gaps = sorted(
            [*clearances(variant, within=WITHIN), *link_clearances(variant)],
            key=lambda gap: gap.clearance.distance,
        )
        shapes = bay_findings(variant)
    except ShapeError:
        return []  # laying the network has said so already
    found = [one for one in shapes if one.level != "note"]
    found += merged(
        [one for one in shapes if one.level == "note"], "notes on shapes", "heatproof bay PROJECT"
    )
    near = [gap for gap in gaps if clearance_findings(variant, [gap])]
    if near:
        found.append(clearance_finding(near))
    found += merged(soaking_findings(variant, gaps), "places where a leak can soak insulation", NEXT)
    return found


def refuse_impossible(variant: Variant) -> None:
    """Refused where shapes cannot be as they stand: one part inside another, far out of the bay, of the wrong scale.

    What radiates to what would mean nothing.
    """
    if not geometry_on(variant):
        return
    errors = [finding for finding in bay_findings(variant) if finding.level == "error"]
    if errors:
        raise Refused(errors)


def clearance_finding(near: list[Gap]) -> Finding:
    """One finding of all gaps that are less than the trade asks for."""
    tight = any(gap.clearance.distance < (gap.least or 0.0) for gap in near)
    texts = [
        f"{gap.clearance.part} – {gap.clearance.other} {distance} (least {least}, better {comfortable})"
        for gap in near
        for distance, least, comfortable in (gap.distances,)
    ]
    level: Level = "warning" if tight else "note"
    sources = "; ".join(dict.fromkeys(gap.source for gap in near))
    what = f"clearances below what is advised: {few(texts)}"
    return Finding(
        level,
        what,
        allowed=sources,
        next_step=NEXT,
        code="bay.clearance",
        amounts=tuple(one for gap in near for one in gap.distances),
    )


def merged(findings: list[Finding], what: str, next_step: str) -> list[Finding]:
    """One finding in place of several notes."""
    if len(findings) < 2:
        return findings
    return [
        Finding(
            "note",
            f"{len(findings)} {what}: {few(one.what for one in findings)}",
            next_step=next_step,
            amounts=tuple(amount for one in findings for amount in one.amounts),
            code=findings[0].code,
        )
    ]


def few(texts: Iterable[str]) -> str:
    """The first LISTED, then how many more."""
    all_ = list(texts)
    more = f"; and {len(all_) - LISTED} more" if len(all_) > LISTED else ""
    return "; ".join(all_[:LISTED]) + more


def local_rises(
    variant: Variant, verdict: Verdict, runs: Mapping[str, Solved]
) -> dict[tuple[str, str], float]:
    """(part, duty) → K by which the part's hottest place may be over the temperature it is judged by.

    Of parts that spread heat poorly, at the instant that decides in their worst duty. Steady, so an upper bound.
    """
    if not geometry_on(variant):
        return {}
    found = {}
    for row in verdict.worst_rows:
        if (
            row.part not in variant.parts
            or row.margin > WORTH_LOOKING
            or not has_local_peak(variant, row.part)
        ):
            continue
        (peak,) = local_peaks(runs[row.duty], row.found.time, (row.part,))
        rise = peak.peak - row.found.peak
        if rise >= LEAST_RISE:
            found[row.part, row.duty] = rise
    return found


def local_finding(rows: Iterable[Row]) -> list[Finding]:
    """A warning where a part holds as a whole and its hottest place may not."""
    over = [row for row in rows if row.local_rise is not None and 0.0 < row.margin < row.local_rise]
    if not over:
        return []
    peaks = [degrees(row.found.peak + (row.local_rise or 0.0)) for row in over]
    texts = [f"{row.title} {peak}" for row, peak in zip(over, peaks, strict=True)]
    return [
        Finding(
            "warning",
            f"held as a whole, but where radiation strikes most it may pass its limit (steady upper bound): {few(texts)}",
            next_step="split the part into patches, shield that place, or show by a measured test that it stays cool",
            amounts=tuple(peaks),
            code="bay.local_peak",
        )
    ]
