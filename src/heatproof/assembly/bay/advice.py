"""Advice from where things are: clearances, surfaces that burn a hand, insulation near what soaks it."""

from dataclasses import dataclass

from heatproof.assembly.bay.factors import factors_of
from heatproof.assembly.bay.hot_spots import BayState
from heatproof.assembly.bay.lay import decided_by_shapes
from heatproof.assembly.bay.refused import place_of
from heatproof.assembly.bay.scene import WALLS, scene_of
from heatproof.assembly.bay.splits import is_soft
from heatproof.assembly.covers import insulates
from heatproof.kit.faces import gas_walls, two_faced
from heatproof.kit.findings import Finding
from heatproof.kit.records.parts import Facing, Part
from heatproof.kit.records.variant import Variant
from heatproof.media.solids import limit
from heatproof.shapes.clearance import ADVICE, Advice, Clearance, clearance_table
from heatproof.units.quantity import Amount

SEES = 1e-4  # view factor below which something stands between two parts
SOAKS = 0.100  # m, nearness at which a leak reaches insulation; estimate
VITAL = ("brake", "fuel", "steering", "electrical")
NO_POINT = (0.0, 0.0, 0.0)
LIQUIDS = ("oil", "fuel", "brake")
METAL_TOUCH, PLASTIC_TOUCH = "L086", "L090"  # burn thresholds of the limits table, 1 s of contact


@dataclass(frozen=True)
class Gap:
    """A clearance with what the trade asks for: `least` and `comfortable` m, None where it asks nothing."""

    clearance: Clearance
    case: str = ""
    least: float | None = None
    comfortable: float | None = None
    source: str = ""

    @property
    def distances(self) -> tuple[Amount, Amount, Amount]:
        """As told: the clearance, the least of it, and what is comfortable."""
        return millimetres(self.clearance.distance), millimetres(self.least), millimetres(self.comfortable)


def millimetres(metres: float | None) -> Amount:
    """`12 mm`."""
    distance = metres or 0.0
    return Amount(f"{distance * 1e3:.0f} mm", distance, "mm")


def degrees(kelvin: float) -> Amount:
    """`65 °C`."""
    return Amount(f"{kelvin - 273.15:.0f} °C", kelvin, "°C")


def clearances(variant: Variant, *, within: float = 0.15) -> list[Gap]:
    """Pairs of parts nearer than `within` (m), nearest first; pairs that the kit joins are left out."""
    joined = {frozenset((link.from_, link.to)) for link in variant.links.values() if link.kind != "facing"}
    names = set(variant.parts)
    return [
        _judged(variant, pair)
        for pair in clearance_table(scene_of(variant), within=within)
        if {pair.part, pair.other} <= names and frozenset((pair.part, pair.other)) not in joined
    ]


def _judged(variant: Variant, pair: Clearance) -> Gap:
    sources = gas_walls(variant)
    for hot, other in ((pair.part, pair.other), (pair.other, pair.part)):
        rule = asked_of(variant.parts[other]) if hot in sources and other not in sources else None
        if rule is not None:
            return _asked(pair, rule, _shielded(variant, hot, other))
    return Gap(pair)


def _asked(pair: Clearance, rule: Advice, shielded: bool) -> Gap:
    least, comfortable = rule.shielded if shielded else rule.bare
    way = "shielded" if shielded else "bare"
    return Gap(pair, f"{way} turbine or exhaust to {rule.case}", least, comfortable, rule.source)


def asked_of(part: Part) -> Advice | None:
    """What is asked of a part's distance to hot exhaust, by what hangs on it and what it is made of; None: nothing."""
    if part.caution == "battery":
        return ADVICE["battery"]
    vital = part.caution in VITAL
    if is_soft(part):
        return ADVICE["vital" if vital else "soft"]
    return ADVICE["line"] if vital and part.caution != "electrical" else None


