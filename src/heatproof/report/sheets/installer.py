"""For the one who fits the kit: where things go, how much room they need, what may be left open, how to check it."""

from collections.abc import Iterator
from typing import Any

from heatproof.assembly.coolant import circulation_check
from heatproof.kit.records.liquids import Coolant, Junction
from heatproof.kit.records.parts import Cover
from heatproof.report.blocks import Block, Break, Bullets, Columns, Document, Figure, Heading, Para, table
from heatproof.report.flows import circuit_title
from heatproof.report.gathered import Gathered
from heatproof.report.heights_plot import heights_plot
from heatproof.report.kit_items import KitItems, KitLine, kit_items
from heatproof.report.sheets.check_drive import check_drive
from heatproof.report.sheets.common import cautions_of, note, sheet, title_of
from heatproof.report.sheets.installer_gaps import clearing, sealing
from heatproof.report.templates import Outline, template
from heatproof.verdict.names import spaced
from heatproof.verdict.words import count, number, within

MOST_TEMPLATES = 4
LEAST_RISE = 0.02  # share of its length a return line should rise; common practice, no source


def installer_sheet(found: Gathered, allowances: list[dict[str, Any]] | None) -> Document:
    """allowances: from the tolerance study; None where it was left out."""
    items = kit_items(found.project, found.variant)
    blocks: list[Block] = []
    for part in (
        fitted(found),
        routing(found, items),
        covering(found, items),
        clearing(found),
        sealing(found, items, allowances),
        bleeding(found, items),
        check_drive(found),
    ):
        blocks += part
    return sheet(
        "Installer's sheet",
        found,
        blocks,
        cautions=cautions_of(found),
        signs=("Fitted by", "Checked by"),
        behind=tuple(cutting(found, items)),
    )


def fitted(found: Gathered) -> Iterator[Block]:
    """What belongs to this revision."""
    yield Heading("What this revision has")
    names = [found.project.measures[name] for name in found.variant.fitted]
    yield Bullets(
        tuple(
            (one.title or key) + (f". {one.note}" if one.note else "")
            for key, one in zip(found.variant.fitted, names, strict=True)
        )
        or ("The kit without any measure.",)
    )


def routing(found: Gathered, items: KitItems) -> Iterator[Block]:
    """Lines with bores, lengths, heights and slopes."""
    if not items.lines:
        return
    units = found.units
    yield Heading("Lines: where they run and how they must rise")
    drawn = [one for one in items.lines if one.section in ("coolant", "oil")] or list(items.lines)
    tank = found.variant.coolant.junctions.get(found.variant.coolant.fixed_pressure)
    level = (tank.title or "Expansion tank", tank.height) if tank is not None else None
    yield Figure(
        heights_plot(drawn, level, units),
        "Height of each line of the kit along its way; the table below has the figures.",
        "Heights along the way, in order of flow with the engine running. Measured from the levelled floor at ride height.",
    )
    rows = [line_row(one, found) for one in items.lines]
    columns: Columns = (
        ("Line", "left", 1.9),
        ("From – to", "left", 2.0),
        ("Bore", "right", 0.8),
        ("Length", "right", 0.8),
        ("Starts at", "right", 0.8),
        ("Ends at", "right", 0.8),
        ("Slope", "right", 0.8),
        ("So", "left", 2.2),
    )
    yield table(columns, rows)
    for way in circulation_check(found.variant):
        good = way.circulates
        names = ", ".join(name.replace("_", " ") for name in way.lines)
        what = "rises to where it joins" if good else "does not rise as it must: do not release it like this"
        yield Para(
            f"After key-off the turbo's water must move by itself: {names} {what} "
            f"(rise {units.length(way.shape.net_rise)}, deepest trap {units.length(way.shape.deepest_trap)})."
        )


def line_row(one: KitLine, found: Gathered) -> tuple[str, ...]:
    """One line."""
    units, line = found.units, one.line
    ends = f"{line.from_} – {line.to}".replace("_", " ")
    if one.trap > 1e-3:
        rule = f"has a trap of {units.length(one.trap)}: re-route"
    elif one.section == "oil" and one.rise < 0.0:
        rule = "falls all the way; never a sag"
    elif abs(one.slope) < LEAST_RISE:
        rule = "about level; no high spot between"
    else:
        rule = "rises all the way" if one.rise > 0.0 else "falls all the way"
    bore = units.length(line.bore) if line.bore is not None else "–"
    return (
        one.title,
        ends,
        bore,
        units.height(line.length),
        units.height(one.heights[0]),
        units.height(one.heights[-1]),
        f"{number(100 * one.slope)} %" if abs(one.slope) <= 1.0 else "steep",
        rule,
    )


