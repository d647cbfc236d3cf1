"""Changes whose sign physics gives, on any kit: what is changed, what is judged, and why it cannot be otherwise.

Expected directions follow from the maximum principle or from one resistance more or less in series; they hold where
no relay answers (a fan that switches on cools what the change has warmed: `without_relays`), and a hotter day only where
the mixture stays the same (a rich one cools the exhaust, and the day decides how near the engine is to full load).
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from heatproof.assembly.covers import insulates
from heatproof.kit.records.duty import Duty
from heatproof.kit.records.parts import Conduction, Facing
from heatproof.kit.records.variant import Variant

Pair = tuple[Variant, Duty]
RISES, FALLS = 1.0, -1.0


@dataclass(frozen=True)
class Trend:
    """`changed` and the masses whose peak may only rise (+1) or fall (−1); `why` in a phrase."""

    name: str
    why: str
    changed: Pair
    judged: tuple[str, ...]
    sign: float
    same_mixture: bool = False


def trends(variant: Variant, duty: Duty) -> Iterator[Trend]:
    """Every change that this kit allows."""
    for rule in RULES:
        yield from rule(variant, duty)


def more_sun(variant: Variant, duty: Duty) -> Iterator[Trend]:
    air = duty.air.model_copy(update={"sun": duty.air.sun + 400.0})
    sunny = (variant, duty.model_copy(update={"air": air}))
    for name, part in variant.parts.items():
        if part.solar_absorptance > 0.0 and part.outside_surface > 0.0:
            yield Trend("more sun", "a source more", sunny, (name,), RISES)


def hotter_day(variant: Variant, duty: Duty) -> Iterator[Trend]:
    air = duty.air.model_copy(update={"ambient": duty.air.ambient + 8.0})
    hotter = (variant, duty.model_copy(update={"air": air}))
    yield Trend("hotter day", "every sink is hotter", hotter, tuple(variant.parts), RISES, same_mixture=True)


def own_heat(variant: Variant, duty: Duty) -> Iterator[Trend]:
    for name, part in variant.parts.items():
        if part.heat > 0.0:
            changed = variant.replace(f"parts.{name}.heat", 2.0 * part.heat)
            yield Trend("more heat of its own", "a source more", (changed, duty), (name,), RISES)


def thicker_cover(variant: Variant, duty: Duty) -> Iterator[Trend]:
    for name, part in variant.parts.items():
        cover = part.cover
        if cover is not None and insulates(cover) and name in ("turbine", "manifold"):
            changed = variant.replace(f"parts.{name}.cover.thickness", 2.0 * (cover.thickness or 0.0))
            yield Trend("thicker cover", "more resistance outwards", (changed, duty), (name,), RISES)


def farther_away(variant: Variant, duty: Duty) -> Iterator[Trend]:
    for name, link in variant.links.items():
        if isinstance(link, Facing) and link.from_ in ("turbine", "manifold") and link.to != "shield":
            changed = variant.replace(f"links.{name}.distance", 2.0 * link.distance)
            yield Trend("farther away", "less view and more air between", (changed, duty), (link.to,), FALLS)


def better_bracket(variant: Variant, duty: Duty) -> Iterator[Trend]:
    for name, link in variant.links.items():
        if isinstance(link, Conduction) and link.from_ in ("turbine", "manifold"):
            changed = variant.replace(f"links.{name}.conductance", 3.0 * link.conductance)
            yield Trend(
                "better bracket", "less resistance from the hot part", (changed, duty), (link.to,), RISES
            )


def thicker_lining(variant: Variant, duty: Duty) -> Iterator[Trend]:
    for name, part in variant.parts.items():
        if part.lining is not None:
            changed = variant.replace(f"parts.{name}.lining.thickness", 3.0 * part.lining.thickness)
            yield Trend("thicker lining", "more resistance from the gas", (changed, duty), (name,), FALLS)


def better_charge_cooler(variant: Variant, duty: Duty) -> Iterator[Trend]:
    name = variant.charge.cooler
    core = variant.cores[name] if name is not None else None
    if core is not None and core.rated is not None and core.coolant_line is None:
        changed = variant.replace(f"cores.{name}.rated.heat_per_kelvin", 1.15 * core.rated.heat_per_kelvin)
        yield Trend(
            "better charge cooler", "more effectiveness", (changed, duty), ("charge.cooler_out",), FALLS
        )


def sealed_airbox(variant: Variant, duty: Duty) -> Iterator[Trend]:
    gap = variant.air.passages.get("lid_gap")
    snorkel = variant.air.passages.get("snorkel")
    if (
        gap is not None
        and snorkel is not None
        and snorkel.from_ == "outside"
        and variant.charge.draws_from == "airbox"
    ):
        changed = variant.with_value("air.passages.lid_gap.area", 0.1 * (gap.area or 0.0))
        yield Trend("sealed airbox", "less of the bay's air", (changed, duty), ("charge.filter",), FALLS)


def better_radiator(variant: Variant, duty: Duty) -> Iterator[Trend]:
    core = variant.cores["radiator"]
    if core.rated is not None:
        changed = variant.with_value("cores.radiator.rated.heat_per_kelvin", 1.1 * core.rated.heat_per_kelvin)
        yield Trend("better radiator", "less resistance to the air", (changed, duty), ("coolant.hot",), FALLS)


Rule = Callable[[Variant, Duty], Iterator[Trend]]
RULES: tuple[Rule, ...] = (
    more_sun,
    hotter_day,
    own_heat,
    thicker_cover,
    farther_away,
    better_bracket,
    thicker_lining,
    better_charge_cooler,
    sealed_airbox,
    better_radiator,
)


def without_relays(variant: Variant) -> Variant:
    """The variant without its fan's relay: where there is a fan, it never starts."""
    fan = variant.air.fan
    if fan is None:
        return variant
    quiet = fan.model_copy(
        update={"on_temperature": 1e3, "high_temperature": 1e3, "with_air_conditioning": False}
    )
    air = variant.air.model_copy(update={"fan": quiet})
    return replace(variant, assembly=variant.assembly.model_copy(update={"air": air}))
