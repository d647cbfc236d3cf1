"""The network as data: one structured array per kind, handed to compiled kernels as they are.

A row is one link, branch, junction …; kernels read columns by name (`branches.first[k]`). Few, fixed types:
another kit or size never recompiles. Indices into temperatures count the masses first (0 … n-1), then the
boundaries (n … n+nb-1). Heat is positive into a mass; flow is positive from a branch's first junction to its
second.
"""

from typing import Any, NamedTuple

import numpy as np

from heatproof.numerics.sparse_lu import LUPattern

AIR, COOLANT, OIL, EXHAUST, COOLANT_2 = 0, 1, 2, 3, 4  # fluids of branches
FLUIDS = 5
VEHICLE_SPEED_COUNTS, STILL = -1, -2  # instead of an air junction, where a surface meets air of no zone
TABLE_POINTS = 12  # of an exchanger's hA over ln flow

_I, _F = np.int64, np.float64

CONDUCTION = np.dtype([("i", _I), ("j", _I), ("G", _F)])
"""q = G (T_j − T_i); G W/K."""

RADIATION = np.dtype([("i", _I), ("j", _I), ("FA", _F)])
"""q = σ𝓕A (T_j⁴ − T_i⁴); exchange area 𝓕A m2."""

CONVECTION = np.dtype(
    [
        ("i", _I),
        ("j", _I),
        ("area", _F),  # m2
        ("length", _F),  # m
        ("orientation", _I),  # of laws.convection.ORIENTATIONS
        ("junction", _I),  # air junction whose speed counts, or VEHICLE_SPEED_COUNTS, or STILL
        ("exposure", _F),  # factor on that speed
    ]
)
"""Surface i to air j; h from natural and forced convection."""

WETTED = np.dtype(
    [
        ("i", _I),
        ("j", _I),
        ("branch", _I),
        ("G_ref", _F),  # W/K
        ("m_ref", _F),  # kg/s
        ("exponent", _F),
        ("G_still", _F),  # W/K
        ("boiling_area", _F),  # m2 wetted by coolant where the wall may boil it; 0 elsewhere
        ("boiling_cell", _I),  # its row in BOILING, -1 none
    ]
)
"""Wall i to fluid cell j: G = G_still + G_ref (|m|/m_ref)^exponent with the flow m of `branch`."""

DUCT = np.dtype(
    [("i", _I), ("branch", _I), ("hA_ref", _F), ("m_ref", _F), ("exponent", _F), ("lining", _F)]  # K/W
)
"""Wall i heated or cooled by the stream of `branch` along its length (number of transfer units)."""

EXCHANGER = np.dtype(
    [
        ("hot", _I),  # branch
        ("cold", _I),  # branch
        ("metal", _I),  # mass
        ("hot_share", _F),  # share of the branch's flow that takes part
        ("cold_share", _F),
        ("arrangement", _I),
        ("hot_ln_m0", _F),  # ln of the first table flow
        ("hot_step", _F),
        ("cold_ln_m0", _F),
        ("cold_step", _F),
    ]
)
"""Two streams and the metal between them; ε-NTU at steady state. hA from log-log tables over flow."""

SOURCE = np.dtype(
    [
        ("r", _I),
        ("signal", _I),
        ("factor", _F),
        ("cause", _I),
        ("fades_from", _F),  # K of the mass: full heat up to here, inf where it never fades
        ("fades_over", _F),  # K, from there to none
    ]
)
"""q = factor · signal into mass r; `cause` names it in the ledger."""

BOILING = np.dtype(
    [("cell", _I), ("junction", _I), ("z", _F), ("receiver", _I), ("conductance", _F), ("tank", _I)]
)
"""Coolant cells that may reach saturation: heat above it leaves as vapour to `receiver`; tank: of the circuit."""

TANK = np.dtype(
    [
        ("fluid", _I),
        ("mass", _I),  # temperature index, -1 none: no pressure over ambient
        ("z", _F),  # m
        ("cap_pressure", _F),  # Pa over ambient
        ("air", _F),  # m3, cold
        ("liquid", _F),  # m3 in the whole circuit
        ("fill_temperature", _F),  # K
    ]
)
"""Expansion tank of one coolant circuit: what sets the pressure of the whole circuit."""

