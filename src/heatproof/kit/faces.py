"""Facts about parts that several rooms ask for: faces, and which side a flow wets."""

from heatproof.kit.records.parts import Part
from heatproof.kit.records.shapes import Plate
from heatproof.kit.records.variant import Variant


def two_faced(part: Part) -> bool:
    """Whether a part is a plate with a front and a back in the bay."""
    return isinstance(part.shape, Plate) and part.shape.faces == "both"


def fluid_walls(variant: Variant) -> set[str]:
    """Parts whose other side gas, charge air, coolant or oil washes."""
    names = gas_walls(variant)
    for network in variant.liquids.values():
        names |= {p for line in network.lines.values() for p in (line.part, line.metal) if p is not None}
        names |= {junction.part for junction in network.junctions.values() if junction.part is not None}
    charge, turbo = variant.charge, variant.turbo
    pipes = (charge.inlet_pipe, charge.hot_pipe, charge.cold_pipe, charge.plenum)
    names |= {pipe.part for pipe in pipes if pipe is not None}
    if turbo is not None:
        names |= {turbo.part_bearing, turbo.part_compressor}
    return names


def gas_walls(variant: Variant) -> set[str]:
    """Parts that exhaust gas wets."""
    turbine = {variant.turbo.part_turbine} if variant.turbo is not None else set()
    return {piece.part for piece in variant.exhaust.values()} | turbine
