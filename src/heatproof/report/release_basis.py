"""Sections of a release on what it rests on: assumptions, sources, inputs."""

from collections.abc import Iterator

from heatproof.report.assumptions import assumptions, limit_sources
from heatproof.report.blocks import Block, Columns, Facts, Heading, Para, table
from heatproof.report.citations import data, models
from heatproof.report.gathered import Gathered
from heatproof.verdict.words import MISSING, number, within

MOST_ASSUMPTIONS = 40


def assumptions_section(found: Gathered) -> Iterator[Block]:
    """Values with a spread, those that matter most first; limits with their sources."""
    units = found.units
    all_ = assumptions(found.variant, found.verdict)
    yield Heading("Assumptions and their sources")
    rows = [
        (
            f"{one.path}: {within(one.meaning)}" if one.meaning else one.path,
            f"{one.value} {one.spread}",
            f"{units.difference(one.worth, 1)}, {within(found.titles.get(one.part, one.part))}"
            if one.part
            else MISSING,
            one.source or "none given",
        )
        for one in all_[:MOST_ASSUMPTIONS]
    ]
    note = "Spread: half width that holds about 95 % of cases. Worth: what one standard deviation of the value does to the margin it moves most."
    if len(all_) > MOST_ASSUMPTIONS:
        note += f" {len(all_) - MOST_ASSUMPTIONS} further values that matter less stand in the record."
    yield table(
        (("Value", "left", 3.4), ("Taken as", "left", 1.7), ("Worth", "left", 1.9), ("Source", "left", 1.8)),
        rows,
        note=note,
    )
    yield Heading("Limits and their sources", 2)
    by_source: dict[tuple[str, str], list[str]] = {}
    for title, source, full in limit_sources(found.variant):
        by_source.setdefault((source, full), []).append(title)
    yield table(
        (("Source as given", "left", 1.8), ("Stands for", "left", 3.2), ("Limit of", "left", 2.6)),
        [
            (source, full or MISSING, ", ".join(within(t) for t in titles))
            for (source, full), titles in by_source.items()
        ],
    )


def sources_section(found: Gathered) -> Iterator[Block]:
    """Citations of models and data used in this run."""
    columns: Columns = (("For", "left", 1.7), ("In the program", "left", 2.6), ("Source", "left", 3.3))
    yield Heading("Models used in this run")
    yield table(columns, [(c.what, c.model, c.source) for c in models(found.variant)])
    yield Heading("Data used in this run")
    yield table(columns, [(c.what, c.model, c.source) for c in data(found.variant)])


def inputs_section(found: Gathered) -> Iterator[Block]:
    """Versions and hashes."""
    yield Heading("Inputs and versions")
    yield table(
        (("File", "left", 2.2), ("Bytes", "right", 0.7), ("SHA-256", "left", 5.0)),
        [(one.name, number(one.size), one.sha256) for one in found.inputs],
    )
    yield Facts(tuple((name, value) for name, value in found.verdict.versions.items()))
    yield Para(
        "To compute this again: take these files, the versions named, and run `heatproof release PROJECT --verify RECORD.json`.",
        "small",
    )
