"""A car at a share of its power, a duty on another day."""

from heatproof.kit.records.duty import Duty
from heatproof.kit.records.variant import Variant

STANDARD_PRESSURE = 101325.0  # Pa


def powered(variant: Variant, level: float) -> Variant:
    """The variant with its boost times `level`; rated power follows the manifold pressure."""
    engine = variant.engine
    boost = engine.boost
    if boost is None and engine.manifold_pressure is not None:
        boost = engine.manifold_pressure - STANDARD_PRESSURE
    if boost is None or level == 1.0:
        return variant
    share = (STANDARD_PRESSURE + level * boost) / (STANDARD_PRESSURE + boost)
    variant = variant.with_value("engine.rated_power", engine.rated_power * share)
    if engine.boost is not None:
        return variant.with_value("engine.boost", level * boost)
    return variant.with_value("engine.manifold_pressure", STANDARD_PRESSURE + level * boost)


def on_day(duty: Duty, ambient: float, altitude: float | None, air_conditioning: bool | None) -> Duty:
    """The duty on another day; a stated altitude takes the place of a stated pressure."""
    air: dict[str, float | None] = {"ambient": ambient}
    if altitude is not None:
        air |= {"altitude": altitude, "pressure": None}
    changed: dict[str, object] = {"air": duty.air.model_copy(update=air)}
    if air_conditioning is not None:
        changed["air_conditioning"] = air_conditioning
    return duty.model_copy(update=changed)
