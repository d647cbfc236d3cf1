"""Lays a network link by link, by name, and turns it into arrays once.

A trade part is a function that calls these methods; it owns no solver. Names are kept, so that every result
can say what it belongs to. Any order of calls gives the same answers.
"""

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from heatproof.network import arrays as A
from heatproof.network import signals as S
from heatproof.network.pattern import implicit_pairs, possible_entries
from heatproof.numerics.sparse_lu import lu_pattern

VEHICLE_AIR, STILL_AIR = "(vehicle air)", "(still air)"
SMALLEST_CAPACITY = 0.5  # J/K
CAUSE_AMBIENT = "ambient"


@dataclass(frozen=True)
class Network:
    """Arrays for the kernels, and the names that go with them."""

    model: A.Model
    masses: tuple[str, ...]
    boundaries: tuple[str, ...]
    junctions: tuple[str, ...]
    branches: tuple[str, ...]
    networks: tuple[str, ...]
    lifts: tuple[str, ...]
    fans: tuple[str, ...]
    causes: tuple[str, ...]
    link_names: dict[str, tuple[str, ...]]
    boundary_temperatures: tuple[float, ...]  # K; nan where the duty's ambient counts
    tanks: dict[str, str]  # network → mass of its expansion tank
    kinds: dict[str, str]
    link_pairs: dict[str, tuple[tuple[str, str], ...]] = field(default_factory=dict)

    @property
    def size(self) -> int:
        """Number of states: masses, thermostat lifts, fan speeds."""
        return int(self.model.capacity.size)

    def mass(self, name: str) -> int:
        """Index of a mass."""
        return self.masses.index(name)


class NetworkError(ValueError):
    """A link names something that was never laid; the message says which."""


