"""For those who build cores, blankets and shields: duty, flows, losses, temperatures, envelope. No price, no car secrets."""

from collections.abc import Iterator

from heatproof.kit.records.air import Core
from heatproof.network import signals as S
from heatproof.report.blocks import Block, Columns, Document, Facts, Heading, Para, table
from heatproof.report.core_duty import CoreDuty, core_duties
from heatproof.report.flows import circuit_title
from heatproof.report.gathered import Gathered
from heatproof.report.kit_items import kit_items
from heatproof.report.reader_units import ReaderUnits
from heatproof.report.sheets.common import cautions_of, note, peak_of, sheet, title_of, worst_row
from heatproof.verdict.words import clock, number, within

BUILDS = {
    "bar_and_plate": "bar and plate, offset strip fins",
    "tube_and_fin": "flat tubes, louvered fins",
    "plates_to_liquid": "plates, charge air through fins, liquid between the plates",
}


def core_sheet(found: Gathered) -> Document:
    """Every core that the kit brings or changes; all of the car's where it brings none."""
    items = kit_items(found.project, found.variant)
    wanted = {key for key, _ in items.cores} or set(found.variant.cores)
    duties = [one for one in core_duties(found.variant, found.solved) if one.core in wanted]
    blocks: list[Block] = []
    for one in duties:
        blocks += core_blocks(one, found.variant.cores[one.core], found)
    if not blocks:
        blocks.append(Para("The kit has no core that a fluid flows through."))
    blocks.append(
        note(
            "The point is the hardest of the duties judged. Losses are of the core alone, tanks and pipes not counted."
        )
    )
    return sheet(
        "Core supplier's sheet",
        found,
        blocks,
        cautions=cautions_of(found)[:1],
        signs=("Ordered by", "Supplier"),
    )


def core_blocks(one: CoreDuty, core: Core, found: Gathered) -> Iterator[Block]:
    """Duty and envelope of one core."""
    units = found.units
    yield Heading(one.title)
    name = found.project.duties[one.duty].name
    rows = [
        (
            "Hot side",
            fluid(one.hot_kind, found),
            units.mass_flow(one.hot_flow),
            units.temperature(one.hot_in),
            units.temperature(one.hot_out),
            units.small_pressure(one.hot_loss),
        ),
        (
            "Cold side",
            fluid(one.cold_kind, found),
            units.mass_flow(one.cold_flow),
            units.temperature(one.cold_in),
            "–",
            cold_loss(one, units),
        ),
    ]
    columns: Columns = (
        ("Side", "left", 1.0),
        ("Fluid", "left", 0.9),
        ("Flow", "right", 1.0),
        ("In", "right", 0.9),
        ("Out", "right", 0.9),
        ("Allowed loss", "right", 1.2),
    )
    yield table(columns, rows, note=f"At {clock(one.time)} in {within(name)}.")
    span = one.hot_in - one.cold_in
    yield Facts(
        (
            (
                "Heat",
                f"{units.heat(one.heat)}, that is {number(one.heat / max(span, 0.1))} W per kelvin between the two inlets",
            ),
            *envelope(core, units),
            ("Highest inlet temperature", units.temperature(hottest_in(one, found))),
            ("Highest working pressure", pressure(one, found)),
        )
    )


def cold_loss(one: CoreDuty, units: ReaderUnits) -> str:
    """Air in Pa, liquids in kPa."""
    if one.cold_kind != "air":
        return units.small_pressure(one.cold_loss)
    return f"{number(one.cold_loss)} Pa" if not units.us else f"{number(one.cold_loss / 249.0889, 2)} inH2O"


def fluid(kind: str, found: Gathered) -> str:
    """What flows there, in words."""
    if kind in found.variant.coolants:
        title = "" if kind == "coolant" else f", {within(circuit_title(found.variant, kind))}"
        return f"coolant{title}, {number(100 * found.variant.coolants[kind].glycol)} % glycol"
    return {"charge": "charge air", "oil": f"oil {found.variant.oil.grade}"}.get(kind, kind)


def envelope(core: Core, units: ReaderUnits) -> Iterator[tuple[str, str]]:
    """Outer size and mass, where the kit gives them."""
    g = core.geometry
    if g is not None:
        size = " × ".join(units.length(x) for x in (g.width, g.height, g.depth))
        yield "Envelope of the core", f"{size} (width × height × depth), tanks not counted"
        yield (
            "Build",
            BUILDS[g.type],
        )
    elif core.rated is not None:
        yield "Envelope of the core", "not given; the point above is the requirement"
    yield "Mass, dry, at most", units.mass(core.mass)