JUNCTIONS = np.dtype(
    [
        ("mass", _I),  # temperature index
        ("z", _F),  # m
        ("fixed", _I),  # 1: pressure given
        ("pressure", _F),  # Pa over ambient, where fixed
        ("pressure_coefficient", _F),  # of the dynamic pressure, where fixed
        ("place", _I),  # unknown number inside its network, -1 where fixed
        ("flow_area", _F),  # m2, for the air speed in a zone; 0 elsewhere
    ]
)

BRANCHES = np.dtype(
    [
        ("first", _I),  # junction
        ("second", _I),
        ("fluid", _I),
        ("a", _F),  # Pa s/kg at nu_ref
        ("b", _F),  # Pa s2/kg2 at rho_ref
        ("rho_ref", _F),
        ("nu_ref", _F),
        ("head", _F),  # Pa at speed ratio 1
        ("head_signal", _I),  # signal giving the speed; -1 none
        ("head_reference", _F),  # that signal's value at speed ratio 1
        ("lift", _I),  # thermostat number, -1 none
        ("lift_sense", _I),  # +1 opens with lift, -1 closes
        ("leak", _F),
        ("relief", _F),  # Pa before it opens; < 0: not a relief valve
        ("given", _I),  # signal that prescribes the flow, -1 none
        ("given_factor", _F),
        ("z1", _F),
        ("z2", _F),
        ("cell", _I),  # temperature index of the fluid inside, -1 none
        ("cp", _F),  # J/kg/K; of the signal EXHAUST_CP for exhaust
    ]
)
"""Δp = a m + b m|m| − head; a scales with kinematic viscosity, b with 1/density."""

NETWORKS = np.dtype(
    [
        ("junction_start", _I),
        ("junction_end", _I),
        ("branch_start", _I),
        ("branch_end", _I),
        ("unknowns", _I),
        ("fluid", _I),
        ("buoyant", _I),  # 1: temperatures move the flow
    ]
)

LIFTS = np.dtype([("sensor", _I), ("opens", _F), ("full", _F), ("tau", _F)])
"""Thermostats: dx/dt = (f(T) − x)/τ, f a smooth ramp from `opens` to `full` (K)."""

FANS = np.dtype(
    [
        ("sensor", _I),
        ("on", _F),  # K
        ("high", _F),  # K
        ("hysteresis", _F),  # K
        ("low_speed", _F),  # ratio
        ("with_ac", _F),
        ("run_on", _F),  # s after key-off
        ("with_engine", _F),  # 1: full speed while the engine runs; -1: off then; 0: by temperature
        ("tau", _F),  # s
    ]
)
"""Fans and electric pumps on a relay: target speed by engine, sensor temperature, air conditioning and run-on;
first-order lag."""

ENGINE = np.dtype(
    [
        ("displacement", _F),  # m3, whole engine
        ("cylinders", _I),
        ("bore", _F),  # m
        ("flow_exponent", _F),  # airflow ~ T_manifold^-exponent at fixed pressure
        ("indicated_efficiency", _F),  # of fuel energy, mixture 1.0
        ("friction_factor", _F),
        ("mixture_full", _F),
        ("mixture_part", _F),
        ("full_threshold", _F),
        ("wall_heat_factor", _F),
        ("gas_temperature_offset", _F),  # K, on the law's effective mean gas temperature
        ("heating_value", _F),  # J/kg
        ("air_fuel", _F),  # kg/kg, stoichiometric
        ("boost", _F),  # Pa over ambient at full load; 0 without turbo
        ("boost_absolute", _I),  # 1: `boost` is an absolute pressure, held at any altitude
        ("boost_from", _F),  # rev/s
        ("coolant", _I),  # temperature index the gas side looks at
        ("compressor_in", _I),  # temperature index
        ("plenum", _I),  # temperature index
        ("intake_junction", _I),  # air junction the filter draws from, -1 none
        ("filter_loss", _F),  # Pa s2/kg2
        ("charge_loss", _F),  # Pa s2/kg2 at charge_rho, compressor to manifold
        ("charge_rho", _F),  # kg/m3
        ("exhaust_loss", _F),  # Pa s2/kg2 at exhaust_T and one atmosphere, turbine to open air
        ("exhaust_T", _F),  # K
        ("turbo", _I),
        ("compressor_efficiency", _F),  # used where the map has no points
        ("turbine_efficiency", _F),
        ("mechanical_efficiency", _F),
        ("swallowing_area", _F),  # m2
        ("map_T_ref", _F),  # K; 0: no map
        ("map_p_ref", _F),  # Pa
        ("map_flow0", _F),  # kg/s corrected
        ("map_flow_step", _F),
        ("map_ratio0", _F),
        ("map_ratio_step", _F),
    ]
)
"""Mean-value engine and turbocharger (`network/engine.py`); one row."""

