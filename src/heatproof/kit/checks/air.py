"""Zones, passages, fan and the cores that air passes through."""

from heatproof.kit.findings import Findings
from heatproof.kit.graph import reached
from heatproof.kit.records.air import Core, PlatesToLiquid
from heatproof.kit.records.variant import Variant

AIR_COOLED = ("radiator", "condenser")


def check_air(variant: Variant, findings: Findings) -> None:
    """Every zone has a way out, every passage an area, every core its air."""
    _zones(variant, findings)
    _passages(variant, findings)
    _fan(variant, findings)
    for name, core in variant.cores.items():
        _core(variant, name, core, findings)


def _zones(variant: Variant, findings: Findings) -> None:
    edges = [(p.from_, p.to) for p in variant.air.passages.values()]
    open_air = reached(["outside"], edges)
    for name in variant.air.zones:
        if name not in open_air:
            findings.error(
                f"zone {name!r} has no way out: no passage leads from it to the outside",
                variant.where(f"air.zones.{name}"),
                next_step="add a passage under air.passages, or remove the zone",
                code="zone.no_way_out",
            )


def _passages(variant: Variant, findings: Findings) -> None:
    for name, passage in variant.air.passages.items():
        where = variant.where(f"air.passages.{name}")
        if passage.from_ == passage.to:
            findings.error(
                f"passage {name!r} leads back to where it starts",
                where,
                next_step="correct from or to",
                code="passage.loop",
            )
        if passage.area is None and passage.core is None and passage.kind != "fan":
            findings.error(
                f"passage {name!r} has no area",
                where,
                next_step="add area: …, or core: … where a core fills it",
                code="passage.no_area",
            )
        if passage.area is not None and passage.core is not None:
            findings.error(
                f"passage {name!r} has both an area and a core",
                where,
                next_step="remove area; the core's face times share counts",
                code="passage.area_and_core",
            )
        if passage.pressure_coefficient and "outside" not in (passage.from_, passage.to):
            findings.warning(
                f"passage {name!r} has a pressure_coefficient but no end outside",
                where,
                next_step="remove it",
                code="passage.pressure_coefficient",
            )


def _fan(variant: Variant, findings: Findings) -> None:
    fan, blown = variant.air.fan, [n for n, p in variant.air.passages.items() if p.kind == "fan"]
    for name in blown:
        if fan is None or fan.passage != name:
            findings.error(
                f"passage {name!r} is of kind fan, but air.fan does not name it",
                variant.where(f"air.passages.{name}"),
                next_step=f"write passage: {name} in air.fan, or give the passage an area and no kind",
                code="fan.not_named",
            )
    if fan is None:
        return
    if fan.passage not in blown:
        findings.error(
            f"air.fan blows through {fan.passage!r}, which is not of kind fan",
            variant.where("air.fan.passage"),
            next_step="write kind: fan in that passage",
            code="fan.passage",
        )
    if fan.high_temperature < fan.on_temperature:
        findings.error(
            "fan: high_temperature is below on_temperature",
            variant.where("air.fan.high_temperature"),
            next_step="correct one of the two",
            code="fan.stages",
        )


def _core(variant: Variant, name: str, core: Core, findings: Findings) -> None:
    where = variant.where(f"cores.{name}")
    if (core.geometry is None) == (core.rated is None):
        findings.error(
            f"core {name!r} needs exactly one of geometry and rated",
            where,
            next_step="remove one of the two, or add one",
            code="core.description",
        )
    if core.kind in AIR_COOLED or core.coolant_line is None:
        _core_air(variant, name, core, findings)
    _core_build(variant, name, core, findings)
    if core.kind in ("radiator", "oil_cooler") and core.line is None:
        findings.error(
            f"core {name!r} sits in no line",
            where,
            next_step="add line: … and core: … in that line",
            code="core.no_line",
        )
    if core.kind == "charge_cooler" and variant.charge.cooler != name:
        findings.error(
            f"charge cooler {name!r} is not used",
            where,
            next_step=f"write cooler: {name} under charge",
            code="core.not_used",
        )
    if core.kind == "condenser" and core.heat is None:
        findings.error(f"condenser {name!r} has no heat", where, next_step="add heat: …", code="core.no_heat")


def _core_build(variant: Variant, name: str, core: Core, findings: Findings) -> None:
    """Plates to liquid want a liquid; fins for air want air."""
    where = variant.where(f"cores.{name}.geometry")
    if core.kind in AIR_COOLED and core.coolant_line is not None:
        findings.error(
            f"core {name!r} of kind {core.kind} is cooled by air, but names a coolant_line",
            variant.where(f"cores.{name}.coolant_line"),
            next_step="remove coolant_line, or correct kind",
            code="core.cooled_by",
        )
    elif isinstance(core.geometry, PlatesToLiquid) and core.coolant_line is None:
        findings.error(
            f"core {name!r} has plates for a liquid, but no liquid reaches it",
            where,
            next_step="add coolant_line: …, and circuit: … where that line is of a further circuit",
            code="core.no_liquid",
        )
    elif core.geometry is not None and core.coolant_line is not None:
        if not isinstance(core.geometry, PlatesToLiquid):
            findings.error(
                f"core {name!r} is cooled by a coolant_line, but its geometry is for air",
                where,
                next_step="write type: plates_to_liquid, or give a rated point",
                code="core.geometry_kind",
            )
        elif core.kind != "charge_cooler":
            findings.error(
                f"plates_to_liquid is for charge coolers, not for the {core.kind} {name!r}",
                where,
                next_step="give a rated point",
                code="core.geometry_kind",
            )


def _core_air(variant: Variant, name: str, core: Core, findings: Findings) -> None:
    where = variant.where(f"cores.{name}")
    shares = [p.share for p in variant.air.passages.values() if p.core == name]
    if not shares:
        findings.error(
            f"core {name!r} is named by no passage: no air reaches it",
            where,
            next_step=f"add a passage with core: {name} under air.passages",
            code="core.no_air",
        )
    elif sum(shares) > 1.001:
        findings.error(
            f"passages use more than the whole face of core {name!r}",
            where,
            got=f"{sum(shares) * 100:.4g} %",
            allowed="100 % in all",
            next_step="correct share: of its passages",
            code="core.face_overused",
        )
    elif sum(shares) < 0.999:
        findings.warning(
            f"passages use only part of the face of core {name!r}",
            where,
            got=f"{sum(shares) * 100:.4g} %",
            next_step="correct share:, or leave it where the rest is covered",
            code="core.face_part",
        )
    if core.rated is not None and (core.rated.face_area is None or core.rated.air_loss is None):
        findings.error(
            f"rated core {name!r} in air needs face_area and air_loss",
            where,
            next_step="add both under rated",
            code="core.rated",
        )
