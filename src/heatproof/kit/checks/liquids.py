"""Coolant, further liquid circuits and oil: loops, pumps, reference pressure, a way for heat to get out."""

from collections import Counter
from typing import Any

from heatproof.kit.checks.references import junction_names
from heatproof.kit.findings import Findings, listed, nearest
from heatproof.kit.graph import islands
from heatproof.kit.records.liquids import Coolant, ElectricPump, Oil, Thermostat
from heatproof.kit.records.variant import Variant

Network = Coolant | Oil
PUMPS = ("pump", "electric_pump", "displacement_pump")
MOST_CIRCUITS = 3  # beside the engine's coolant; the solver's signals have places for so many
MOST_RELAYS = 8  # the fan and all electric pumps
LEAST_RISE = 0.05  # m, height difference below which natural circulation is not worth the name


def check_coolant(variant: Variant, findings: Findings) -> None:
    """The engine's coolant and all further circuits."""
    for path, network in variant.coolants.items():
        _check_network(variant, network, path, findings)
    for name in variant.circuits:
        _carries_heat(variant, name, findings)
    _few_enough(variant, findings)


def check_oil(variant: Variant, findings: Findings) -> None:
    """Whether every oil line leads somewhere and has a reference pressure."""
    _check_network(variant, variant.oil, "oil", findings)


def _check_network(variant: Variant, network: Network, title: str, findings: Findings) -> None:
    if not _junctions_known(variant, network, title, findings):
        return
    _lines(variant, network, title, findings)
    edges = [(line.from_, line.to) for line in network.lines.values()]
    for island in islands(junction_names(network), edges):
        inside = {name: line for name, line in network.lines.items() if line.from_ in island}
        if not inside:
            findings.error(
                f"{title} junction {min(island)!r} is named by no line",
                variant.where(f"{title}.junctions.{min(island)}"),
                next_step="add a line to it, or remove it",
                code="junction.not_named",
            )
            continue
        _reference_pressure(variant, network, title, island, findings)
        _driven(variant, network, title, inside, findings)
        _heat_out(variant, network, title, island, inside, findings)


def _junctions_known(variant: Variant, network: Network, title: str, findings: Findings) -> bool:
    """Unlisted junctions, and junctions where a line ends and no other begins (mostly a slip of the pen)."""
    ends = Counter(end for line in network.lines.values() for end in (line.from_, line.to))
    before = len(findings)
    for name, line in network.lines.items():
        for key, junction in (("from", line.from_), ("to", line.to)):
            if junction not in network.junctions and network.small_junctions is None:
                what, step = f"no junction named {junction!r}", "correct the name or list it"
            elif ends[junction] == 1:
                what = f"line {name!r} leads nowhere: no other line meets it at {junction!r}"
                step = "correct the name, or add the line that goes on from there"
            else:
                continue
            others = list(dict.fromkeys(j for j in (*network.junctions, *ends) if j != junction))
            findings.error(
                what,
                variant.where(f"{title}.lines.{name}.{key}"),
                got=junction,
                allowed=listed(others),
                nearest=nearest(junction, others),
                next_step=step,
                code="line.end",
            )
    return len(findings) == before


def _lines(variant: Variant, network: Network, title: str, findings: Findings) -> None:
    for name, line in network.lines.items():
        where = variant.where(f"{title}.lines.{name}")
        if line.from_ == line.to:
            findings.error(
                f"line {name!r} leads back to where it starts",
                where,
                next_step="correct from or to",
                code="line.loop",
            )
        if line.bore is None and line.kind not in PUMPS:
            findings.error(f"line {name!r} has no bore", where, next_step="add bore: …", code="line.no_bore")
        if line.metal is not None and line.wetted_area is None:
            findings.error(
                f"line {name!r} names a metal but no wetted_area",
                where,
                next_step="add wetted_area: …",
                code="line.metal",
            )
        if isinstance(line, Thermostat) and line.fully_open <= line.opens:
            findings.error(
                f"thermostat {name!r} is fully open at or below the temperature it opens at",
                where,
                next_step="correct opens or fully_open",
                code="thermostat.range",
            )
    for name, junction in network.junctions.items():
        if (junction.part is None) != (junction.wetted_area is None):
            findings.error(
                f"junction {name!r} needs part and wetted_area together",
                variant.where(f"{title}.junctions.{name}"),
                next_step="add the other one",
                code="junction.wetted",
            )