MAP_EFFICIENCY, MAP_SPEED, MAP_INSIDE = 0, 1, 2  # layers of Model.compressor_map


class PairSlots(NamedTuple):
    """Where links of two masses i, j stand in the matrix: columns ii, ij, jj, ji; -1 where a boundary takes part."""

    conduction: np.ndarray  # (links, 4) int32
    radiation: np.ndarray
    convection: np.ndarray
    wetted: np.ndarray
    radiating: np.ndarray  # indices of the radiation pairs that are in the matrix


class Model(NamedTuple):
    """Everything the kernels read. `capacity` counts masses, then ones for lifts and fans."""

    capacity: np.ndarray  # J/K
    weight: np.ndarray  # of the step error
    conduction: np.ndarray
    radiation: np.ndarray
    convection: np.ndarray
    wetted: np.ndarray
    duct: np.ndarray
    exchanger: np.ndarray
    hot_ln_hA: np.ndarray  # (exchangers, TABLE_POINTS)
    cold_ln_hA: np.ndarray
    source: np.ndarray
    boiling: np.ndarray
    junctions: np.ndarray
    branches: np.ndarray
    networks: np.ndarray
    lifts: np.ndarray
    fans: np.ndarray
    liquids: (
        np.ndarray
    )  # (FLUIDS, 7): r0, r1, r2 of density, A, B, C of ln ν, cp; gases are computed, not read
    engine: np.ndarray  # (1,)
    breathing: np.ndarray  # (2, points): rev/s, volumetric efficiency on the manifold state
    compressor_map: np.ndarray  # (3, ratios, flows): efficiency, corrected rev/s, 1 inside the map
    pattern: LUPattern
    pair_slots: PairSlots


class Surroundings(NamedTuple):
    """What stays the same through one duty."""

    pressure: float  # Pa, ambient
    temperature: float  # K, ambient
    density: float  # kg/m3, ambient air
    boundary: np.ndarray  # K, temperatures of the boundaries; 0 is ambient air
    sun: float  # W/m2
    saturation_p0: float  # Pa absolute, first pressure of the boiling table
    saturation_step: float  # Pa
    saturation_T: np.ndarray  # (tanks, points) K, of each circuit's coolant
    tanks: np.ndarray  # (tanks,) TANK; 0 is the engine coolant's


class Work(NamedTuple):
    """Scratch and last coefficients of one evaluation; kept between calls as warm start."""

    T: np.ndarray  # masses and boundaries
    sig: np.ndarray
    lift: np.ndarray
    p: np.ndarray
    m: np.ndarray
    law: np.ndarray  # (4, branches): slope dm/dΔp, a, b, driving head
    L: np.ndarray  # (networks, most unknowns, most unknowns)
    R: np.ndarray
    step: np.ndarray
    speed: np.ndarray  # air speed of each junction
    g_convection: np.ndarray
    g_wetted: np.ndarray
    g_duct: np.ndarray
    g_exchanger: np.ndarray  # (2, exchangers): hot, cold
    boil: np.ndarray  # (2, cells): conductance past saturation, saturation temperature
    rate: np.ndarray  # W (1/s for lifts and fans)
    energy: np.ndarray  # [in, out, positive part of in] W
    tried: np.ndarray  # (2, signals): of an engine asked for more than it can give


SLOPE, LAW_A, LAW_B, DRIVE = 0, 1, 2, 3  # rows of Work.law


def records(kind: np.dtype, rows: list[dict[str, Any]]) -> np.ndarray:
    """Structured array of one kind from rows by column name; every column must be given."""
    table = np.zeros(len(rows), dtype=kind)
    for column in kind.names or ():
        table[column] = [row[column] for row in rows]
    return table