class NetworkBuilder:
    """Collects masses, links, junctions and branches by name."""

    def __init__(self) -> None:
        self._masses: dict[str, dict[str, Any]] = {}
        self._boundaries: dict[str, float] = {"ambient": float("nan")}
        self._junctions: dict[str, dict[str, Any]] = {}
        self._branches: dict[str, dict[str, Any]] = {}
        self._networks: dict[str, dict[str, Any]] = {}
        self._links: dict[str, list[dict[str, Any]]] = {
            k: []
            for k in (
                "conduction",
                "radiation",
                "convection",
                "wetted",
                "duct",
                "exchanger",
                "source",
                "boiling",
            )
        }
        self._lifts: dict[str, dict[str, Any]] = {}
        self._fans: dict[str, dict[str, Any]] = {}
        self._fluids: dict[int, np.ndarray] = {}
        self._engine: dict[str, Any] | None = None
        self._breathing = np.array([[0.0, 1.0], [1.0, 1.0]])
        self._compressor_map = np.ones((3, 2, 2))
        self._tanks: dict[str, str] = {}

    # --- what stores heat -------------------------------------------------------------------------
    def mass(self, name: str, capacity: float, *, kind: str = "solid", weight: float | None = None) -> str:
        """A lump with heat capacity (J/K). kind: solid, air, coolant, oil, gas; weight: of the step error."""
        if name in self._masses:
            raise NetworkError(f"mass {name!r} is laid twice")
        default = {"solid": 1.0, "coolant": 1.0, "oil": 1.0, "air": 0.2, "gas": 0.1}[kind]
        self._masses[name] = {
            "capacity": max(capacity, SMALLEST_CAPACITY),
            "kind": kind,
            "weight": default if weight is None else weight,
        }
        return name

    def boundary(self, name: str, temperature: float | None = None) -> str:
        """A given temperature (K); None: the duty's ambient. `ambient` is always there."""
        self._boundaries[name] = float("nan") if temperature is None else temperature
        return name

    def has_mass(self, name: str) -> bool:
        """Whether a mass of this name has been laid."""
        return name in self._masses

    # --- what passes heat -------------------------------------------------------------------------
    def conduction(self, i: str, j: str, G: float, *, name: str = "") -> None:
        """q = G (T_j − T_i), G in W/K."""
        self._link("conduction", name or f"{i} – {j}", i=i, j=j, G=G)

    def radiation(self, i: str, j: str, exchange_area: float, *, name: str = "") -> None:
        """q = σ𝓕A (T_j⁴ − T_i⁴), exchange area 𝓕A in m2."""
        self._link("radiation", name or f"{i} – {j}", i=i, j=j, FA=exchange_area)

    def convection(
        self,
        i: str,
        j: str,
        area: float,
        length: float,
        *,
        junction: str = STILL_AIR,
        exposure: float = 1.0,
        orientation: int = 1,
        name: str = "",
    ) -> None:
        """Surface i in air j (a zone's mass or a boundary). area m2, length m.

        junction: air junction whose speed counts, or VEHICLE_AIR, or STILL_AIR; exposure: factor on it;
        orientation: number of laws.convection.ORIENTATIONS.
        """
        self._link(
            "convection",
            name or f"{i} – {j}",
            i=i,
            j=j,
            area=area,
            length=length,
            junction=junction,
            exposure=exposure,
            orientation=orientation,
        )

    def wetted(
        self,
        wall: str,
        fluid: str,
        branch: str,
        *,
        G_ref: float,
        m_ref: float,
        exponent: float = 0.8,
        G_still: float = 0.0,
        boiling_area: float = 0.0,
        name: str = "",
    ) -> None:
        """Wall to fluid cell: G_still + G_ref (|m|/m_ref)^exponent W/K; boiling_area m2 of wall in coolant."""
        self._link(
            "wetted",
            name or f"{wall} – {fluid}",
            i=wall,
            j=fluid,
            branch=branch,
            G_ref=G_ref,
            m_ref=m_ref,
            exponent=exponent,
            G_still=G_still,
            boiling_area=boiling_area,
        )

    def duct(
        self,
        wall: str,
        branch: str,
        *,
        hA_ref: float,
        m_ref: float,
        exponent: float = 0.8,
        lining: float = 0.0,
        name: str = "",
    ) -> None:
        """Wall along the stream of a branch; 1/hA = 1/(hA_ref (|m|/m_ref)^exponent) + lining, hA W/K, lining K/W."""
        self._link(
            "duct",
            name or f"{branch} – {wall}",
            i=wall,
            branch=branch,
            hA_ref=hA_ref,
            m_ref=m_ref,
            exponent=exponent,
            lining=lining,
        )

    def exchanger(
        self,
        name: str,
        *,
        hot: str,
        cold: str,
        metal: str,
        hot_table: tuple[np.ndarray, np.ndarray],
        cold_table: tuple[np.ndarray, np.ndarray],
        arrangement: int = 0,
        hot_share: float = 1.0,
        cold_share: float = 1.0,
    ) -> None:
        """Two branches and metal between. Tables: (flow kg/s, hA W/K), flows ascending, > 0."""
        hot_t, cold_t = log_table(*hot_table), log_table(*cold_table)
        self._link(
            "exchanger",
            name,
            hot=hot,
            cold=cold,
            metal=metal,
            arrangement=arrangement,
            hot_share=hot_share,
            cold_share=cold_share,
            hot_ln_m0=hot_t[0],
            hot_step=hot_t[1],
            hot_ln_hA=hot_t[2],
            cold_ln_m0=cold_t[0],
            cold_step=cold_t[1],
            cold_ln_hA=cold_t[2],
        )

    def source(
        self,
        mass: str,
        signal: int,
        factor: float,
        cause: str,
        *,
        name: str = "",
        fades: tuple[float, float] = (float("inf"), 1.0),
    ) -> None:
        """q = factor · signal into a mass; `cause` is its row in the ledger.

        fades: temperature of the mass (K) from which the heat falls, and kelvin over which it falls to none.
        """
        self._link(
            "source",
            name or f"{cause} into {mass}",
            r=mass,
            signal=signal,
            factor=factor,
            cause=cause,
            fades_from=fades[0],
            fades_over=fades[1],
        )

    def tank(self, network: str, mass: str) -> int:
        """The expansion tank of a coolant circuit; returns its number, 0 for the first."""
        self._tanks[network] = mass
        if len(self._tanks) > S.MAX_TANKS:
            raise NetworkError(f"at most {S.MAX_TANKS} expansion tanks")
        return len(self._tanks) - 1

    def boiling(
        self,
        cell: str,
        junction: str,
        z: float,
        receiver: str | None,
        conductance: float,
        *,
        tank: int = 0,
        name: str = "",
    ) -> None:
        """A coolant cell (height z m) that gives heat past saturation to `receiver` (None: out of the car).

        tank: number of the expansion tank whose pressure counts.
        """
        self._link(
            "boiling",
            name or cell,
            cell=cell,
            junction=junction,
            z=z,
            receiver=receiver or "ambient",
            conductance=conductance,
            tank=tank,
        )

    # --- what flows ---------------------------------------------------------------------------------
    def network(self, name: str, fluid: int, *, buoyant: bool = True) -> None:
        """A set of junctions and branches solved together.

        fluid: AIR, COOLANT, OIL, EXHAUST, COOLANT_2 and on for further liquids.
        """
        self._networks[name] = {"fluid": fluid, "buoyant": buoyant}

    def junction(
        self,
        network: str,
        name: str,
        mass: str,
        z: float,
        *,
        fixed: bool = False,
        pressure: float = 0.0,
        pressure_coefficient: float = 0.0,
        flow_area: float = 0.0,
    ) -> str:
        """A pressure at height z (m); its temperature is a mass's or a boundary's.

        fixed: pressure (Pa over ambient) + pressure_coefficient · dynamic pressure. flow_area: m2, for the
        air speed in a zone.
        """
        if name in self._junctions:
            raise NetworkError(f"junction {name!r} is laid twice")
        self._junctions[name] = {
            "network": network,
            "mass": mass,
            "z": z,
            "fixed": fixed,
            "pressure": pressure,
            "pressure_coefficient": pressure_coefficient,
            "flow_area": flow_area,
        }
        return name

    def branch(
        self,
        network: str,
        name: str,
        first: str,
        second: str,
        *,
        a: float = 0.0,
        b: float = 0.0,
        rho_ref: float = 1.0,
        nu_ref: float = 1.0,
        head: float = 0.0,
        head_signal: int = -1,
        head_reference: float = 1.0,
        lift: str | None = None,
        lift_sense: int = 1,
        leak: float = 0.0,
        relief: float = -1.0,
        given: int = -1,
        given_factor: float = 1.0,
        z1: float | None = None,
        z2: float | None = None,
        cell: str | None = None,
        cp: float = 1008.0,
    ) -> str:
        """Δp = a m + b m|m| − head·(signal/reference)² between two junctions; m kg/s from first to second.

        a (Pa s/kg) holds at kinematic viscosity nu_ref (m2/s), b (Pa s2/kg2) and head (Pa) at rho_ref (kg/m3).
        given: signal that prescribes the flow instead. z1, z2: heights (m) of the two ends, else the
        junctions'. cell: mass of the fluid inside.
        """
        if name in self._branches:
            raise NetworkError(f"branch {name!r} is laid twice")
        self._branches[name] = {
            "network": network,
            "first": first,
            "second": second,
            "a": a,
            "b": b,
            "rho_ref": rho_ref,
            "nu_ref": nu_ref,
            "head": head,
            "head_signal": head_signal,
            "head_reference": head_reference,
            "lift": lift,
            "lift_sense": lift_sense,
            "leak": leak,
            "relief": relief,
            "given": given,
            "given_factor": given_factor,
            "z1": z1,
            "z2": z2,
            "cell": cell,
            "cp": cp,
        }
        return name

    def thermostat(self, name: str, sensor: str, opens: float, full: float, tau: float = 8.0) -> str:
        """A lift that follows a mass's temperature from `opens` to `full` (K) with lag tau (s)."""
        self._lifts[name] = {"sensor": sensor, "opens": opens, "full": full, "tau": tau}
        return name

    def fan(
        self,
        name: str,
        sensor: str,
        *,
        on: float,
        high: float,
        hysteresis: float,
        low_speed: float,
        with_ac: bool,
        run_on: float = 0.0,
        with_engine: int = 0,
        tau: float = 1.5,
    ) -> int:
        """A fan or electric pump on a relay; returns the signal that carries its speed ratio.

        with_engine: 1 runs whenever the engine does, −1 only after key-off, 0 by the sensor's temperature.
        """
        self._fans[name] = {
            "sensor": sensor,
            "on": on,
            "high": high,
            "hysteresis": hysteresis,
            "low_speed": low_speed,
            "with_ac": float(with_ac),
            "run_on": run_on,
            "with_engine": float(with_engine),
            "tau": tau,
        }
        if len(self._fans) > S.MAX_FANS:
            raise NetworkError(f"at most {S.MAX_FANS} fans and electric pumps")
        return S.FIRST_FAN + len(self._fans) - 1

    def liquid(self, fluid: int, coefficients: np.ndarray) -> None:
        """Curve of a liquid (media.liquids): [r0, r1, r2, A, B, C, cp]."""
        self._fluids[fluid] = coefficients

    def engine(
        self, values: dict[str, Any], breathing: np.ndarray, compressor_map: np.ndarray | None
    ) -> None:
        """The engine: columns of arrays.ENGINE, its temperatures and junction by name; (2, points) breathing
        curve; (3, ratios, flows) compressor map."""
        self._engine, self._breathing = values, breathing
        if compressor_map is not None:
            self._compressor_map = compressor_map

    # --- once -----------------------------------------------------------------------------------------
    def _link(self, kind: str, name: str, **values: Any) -> None:
        self._links[kind].append({"name": name, **values})

    def build(self) -> Network:
        """Turn names into arrays."""
        return _Build(self).network()


