"""The charge air from the filter to the intake valves: small air nodes, the pipes' walls, compressor, cooler."""

import math

from heatproof.assembly.cores import charge_side_loss
from heatproof.kit.records.engine import ChargePipe
from heatproof.kit.records.variant import Variant
from heatproof.laws.convection import nusselt_duct
from heatproof.laws.pressure_loss import bend_loss, friction_factor
from heatproof.media.air import conductivity_air, prandtl_air, viscosity_air
from heatproof.network import signals as S
from heatproof.network.arrays import AIR
from heatproof.network.builder import NetworkBuilder

T_REFERENCE = 370.0  # K at which pipe properties are taken
FLOW_REFERENCE = 0.12  # kg/s
AIR_CAPACITY = 2.0  # J/K of an air node in a pipe
STEP_WEIGHT = 0.02  # of the step error: these nodes settle within a step
# Behind the cooler: its metal lags, and what it does to the charge hangs on both temperatures.
COOLER_WEIGHT = 0.15
CP_AIR = 1008.0
R_AIR = 287.05
RHO_REFERENCE = 1.6  # kg/m3 at which charge losses are stated
BEND_RADIUS = 1.5  # over the bore
SMOOTH_TURBULENT = 0.017
FILTER = "air.(filter)"  # a junction no zone can be called after: names in files hold no brackets


def pipe_conductance(bore: float, area: float) -> float:
    """hA (W/K) of air in a pipe at the reference flow, by Gnielinski."""
    mu = viscosity_air(T_REFERENCE)
    Re = 4.0 * FLOW_REFERENCE / (math.pi * bore * mu)
    return nusselt_duct(Re, prandtl_air(T_REFERENCE)) * conductivity_air(T_REFERENCE) / bore * area


def pipe_loss(pipe: ChargePipe) -> float:
    """Pa s2/kg2 at RHO_REFERENCE: friction, bends, further losses."""
    area = math.pi / 4.0 * pipe.bore**2
    Re = 4.0 * FLOW_REFERENCE / (math.pi * pipe.bore * viscosity_air(T_REFERENCE))
    K = friction_factor(Re, 0.0) * pipe.length / pipe.bore + pipe.loss
    K += pipe.bends * bend_loss(BEND_RADIUS, SMOOTH_TURBULENT)
    return K / (2.0 * RHO_REFERENCE * area**2)


class Chain:
    """Nodes one after another, each fed by a branch that carries the engine's air."""

    def __init__(self, b: NetworkBuilder, first: str) -> None:
        self.b, self.last = b, first

    def node(self, branch: str, name: str, weight: float = STEP_WEIGHT) -> str:
        """A new node behind the last; returns its name."""
        self.b.mass(name, AIR_CAPACITY, kind="gas", weight=weight)
        self.b.junction("charge", name, name, 0.5, fixed=True)
        self.b.branch("charge", branch, self.last, name, given=S.AIR, cp=CP_AIR)
        self.last = name
        return name

    def pipe(self, name: str, pipe: ChargePipe) -> None:
        """A node behind a pipe whose wall is a part."""
        self.node(f"charge.{name}", f"charge.{name}")
        hA = pipe_conductance(pipe.bore, math.pi * pipe.bore * pipe.length)
        self.b.duct(pipe.part, f"charge.{name}", hA_ref=hA, m_ref=FLOW_REFERENCE)


def lay_draw(b: NetworkBuilder, variant: Variant) -> str:
    """The air the engine draws out of its zone; returns the first node of the chain."""
    b.mass("charge.filter", AIR_CAPACITY, kind="gas", weight=STEP_WEIGHT)
    zone = variant.charge.draws_from
    b.junction("air", FILTER, "charge.filter", 0.6, fixed=True)
    if zone == "outside":
        b.junction("air", f"{FILTER}.outside", "ambient", 0.6, fixed=True)
    b.branch("air", "air.engine_draw", intake_junction(variant), FILTER, given=S.AIR, cp=CP_AIR)
    b.junction("charge", "charge.filter", "charge.filter", 0.5, fixed=True)
    return "charge.filter"


def intake_junction(variant: Variant) -> str:
    """Air junction the filter draws from."""
    zone = variant.charge.draws_from
    return f"{FILTER}.outside" if zone == "outside" else f"air.{zone}"


def lay_charge(b: NetworkBuilder, variant: Variant) -> None:
    """The whole chain; `charge.inlet` is what enters compressor or engine, `charge.plenum` the manifold."""
    b.network("charge", AIR, buoyant=False)
    b.junction("charge", "charge.end", "ambient", 0.5, fixed=True)
    charge, turbo = variant.charge, variant.turbo
    chain = Chain(b, lay_draw(b, variant))
    chain.node("charge.inlet_pipe", "charge.inlet")
    if charge.inlet_pipe is not None:
        pipe = charge.inlet_pipe
        hA = pipe_conductance(pipe.bore, math.pi * pipe.bore * pipe.length)
        b.duct(pipe.part, "charge.inlet_pipe", hA_ref=hA, m_ref=FLOW_REFERENCE)
    if turbo is not None:
        out = chain.node("charge.compressor", "charge.compressor_out")
        b.source(out, S.COMPRESSION_HEAT, 1.0, "compression")
        chain.node("charge.volute", "charge.volute")
        hA = pipe_conductance(turbo.compressor_bore, turbo.compressor_wetted_area)
        b.duct(turbo.part_compressor, "charge.volute", hA_ref=hA, m_ref=FLOW_REFERENCE)
    if charge.hot_pipe is not None:
        chain.pipe("hot_pipe", charge.hot_pipe)
    if charge.cooler is not None:
        chain.node("charge.cooler", "charge.cooler_out", weight=COOLER_WEIGHT)
    if charge.cold_pipe is not None:
        chain.pipe("cold_pipe", charge.cold_pipe)
    chain.node("charge.plenum", "charge.plenum")
    plenum = charge.plenum
    bore = (plenum.volume / plenum.wetted_area) * 4.0
    hA = pipe_conductance(max(bore, 0.03), plenum.wetted_area)
    b.duct(plenum.part, "charge.plenum", hA_ref=hA, m_ref=FLOW_REFERENCE)
    b.branch("charge", "charge.engine", "charge.plenum", "charge.end", given=S.AIR, cp=CP_AIR)


def charge_loss(variant: Variant) -> float:
    """Pa s2/kg2 at RHO_REFERENCE from compressor to intake manifold."""
    charge = variant.charge
    total = sum(pipe_loss(pipe) for pipe in (charge.hot_pipe, charge.cold_pipe) if pipe is not None)
    if charge.cooler is not None:
        total += charge_side_loss(variant, RHO_REFERENCE)
    if charge.throttle is not None:
        area = math.pi / 4.0 * charge.throttle.bore**2
        total += charge.throttle.loss / (2.0 * RHO_REFERENCE * area**2)
    return total


def intake_loss(variant: Variant) -> float:
    """Pa s2/kg2 from the filter's zone to compressor or engine."""
    charge = variant.charge
    total = charge.filter.pressure_loss / charge.filter.at_flow**2
    if charge.inlet_pipe is not None:
        total += pipe_loss(charge.inlet_pipe) * RHO_REFERENCE / 1.15
    return total
