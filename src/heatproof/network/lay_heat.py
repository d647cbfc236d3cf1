"""Laying what stores heat and what passes it on."""

import numpy as np

from heatproof.network import arrays as A
from heatproof.network import signals as S
from heatproof.network.rows import STILL_AIR, NetworkError, Rows

SMALLEST_CAPACITY = 0.5  # J/K


class LaysHeat:
    """Masses, boundaries, and the links between them."""

    rows: Rows

    def mass(self, name: str, capacity: float, *, kind: str = "solid", weight: float | None = None) -> str:
        """A lump with heat capacity (J/K). kind: solid, air, coolant, oil, gas; weight: of the step error."""
        if name in self.rows.masses:
            raise NetworkError(f"mass {name!r} is laid twice")
        default = {"solid": 1.0, "coolant": 1.0, "oil": 1.0, "air": 0.2, "gas": 0.1}[kind]
        self.rows.masses[name] = {
            "capacity": max(capacity, SMALLEST_CAPACITY),
            "kind": kind,
            "weight": default if weight is None else weight,
        }
        return name

    def boundary(self, name: str, temperature: float | None = None) -> str:
        """A given temperature (K); None: the duty's ambient. `ambient` is always there."""
        self.rows.boundaries[name] = float("nan") if temperature is None else temperature
        return name

    def has_mass(self, name: str) -> bool:
        """Whether a mass of this name has been laid."""
        return name in self.rows.masses

    def conduction(self, i: str, j: str, G: float, *, name: str = "") -> None:
        """q = G (T_j − T_i), G in W/K."""
        self.rows.link("conduction", name or f"{i} – {j}", i=i, j=j, G=G)

    def radiation(self, i: str, j: str, exchange_area: float, *, name: str = "") -> None:
        """q = σ𝓕A (T_j⁴ − T_i⁴), exchange area 𝓕A in m2."""
        self.rows.link("radiation", name or f"{i} – {j}", i=i, j=j, FA=exchange_area)

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
        self.rows.link(
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
        self.rows.link(
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
        self.rows.link(
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
        self.rows.link(
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
        self.rows.link(
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
        self.rows.tanks[network] = mass
        if len(self.rows.tanks) > S.MAX_TANKS:
            raise NetworkError(f"at most {S.MAX_TANKS} expansion tanks")
        return len(self.rows.tanks) - 1

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
        self.rows.link(
            "boiling",
            name or cell,
            cell=cell,
            junction=junction,
            z=z,
            receiver=receiver or "ambient",
            conductance=conductance,
            tank=tank,
        )


def log_table(
    flow: np.ndarray, hA: np.ndarray, points: int = A.TABLE_POINTS
) -> tuple[float, float, np.ndarray]:
    """(ln first flow, step, ln hA at equal steps of ln flow)."""
    x, y = np.log(np.asarray(flow, float)), np.log(np.maximum(np.asarray(hA, float), 1e-9))
    grid = np.linspace(x[0], x[-1], points)
    return float(grid[0]), float(grid[1] - grid[0]), np.interp(grid, x, y)
