"""Cooling and bay air: zones, the ways between them and to the outside, the fan."""

from heatproof.assembly.cores import REFERENCE_DENSITY, REFERENCE_VISCOSITY, air_branch
from heatproof.kit.records.air import Fan, Passage
from heatproof.kit.records.variant import Variant
from heatproof.network.arrays import AIR
from heatproof.network.builder import NetworkBuilder
from heatproof.network.fluids import CP_AIR

OUTSIDE = "outside"
FAN = "fan"
LINEAR_BELOW = 5e-4 / 0.05
"""Flow per area (kg/s/m2) below which an opening's loss is nearly linear; more would be an error, no help."""


def lay_air(b: NetworkBuilder, variant: Variant) -> None:
    """Masses and junctions `air.<zone>`, branches `air.<passage>`, junctions `air.<passage>.outside`."""
    b.network("air", AIR)
    for name, zone in variant.air.zones.items():
        b.mass(f"air.{name}", REFERENCE_DENSITY * zone.volume * CP_AIR, kind="air")
        b.junction("air", f"air.{name}", f"air.{name}", zone.height, flow_area=zone.flow_area)
    signal = lay_fan(b, variant.air.fan)
    for name, passage in variant.air.passages.items():
        blown = variant.air.fan if variant.air.fan and variant.air.fan.passage == name else None
        lay_passage(b, variant, name, passage, blown, signal)


def lay_fan(b: NetworkBuilder, fan: Fan | None) -> int:
    """Relay and lag of the fan; the signal with its speed ratio, -1 without a fan."""
    if fan is None:
        return -1
    return b.fan(
        FAN,
        f"coolant.{fan.sensor}",
        on=fan.on_temperature,
        high=fan.high_temperature,
        hysteresis=fan.hysteresis,
        low_speed=fan.low_speed,
        with_ac=fan.with_air_conditioning,
        run_on=fan.run_on,
    )


def lay_passage(
    b: NetworkBuilder, variant: Variant, name: str, passage: Passage, fan: Fan | None, signal: int
) -> None:
    """One branch. Its two ends lie at its own height: openings at two heights exchange air by buoyancy."""
    first, second = (end_junction(b, name, passage, end) for end in (passage.from_, passage.to))
    a, loss = resistance(variant, passage, fan)
    b.branch(
        "air",
        f"air.{name}",
        first,
        second,
        a=a,
        b=loss,
        rho_ref=REFERENCE_DENSITY,
        nu_ref=REFERENCE_VISCOSITY,
        head=fan.pressure_at_rest if fan else 0.0,
        head_signal=signal if fan else -1,
        relief=0.0 if passage.one_way else -1.0,
        z1=passage.height,
        z2=passage.height,
        cp=CP_AIR,
    )


def end_junction(b: NetworkBuilder, name: str, passage: Passage, end: str) -> str:
    """The zone's junction, or a new one outside with this opening's own pressure."""
    if end != OUTSIDE:
        return f"air.{end}"
    return b.junction(
        "air",
        f"air.{name}.outside",
        "ambient",
        passage.height,
        fixed=True,
        pressure_coefficient=passage.pressure_coefficient,
    )


def resistance(variant: Variant, passage: Passage, fan: Fan | None) -> tuple[float, float]:
    """a (Pa s/kg), b (Pa s2/kg2) of what lies in the passage: core, free area, fan curve."""
    a, loss = 0.0, 0.0
    if passage.core is not None:
        a, loss = air_branch(variant.cores[passage.core], passage.share)
    if passage.area is not None:
        own = opening_loss(passage.area, passage.loss)
        a, loss = a + own * LINEAR_BELOW * passage.area, loss + own
    if fan is not None:
        own = fan_loss(fan)
        a, loss = a + own * LINEAR_BELOW * fan_area(fan), loss + own
    return a, loss


def opening_loss(area: float, K: float) -> float:
    """b (Pa s2/kg2) of an opening: K/(2 rho A2). Source: definition of K."""
    return K / (2.0 * REFERENCE_DENSITY * area * area)


def fan_loss(fan: Fan) -> float:
    """h2 (Pa s2/kg2) of the curve h0 s2 - h2 m2 through head at rest and free flow."""
    return fan.pressure_at_rest / (REFERENCE_DENSITY * fan.free_flow) ** 2


def fan_area(fan: Fan) -> float:
    """m2 passed by the free flow at 10 m/s (common practice, no source); sets where the loss turns linear."""
    return fan.free_flow / 10.0
