"""The engine and its turbocharger at one instant, written out anew: mean values, scalars, roots by SciPy.

Equations: docs/theory/engine.md. All SI; N rev/s, pressures absolute.
"""

from dataclasses import dataclass
from math import pi, sqrt

import numpy as np
from scipy.optimize import brentq
from second_gas import ZERO, BurnedGas, R, burned_gas

CP, GAMMA, R_GAS = 1008.0, 1.4, 287.0
MIXTURE = (0.75, 0.80, 0.85, 0.90, 0.95, 1.0, 1.1)
POWER = (0.97, 1.00, 1.02, 1.03, 1.02, 1.0, 0.95)  # at fixed airflow, over that at 1.0


@dataclass(frozen=True)
class Asked:
    """What the driver asks for and the engine meets."""

    N: float
    demand: float
    T_plenum: float
    T_inlet: float
    T_coolant: float
    p_intake: float  # absolute, in the airbox


@dataclass(frozen=True)
class Done:
    """What it does; W, kg/s."""

    air: float
    fuel: float
    mixture: float
    T3: float
    cp: float
    walls: float
    friction: float
    compression: float
    shaft: float
    power: float
    new_pumping: float
    delivered: float  # share of the shaft power asked for that the turbine gives
    whole: float  # what all the gas would give over what is asked for
    boosted: bool

    @property
    def exhaust(self) -> float:
        return self.air + self.fuel


