"""A laid network at given temperatures and signals, without engine or time, for the assembly tests."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from heatproof.assembly.parts import lay_masses
from heatproof.kit.records.variant import Variant
from heatproof.network import arrays as A
from heatproof.network import flow
from heatproof.network import signals as S
from heatproof.network.builder import NetworkBuilder
from heatproof.network.coefficients import duct_coefficients, exchanger_coefficients
from heatproof.network.laid import Network
from heatproof.network.rates import unpack
from heatproof.network.solve import make_work, uniform_state
from heatproof.numerics.compiled import compiled

Layer = Callable[[NetworkBuilder, Variant], None]
T_AMBIENT = 300.0
P_AMBIENT = 101325.0
NO_TANK = {
    "fluid": A.COOLANT,
    "mass": -1,
    "z": 0.8,
    "cap_pressure": 1.1e5,
    "air": 1e-3,
    "liquid": 8e-3,
    "fill_temperature": 293.15,
}


@compiled
def solve_flows(model, around, work):
    """The flow kernel, which the product calls from kernels only."""
    return flow.solve_flows(model, around, work)


def network_of(variant: Variant, *layers: Layer) -> Network:
    """Part masses, then the layers."""
    b = NetworkBuilder()
    for layer in (lay_masses, *layers):
        layer(b, variant)
    return b.build()


def changed(variant: Variant, **sections: object) -> Variant:
    """The variant with whole sections exchanged."""
    return replace(variant, assembly=variant.assembly.model_copy(update=sections))


def surroundings(network: Network) -> A.Surroundings:
    """A still day at 300 K and 101 325 Pa."""
    given = np.array(network.boundary_temperatures)
    tanks = max(len(network.tanks), 1)
    return A.Surroundings(
        pressure=P_AMBIENT,
        temperature=T_AMBIENT,
        density=P_AMBIENT / (287.05 * T_AMBIENT),
        boundary=np.where(np.isnan(given), T_AMBIENT, given),
        sun=0.0,
        saturation_p0=30e3,
        saturation_step=5e3,
        saturation_T=np.tile(np.linspace(340.0, 430.0, 100), (tanks, 1)),
        tanks=A.records(A.TANK, [NO_TANK] * tanks),
    )


@dataclass(frozen=True)
class Instant:
    """One network with its flows solved."""

    network: Network
    work: A.Work

    def flow(self, branch: str) -> float:
        """kg/s."""
        return float(self.work.m[self.network.branches.index(branch)])

    def pressure(self, junction: str) -> float:
        """Pa over ambient."""
        return float(self.work.p[self.network.junctions.index(junction)])

    def conductance(self, exchanger: str) -> float:
        """Both links of an exchanger in series, W/K."""
        k = self.network.link_names["exchanger"].index(exchanger)
        return float(1.0 / np.sum(1.0 / self.work.g_exchanger[:, k]))

    def with_flows(self, flows: Mapping[str, float]) -> "Instant":
        """Coefficients of all links at flows set by hand."""
        for branch, m in flows.items():
            self.work.m[self.network.branches.index(branch)] = m
        model, w = self.network.model, self.work
        exchanger_coefficients(
            model.exchanger, model.hot_ln_hA, model.cold_ln_hA, model.branches, w.m, w.sig, w.g_exchanger
        )
        duct_coefficients(model.duct, model.branches, w.m, w.sig, w.g_duct)
        return self


def instant(
    network: Network,
    *,
    temperatures: Mapping[str, float] | None = None,
    signals: Mapping[int, float] | None = None,
    lift: float = 1.0,
    fan: float = 0.0,
) -> Instant:
    """Flows with masses at ambient, but for `temperatures` by kind ("coolant") or by name (K)."""
    around, work, n = surroundings(network), make_work(network, surroundings(network)), len(network.masses)
    y = uniform_state(network, around)
    for key, T in (temperatures or {}).items():
        for i, name in enumerate(network.masses):
            if key in (name, network.kinds[name]):
                y[i] = T
    y[n : n + len(network.lifts)] = lift
    y[n + len(network.lifts) :] = fan
    unpack(network.model, around, y, work)
    work.sig[S.ONE] = 1.0
    for signal, value in (signals or {}).items():
        work.sig[signal] = value
    assert solve_flows(network.model, around, work) < 1e-5
    return Instant(network, work)
