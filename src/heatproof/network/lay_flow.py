"""Laying what flows: junctions, branches, what moves and what throttles the stream."""

import numpy as np

from heatproof.network import signals as S
from heatproof.network.rows import NetworkError, Rows


class LaysFlow:
    """Networks of junctions and branches, thermostats, fans and pumps, curves of liquids."""

    rows: Rows

    def network(self, name: str, fluid: int, *, buoyant: bool = True) -> None:
        """A set of junctions and branches solved together.

        fluid: AIR, COOLANT, OIL, EXHAUST, COOLANT_2 and on for further liquids.
        """
        self.rows.networks[name] = {"fluid": fluid, "buoyant": buoyant}

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
        if name in self.rows.junctions:
            raise NetworkError(f"junction {name!r} is laid twice")
        self.rows.junctions[name] = {
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
        if name in self.rows.branches:
            raise NetworkError(f"branch {name!r} is laid twice")
        self.rows.branches[name] = {
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
        self.rows.lifts[name] = {"sensor": sensor, "opens": opens, "full": full, "tau": tau}
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
        self.rows.fans[name] = {
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
        if len(self.rows.fans) > S.MAX_FANS:
            raise NetworkError(f"at most {S.MAX_FANS} fans and electric pumps")
        return S.FIRST_FAN + len(self.rows.fans) - 1

    def liquid(self, fluid: int, coefficients: np.ndarray) -> None:
        """Curve of a liquid (media.liquids): [r0, r1, r2, A, B, C, cp]."""
        self.rows.fluids[fluid] = coefficients