def log_table(
    flow: np.ndarray, hA: np.ndarray, points: int = A.TABLE_POINTS
) -> tuple[float, float, np.ndarray]:
    """(ln first flow, step, ln hA at equal steps of ln flow)."""
    x, y = np.log(np.asarray(flow, float)), np.log(np.maximum(np.asarray(hA, float), 1e-9))
    grid = np.linspace(x[0], x[-1], points)
    return float(grid[0]), float(grid[1] - grid[0]), np.interp(grid, x, y)


class _Build:
    """Index maps and array making; used once per network."""

    def __init__(self, b: NetworkBuilder) -> None:
        self.b = b
        self.masses = tuple(b._masses)
        self.boundaries = tuple(b._boundaries)
        self.T = index_of((*self.masses, *self.boundaries))
        self.networks = tuple(b._networks)
        self.junctions = self._by_network(b._junctions)
        self.branches = self._by_network(b._branches)
        self.J, self.B = index_of(self.junctions), index_of(self.branches)
        self.lifts, self.fans = tuple(b._lifts), tuple(b._fans)
        self.causes = tuple(dict.fromkeys(row["cause"] for row in b._links["source"]))

    def _by_network(self, things: dict[str, dict[str, Any]]) -> tuple[str, ...]:
        for name, row in things.items():
            if row["network"] not in self.networks:
                raise NetworkError(f"{name!r} names network {row['network']!r}, which was never laid")
        return tuple(n for net in self.networks for n, row in things.items() if row["network"] == net)

    def network(self) -> Network:
        return Network(
            model=self.model(),
            masses=self.masses,
            boundaries=self.boundaries,
            junctions=self.junctions,
            branches=self.branches,
            networks=self.networks,
            lifts=self.lifts,
            fans=self.fans,
            causes=self.causes,
            link_names={k: tuple(r["name"] for r in rows) for k, rows in self.b._links.items()},
            boundary_temperatures=tuple(self.b._boundaries.values()),
            tanks=dict(self.b._tanks),
            kinds={n: r["kind"] for n, r in self.b._masses.items()},
        )

    def model(self) -> A.Model:
        aux = len(self.lifts) + len(self.fans)
        capacity = np.array([r["capacity"] for r in self.b._masses.values()] + [1.0] * aux)
        weight = np.array([r["weight"] for r in self.b._masses.values()] + [0.0] * aux)
        draft = A.Model(
            capacity=capacity,
            weight=weight,
            conduction=self.links("conduction", A.CONDUCTION, i=self.T, j=self.T),
            radiation=self.links("radiation", A.RADIATION, i=self.T, j=self.T),
            convection=self.links(
                "convection",
                A.CONVECTION,
                i=self.T,
                j=self.T,
                junction=self.J | {VEHICLE_AIR: -1, STILL_AIR: -2},
            ),
            wetted=self.wetted(),
            duct=self.links("duct", A.DUCT, i=self.T, branch=self.B),
            exchanger=self.links("exchanger", A.EXCHANGER, hot=self.B, cold=self.B, metal=self.T),
            hot_ln_hA=self.tables("hot_ln_hA"),
            cold_ln_hA=self.tables("cold_ln_hA"),
            source=self.links("source", A.SOURCE, r=self.T, cause=index_of(self.causes)),
            boiling=self.links("boiling", A.BOILING, cell=self.T, junction=self.J, receiver=self.T),
            junctions=self.junction_records(),
            branches=self.branch_records(),
            networks=self.network_records(),
            lifts=self.named(self.b._lifts, A.LIFTS, sensor=self.T),
            fans=self.named(self.b._fans, A.FANS, sensor=self.T),
            liquids=self.liquids(),
            engine=self.engine(),
            breathing=np.ascontiguousarray(self.b._breathing, dtype=float),
            compressor_map=np.ascontiguousarray(self.b._compressor_map, dtype=float),
            pattern=lu_pattern(0, set()),
            pair_slots=A.PairSlots(*(np.zeros((0, 4), np.int32),) * 4, np.zeros(0, np.int64)),
        )
        n = len(self.masses)
        return with_pattern(draft, n, implicit_pairs(draft, n))

    def links(self, kind: str, dtype: np.dtype, **tables: dict[str, int]) -> np.ndarray:
        return A.records(dtype, [resolve(row, row["name"], tables) for row in self.b._links[kind]])

    def named(
        self, things: dict[str, dict[str, Any]], dtype: np.dtype, **tables: dict[str, int]
    ) -> np.ndarray:
        return A.records(dtype, [resolve(row, name, tables) for name, row in things.items()])

    def wetted(self) -> np.ndarray:
        cells = index_of(tuple(row["cell"] for row in self.b._links["boiling"]))
        rows = []
        for row in self.b._links["wetted"]:
            boils = cells.get(row["j"], -1) if row["boiling_area"] > 0.0 else -1
            tables = {"i": self.T, "j": self.T, "branch": self.B}
            rows.append(resolve(row, row["name"], tables) | {"boiling_cell": boils})
        return A.records(A.WETTED, rows)

    def tables(self, key: str) -> np.ndarray:
        rows = [row[key] for row in self.b._links["exchanger"]]
        return np.array(rows, dtype=float) if rows else np.zeros((0, A.TABLE_POINTS))

    def junction_records(self) -> np.ndarray:
        self.unknowns = dict.fromkeys(self.networks, 0)
        rows = []
        for name in self.junctions:
            row = resolve(self.b._junctions[name], name, {"mass": self.T})
            row["place"] = -1 if row["fixed"] else self.unknowns[row["network"]]
            self.unknowns[row["network"]] += not row["fixed"]
            rows.append(row)
        return A.records(A.JUNCTIONS, rows)

    def branch_records(self) -> np.ndarray:
        rows = []
        tables = {"first": self.J, "second": self.J, "lift": index_of(self.lifts), "cell": self.T}
        for name in self.branches:
            row = resolve(self.b._branches[name], name, tables)
            row["fluid"] = self.b._networks[row["network"]]["fluid"]
            for end, height in (("first", "z1"), ("second", "z2")):
                if row[height] is None:
                    row[height] = self.b._junctions[self.b._branches[name][end]]["z"]
            rows.append(row)
        return A.records(A.BRANCHES, rows)

    def network_records(self) -> np.ndarray:
        rows, junction, branch = [], 0, 0
        for name in self.networks:
            row: dict[str, Any] = dict(self.b._networks[name]) | {"unknowns": self.unknowns[name]}
            row["junction_start"], row["branch_start"] = junction, branch
            junction += sum(r["network"] == name for r in self.b._junctions.values())
            branch += sum(r["network"] == name for r in self.b._branches.values())
            row["junction_end"], row["branch_end"] = junction, branch
            rows.append(row)
        return A.records(A.NETWORKS, rows)

    def liquids(self) -> np.ndarray:
        table = np.zeros((max([A.FLUIDS - 1, *self.b._fluids]) + 1, 7))
        table[:, 0] = 1.0
        for fluid, coefficients in self.b._fluids.items():
            table[fluid] = coefficients
        return table

    def engine(self) -> np.ndarray:
        if self.b._engine is None:
            return np.zeros(1, dtype=A.ENGINE)
        tables = {"coolant": self.T, "compressor_in": self.T, "plenum": self.T, "intake_junction": self.J}
        return A.records(A.ENGINE, [resolve(self.b._engine, "engine", tables)])


