"""Sections of a release on why: ledgers, measures, heat balance, flows."""

from collections.abc import Callable, Iterator

from heatproof.report.blocks import Block, Columns, Figure, Heading, Para, table
from heatproof.report.flow_drawing import flow_plot
from heatproof.report.flows import Flows, air_flows, density_of, liquid_flows, running_row, soak_row
from heatproof.report.gathered import Gathered
from heatproof.report.plots import balance_plot, ledger_plot
from heatproof.report.reasons import Reason, told
from heatproof.units.si import minute
from heatproof.verdict.words import clock, count, minutes, number, share, within

MOST_CAUSES = 8
SHORT_NAMES = {
    "brake power": "power",
    "cylinder walls": "walls",
    "exhaust ports": "exhaust",
    "compression of the charge": "boosting",
}


# --- ledger, measures -------------------------------------------------------------------------------------
def ledger_section(found: Gathered) -> Iterator[Block]:
    """Where the degrees of the tightest parts come from."""
    if not found.ledgers:
        return
    units = found.units
    yield Heading(f"Where the degrees of the {count(len(found.ledgers))} tightest parts come from")
    yield Figure(
        ledger_plot(found.ledgers, units),
        "Rise over ambient of each part split by cause; the tables below have the figures.",
        "Rise over ambient at the instant that decides, split by cause. Causes of a part add up to its rise.",
    )
    for one in found.ledgers:
        yield Heading(
            f"{one.title}: {units.temperature(one.temperature)} at {clock(one.time)} in {within(one.duty_name)}, {units.difference(one.rise)} over ambient",
            2,
        )
        rows = [
            (
                cause,
                units.difference(rise, 1),
                share(abs(rise / one.rise)) if rise > 0.0 and one.rise > 0.0 else "",
            )
            for cause, rise in one.causes[:MOST_CAUSES]
        ]
        rest = sum(rise for _, rise in one.causes[MOST_CAUSES:])
        if len(one.causes) > MOST_CAUSES:
            rows.append((f"{len(one.causes) - MOST_CAUSES} smaller causes", units.difference(rest, 1), ""))
        rows.append(("Sum", units.difference(sum(r for _, r in one.causes), 1), ""))
        yield table((("Cause", "left", 4.0), ("Rise", "right", 1.0), ("Share", "right", 1.0)), rows)


def measures_section(found: Gathered) -> Iterator[Block]:
    """Fitted, then left out, each with its reason."""
    if found.project.measures and not found.why:
        yield Heading("Measures")
        names = ", ".join(found.variant.fitted) or "none"
        yield Para(f"Fitted: {names}. What each of them does was left out of this paper.")
        return
    for fitted, title in ((True, "Measures fitted, and why"), (False, "Measures left out, and why")):
        chosen = [one for one in found.why if one.fitted is fitted]
        yield Heading(title)
        if not chosen:
            yield Para("None.")
            continue
        yield table(
            (
                ("Measure", "left", 2.0),
                ("Cost", "right", 0.9),
                ("Mass", "right", 0.8),
                ("Fitting", "right", 0.8),
                ("Why", "left", 4.2),
            ),
            [measure_row(one, found) for one in chosen],
        )


def measure_row(one: Reason, found: Gathered) -> tuple[str, ...]:
    """One measure."""
    return (
        one.title,
        f"{number(one.cost)} {found.verdict.currency}",
        found.units.mass(one.mass),
        f"{number(one.labour / minute)} min",
        told(one, found.titles, found.units),
    )


# --- heat and flows ---------------------------------------------------------------------------------------
def heat_section(found: Gathered) -> Iterator[Block]:
    """Heat balance of every duty."""
    duties, units = found.verdict.duties, found.units
    yield Heading("Heat balance")
    yield Figure(
        balance_plot(duties, units),
        "Mean heat of each duty by where it goes; the table below has the figures.",
        "Where the fuel's heat goes, mean while the engine runs.",
    )
    names = list(duties[0].balance)
    columns: Columns = (
        ("Duty", "left", 1.6),
        *((SHORT_NAMES.get(n, n).capitalize(), "right", 1.0) for n in names),
        ("Ambient", "right", 1.0),
        ("Closes to", "right", 0.8),
    )
    rows = [
        (
            d.name,
            *(number(d.balance[n] / 1e3, 1) for n in names),
            units.temperature(d.ambient),
            f"{abs(d.closure):.0e}",
        )
        for d in duties
    ]
    yield table(
        columns,
        rows,
        note="kW, mean while the engine runs. Closes to: heat in less out less stored, over heat put in.",
    )


def flow_section(found: Gathered) -> Iterator[Block]:
    """Air, coolant running and after key-off, oil, in the duty of the tightest liquid or part."""
    key = flow_duty(found)
    run, units, variant = found.solved[key].run, found.units, found.variant
    name, row = found.solved[key].duty.name, running_row(found.solved[key].run)
    yield Heading(f"Flows in {within(name)}")

    def liquid(section: str) -> Callable[[float], str]:
        density = density_of(variant, section)
        return lambda flow: units.volume_flow(flow / density)

    def bare(flow: float) -> str:
        return units.mass_flow(flow).split(" ")[0]

    unit = units.mass_flow(1.0).split(" ")[1]
    air = air_flows(variant, run, row)
    yield Figure(
        flow_plot(air, units, bare, 4.7),
        in_words(air, bare),
        f"Air at {clock(air.time)}, engine running: flows in {unit}, zones with their temperatures.",
    )
    pictures: list[tuple[str, int, str]] = [("coolant", row, "engine running")]
    after = soak_row(run)
    if after is not None:
        pictures.append(
            ("coolant", after, f"{minutes(float(run.time[after]) - run.duty.key_off)} after key-off")
        )
    pictures += [(path, row, "engine running") for path in variant.liquids if path != "coolant"]
    for section, at, when in pictures:
        flows = liquid_flows(variant, run, at, section)
        height = 3.9 if len(flows.places) > 6 else 2.6
        yield Figure(
            flow_plot(flows, units, liquid(section), height),
            in_words(flows, liquid(section)),
            f"{flows.title} at {clock(flows.time)}, {when}. Boxes stand at their heights, moved apart where they would overlap.",
        )


def flow_duty(found: Gathered) -> str:
    """Duty of the tightest liquid, else of the tightest part."""
    liquids_ = tuple(f"{path}." for path in found.variant.liquids)
    liquids = [one for one in found.worst if one.part.startswith(liquids_)]
    return (liquids or found.worst)[0].duty


def in_words(flows: Flows, text: Callable[[float], str]) -> str:
    """The largest flows of a drawing as a sentence."""
    ways = sorted(flows.ways, key=lambda way: -abs(way.flow))[:8]
    return "Largest flows: " + "; ".join(f"{way.title} {text(abs(way.flow))}" for way in ways) + "."
