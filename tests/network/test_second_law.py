"""What may not happen: a stream leaving a core past all it met, gas of negative heat capacity, a lining that heats."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from heatproof.media.exhaust import cp_exhaust
from heatproof.network import signals as S
from heatproof.network.arrays import EXHAUST
from heatproof.network.builder import NetworkBuilder
from heatproof.network.coefficients import duct_coefficients, held_conductance
from heatproof.network.engine import mean_cp

K = st.floats(250.0, 700.0)


@settings(deadline=None, derandomize=True, max_examples=300)
@given(st.floats(0.0, 5e3), st.floats(1e-3, 5e3), K, K, K)
def test_a_stream_leaves_between_inlet_metal_and_other_inlet(G, C, T_in, T_metal, T_other):
    """The bounds are those of any exchanger: no stream passes all it exchanges heat with (second law)."""
    held = held_conductance(G, C, T_in, T_metal, T_other)
    assert 0.0 <= held <= G
    out = T_in - held / C * (T_in - T_metal)
    low, high = min(T_in, T_metal, T_other), max(T_in, T_metal, T_other)
    assert low - 1e-6 <= out <= high + 1e-6


def test_a_steady_core_is_not_held():
    """Metal between the inlets, outlet short of the other inlet: the conductance stays as it is."""
    assert held_conductance(130.0, 100.0, 400.0, 350.0, 300.0) == 130.0


def test_a_stream_that_meets_cold_metal_takes_its_temperature():
    """Charge air at 100 K over metal as cold as the other stream leaves at the metal's temperature, not below."""
    assert held_conductance(130.0, 100.0, 400.0, 300.0, 300.0) == pytest.approx(100.0)


@pytest.mark.parametrize("off", [-40.0, -1.5, -0.9, -1e-3, 0.0, 1e-3, 0.9, 1.5, 40.0])
def test_exhaust_near_ambient_keeps_its_heat_capacity(off):
    """Mean and local specific heat agree where the two temperatures are close (definition of the mean)."""
    assert mean_cp(300.0 + off, 300.0, 1.0) == pytest.approx(cp_exhaust(300.0 + 0.5 * off, 1.0), rel=1e-3)


@pytest.mark.parametrize("flow", [1e-3, 0.01, 0.12, 0.4])
def test_a_lining_is_a_resistance_in_series_at_every_flow(flow):
    """1/hA' = 1/hA + R (definition); never more heat than without it."""
    b = NetworkBuilder()
    b.network("gas", EXHAUST, buoyant=False)
    for name in ("bare", "lined"):
        b.mass(name, 1000.0)
        b.mass(f"{name} gas", 1.0, kind="gas")
        b.junction("gas", f"{name} in", "ambient", 0.0, fixed=True)
        b.junction("gas", f"{name} out", f"{name} gas", 0.0, fixed=True)
        b.branch("gas", name, f"{name} in", f"{name} out", given=S.EXHAUST)
        b.duct(name, name, hA_ref=20.0, m_ref=0.12, exponent=0.75, lining=0.05 if name == "lined" else 0.0)
    model = b.build().model
    sig, g = np.zeros(S.COUNT), np.zeros(2)
    sig[S.EXHAUST_CP] = 1150.0
    duct_coefficients(model.duct, model.branches, np.full(2, flow), sig, g)
    C, hA = 1150.0 * flow, 20.0 * (flow / 0.12) ** 0.75
    assert g[0] == pytest.approx(C * (1.0 - np.exp(-hA / C)))
    assert g[1] == pytest.approx(C * (1.0 - np.exp(-1.0 / (1.0 / hA + 0.05) / C)))
    assert g[1] < g[0]
