"""Every name a record gives must be the name of something."""

from collections.abc import Iterator
from functools import cache
from typing import Any

from heatproof.kit.fields import fields_of, reference_of
from heatproof.kit.findings import Findings, listed, nearest
from heatproof.kit.records.base import Record
from heatproof.kit.records.liquids import Coolant, LiquidCircuit, Oil
from heatproof.kit.records.variant import Variant
from heatproof.units.quantity import Reference

KEPT_NAMES = {
    "air.zones": {"outside": "the open air"},
    "air.passages": {"engine_draw": "the air the engine draws"},
    "exhaust": {"ports": "the gas leaving the engine", "turbine": "the gas leaving the turbine"},
    "parts": {
        "ambient": "the air of the day",
        "air": "the zones of air",
        "charge": "the charge air",
        "exhaust": "the exhaust gas",
        "coolant": "the coolant",
        "circuits": "further liquids",
        "oil": "the oil",
        "core": "the exchangers' metal",
    },
}


def check_references(variant: Variant, findings: Findings) -> None:
    """Unknown names, with the nearest known one; `outside` is kept for the open air."""
    for path, name, reference in references(variant.assembly, ""):
        known = [*names_in(variant, reference.to), *reference.also]
        if name not in known:
            kind = reference.to.split(".")[-1].rstrip("s")
            findings.error(
                f"no {kind} named {name!r}",
                variant.where(path),
                got=name,
                allowed=listed(known),
                nearest=nearest(name, known),
                next_step=f"correct the name, or add it under {reference.to}",
                code="name.unknown",
            )
    _kept_names(variant, findings)
    for name, circuit in variant.circuits.items():
        _cap(variant, name, circuit, findings)
    _core_lines(variant, findings)


def _kept_names(variant: Variant, findings: Findings) -> None:
    """Names that results use for something else."""
    for path, kept in KEPT_NAMES.items():
        for name in variant.value(path):
            if name in kept:
                findings.error(
                    f"the name {name!r} stands for {kept[name]}",
                    variant.where(f"{path}.{name}"),
                    next_step=f"give it another name under {path}",
                    code="name.kept",
                )


def _cap(variant: Variant, name: str, circuit: LiquidCircuit, findings: Findings) -> None:
    """The junction a further circuit's cap sits on must be one of its own."""
    known = list(junction_names(circuit))
    if circuit.fixed_pressure in known:
        return
    findings.error(
        f"no junction named {circuit.fixed_pressure!r}",
        variant.where(f"circuits.{name}.fixed_pressure"),
        got=circuit.fixed_pressure,
        allowed=listed(known),
        nearest=nearest(circuit.fixed_pressure, known),
        next_step=f"correct the name, or add it under circuits.{name}.junctions",
        code="name.junction",
    )


def references(holder: Any, path: str) -> Iterator[tuple[str, str, Reference]]:
    """`(path, name given, reference)` of every name in a record tree."""
    if isinstance(holder, dict):
        for key, item in holder.items():
            if isinstance(item, Record):
                yield from references(item, f"{path}.{key}")
        return
    if not isinstance(holder, Record):
        return
    record: type[Record] = type(holder)
    for key, name, reference in _naming_fields(record):
        value, below = getattr(holder, name), f"{path}.{key}" if path else key
        if value is None:
            continue
        if reference is None:
            yield from references(value, below)
        else:
            for target in (value,) if isinstance(value, str) else value:
                yield below, target, reference


@cache
def _naming_fields(record: type[Record]) -> list[tuple[str, str, Reference | None]]:
    """`(key, attribute, reference)` of fields that give names, None for those that hold records."""
    fields = fields_of(record).items()
    return [
        (key, field.name, reference_of(field))
        for key, field in fields
        if field.classes or reference_of(field)
    ]


def names_in(variant: Variant, collection: str) -> list[str]:
    """Names in a collection such as `air.zones`; junctions include the small ones that lines name."""
    if collection in ("coolant.junctions", "oil.junctions"):
        return list(junction_names(variant.coolant if collection.startswith("coolant") else variant.oil))
    return list(variant.value(collection))


def junction_names(network: Coolant | Oil) -> dict[str, None]:
    """Listed junctions, then those that only lines name where `small_junctions` allows them."""
    names = dict.fromkeys(network.junctions)
    if network.small_junctions is not None:
        for line in network.lines.values():
            names.update(dict.fromkeys((line.from_, line.to)))
    return names


def _core_lines(variant: Variant, findings: Findings) -> None:
    """The lines a core sits in must be there, and the one of its hot fluid must name the core."""
    for name, core in variant.cores.items():
        circuit = "coolant" if core.circuit is None else f"circuits.{core.circuit}"
        if circuit not in variant.coolants:
            continue
        own = "oil" if core.kind == "oil_cooler" else circuit
        lines = variant.liquids[own].lines
        path = f"cores.{name}.line"
        if _known_line(variant, path, core.line, own, findings) and lines[str(core.line)].core != name:
            findings.error(
                f"{own}.lines.{core.line} does not name the core {name!r}",
                variant.where(path),
                next_step=f"write core: {name} in {own}.lines.{core.line}",
                code="core.line_does_not_name_it",
            )
        _known_line(variant, f"cores.{name}.coolant_line", core.coolant_line, circuit, findings)


def _known_line(variant: Variant, path: str, line: str | None, circuit: str, findings: Findings) -> bool:
    """Whether a line is named and there; a finding where it is named and not there."""
    lines = variant.liquids[circuit].lines
    if line is None or line in lines:
        return line is not None
    findings.error(
        f"no line named {line!r}",
        variant.where(path),
        got=line,
        allowed=listed(lines),
        nearest=nearest(line, lines),
        next_step=f"correct the name, or add it under {circuit}.lines",
        code="name.line",
    )
    return False