class Engine:
    """One engine in one day's air."""

    def __init__(self, row: np.ndarray, breathing: np.ndarray, p: float, T: float) -> None:
        self.e = {name: row[name].item() for name in row.dtype.names}
        assert self.e["map_T_ref"] == 0.0, "the second solution has no compressor map"
        self.breathing, self.p, self.T = breathing, p, T
        self.pumping, self.got = 0.0, 0.6  # last found, where the next search starts

    def settle(self, asked: Asked) -> Done:
        """Pumping work and boost at which everything fits: all the boost, or what all the gas can just drive."""
        done = self.with_boost(asked, 1.0)
        if done.delivered >= 0.9999 or not done.boosted:
            return done

        def spare(got: float) -> float:
            done = self.with_boost(asked, got)
            return done.whole - 1.0 if done.boosted else 1.0

        low, high = max(self.got - 0.02, 0.05), min(self.got + 0.02, 1.0)
        if spare(low) < 0.0 or (high < 1.0 and spare(high) > 0.0):
            low, high = 0.05, 1.0
        self.got = brentq(spare, low, high, xtol=1e-6)
        return self.with_boost(asked, self.got)

    def with_boost(self, asked: Asked, got: float) -> Done:
        """Pumping work consistent with itself: secant on what comes back."""
        x0 = self.pumping
        done = self.at(asked, x0, got)
        f0 = done.new_pumping - x0
        x1 = done.new_pumping
        for _ in range(60):
            done = self.at(asked, x1, got)
            f1 = done.new_pumping - x1
            if abs(f1) < 1e-5:  # W
                break
            slope = (f1 - f0) / (x1 - x0) if x1 != x0 else -1.0
            x0, f0 = x1, f1
            x1 = x1 - f1 / slope if -3.0 < slope < -0.2 else done.new_pumping
            x1 = max(x1, 0.0)
        self.pumping = x1
        return done

    def at(self, asked: Asked, pumping: float, got: float) -> Done:
        """Everything at a pumping work (W) and a share of the boost asked for."""
        e, N = self.e, asked.N
        swept = e["displacement"] * N / 2.0
        breath = float(np.interp(N, self.breathing[0], self.breathing[1]))
        breath *= (asked.T_plenum / 313.15) ** (1.0 - e["flow_exponent"])
        per_pascal = breath * swept / (R * asked.T_plenum)
        n = 0.06 * N
        friction = e["friction_factor"] * 1e5 * (0.97 + 0.15 * n + 0.05 * n * n) * swept
        boost = self.boost(N)
        air, fuel, mixture = self.air_and_fuel(asked, per_pascal, friction, pumping, got * boost, boost > 0.0)
        p1 = asked.p_intake - e["filter_loss"] * air**2
        p_m = air / per_pascal
        gas = burned_gas(mixture)
        exhaust = air + fuel
        indicated = fuel * e["heating_value"] * self.efficiency(mixture)
        burned = fuel * e["heating_value"] * min(0.97, 1.0 - 1.335 * (1.0 - mixture))
        walls = self.walls(gas, exhaust, mixture, asked, burned)
        left = burned + air * CP * (asked.T_plenum - ZERO) - indicated + pumping - walls
        T3, cp = self.leaving(gas, left / exhaust, fuel)
        p2 = p_m + e["charge_loss"] * air**2 * e["charge_rho"] * R * asked.T_plenum / p_m
        ratio = max(p2 / p1, 1.002)
        heat = (
            air * CP * asked.T_inlet * (ratio ** ((GAMMA - 1.0) / GAMMA) - 1.0) / e["compressor_efficiency"]
        )
        shaft = heat / e["mechanical_efficiency"]
        p4 = sqrt(self.p**2 + 2.0 * 101325.0 * e["exhaust_loss"] * exhaust**2 * T3 / e["exhaust_T"])
        expansion, delivered, whole = self.turbine(shaft, exhaust, p4, T3, cp, gas.gamma(T3))
        back = max(p4 * expansion - max(p_m, p1), 0.0) * swept
        power = indicated - friction - pumping
        return Done(
            air, fuel, mixture, T3, cp, walls, friction, heat, shaft, power, back, delivered, whole, p_m > p1
        )  # fmt: skip

    def leaving(self, gas: BurnedGas, h: float, fuel: float) -> tuple[float, float]:
        """Temperature (K) at the ports and mean cp down to ambient, over 1 K at least; air alone where no fuel burns."""
        if fuel == 0.0:
            return ZERO + h / CP, CP
        T3 = gas.temperature(h)
        low, high = min(T3, self.T), max(T3, self.T)
        wider = max(0.0, 1.0 - (high - low)) / 2.0
        low, high = low - wider, high + wider
        return T3, (gas.enthalpy(high) - gas.enthalpy(low)) / (high - low)

    def boost(self, N: float) -> float:
        """Pa over ambient the controller asks for."""
        e = self.e
        full = e["boost"] - (self.p if e["boost_absolute"] == 1 else 0.0)
        start = 0.55 * e["boost_from"]
        return max(full, 0.0) * min(max((N - start) / (e["boost_from"] - start), 0.0), 1.0)

    def efficiency(self, mixture: float) -> float:
        """Indicated, of the fuel's energy."""
        return self.e["indicated_efficiency"] * float(np.interp(mixture, MIXTURE, POWER)) * min(mixture, 1.0)

    def air_and_fuel(
        self, asked: Asked, per_pascal: float, friction: float, pumping: float, boost: float, boosted: bool
    ) -> tuple[float, float, float]:
        """Air and fuel (kg/s) and mixture; without boost full load breathes behind its filter (fixed point)."""
        found = 0.0
        for _ in range(40):
            p_full = self.p + boost if boosted else asked.p_intake - self.e["filter_loss"] * found**2
            air, fuel, mixture = self.shared(asked.demand, per_pascal, friction, pumping, per_pascal * p_full)
            if boosted or abs(air - found) < 1e-13:
                break
            found = air
        return air, fuel, mixture

    def shared(
        self, demand: float, per_pascal: float, friction: float, pumping: float, most: float
    ) -> tuple[float, float, float]:
        """Full load, overrun or part load; `most` air (kg/s) at full load."""
        e = self.e
        energy, losses = e["heating_value"] / e["air_fuel"], friction + pumping
        full, part = e["mixture_full"], e["mixture_part"]
        at_full = most / full * energy * self.efficiency(full) - losses
        overrun = per_pascal * 30e3
        cut = part * (demand + friction) / (energy * self.efficiency(part)) < per_pascal * 12e3
        if demand >= at_full:
            return most, 0.0 if cut else most / (full * e["air_fuel"]), full
        if cut:
            return overrun, 0.0, part
        enrich = (demand - e["full_threshold"] * at_full) / ((1.0 - e["full_threshold"]) * at_full)
        mixture = part + (full - part) * max(enrich, 0.0)
        air = mixture * (demand + losses) / (energy * self.efficiency(mixture))
        if air > most:
            return most, most / (full * e["air_fuel"]), full
        return air, air / (mixture * e["air_fuel"]), mixture

    def walls(self, gas: BurnedGas, exhaust: float, mixture: float, asked: Asked, burned: float) -> float:
        """Heat to the cylinder walls (W): Nu = 10.4 Re^0.75 on piston area."""
        if burned <= 0.0:
            return 0.0
        e = self.e
        T = 693.0 - 200.0 * (1.0 - min(max(mixture, 0.75), 1.0)) + 0.35 * (asked.T_plenum - 300.0)
        T += e["gas_temperature_offset"]
        area = e["cylinders"] * pi / 4.0 * e["bore"] ** 2
        Re = exhaust / area * e["bore"] / gas.viscosity(T)
        heat = 10.4 * Re**0.75 * gas.conductivity(T) / e["bore"] * area * (T - asked.T_coolant)
        return min(e["wall_heat_factor"] * heat, 0.5 * burned)

    def turbine(
        self, power: float, flow: float, p4: float, T3: float, cp: float, gamma: float
    ) -> tuple[float, float, float]:
        """Expansion ratio that gives the power; the share of it that is given; what all the gas could give over it."""
        k = (gamma - 1.0) / gamma
        choked = (2.0 / (gamma + 1.0)) ** (1.0 / k)

        def swallowed(ratio: float) -> float:
            x = max(1.0 / ratio, choked)
            psi = sqrt(2.0 / k * max(x ** (2.0 / gamma) - x ** ((gamma + 1.0) / gamma), 0.0))
            return self.e["swallowing_area"] * ratio * p4 / sqrt(R_GAS * T3) * psi

        def given(ratio: float) -> float:
            return swallowed(ratio) * cp * T3 * self.e["turbine_efficiency"] * (1.0 - ratio**-k)

        largest = brentq(lambda r: swallowed(r) - flow, 1.0, 12.0, xtol=1e-10)
        whole = given(largest) / power
        if whole <= 1.0:
            return largest, whole, whole
        return brentq(lambda r: given(r) - power, 1.0, largest, xtol=1e-12), 1.0, whole
