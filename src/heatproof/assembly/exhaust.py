"""The exhaust gas from the ports to the tail: a gas node per piece, its metal along the way, the turbine."""

import math

from heatproof.kit.records.engine import ExhaustPiece
from heatproof.kit.records.parts import Part
from heatproof.kit.records.variant import Variant
from heatproof.laws.exhaust_pipe import manifold_coefficient
from heatproof.media.exhaust import conductivity_exhaust, viscosity_exhaust
from heatproof.network import signals as S
from heatproof.network.arrays import EXHAUST
from heatproof.network.builder import NetworkBuilder

T_REFERENCE = 950.0  # K at which gas properties are taken
FLOW_REFERENCE = 0.12  # kg/s; h ~ flow^0.75 from there
EXPONENT = 0.75
GAS_CAPACITY = 1.0  # J/K of a gas node; real ones are smaller and as fast
R_GAS = 287.0
FRICTION = 0.03  # Darcy, rough pipe
SILENCER_LOSS = 6.0  # on the bore; estimate
AMBIENT_PRESSURE = 101325.0
STEP_WEIGHT = 0.002  # of the step error: gas settles within a step, and what it gives to walls is in theirs
PORTS = "exhaust.ports"
OUTSIDE, END = "exhaust.(outside)", "exhaust.(end)"
"""What no piece can be called: names in files hold no brackets. `ports` and `turbine` are refused there."""


def in_order(pieces: dict[str, ExhaustPiece]) -> list[tuple[str, ExhaustPiece]]:
    """Pieces in flow order: file order, with those that say `after` moved behind it."""
    names = [name for name, piece in pieces.items() if piece.after is None]
    for name, piece in pieces.items():
        if piece.after is not None and piece.after in names:
            names.insert(names.index(piece.after) + 1, name)
    return [(name, pieces[name]) for name in names]


def wetted_area(piece: ExhaustPiece) -> float:
    """Gas-side surface (m2)."""
    if piece.wetted_area is not None:
        return piece.wetted_area
    return piece.runners * math.pi * piece.bore * piece.length


def gas_conductance(bore: float, area: float, runners: int, factor: float) -> float:
    """hA (W/K) at the reference flow by Nu = 0.07 Re^0.75."""
    mu, k = viscosity_exhaust(T_REFERENCE, 1.0), conductivity_exhaust(T_REFERENCE, 1.0)
    return factor * manifold_coefficient(FLOW_REFERENCE / runners, bore, mu, k) * area


def lining_resistance(area: float, part: Part) -> float:
    """K/W of a part's lining on the surface (m2) that gas wets, t/(k A); 0 without one."""
    return part.lining.thickness / (part.lining.conductivity * area) if part.lining is not None else 0.0


def lay_exhaust(b: NetworkBuilder, variant: Variant) -> None:
    """Gas nodes, the metal they heat, the work the turbine takes."""
    b.network("exhaust", EXHAUST, buoyant=False)
    b.junction("exhaust", OUTSIDE, "ambient", 0.3, fixed=True)
    b.junction("exhaust", END, "ambient", 0.3, fixed=True)
    last = gas_node(b, PORTS)
    b.branch("exhaust", "exhaust.(engine)", OUTSIDE, last, given=S.EXHAUST)
    b.source(last, S.EXHAUST_HEAT, 1.0, "exhaust gas")
    for name, piece in in_order(variant.exhaust):
        node = gas_node(b, f"exhaust.{name}")
        b.branch("exhaust", f"exhaust.{name}", last, node, given=S.EXHAUST)
        area = wetted_area(piece)
        hA = gas_conductance(piece.bore, area, piece.runners, piece.correlation_factor)
        lining = lining_resistance(area, variant.parts[piece.part])
        lay_wall(b, piece.part, f"exhaust.{name}", hA, lining)
        last = node
        if piece.turbine and variant.turbo is not None:
            last = lay_turbine(b, variant, last)
    b.branch("exhaust", "exhaust.(tail)", last, END, given=S.EXHAUST)


def lay_wall(b: NetworkBuilder, part: str, branch: str, hA: float, lining: float) -> None:
    """A part along the gas of a branch: hA (W/K) at the reference flow, its lining (K/W) in series."""
    b.duct(part, branch, hA_ref=hA, m_ref=FLOW_REFERENCE, exponent=EXPONENT, lining=lining)


def gas_node(b: NetworkBuilder, name: str) -> str:
    """A small gas volume with a junction of the same name."""
    b.mass(name, GAS_CAPACITY, kind="gas", weight=STEP_WEIGHT)
    return b.junction("exhaust", name, name, 0.3, fixed=True)


def lay_turbine(b: NetworkBuilder, variant: Variant, before: str) -> str:
    """Housing heated by the gas, work taken from it; wheel and wastegate flow are mixed behind it."""
    turbo = variant.turbo
    assert turbo is not None
    node = gas_node(b, "exhaust.turbine")
    b.branch("exhaust", "exhaust.turbine", before, node, given=S.EXHAUST)
    hA = gas_conductance(turbo.turbine_bore, turbo.turbine_wetted_area, 1, turbo.turbine_correlation_factor)
    lining = lining_resistance(turbo.turbine_wetted_area, variant.parts[turbo.part_turbine])
    lay_wall(b, turbo.part_turbine, "exhaust.turbine", hA, lining)
    b.source(node, S.TURBINE_WORK, -1.0, "turbine work")
    return node


def back_pressure(variant: Variant) -> float:
    """Pa s2/kg2 at T_REFERENCE and one atmosphere, from the turbine (or the ports) to the open air."""
    rho = AMBIENT_PRESSURE / (R_GAS * T_REFERENCE)
    pieces = in_order(variant.exhaust)
    after = next((i + 1 for i, (_, piece) in enumerate(pieces) if piece.turbine and variant.turbo), 0)
    total = 0.0
    for _, piece in pieces[after:]:
        area = piece.runners * math.pi / 4.0 * piece.bore**2
        K = piece.loss + FRICTION * piece.length / piece.bore + (SILENCER_LOSS if piece.silencer else 0.0)
        total += K / (2.0 * rho * area**2)
    last = pieces[-1][1]
    return total + 1.0 / (2.0 * rho * (math.pi / 4.0 * last.bore**2) ** 2)
