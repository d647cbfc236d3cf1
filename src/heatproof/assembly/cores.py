"""Lays exchanger cores between two branches: metal, exchangers, what is left when a stream stands still."""

from collections.abc import Mapping
from dataclasses import dataclass

from heatproof.assembly.circuits import AnyLine
from heatproof.assembly.core_tables import (
    P_AMBIENT,
    T_AMBIENT,
    T_CHARGE,
    Table,
    air_losses,
    air_stream,
    arrangement,
    circuit_stream,
    face_area,
    face_height,
    hot_losses,
    of_share,
    oil_stream,
    power_table,
    rated_condenser,
    rated_conductances,
    side_table,
    sides,
)
from heatproof.kit.records.air import Core, Passage
from heatproof.kit.records.variant import Variant
from heatproof.laws.convection import VERTICAL
from heatproof.laws.core import Stream, conductance_power_law, core_side
from heatproof.media.air import density_air, viscosity_air
from heatproof.network import signals as S
from heatproof.network.builder import NetworkBuilder

REFERENCE_DENSITY = density_air(T_AMBIENT, P_AMBIENT)
REFERENCE_VISCOSITY = viscosity_air(T_AMBIENT) / REFERENCE_DENSITY
CP_METAL = 880.0  # J/kg/K, aluminium alloy (media/data/materials.csv)
STILL_SHARE = 0.005
"""Part of the wet side's conductance left between metal and standing liquid. The kernel's links do not fade
with flow, so it is kept this small: under 3 % of the core's conductance (tests), about 0.1 % of its heat."""
AIR_PER_POWER = 1e-6  # kg/s of charge air per W of rated power; common practice, no source
CAUSE_AC = "air conditioning"
SWITCH_SPAN = 10.0
"""K from 24 to 30 bar of saturated R134a: how far a high-pressure switch waits (common practice, no source)."""


@dataclass(frozen=True)
class Streams:
    """Branches a core stands between. `cold` None: air, by the passages that name the core."""

    hot: str
    hot_stream: Stream
    cold: str | None
    cold_stream: Stream


def air_branch(core: Core, share: float) -> tuple[float, float]:
    """a (Pa s/kg), b (Pa s2/kg2) of a share of the face, at `REFERENCE_DENSITY` and `REFERENCE_VISCOSITY`."""
    a, b = air_losses(core)
    return a / share, b / share**2


def charge_side_loss(variant: Variant, rho: float) -> float:
    """Pa s2/kg2 of the charge side of the charge cooler at rho (kg/m3); 0 without one.

    A geometry is read at the air flow of rated power; a rated core's loss is taken to hold at this density.
    """
    if variant.charge.cooler is None:
        return 0.0
    core = variant.cores[variant.charge.cooler]
    if core.geometry is None:
        return hot_losses(core, air_stream(T_CHARGE, rho))[1]
    m = AIR_PER_POWER * variant.engine.rated_power
    return core_side(sides(core.geometry).hot, m, air_stream(T_CHARGE, rho)).dp / m**2


def lay_cores(b: NetworkBuilder, variant: Variant) -> None:
    """Metal `core.<core>` and exchangers of every core; branches may be laid before or after."""
    for name, core in variant.cores.items():
        if not in_use(variant, name, core):
            continue
        b.mass(f"core.{name}", core.mass * CP_METAL)
        if core.kind == "condenser":
            lay_condenser(b, variant, name, core)
        else:
            lay_exchangers(b, variant, name, core)
        lay_faces(b, variant, name, core)


def in_use(variant: Variant, name: str, core: Core) -> bool:
    """False for a charge cooler that no charge pipe leads to."""
    return core.kind != "charge_cooler" or variant.charge.cooler == name


def passages_of(variant: Variant, name: str) -> dict[str, Passage]:
    """Air passages through a core."""
    return {n: p for n, p in variant.air.passages.items() if p.core == name}


def liquid_line(lines: Mapping[str, AnyLine], core: Core, name: str) -> str:
    """The line a core sits in: its own word, else the line that names it."""
    if core.line is not None:
        return core.line
    return next(n for n, line in lines.items() if line.core == name)


def coolant_path(core: Core) -> str:
    """Path of the coolant circuit a core belongs to."""
    return "coolant" if core.circuit is None else f"circuits.{core.circuit}"