def exact_model(network: Network) -> A.Model:
    """The model with every radiation pair in its matrix, for those who need the whole Jacobian."""
    model = network.model
    return with_pattern(model, len(network.masses), np.arange(model.radiation.size))


def with_pattern(model: A.Model, n: int, radiating: np.ndarray) -> A.Model:
    """The model with the matrix pattern in which these radiation pairs stand."""
    entries = possible_entries(model._replace(radiation=model.radiation[radiating]), n)
    pattern = lu_pattern(model.capacity.size, entries)
    slots = A.PairSlots(
        conduction=pair_slots(model.conduction, n, pattern.slot),
        radiation=pair_slots(model.radiation, n, pattern.slot),
        convection=pair_slots(model.convection, n, pattern.slot),
        wetted=pair_slots(model.wetted, n, pattern.slot),
        radiating=radiating,
    )
    return model._replace(pattern=pattern, pair_slots=slots)


def pair_slots(links: np.ndarray, n: int, slot: np.ndarray) -> np.ndarray:
    """Slots ii, ij, jj, ji of each link's pair, (links, 4); -1 where an index is a boundary's (>= n)."""
    i, j = links["i"], links["j"]
    found = np.full((i.size, 4), -1, dtype=np.int32)
    for column, (r, c) in enumerate(((i, i), (i, j), (j, j), (j, i))):
        own = (r < n) & (c < n)
        found[own, column] = slot[r[own], c[own]]
    return found


def index_of(names: tuple[str, ...]) -> dict[str, int]:
    """Place of each name."""
    return {name: i for i, name in enumerate(names)}


def resolve(row: dict[str, Any], who: str, tables: dict[str, dict[str, int]]) -> dict[str, Any]:
    """The row with names turned into places; None becomes -1."""
    places = dict(row)
    for column, table in tables.items():
        name = row[column]
        if name is not None and name not in table:
            raise NetworkError(f"{who!r} names {name!r}, which was never laid")
        places[column] = -1 if name is None else table[name]
    return places