def hottest_in(one: CoreDuty, found: Gathered) -> float:
    """K: highest temperature that ever reaches the core."""
    best = one.hot_in
    for solved in found.solved.values():
        run = solved.run
        for k, link in enumerate(run.network.link_names["exchanger"]):
            if link.split(" in ")[0] == one.core:
                branch = run.network.model.branches[int(run.network.model.exchanger[k]["hot"])]
                name = run.network.junctions[int(branch["first"])]
                if name in run.network.masses:
                    best = max(best, float(run.state[:, run.network.mass(name)].max()))
    return best


def pressure(one: CoreDuty, found: Gathered) -> str:
    """By what flows in it."""
    units = found.units
    if one.hot_kind == "charge":
        boost = max(
            float(s.run.signal[:, S.MANIFOLD_PRESSURE].max()) - s.run.around.pressure
            for s in found.solved.values()
        )
        return f"{units.pressure(boost)} over ambient in the manifold; proof at least twice that (common practice, no source)"
    if one.hot_kind in found.variant.coolants:
        cap = found.variant.coolants[one.hot_kind].cap_pressure
        return f"cap {units.pressure(cap)} over ambient, and the pump's head on top"
    return "oil relief pressure; see the oil circuit"


def blanket_sheet(found: Gathered) -> Document:
    """Every cover and shield of the kit."""
    items = kit_items(found.project, found.variant)
    blocks: list[Block] = []
    units = found.units
    for key, part, cover in items.covers:
        metal, skin = peak_of(found, key), peak_of(found, f"{key}.skin")
        row = worst_row(found, f"{key}.skin")
        rows = [
            ("Part", title_of(found, key)),
            (
                "Surface to be covered",
                f"{number(100 * cover.coverage)} % or more of {units.area(part.surface)}",
            ),
            (
                "Layer",
                f"{cover.material or 'any'}, {units.thickness(cover.thickness) if cover.thickness else 'thickness open'}"
                + (f", conductivity {cover.conductivity:g} W/(m K) or less" if cover.conductivity else ""),
            ),
            (
                "Part's own temperature, highest",
                f"{units.temperature(metal[0])} in {within(metal[1])}" if metal else "–",
            ),
            ("Skin, highest", f"{units.temperature(skin[0])} in {within(skin[1])}" if skin else "–"),
            ("Skin, allowed", units.temperature(row.found.limit) if row is not None else "no limit set"),
            ("Emissivity of the skin, at most", number(cover.skin_emissivity, 2)),
            ("Mass, at most", units.mass(cover.skin_mass) if cover.skin_mass else "–"),
            ("Shape", shape_words(part.shape, units)),
        ]
        blocks += [
            Heading(cover.title or f"{title_of(found, key)}, {cover.kind}"),
            table((("What", "left", 1.6), ("Value", "left", 3.4)), rows),
        ]
    for key, part, plate in items.shields:
        metal = peak_of(found, key)
        rows = [
            ("Size", " × ".join(units.length(x) for x in plate.size)),
            ("Material", part.material or "–"),
            ("Highest temperature", f"{units.temperature(metal[0])} in {within(metal[1])}" if metal else "–"),
            ("Emissivity, at most", number(part.emissivity, 2)),
            (
                "Between its skins",
                f"{part.insulation.material}, {units.thickness(part.insulation.thickness)}"
                if part.insulation
                else "single skin",
            ),
            ("Mass", units.mass(part.mass)),
        ]
        blocks += [Heading(part.title or key), table((("What", "left", 1.6), ("Value", "left", 3.4)), rows)]
    if not blocks:
        blocks.append(Para("This revision has no blanket, sleeve, wrap or shield."))
    blocks.append(
        note(
            "Temperatures are predictions; ask for a material with at least 100 K in hand, and proof that its binder does not smoke (common practice, no source)."
        )
    )
    return sheet(
        "Blanket and shield supplier's sheet",
        found,
        blocks,
        cautions=(cautions_of(found)[0], *[c for c in cautions_of(found) if "soaked" in c]),
        signs=("Ordered by", "Supplier"),
    )


def shape_words(shape: object, units: ReaderUnits) -> str:
    """Kind and outer size."""
    kind = getattr(shape, "kind", None)
    if kind is None:
        return "by pattern from the part"
    if kind in ("cylinder", "cone"):
        across = float(getattr(shape, "diameter", 0.0) or getattr(shape, "base_diameter", 0.0))
        return f"round, {units.length(across)} across, {units.length(getattr(shape, 'length', 0.0))} long"
    if kind == "tube":
        return f"pipe, {units.length(getattr(shape, 'diameter', 0.0))} across"
    if kind in ("box", "plate"):
        return " × ".join(units.length(x) for x in getattr(shape, "size", ()))
    return f"{kind}, by pattern from the part"