def link_clearances(variant: Variant) -> list[Gap]:
    """The same asked of facing links whose parts have no shapes to measure between, nearest first."""
    sources = gas_walls(variant)
    gaps = []
    for link in variant.links.values():
        if not isinstance(link, Facing) or decided_by_shapes(variant, link):
            continue
        for hot, other in ((link.from_, link.to), (link.to, link.from_)):
            rule = asked_of(variant.parts[other]) if hot in sources and other not in sources else None
            if rule is not None:
                pair = Clearance(hot, other, link.distance, NO_POINT, NO_POINT)
                gaps.append(_asked(pair, rule, insulates(variant.parts[hot].cover)))
    return sorted(gaps, key=lambda gap: gap.clearance.distance)


def _shielded(variant: Variant, hot: str, other: str) -> bool:
    """Whether the hot part is wrapped, or the two do not see each other."""
    if insulates(variant.parts[hot].cover):
        return True
    names, F = scene_of(variant).patch_names, factors_of(variant).factor
    rows = [k for k, (part, _) in enumerate(names) if part == hot]
    columns = [k for k, (part, _) in enumerate(names) if part == other]
    return bool(F[rows][:, columns].max() < SEES)


def clearance_findings(variant: Variant, gaps: list[Gap]) -> list[Finding]:
    """Advice where a gap is less than the trade asks for."""
    return [
        Finding(
            "warning" if gap.clearance.distance < gap.least else "note",
            f"{gap.clearance.part} and {gap.clearance.other} are {gap.distances[0]} apart",
            place_of(variant, gap.clearance.part),
            allowed=f"{gap.case}: {gap.distances[1]} or more, better {gap.distances[2]} ({gap.source})",
            next_step="move one, shield it, or show by a measured test that it stays cool enough",
            amounts=gap.distances,
            code="bay.clearance",
        )
        for gap in gaps
        if gap.least is not None and gap.comfortable is not None and gap.clearance.distance < gap.comfortable
    ]


def touch_findings(variant: Variant, state: BayState) -> list[Finding]:
    """One note of the surfaces that burn a hand at this instant."""
    hot = []
    for (name, patch), T in zip(state.scene.patch_names, state.temperatures, strict=True):
        if name == WALLS or name not in variant.parts:
            continue
        rule = limit(PLASTIC_TOUCH if is_soft(variant.parts[name]) else METAL_TOUCH)
        threshold = rule.short_term[0] if rule.short_term is not None else None
        if threshold is not None and threshold < T:
            hot.append((float(T), name if patch == "whole" else f"{name} ({patch})"))
    if not hot:
        return []
    hot.sort(reverse=True)
    metal, plastic = degrees(338.15), degrees(358.15)
    listed = ", ".join(f"{name} {degrees(T)}" for T, name in hot[:8])
    more = f" and {len(hot) - 8} more" if len(hot) > 8 else ""
    when = "at their hottest" if state.time is None else f"at {state.time:.0f} s"
    return [
        Finding(
            "note",
            f"surfaces that burn a hand within a second, {when}: {listed}{more}",
            got=f"thresholds {metal} metal, {plastic} plastic: ISO 13732-1, from memory",
            next_step="let it cool, or wear gloves; say so in the installer's sheet",
            amounts=(metal, plastic, *(degrees(T) for T, _ in hot[:8])),
            code="bay.touch",
        )
    ]


def soaking_findings(variant: Variant, gaps: list[Gap]) -> list[Finding]:
    """A caution where insulation lies near what carries oil, fuel or brake fluid."""
    found = []
    for gap in gaps:
        if gap.clearance.distance > SOAKS:
            continue
        for lagged, wet in (
            (gap.clearance.part, gap.clearance.other),
            (gap.clearance.other, gap.clearance.part),
        ):
            part = variant.parts[lagged]
            hot = lagged in gas_walls(variant) or two_faced(part)
            carries = variant.parts[wet].caution in LIQUIDS
            if hot and carries and (insulates(part.cover) or part.insulation is not None):
                found.append(
                    Finding(
                        "note",
                        f"insulation on {lagged} lies {gap.distances[0]} from {wet}: "
                        "insulation soaked with oil, fuel or brake fluid can catch fire",
                        place_of(variant, lagged),
                        next_step="give it a sealed outer skin, inspect it, and replace it once soaked",
                        amounts=gap.distances[:1],
                        code="bay.soaked",
                    )
                )
    return found