def _reference_pressure(
    variant: Variant, network: Network, title: str, island: set[str], findings: Findings
) -> None:
    if network.fixed_pressure in island:
        return
    name = next(n for n, line in network.lines.items() if line.from_ in island)
    findings.error(
        f"{title} line {name!r} and what it joins have no reference pressure, because nothing connects it to "
        f"{network.fixed_pressure!r}",
        variant.where(f"{title}.lines.{name}"),
        next_step=f"connect them to the rest of the {title}, or correct fixed_pressure",
        code="liquid.no_pressure",
    )


def _driven(
    variant: Variant, network: Network, title: str, inside: dict[str, Any], findings: Findings
) -> None:
    if any(line.kind in PUMPS for line in inside.values()):
        return
    first = next(iter(inside))
    where = variant.where(f"{title}.lines.{first}")
    heights = [
        network.junctions[j].height
        for line in inside.values()
        for j in (line.from_, line.to)
        if j in network.junctions
    ]
    engine = {variant.engine.block, variant.engine.head}
    cools_engine = any(line.metal in engine for line in inside.values())
    rise = max(heights, default=0.0) - min(heights, default=0.0)
    if title == "oil" or cools_engine or rise < LEAST_RISE:
        findings.error(
            f"{title} loop without a pump: lines {listed(inside, 6)}",
            where,
            next_step="add a line of kind: pump or electric_pump"
            if title != "oil"
            else "add a line of kind: displacement_pump",
            code="liquid.no_pump",
        )
    else:
        findings.warning(
            f"{title} loop without a pump: lines {listed(inside, 6)} rely on natural circulation",
            where,
            got=f"heights differ by {rise:.2f} m",
            next_step="add a pump where that is not meant",
            code="liquid.natural",
        )


def _heat_out(
    variant: Variant,
    network: Network,
    title: str,
    island: set[str],
    inside: dict[str, Any],
    findings: Findings,
) -> None:
    """Heat must have a way from the liquid to the air: a core, a cabin heater, or a part that air reaches."""
    parts = {line.part for line in inside.values()} | {line.metal for line in inside.values()}
    parts |= {network.junctions[j].part for j in island if j in network.junctions}
    cooled = (
        any(variant.parts[p].zone is not None for p in parts if p is not None) if title == "oil" else False
    )
    if cooled or any(line.core is not None or line.heat_loss > 0 for line in inside.values()):
        return
    first = next(iter(inside))
    findings.error(
        f"{title} loop without a heat path to ambient: lines {listed(inside, 6)}",
        variant.where(f"{title}.lines.{first}"),
        next_step="add core: … to the line through the radiator, or heat_loss: …",
        code="liquid.no_heat_path",
    )


def _carries_heat(variant: Variant, name: str, findings: Findings) -> None:
    """A further circuit that nothing warms, or whose pump stands still, is mostly a slip of the pen."""
    circuit = variant.circuits[name]
    warmed = any(core.circuit == name and core.coolant_line for core in variant.cores.values())
    warmed |= any(line.metal is not None for line in circuit.lines.values())
    if not warmed:
        findings.warning(
            f"circuit {name!r} takes up no heat: no core is cooled by its lines and none wets a metal",
            variant.where(f"circuits.{name}"),
            next_step=f"write circuit: {name} and coolant_line: … in the core it cools",
            code="circuit.no_heat",
        )
    for key, line in circuit.lines.items():
        if isinstance(line, ElectricPump) and not line.while_driving:
            findings.warning(
                f"pump {key!r} of circuit {name!r} stands still while the engine runs",
                variant.where(f"circuits.{name}.lines.{key}"),
                next_step="write while_driving: true, where that is not meant",
                code="pump.still",
            )


def _few_enough(variant: Variant, findings: Findings) -> None:
    """No more circuits and electric pumps than the solver has places for."""
    if len(variant.circuits) > MOST_CIRCUITS:
        findings.error(
            "too many circuits beside the engine's coolant",
            variant.where("circuits"),
            got=str(len(variant.circuits)),
            allowed=f"{MOST_CIRCUITS} or fewer",
            next_step="join circuits that work at the same temperature",
            code="circuit.too_many",
        )
    pumps = [
        f"{path}.lines.{key}"
        for path, record in variant.liquids.items()
        for key, line in record.lines.items()
        if isinstance(line, ElectricPump)
    ]
    relays = len(pumps) + (variant.air.fan is not None)
    if relays > MOST_RELAYS:
        findings.error(
            "too many electric pumps",
            variant.where(pumps[-1]),
            got=f"{relays}, a fan counted",
            allowed=f"{MOST_RELAYS} or fewer",
            next_step="count pumps that stand behind one another as one",
            code="pump.too_many",
        )
