"""The installer's clearances and openings: how near parts may come, what may be left open, how to seal the rest."""

from collections.abc import Iterator
from typing import Any

from heatproof.assembly.bay.advice import Gap, clearances
from heatproof.kit.records.air import Passage
from heatproof.report.blocks import Block, Columns, Heading, Para, table
from heatproof.report.gathered import Gathered
from heatproof.report.kit_items import KitItems
from heatproof.report.sheets.common import title_of
from heatproof.shapes.errors import ShapeError
from heatproof.verdict.names import spaced
from heatproof.verdict.words import within

MOST_GAPS = 12


def clearing(found: Gathered) -> Iterator[Block]:
    """Nearest pairs with what the trade asks for; from the shapes, where there are any."""
    gaps = gaps_of(found)
    if not gaps:
        return
    units = found.units
    yield Heading("Clearances to check")
    rows = [
        (
            f"{title_of(found, gap.clearance.part)} – {within(title_of(found, gap.clearance.other))}",
            as_drawn(gap, found),
            units.length(gap.least) if gap.least is not None else "–",
            units.length(gap.comfortable) if gap.comfortable is not None else "–",
            "",
        )
        for gap in gaps
    ]
    columns: Columns = (
        ("Between", "left", 3.4),
        ("As drawn", "right", 1.7),
        ("Least", "right", 0.9),
        ("Better", "right", 0.9),
        ("Measured", "right", 1.1),
    )
    yield table(
        columns,
        rows,
        marks=["over" if too_near(gap) else "" for gap in gaps],
        note="Push a gauge block or drill shank through the narrowest place, engine on its mounts. Least and better: common practice, no source.",
    )


def too_near(gap: Gap) -> bool:
    """Whether it is drawn nearer than the least the trade asks for."""
    return gap.least is not None and gap.clearance.distance < gap.least


def as_drawn(gap: Gap, found: Gathered) -> str:
    """`21 mm, too near`."""
    length = found.units.length(gap.clearance.distance)
    return f"{length}, too near" if too_near(gap) else length


def gaps_of(found: Gathered) -> list[Gap]:
    """Pairs the trade has a rule for, tightest against it first."""
    if found.variant.bay is None:
        return []
    try:
        all_ = clearances(found.variant)
    except ShapeError:
        return []
    ruled = [gap for gap in all_ if gap.comfortable is not None]
    return sorted(ruled, key=lambda gap: gap.clearance.distance - (gap.comfortable or 0.0))[:MOST_GAPS]


def sealing(found: Gathered, items: KitItems, allowances: list[dict[str, Any]] | None) -> Iterator[Block]:
    """Openings as they must be, and what may be left."""
    units = found.units
    if items.openings:
        yield Heading("Openings and gaps")
        rows = [
            (
                passage.title or spaced(key),
                passage.kind,
                units.area(passage.area or 0.0),
                units.area(before.area) if before is not None and before.area else "–",
                opening_rule(passage, before),
            )
            for key, passage, before in items.openings
        ]
        columns: Columns = (
            ("Where", "left", 2.2),
            ("Kind", "left", 0.9),
            ("Free area", "right", 1.0),
            ("Before", "right", 0.9),
            ("So", "left", 2.6),
        )
        yield table(columns, rows)
    yield Heading("What may be left")
    if allowances is None:
        yield Para("Not computed for this sheet: fit everything as drawn.")
        return
    if not allowances:
        yield Para(
            "No gap, coverage or distance tried here uses up a limit by itself within ten times its size. Fit as drawn."
        )
        return
    rows = [(a["title"], a["nominal"], a["allowed"], a["how"], "") for a in allowances]
    left: Columns = (
        ("Value", "left", 2.2),
        ("As drawn", "right", 1.0),
        ("Allowed", "right", 1.2),
        ("How to check", "left", 3.2),
        ("Found", "right", 0.8),
    )
    yield table(left, rows, note="Allowed: with all others off at random at the same time.")


def opening_rule(passage: Passage, before: Passage | None) -> str:
    """What to do there."""
    if passage.kind == "gap":
        return "seal; no more than this may be left"
    if before is None:
        return "new opening: cut to this free area, edges smooth"
    return "open up to this" if (passage.area or 0.0) > (before.area or 0.0) else "close down to this"
