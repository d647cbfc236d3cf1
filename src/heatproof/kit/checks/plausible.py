"""Figures that cannot belong to one another: mass, surface, size, heat capacity; bore and displacement; grille and radiator.

Each pair is compared by a bound from geometry or physics. Past it by 1.5 times a warning with both figures, by 5 times refused: a
slip of a unit or a digit, and no verdict should stand on it.
"""

from math import pi, sqrt

from heatproof.kit.findings import Findings
from heatproof.kit.records.parts import Part
from heatproof.kit.records.variant import Variant
from heatproof.media.solids import material, materials
from heatproof.units.quantity import Amount

DOUBTED, REFUSED = 1.5, 5.0
T_DENSITY = 300.0  # K
HEAT_PER_VOLUME = (
    2.5e6  # J/m3/K of a part of no stated material: metals and plastics 1.5 to 4 MJ/m3/K, water 4.2
)
THINNEST = 0.1e-3  # m of wall, mass over density and surface, below which a part is hardly more than foil
SLENDER = 0.8
"""Size over the root of the surface up to which nothing is said, over DOUBTED: a sheet about three times as long as wide,
both faces counted, has 1.2."""
LEAST_HEAT, MOST_HEAT = (
    400.0,
    2800.0,
)  # J/kg/K, less or more by DOUBTED is doubted; lead has 130, plastic 2000, water 4186
NARROW = 4.0  # face of a core over the openings that feed it; common practice 2 to 3, no source


def check_plausible(variant: Variant, findings: Findings) -> None:
    """All pairs of figures that have a bound."""
    for name, part in variant.parts.items():
        _bulk(variant, name, part, findings)
        _size(variant, name, part, findings)
        _specific_heat(variant, name, part, findings)
    _displacement(variant, findings)
    _grille(variant, findings)


def doubt(
    findings: Findings,
    times: float,
    what: str,
    figures: tuple[Amount, Amount],
    place: tuple[Variant, str],
    code: str,
    step: str,
) -> None:
    """A warning or an error where a bound is passed `times` over; figures: both, as the file has them or as they follow."""
    if times < DOUBTED:
        return
    variant, path = place
    add = findings.error if times >= REFUSED else findings.warning
    first, second = figures
    got = f"{first} against {second}: {times:.3g} times too much"
    add(what, variant.where(path), got=got, next_step=step, amounts=figures, code=code)


def _all_surface(part: Part) -> float:
    return part.surface + part.outside_surface + part.inside_surface


def _solid_volume(part: Part) -> float | None:
    """m3 of what a part is made of, by its mass and material, else by its heat capacity."""
    if part.material in materials():
        return part.mass / material(str(part.material)).density.at(T_DENSITY).value
    return part.heat_capacity / HEAT_PER_VOLUME if part.heat_capacity is not None else None


def _bulk(variant: Variant, name: str, part: Part, findings: Findings) -> None:
    """No body holds more than the ball of its surface, A^1.5/(6 √π), nor is it thinner than foil."""
    A, V = _all_surface(part), _solid_volume(part)
    if A <= 0.0 or V is None:
        return
    most = A**1.5 / (6.0 * sqrt(pi))
    place = (variant, f"parts.{name}.mass")
    mass, surface = Amount(f"{part.mass:.3g} kg", part.mass, "kg"), Amount(f"{A:.3g} m2", A, "m2")
    step = "correct mass or surface; a surface counts what air touches on both sides"
    doubt(
        findings,
        V / most,
        f"part {name!r} has more mass than its surface can hold",
        (mass, surface),
        place,
        "part.bulk",
        step,
    )
    thin = THINNEST * A / V
    doubt(
        findings,
        thin,
        f"part {name!r} has less mass than foil of its surface",
        (mass, surface),
        place,
        "part.thin",
        step,
    )


def _size(variant: Variant, name: str, part: Part, findings: Findings) -> None:
    """Along the air a part is no longer than its surface lets it be."""
    A = _all_surface(part)
    if A <= 0.0:
        return
    figures = (Amount(f"{part.size * 1e3:.3g} mm", part.size, "mm"), Amount(f"{A:.3g} m2", A, "m2"))
    doubt(
        findings, part.size / (SLENDER * sqrt(A)), f"part {name!r} is larger than its surface lets it be", figures,
        (variant, f"parts.{name}.size"), "part.size", "correct size or surface; of a strip give its width",
    )  # fmt: skip


def _specific_heat(variant: Variant, name: str, part: Part, findings: Findings) -> None:
    """Heat capacity over mass lies between that of heavy metals and of water."""
    if part.heat_capacity is None:
        return
    c = part.heat_capacity / part.mass
    figures = (
        Amount(f"{part.heat_capacity:.3g} J/K", part.heat_capacity, "J/K"),
        Amount(f"{part.mass:.3g} kg", part.mass, "kg"),
    )
    place, step = (variant, f"parts.{name}.heat_capacity"), "correct heat_capacity or mass"
    times = max(c / MOST_HEAT, LEAST_HEAT / c)
    doubt(
        findings,
        times,
        f"part {name!r} has {c:.3g} J/kg/K, which nothing it may be made of has",
        figures,
        place,
        "part.heat",
        step,
    )


def _displacement(variant: Variant, findings: Findings) -> None:
    """Bore, stroke and cylinders against displacement."""
    e = variant.engine
    swept = pi / 4 * e.bore**2 * e.stroke * e.cylinders
    apart = max(swept / e.displacement, e.displacement / swept)
    if apart <= 1.03:
        return
    figures = (
        Amount(f"{e.displacement * 1e3:.3g} L", e.displacement, "L"), Amount(f"{swept * 1e3:.3g} L", swept, "L")
    )  # fmt: skip
    add = (
        findings.error if apart >= DOUBTED else findings.warning
    )  # no engine differs: all air follows from it
    add(
        "displacement differs from bore, stroke and cylinders",
        variant.where("engine.displacement"),
        got=f"{figures[0]} against {figures[1]}",
        next_step="correct one of the four",
        amounts=figures,
        code="engine.displacement",
    )


def _grille(variant: Variant, findings: Findings) -> None:
    """Openings from outside to the zone before a core against the core's face."""
    passages = variant.air.passages
    for name, core in variant.cores.items():
        face = getattr(core, "face_area", None) or getattr(core.geometry, "face_area", None)
        if face is None and core.geometry is not None and hasattr(core.geometry, "width"):
            face = core.geometry.width * core.geometry.height
        before = {passage.from_ for passage in passages.values() if passage.core == name}
        if face is None or not before:
            continue
        while more := {p.from_ for p in passages.values() if p.to in before and p.kind != "fan"} - before:
            before |= more
        opening = sum(p.area or 0.0 for p in passages.values() if p.from_ == "outside" and p.to in before)
        if "outside" not in before or opening <= 0.0:
            continue
        figures = (
            Amount(f"{face * 1e4:.4g} cm2", face, "cm2"),
            Amount(f"{opening * 1e4:.4g} cm2", opening, "cm2"),
        )
        doubt(
            findings, face / (NARROW * opening), f"the openings before core {name!r} are small for its face", figures,
            (variant, f"cores.{name}"), "core.opening", "correct the areas of grille and openings: mm2 for cm2?",
        )  # fmt: skip