def covering(found: Gathered, items: KitItems) -> Iterator[Block]:
    """Shields and covers with place and coverage."""
    if not items.covers and not items.shields:
        return
    units = found.units
    yield Heading("Shields, blankets and sleeves")
    rows = [
        (
            title_of(found, key),
            cover_name(cover),
            units.thickness(cover.thickness) if cover.thickness is not None else "–",
            f"at least {number(100 * cover.coverage)} %",
            cover_check(cover),
        )
        for key, _, cover in items.covers
    ]
    for key, part, plate in items.shields:
        x, y, z = plate.position
        size = " × ".join(units.length(side) for side in plate.size)
        place = f"middle {units.height(x)} behind, {units.height(abs(y))} to the {'right' if y >= 0 else 'left'} of, {units.height(z)} above {origin(found)}"
        rows.append((part.title or key, f"shield {size}", "–", "whole plate", place))
    columns: Columns = (
        ("On", "left", 1.5),
        ("What", "left", 1.6),
        ("Thickness", "right", 0.8),
        ("Coverage", "right", 1.0),
        ("Place and check", "left", 3.0),
    )
    yield table(columns, rows)
    yield note("An oil-soaked blanket burns: fit it after the leak check, and replace it once it is soaked.")


def origin(found: Gathered) -> str:
    """Where places are counted from."""
    bay = found.variant.bay
    return bay.origin if bay is not None and bay.origin else "the origin of the bay"


def cover_name(cover: Cover) -> str:
    """`blanket, silica mat`."""
    return f"{cover.kind}, {cover.material}" if cover.material else cover.kind


def cover_check(cover: Cover) -> str:
    """How to check it."""
    gap = f"; edges no more than {number(cover.edge_gap * 1e3)} mm short" if cover.edge_gap else ""
    if cover.kind in ("coating", "film"):
        return f"no bare or scratched metal{gap}"
    return f"closed all round, wired or clamped, touching no moving part{gap}"


def bleeding(found: Gathered, items: KitItems) -> Iterator[Block]:
    """Filling and bleeding of the main circuit and of those the kit touches, from their heights."""
    touched = {one.section for one in items.lines}
    for section, circuit in found.variant.coolants.items():
        tank = circuit.junctions.get(circuit.fixed_pressure)
        if tank is not None and (section == "coolant" or section in touched):
            name = "" if section == "coolant" else f": {within(circuit_title(found.variant, section))}"
            yield Heading(f"Fill and bleed{name}")
            yield Bullets(tuple(bleed_steps(found, items, section, circuit, tank)), numbered=True)


def bleed_steps(
    found: Gathered, items: KitItems, section: str, circuit: Coolant, tank: Junction
) -> Iterator[str]:
    """What to do, one after the other."""
    main = section == "coolant"
    heater = ", heater on hot" if main else ""
    yield f"Engine cold, cap off{heater}, car level. Never open a warm system: it scalds."
    glycol = number(100 * circuit.glycol)
    yield f"Fill at the {within(tank.title or 'tank')} with {glycol} % glycol by volume until it stands at the cold mark."
    for one in items.lines:
        if one.section == section and max(one.heights) > max(one.heights[0], one.heights[-1]) + 1e-3:
            yield f"Open the bleed screw at the high spot of {within(one.title)} until no bubbles come, then close it."
    for key, junction in circuit.junctions.items():
        if junction.height > tank.height + 1e-3:
            yield f"{junction.title or key} lies above the tank: raise the filler by a funnel until it is full."
    if any(line.kind == "electric_pump" for line in circuit.lines.values()):
        yield "Run the electric pump with the cap off, in bursts, until it runs quietly and the level stays; top up."
    if main:
        yield (
            "Squeeze the large hoses until no bubbles rise. Start, idle with the cap off until the thermostat opens (the hose "
            "to the radiator turns hot), top up."
        )
    cap = found.units.pressure(circuit.cap_pressure)
    yield f"Fit the cap ({cap} over ambient), bring it to full temperature, let it cool by itself, top up cold. Repeat until the level stays."
    if main and found.variant.turbo is not None and found.variant.turbo.water_line is not None:
        yield (
            "Engine hot and off: watch the return at the tank for a minute. Steady flow or warmth there, no gurgling: the "
            "turbo's water moves by itself."
        )


def cutting(found: Gathered, items: KitItems) -> Iterator[Block]:
    """Outlines to scale, where the kit gives their size."""
    outlines = [
        Outline(
            f"{part.title or key}: blank",
            plate.size[0],
            plate.size[1],
            "bend and hole positions as on the part",
        )
        for key, part, plate in items.shields
    ]
    outlines += [
        Outline(
            f"{(core.title or spaced(key)).capitalize()}: face to be kept open",
            core.geometry.width,
            core.geometry.height,
        )
        for key, core in items.cores
        if core.geometry is not None
    ]
    without = [
        passage.title or key.replace("_", " ")
        for key, passage, before in items.openings
        if before is None and passage.kind != "gap"
    ]
    if not outlines and not without:
        return
    yield Break()
    yield Heading("Templates")
    if without:
        yield Para(
            f"No outline is given for {', '.join(without)}: cut where the part's drawing says, to the free area above."
        )
    units = found.units
    for one in outlines[:MOST_TEMPLATES]:
        drawing = template(one, units.length(one.width), units.length(one.height))
        caption = (
            f"{one.title}, {units.length(one.width)} × {units.length(one.height)}, scale {drawing.scale}"
        )
        yield Figure(
            drawing.svg,
            f"Outline of {within(one.title)} with its dimensions, scale {drawing.scale}.",
            caption + (f"; {one.note}." if one.note else "."),
            drawing.width,
            to_scale=True,
        )
    if len(outlines) > MOST_TEMPLATES:
        yield note(
            f"{count(len(outlines) - MOST_TEMPLATES).capitalize()} further outlines stand in the kit file."
        )
