"""Turns what has been laid into arrays: every name becomes a place."""

from typing import Any

import numpy as np

from heatproof.network import arrays as A
from heatproof.network.laid import Network
from heatproof.network.pattern import implicit_pairs, with_pattern
from heatproof.network.rows import STILL_AIR, VEHICLE_AIR, NetworkError, Row, Rows
from heatproof.numerics.sparse_lu import lu_pattern


class Packing:
    """Index maps and array making; used once per network."""

    def __init__(self, rows: Rows) -> None:
        self.rows = rows
        self.masses = tuple(self.rows.masses)
        self.boundaries = tuple(self.rows.boundaries)
        self.T = index_of((*self.masses, *self.boundaries))
        self.networks = tuple(self.rows.networks)
        self.junctions = self._by_network(self.rows.junctions)
        self.branches = self._by_network(self.rows.branches)
        self.J, self.B = index_of(self.junctions), index_of(self.branches)
        self.lifts, self.fans = tuple(self.rows.lifts), tuple(self.rows.fans)
        self.causes = tuple(dict.fromkeys(row["cause"] for row in self.rows.links["source"]))

    def _by_network(self, things: dict[str, Row]) -> tuple[str, ...]:
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
            link_names={k: tuple(r["name"] for r in rows) for k, rows in self.rows.links.items()},
            boundary_temperatures=tuple(self.rows.boundaries.values()),
            tanks=dict(self.rows.tanks),
            kinds={n: r["kind"] for n, r in self.rows.masses.items()},
        )

    def model(self) -> A.Model:
        aux = len(self.lifts) + len(self.fans)
        capacity = np.array([r["capacity"] for r in self.rows.masses.values()] + [1.0] * aux)
        weight = np.array([r["weight"] for r in self.rows.masses.values()] + [0.0] * aux)
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
                junction=self.J | {VEHICLE_AIR: A.VEHICLE_SPEED_COUNTS, STILL_AIR: A.STILL},
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
            lifts=self.named(self.rows.lifts, A.LIFTS, sensor=self.T),
            fans=self.named(self.rows.fans, A.FANS, sensor=self.T),
            liquids=self.liquids(),
            engine=self.engine(),
            breathing=np.ascontiguousarray(self.rows.breathing, dtype=float),
            compressor_map=np.ascontiguousarray(self.rows.compressor_map, dtype=float),
            pattern=lu_pattern(0, set()),
            pair_slots=A.PairSlots(*(np.zeros((0, 4), np.int32),) * 4, np.zeros(0, np.int64)),
        )
        n = len(self.masses)
        return with_pattern(draft, n, implicit_pairs(draft, n))

    def links(self, kind: str, dtype: np.dtype, **tables: dict[str, int]) -> np.ndarray:
        return A.records(dtype, [resolve(row, row["name"], tables) for row in self.rows.links[kind]])

    def named(self, things: dict[str, Row], dtype: np.dtype, **tables: dict[str, int]) -> np.ndarray:
        return A.records(dtype, [resolve(row, name, tables) for name, row in things.items()])

    def wetted(self) -> np.ndarray:
        cells = index_of(tuple(row["cell"] for row in self.rows.links["boiling"]))
        rows = []
        for row in self.rows.links["wetted"]:
            boils = cells.get(row["j"], -1) if row["boiling_area"] > 0.0 else -1
            tables = {"i": self.T, "j": self.T, "branch": self.B}
            rows.append(resolve(row, row["name"], tables) | {"boiling_cell": boils})
        return A.records(A.WETTED, rows)

    def tables(self, key: str) -> np.ndarray:
        rows = [row[key] for row in self.rows.links["exchanger"]]
        return np.array(rows, dtype=float) if rows else np.zeros((0, A.TABLE_POINTS))

    def junction_records(self) -> np.ndarray:
        self.unknowns = dict.fromkeys(self.networks, 0)
        rows = []
        for name in self.junctions:
            row = resolve(self.rows.junctions[name], name, {"mass": self.T})
            row["place"] = -1 if row["fixed"] else self.unknowns[row["network"]]
            self.unknowns[row["network"]] += not row["fixed"]
            rows.append(row)
        return A.records(A.JUNCTIONS, rows)

    def branch_records(self) -> np.ndarray:
        rows = []
        tables = {"first": self.J, "second": self.J, "lift": index_of(self.lifts), "cell": self.T}
        for name in self.branches:
            row = resolve(self.rows.branches[name], name, tables)
            row["fluid"] = self.rows.networks[row["network"]]["fluid"]
            for end, height in (("first", "z1"), ("second", "z2")):
                if row[height] is None:
                    row[height] = self.rows.junctions[self.rows.branches[name][end]]["z"]
            rows.append(row)
        return A.records(A.BRANCHES, rows)

    def network_records(self) -> np.ndarray:
        rows, junction, branch = [], 0, 0
        for name in self.networks:
            row: dict[str, Any] = dict(self.rows.networks[name]) | {"unknowns": self.unknowns[name]}
            row["junction_start"], row["branch_start"] = junction, branch
            junction += sum(r["network"] == name for r in self.rows.junctions.values())
            branch += sum(r["network"] == name for r in self.rows.branches.values())
            row["junction_end"], row["branch_end"] = junction, branch
            rows.append(row)
        return A.records(A.NETWORKS, rows)

    def liquids(self) -> np.ndarray:
        table = np.zeros((max([A.FLUIDS - 1, *self.rows.fluids]) + 1, 7))
        table[:, 0] = 1.0
        for fluid, coefficients in self.rows.fluids.items():
            table[fluid] = coefficients
        return table

    def engine(self) -> np.ndarray:
        if self.rows.engine is None:
            return np.zeros(1, dtype=A.ENGINE)
        tables = {"coolant": self.T, "compressor_in": self.T, "plenum": self.T, "intake_junction": self.J}
        return A.records(A.ENGINE, [resolve(self.rows.engine, "engine", tables)])


def index_of(names: tuple[str, ...]) -> dict[str, int]:
    """Place of each name."""
    return {name: i for i, name in enumerate(names)}


def resolve(row: Row, who: str, tables: dict[str, dict[str, int]]) -> Row:
    """The row with names turned into places; None becomes -1."""
    places = dict(row)
    for column, table in tables.items():
        name = row[column]
        if name is not None and name not in table:
            raise NetworkError(f"{who!r} names {name!r}, which was never laid")
        places[column] = -1 if name is None else table[name]
    return places
