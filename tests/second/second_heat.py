"""The heat balance of every mass, written out anew in plain NumPy.

Taken from the laid network: capacities, conductances, areas, curves and tables (hA over flow, saturation over
pressure). Nothing of the program's rates, laws or numerics is called. Radiation is one full matrix of T⁴.
"""

from math import log

import numpy as np
import second_data as S
from second_data import columns, crossflow, laplacian
from second_engine import Asked, Engine
from second_flows import GRAVITY, Flows
from second_gas import R

SIGMA = 5.670374e-8
PR = 0.70  # of air films


class Balance:
    """dy/dt of one car on one day. State: masses, thermostat lifts, fan speeds."""

    def __init__(self, network, around) -> None:
        model = network.model
        self.n, self.size = len(network.masses), network.size
        self.lifts, self.fans = columns(model.lifts), columns(model.fans)
        self.first_fan = self.n + self.lifts["tau"].size
        self.C = np.array(model.capacity)[: self.n]
        self.boundary = np.array(around.boundary)
        self.all = self.n + self.boundary.size
        self.p, self.T_ambient, self.rho, self.sun = (
            around.pressure, around.temperature, around.density, around.sun
        )  # fmt: skip
        cd, ra = model.conduction, model.radiation
        self.conduction = laplacian(self.all, cd["i"], cd["j"], cd["G"])
        self.radiation = SIGMA * laplacian(self.all, ra["i"], ra["j"], ra["FA"])
        self.cv, self.we, self.du = columns(model.convection), columns(model.wetted), columns(model.duct)
        self.ex, self.so, self.bo = columns(model.exchanger), columns(model.source), columns(model.boiling)
        self.br, self.ju = columns(model.branches), columns(model.junctions)
        self.tables = np.array(model.hot_ln_hA), np.array(model.cold_ln_hA)
        assert np.all(self.ex["arrangement"] == 0)
        assert np.all(self.cv["orientation"] <= 1)
        self.flows = [Flows(model, k, self.p, self.T_ambient) for k in range(len(network.networks))]
        self.engine = Engine(model.engine[0], np.array(model.breathing), self.p, self.T_ambient)
        self.tank = columns(around.tanks)
        self.saturation = (
            around.saturation_p0 + around.saturation_step * np.arange(around.saturation_T.shape[1]),
            np.array(around.saturation_T[0]),
        )
        assert self.tank["z"].size == 1
        self.target = np.zeros(self.fans["tau"].size)
        self.sample = np.zeros(5)
        self._places()

    def _places(self) -> None:
        """Index arrays used at every evaluation."""
        br, ju, cv = self.br, self.ju, self.cv
        self.mass_first, self.mass_second = ju["mass"][br["first"]], ju["mass"][br["second"]]
        self.has_cell = br["cell"] >= 0
        self.is_air = br["fluid"] == 0
        self.is_exhaust = br["fluid"] == 3
        self.zone = np.where(ju["flow_area"] > 0.0)[0]
        through = np.zeros((ju["z"].size, br["first"].size))
        for k in np.where(self.is_air)[0]:
            through[br["first"][k], k] += 0.5
            through[br["second"][k], k] += 0.5
        self.through = through[self.zone]
        self.cylinder = cv["orientation"] == 1
        self.in_zone = np.where(cv["junction"] >= 0)[0]
        self.in_wind = np.where(cv["junction"] == -1)[0]
        self.cv_L3 = cv["length"] ** 3
        self.wetted_boils = np.where(self.we["boiling_cell"] >= 0)[0]

    # --- dy/dt ----------------------------------------------------------------------------------------------
    def rate(self, t: float, y: np.ndarray) -> np.ndarray:
        """dy/dt (K/s; 1/s for lifts and fans)."""
        links = self.links(y)
        heat = self.heat(links)
        out = np.empty(self.size)
        out[: self.n] = heat[: self.n] / self.C
        li, fa, T = self.lifts, self.fans, links["T"]
        f = np.clip((T[li["sensor"]] - li["opens"]) / (li["full"] - li["opens"]), 0.0, 1.0)
        out[self.n : self.first_fan] = (f * f * (3.0 - 2.0 * f) - y[self.n : self.first_fan]) / li["tau"]
        out[self.first_fan :] = (self.target - y[self.first_fan :]) / fa["tau"]
        return out

    def links(self, y: np.ndarray) -> dict:
        """Signals, flows and conductances at a state."""
        T = np.concatenate([y[: self.n], self.boundary])
        signal = np.zeros(S.SIGNALS)
        lift = np.clip(y[self.n : self.first_fan], 0.0, 1.0)
        fans = np.maximum(y[self.first_fan :], 0.0)
        signal[S.FAN : S.FAN + fans.size] = fans
        m = self.drive(T, signal, lift)
        p = sum(flow.pressure for flow in self.flows)
        C = np.abs(m) * np.where(self.is_exhaust, signal[S.EXHAUST_CP], self.br["cp"])
        found = {"T": T, "signal": signal, "m": m, "C": C, "p": p}
        found["up"] = np.where(m >= 0.0, self.mass_first, self.mass_second)
        found["end"] = np.where(m >= 0.0, self.mass_second, self.mass_first)
        found["convection"] = self.surfaces(T, m)
        found["wetted"], found["T_boil"] = self.wet(T, m, p)
        found["duct"] = self.ducts(m, C)
        found["exchanger"] = self.held(self.exchangers(m, C), T, C, found["up"])
        return found

    def drive(self, T, signal, lift) -> np.ndarray:
        """Engine and flows together: the filter draws from a zone whose pressure follows from what it draws."""
        N, vehicle, demand, running, conditioning = self.sample
        signal[S.ONE], signal[S.ON], signal[S.SPEED], signal[S.VEHICLE] = 1.0, running, N, vehicle
        signal[S.CONDITIONING], signal[S.SUN] = conditioning * running, self.sun
        q = 0.5 * self.rho * vehicle**2
        air, others = self.flows[0], self.flows[1:]
        e, on = self.engine.e, running > 0.5 and N > 0.0
        signal[S.EXHAUST_CP] = 1100.0
        m_air = None
        for _ in range(20):
            before = air.pressure[e["intake_junction"]]
            if on:
                self.run_engine(T, signal, self.p + before, N, demand)
            m_air = air.solve(T, signal, lift, q)
            if not on or abs(air.pressure[e["intake_junction"]] - before) < 1e-4:
                break
        return np.concatenate([m_air, *(flow.solve(T, signal, lift, q) for flow in others)])

    def run_engine(self, T, signal, p_intake: float, N: float, demand: float) -> None:
        e = self.engine.e
        asked = Asked(N, demand, T[e["plenum"]], T[e["compressor_in"]], T[e["coolant"]], p_intake)
        done = self.engine.settle(asked)
        signal[S.AIR], signal[S.FUEL], signal[S.EXHAUST] = done.air, done.fuel, done.exhaust
        signal[S.EXHAUST_CP] = done.cp
        signal[S.EXHAUST_HEAT] = done.exhaust * done.cp * (done.T3 - self.T_ambient)
        signal[S.WALLS], signal[S.FRICTION] = done.walls, done.friction
        signal[S.COMPRESSION], signal[S.TURBINE] = done.compression, done.shaft
        signal[S.BEARING] = done.shaft - done.compression

    # --- conductances ---------------------------------------------------------------------------------------
    def surfaces(self, T, m) -> np.ndarray:
        """W/K of surfaces in air: (h_n³ + h_f³)^(1/3); Churchill and Chu; Churchill and Bernstein, or a plate."""
        cv, ju = self.cv, self.ju
        speed = np.zeros(ju["z"].size)
        zone = self.zone
        speed[zone] = (self.through @ np.abs(m)) * R * T[ju["mass"][zone]] / (self.p * ju["flow_area"][zone])
        u = np.zeros(cv["i"].size)
        u[self.in_zone] = speed[cv["junction"][self.in_zone]] * cv["exposure"][self.in_zone]
        u[self.in_wind] = self.sample[S.VEHICLE - 2] * cv["exposure"][self.in_wind]
        Ts, Ta = T[cv["i"]], T[cv["j"]]
        film = 0.5 * (Ts + Ta)
        root = film * np.sqrt(film)
        k = 2.334e-3 * root / (film + 164.54)
        nu = 1.458e-6 * root / (film + 110.4) * R * film / self.p
        Ra = GRAVITY * np.abs(Ts - Ta) * self.cv_L3 * PR / (film * nu * nu)
        base = np.where(self.cylinder, 0.60, 0.825)
        ratio = np.where(self.cylinder, 0.559, 0.492) / PR
        natural = (base + 0.387 * Ra ** (1 / 6) / (1.0 + ratio ** (9 / 16)) ** (8 / 27)) ** 2
        Re = u * cv["length"] / nu
        across = 0.62 * np.sqrt(Re) * PR ** (1 / 3) / (1.0 + (0.4 / PR) ** (2 / 3)) ** 0.25
        across = 0.3 + across * (1.0 + (Re / 282000.0) ** 0.625) ** 0.8
        along = np.where(Re <= 5e5, 0.664 * np.sqrt(Re), 0.037 * Re**0.8 - 871.0) * PR ** (1 / 3)
        forced = np.where(u > 0.0, np.where(self.cylinder, across, along), 0.0)
        return cv["area"] * (natural**3 + forced**3) ** (1 / 3) * k / cv["length"]

    def wet(self, T, m, p) -> tuple[np.ndarray, np.ndarray]:
        """W/K between walls and liquids, and the saturation temperature (K) of every cell that may boil."""
        we, bo, tank = self.we, self.bo, self.tank
        G = we["G_still"] + we["G_ref"] * (np.abs(m[we["branch"]]) / we["m_ref"]) ** we["exponent"]
        gauge = self.tank_pressure(T)
        rho = self.flows[1].density(self.T_ambient)
        at = self.p + gauge + p[bo["junction"]] + rho * GRAVITY * (tank["z"][0] - bo["z"])
        T_boil = np.interp(at, *self.saturation)
        k = self.wetted_boils
        excess = T[we["i"][k]] - T_boil[we["boiling_cell"][k]]
        if np.any(excess > 0.0):
            hot = np.maximum(excess, 0.0)
            capped = np.minimum(hot, 25.0)
            h = np.maximum(1042.0 * capped ** (1 / 3), 5.56 * capped**3)
            flux = h * ((self.p + gauge) / 101325.0) ** 0.4 * hot
            G[k] += we["boiling_area"][k] * flux / np.maximum(T[we["i"][k]] - T[we["j"][k]], 1.0)
        return G, T_boil

    def tank_pressure(self, T) -> float:
        """Pa over ambient: trapped air squeezed by what the liquid has grown, up to the cap."""
        tank = {name: value[0] for name, value in self.tank.items()}
        cells = self.bo["cell"]
        mean = self.C[cells] @ T[cells] / self.C[cells].sum()
        rho = self.flows[1].density
        grown = tank["liquid"] * (rho(tank["fill_temperature"]) / rho(mean) - 1.0)
        left = max(tank["air"] - grown, 0.02 * tank["air"])
        p = self.p * tank["air"] / left * T[tank["mass"]] / tank["fill_temperature"] - self.p
        return min(max(p, 0.0), tank["cap_pressure"])

    def ducts(self, m, C) -> np.ndarray:
        """W/K from the inlet temperature of a stream to the wall along it."""
        du = self.du
        hA = du["hA_ref"] * (np.abs(m[du["branch"]]) / du["m_ref"]) ** du["exponent"]
        hA = hA / (1.0 + du["lining"] * hA)
        rate = C[du["branch"]]
        NTU = np.divide(hA, rate, out=np.zeros_like(hA), where=rate > 1e-9)
        return rate * -np.expm1(-NTU)

    def exchangers(self, m, C) -> np.ndarray:
        """W/K from either inlet to the metal: in series they are ε C_min."""
        ex = self.ex
        rates, hA = [], []
        for side, table in zip(("hot", "cold"), self.tables, strict=True):
            share = ex[f"{side}_share"]
            flow = np.abs(m[ex[side]]) * share
            rates.append(np.maximum(C[ex[side]] * share, 1e-9))
            hA.append(np.array([self.tabled(flow[k], ex, side, table[k], k) for k in range(flow.size)]))
        least, most = np.minimum(*rates), np.maximum(*rates)
        NTU = hA[0] * hA[1] / (hA[0] + hA[1]) / least
        E = least * crossflow(NTU, least / most)
        g = [rate * -np.expm1(-h / rate) for rate, h in zip(rates, hA, strict=True)]
        return np.array([E * (1.0 + g[0] / g[1]), E * (1.0 + g[1] / g[0])])

    def held(self, G, T, C, up) -> np.ndarray:
        """Second law: no stream leaves a core beyond the metal, or beyond the other inlet where that lies further."""
        ex = self.ex
        T_in = np.array([T[up[ex["hot"]]], T[up[ex["cold"]]]])
        metal, other = T[ex["metal"]], T_in[::-1]
        rate = np.array([C[ex["hot"]] * ex["hot_share"], C[ex["cold"]] * ex["cold_share"]])
        gap = T_in - metal
        furthest = np.where(gap >= 0.0, np.minimum(metal, other), np.maximum(metal, other))
        most = rate * np.abs(T_in - furthest)
        passed = G * np.abs(gap)
        return np.where(passed > most, np.divide(most, np.abs(gap), out=G.copy(), where=gap != 0.0), G)

    @staticmethod
    def tabled(flow: float, ex, side: str, ln_hA, k: int) -> float:
        """hA (W/K) from its log-log table, slope held beyond the ends."""
        x = (log(max(flow, 1e-9)) - ex[f"{side}_ln_m0"][k]) / ex[f"{side}_step"][k]
        i = min(max(int(np.floor(x)), 0), ln_hA.size - 2)
        return float(np.exp(ln_hA[i] + (x - i) * (ln_hA[i + 1] - ln_hA[i])))

    # --- heat -----------------------------------------------------------------------------------------------
    def heat(self, links: dict) -> np.ndarray:
        """W into every mass and boundary."""
        T, C, up, end = links["T"], links["C"], links["up"], links["end"]
        Q = self.conduction @ T + self.radiation @ T**4
        for table, G in ((self.cv, links["convection"]), (self.we, links["wetted"])):
            self.exchange(Q, table["i"], table["j"], G * (T[table["j"]] - T[table["i"]]))
        stream = np.where(self.has_cell, self.br["cell"], end)
        du, ex = self.du, self.ex
        b = du["branch"]
        self.exchange(Q, du["i"], stream[b], links["duct"] * (T[up[b]] - T[du["i"]]))
        for side, G in zip(("hot", "cold"), links["exchanger"], strict=True):
            b = ex[side]
            self.exchange(Q, ex["metal"], stream[b], G * (T[up[b]] - T[ex["metal"]]))
        inside = np.where(self.has_cell, self.br["cell"], up)
        np.add.at(Q, inside, C * (T[up] - T[inside]))
        np.add.at(Q, end, C * (T[inside] - T[end]))
        np.add.at(Q, self.so["r"], self.made(links))
        bo = self.bo
        steam = bo["conductance"] * np.maximum(T[bo["cell"]] - links["T_boil"], 0.0)
        self.exchange(Q, bo["receiver"], bo["cell"], steam)
        return Q

    def made(self, links: dict) -> np.ndarray:
        """W of every source; a condenser's falls as its metal nears the switch's temperature."""
        so, T = self.so, links["T"]
        share = np.clip(1.0 - (T[so["r"]] - so["fades_from"]) / so["fades_over"], 0.0, 1.0)
        return so["factor"] * links["signal"][so["signal"]] * share

    @staticmethod
    def exchange(Q, into, out_of, q) -> None:
        np.add.at(Q, into, q)
        np.subtract.at(Q, out_of, q)

    # --- slope for the implicit integrator ----------------------------------------------------------------------
    def slope(self, t: float, y: np.ndarray) -> np.ndarray:
        """d(rate)/dy with flows and conductances held: enough for Newton, exact nowhere needed."""
        links = self.links(y)
        T, C, up, end = links["T"], links["C"], links["up"], links["end"]
        K = self.conduction + self.radiation * (4.0 * T**3)

        def pair(into, out_of, G, of, less) -> None:
            """Heat G (T_of − T_less) into `into`, out of `out_of`."""
            np.add.at(K, (into, of), G)
            np.subtract.at(K, (into, less), G)
            np.subtract.at(K, (out_of, of), G)
            np.add.at(K, (out_of, less), G)

        for table, G in ((self.cv, links["convection"]), (self.we, links["wetted"])):
            pair(table["i"], table["j"], G, table["j"], table["i"])
        stream = np.where(self.has_cell, self.br["cell"], end)
        b = self.du["branch"]
        pair(self.du["i"], stream[b], links["duct"], up[b], self.du["i"])
        for side, G in zip(("hot", "cold"), links["exchanger"], strict=True):
            b = self.ex[side]
            pair(self.ex["metal"], stream[b], G, up[b], self.ex["metal"])
        inside = np.where(self.has_cell, self.br["cell"], up)
        for into, of in ((inside, up), (end, inside)):
            np.add.at(K, (into, of), C)
            np.subtract.at(K, (into, into), C)
        bo = self.bo
        boils = np.where(T[bo["cell"]] > links["T_boil"], bo["conductance"], 0.0)
        np.subtract.at(K, (bo["cell"], bo["cell"]), boils)
        np.add.at(K, (bo["receiver"], bo["cell"]), boils)
        J = np.zeros((self.size, self.size))
        J[: self.n, : self.n] = K[: self.n, : self.n] / self.C[:, None]
        controls = np.arange(self.n, self.size)
        J[controls, controls] = -1.0 / np.concatenate([self.lifts["tau"], self.fans["tau"]])
        return J