def streams(variant: Variant, name: str, core: Core) -> Streams:
    """Hot and cold branch of a core, with the states its tables are made at."""
    path = coolant_path(core)
    circuit = variant.coolants[path]
    coolant = circuit_stream(circuit)
    if core.kind == "radiator":
        hot, stream = f"{path}.{liquid_line(circuit.lines, core, name)}", coolant
    elif core.kind == "oil_cooler":
        hot, stream = f"oil.{liquid_line(variant.oil.lines, core, name)}", oil_stream(variant.oil.grade)
    else:
        hot, stream = "charge.cooler", air_stream(T_CHARGE)
    if core.coolant_line is not None:
        return Streams(hot, stream, f"{path}.{core.coolant_line}", coolant)
    return Streams(hot, stream, None, air_stream())


def tables(core: Core, s: Streams) -> tuple[Table, Table]:
    """hA tables of the whole core, hot and cold. Dirt counts on the cold side only."""
    if core.geometry is not None:
        both = sides(core.geometry)
        cold = side_table(both.cold, s.cold_stream, core.geometry.fouling_factor)
        return side_table(both.hot, s.hot_stream), cold
    if core.rated is None:
        raise ValueError("a core needs its geometry or a rated point")
    r = core.rated
    hot, cold_hA = rated_conductances(r, s.hot_stream.cp, s.cold_stream.cp, arrangement(core))
    return (
        power_table(hot, r.hot_flow, r.hot_exponent),
        power_table(cold_hA, r.cold_flow, r.cold_exponent),
    )


def lay_exchangers(b: NetworkBuilder, variant: Variant, name: str, core: Core) -> None:
    """One exchanger per air passage, each with its share of the hot stream; or one between two lines."""
    s = streams(variant, name, core)
    hot, cold = tables(core, s)
    if s.cold is not None:
        places: list[tuple[str, str, float]] = [(name, s.cold, 1.0)]
    else:
        places = [(f"{name} in {n}", f"air.{n}", p.share) for n, p in passages_of(variant, name).items()]
    for label, branch, share in places:
        b.exchanger(
            label,
            hot=s.hot,
            cold=branch,
            metal=f"core.{name}",
            hot_table=of_share(hot, share),
            cold_table=of_share(cold, share),
            arrangement=arrangement(core),
            hot_share=share,
        )
    for wet, table in ((s.hot, hot), (s.cold, cold)):
        if wet is not None and not wet.startswith("charge."):
            lay_still(b, name, wet, table)


def lay_still(b: NetworkBuilder, name: str, branch: str, table: Table) -> None:
    """A weak link between metal and the liquid standing in it (see `STILL_SHARE`)."""
    middle = float(table[1][len(table[1]) // 2])
    b.wetted(f"core.{name}", f"{branch}.fluid", branch, G_ref=0.0, m_ref=1.0, G_still=STILL_SHARE * middle)


def lay_condenser(b: NetworkBuilder, variant: Variant, name: str, core: Core) -> None:
    """Heat of the air conditioning into the metal, and from it to the air of each passage.

    A condenser that air does not cool drives the pressure up until its switch stops the compressor; it comes back
    `SWITCH_SPAN` below. The mean heat of that going on and off falls straight between the two; the refrigerant is
    taken to condense at the metal's temperature, one or two kelvin too low.
    """
    metal = f"core.{name}"
    fades = (core.cut_out_temperature - SWITCH_SPAN, SWITCH_SPAN)
    b.source(metal, S.AIR_CONDITIONING, core.heat or 0.0, CAUSE_AC, fades=fades)
    hA, m_ref, exponent = condenser_law(core)
    for passage, p in passages_of(variant, name).items():
        b.duct(metal, f"air.{passage}", hA_ref=hA * p.share, m_ref=m_ref * p.share, exponent=exponent)


def condenser_law(core: Core) -> tuple[float, float, float]:
    """hA (W/K) at a flow (kg/s) and its exponent, whole face."""
    if core.geometry is None:
        if core.rated is None:
            raise ValueError("a condenser needs its geometry or a rated point")
        return rated_condenser(core.rated), core.rated.cold_flow, core.rated.cold_exponent
    stream = air_stream()
    low, high = (u * stream.rho * face_area(core) for u in (1.0, 8.0))
    c, n = conductance_power_law(sides(core.geometry).cold, stream, low, high)
    return core.geometry.fouling_factor * c * high**n, high, n


def lay_faces(b: NetworkBuilder, variant: Variant, name: str, core: Core) -> None:
    """Natural convection from both faces: what is left when no air is moved."""
    area, height = face_area(core), face_height(core)
    for n, p in passages_of(variant, name).items():
        for zone in (p.from_, p.to):
            air = "ambient" if zone == "outside" else f"air.{zone}"
            label = f"{name} face in {n}, {zone}"
            b.convection(f"core.{name}", air, p.share * area, height, orientation=VERTICAL, name=label)
