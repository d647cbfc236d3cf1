"""Flows in the branches of one network, written out anew: straight Newton on the junction pressures.

Every branch obeys Δp = a m + b m|m| − head; equations: docs/theory/flows.md. Pressures Pa over ambient.
"""

import numpy as np
from second_gas import R, air_viscosity

GRAVITY = 9.80665


class Flows:
    """One network: its branches and junctions as plain arrays."""

    def __init__(self, model, number: int, p: float, T_ambient: float) -> None:
        net = model.networks[number]
        self.branches = slice(int(net["branch_start"]), int(net["branch_end"]))
        br, ju = model.branches[self.branches], model.junctions
        self.br = {name: np.array(br[name]) for name in br.dtype.names}
        self.ju = {name: np.array(ju[name]) for name in ju.dtype.names}
        self.gas = int(net["fluid"]) in (0, 3)
        self.c = model.liquids[int(net["fluid"])]
        self.p, self.T_ambient = p, T_ambient
        self.i, self.j = self.br["first"], self.br["second"]
        self.Ti, self.Tj = self.ju["mass"][self.i], self.ju["mass"][self.j]
        self.zi, self.zj = self.ju["z"][self.i], self.ju["z"][self.j]
        self.given = self.br["given"] >= 0
        self.relief = np.where(self.br["relief"] >= 0.0)[0]
        self.free = np.where((self.ju["fixed"] == 0) & self._mine(net))[0]
        incidence = np.zeros((ju.size, self.i.size))
        incidence[self.i, np.arange(self.i.size)] -= 1.0
        incidence[self.j, np.arange(self.i.size)] += 1.0
        self.inflow = incidence[self.free]
        self.pressure = np.zeros(ju.size)
        has_cell = self.br["cell"] >= 0
        self.cell = np.where(has_cell, self.br["cell"], self.Ti)
        self.half = np.where(has_cell, 0.0, 0.5)

    def _mine(self, net) -> np.ndarray:
        index = np.arange(self.ju["z"].size)
        return (index >= net["junction_start"]) & (index < net["junction_end"])

    def density(self, T):
        if self.gas:
            return self.p / (R * T)
        t = T - 363.15
        return self.c[0] + t * (self.c[1] + t * self.c[2])

    def viscosity(self, T):
        """Kinematic, m2/s."""
        if self.gas:
            return air_viscosity(T) / self.density(T)
        return np.exp(self.c[3] + self.c[4] / np.maximum(T - self.c[5], 20.0))

    def solve(self, T, signal, lift, q) -> np.ndarray:
        """kg/s in every branch; q: dynamic pressure of the car's speed (Pa)."""
        br, p = self.br, self.pressure
        if self.given.all():
            return br["given_factor"] * signal[br["given"]]
        a, b, drive = self.laws(T, signal, lift)
        fixed = self.ju["fixed"] == 1
        p[fixed] = self.ju["pressure"][fixed] + self.ju["pressure_coefficient"][fixed] * q
        m_given = np.where(self.given, br["given_factor"] * signal[br["given"]], 0.0)
        for guess in (p[self.free].copy(), np.zeros(self.free.size)):
            x, m, left = self.newton(guess, a, b, drive, m_given)
            if left <= 1e-8 * np.abs(m).max() + 1e-11:
                p[self.free] = x
                return m
        raise ArithmeticError(f"flows not found: {left:.3g} kg/s out of balance")

    def newton(self, x, a, b, drive, m_given):
        """Pressures, flows and the largest imbalance left; damped by the potential's slope along each step."""
        m, slope, out = self.balance(x, a, b, drive, m_given)
        for _ in range(200):
            if np.abs(out).max() <= 1e-11 * np.abs(m).max() + 1e-13:
                break
            step = np.linalg.solve((self.inflow * slope) @ self.inflow.T, out)
            size, m, slope, new = self.along(x, step, a, b, drive, m_given, float(out @ step))
            x, out = x + size * step, new
        return x, m, float(np.abs(out).max())

    def along(self, x, step, a, b, drive, m_given, slope0):
        """How far to go: the potential is convex, so its slope along the step falls; not past where it turns round."""
        low, high, size = 0.0, np.inf, 1.0
        for _ in range(60):
            m, slope, out = self.balance(x + size * step, a, b, drive, m_given)
            s = float(out @ step)
            if s < -0.5 * slope0:
                high = size
            elif np.isfinite(high) and s > 0.5 * slope0:
                low = size
            else:
                break
            size = 0.5 * (low + high)
        return size, m, slope, out

    def balance(self, x, a, b, drive, m_given):
        """Flows, their slopes, and what flows into each free junction at pressures x."""
        p = self.pressure
        p[self.free] = x
        dp = p[self.i] - p[self.j] + drive
        shut = None
        if self.relief.size:
            r = self.relief
            shut = r[dp[r] <= self.br["relief"][r]]
            dp[r] -= self.br["relief"][r]
        root = np.sqrt(a * a + 4.0 * b * np.abs(dp))
        root[self.given] = 1.0
        m, slope = 2.0 * dp / (a + root), 1.0 / root
        if shut is not None and shut.size:
            m[shut], slope[shut] = 0.0, 1e-14
        m = np.where(self.given, m_given, m)
        slope[self.given] = 0.0
        return m, slope, self.inflow @ m

    def laws(self, T, signal, lift):
        """Laminar and quadratic coefficient and driving head of every branch."""
        br = self.br
        Ti, Tj = T[self.Ti], T[self.Tj]
        Tk = T[self.cell] + self.half * (Tj - Ti)
        rho, outside = self.density(Tk), self.density(self.T_ambient)
        a = br["a"] * self.viscosity(Tk) / br["nu_ref"]
        b = br["b"] * br["rho_ref"] / rho
        weight = (rho - outside) * (br["z2"] - br["z1"])
        weight += (self.density(Ti) - outside) * (br["z1"] - self.zi)
        weight += (self.density(Tj) - outside) * (self.zj - br["z2"])
        speed = np.where(br["head_signal"] >= 0, signal[br["head_signal"]] / br["head_reference"], 0.0)
        drive = br["head"] * speed**2 * rho / br["rho_ref"] - GRAVITY * weight
        opening = np.where(br["lift"] >= 0, np.where(br["lift_sense"] > 0, lift[0], 1.0 - lift[0]), 1.0)
        opening = opening + np.where(br["lift"] >= 0, br["leak"], 0.0)
        return a / opening, b / opening**2, drive
