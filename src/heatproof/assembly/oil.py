"""The oil circuit: displacement pump with relief valve, passages, cooler line, sump."""

from heatproof.assembly.circuits import Circuit, Liquid, expansion_of
from heatproof.assembly.core_tables import oil_stream
from heatproof.assembly.liquid import lay_circuit
from heatproof.kit.records.variant import Variant
from heatproof.media.oils import liquid_coefficients_oil
from heatproof.network.arrays import OIL
from heatproof.network.builder import NetworkBuilder

REFERENCE_SPEED = 10.0  # m/s in oil drillings, at which losses and coefficients are taken


def oil_liquid(grade: str, prefix: str = "oil", number: int = OIL) -> Liquid:
    """Engine oil. It drains to a free surface, so gravity moves nothing: all junctions at one level."""
    coefficients = liquid_coefficients_oil(grade)
    return Liquid(
        number=number,
        prefix=prefix,
        kind="oil",
        coefficients=coefficients,
        stream=oil_stream(grade),
        expansion=expansion_of(coefficients),
        speed=REFERENCE_SPEED,
        circulates=False,
        boils=False,
    )


def lay_oil(b: NetworkBuilder, variant: Variant) -> None:
    """Masses `oil.<junction>`, `oil.<line>.fluid`, branches `oil.<line>` and `oil.<pump>.relief`."""
    record = variant.oil
    lay_circuit(Circuit(b, variant, oil_liquid(record.grade), record, dict(record.lines)))


def engine_heat_mass(variant: Variant) -> str:
    """Oil mass that takes up bearing and piston heat: the first line marked for it, else the sump."""
    for name, line in variant.oil.lines.items():
        if line.heat == "engine":
            return f"oil.{name}.fluid"
    return f"oil.{variant.oil.fixed_pressure}"
