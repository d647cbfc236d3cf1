"""Small networks for the tests: constant-property liquids, a still day, one instant or one held duty."""

from collections.abc import Mapping

import numpy as np

from heatproof.network import arrays as A
from heatproof.network.engine import COLUMNS, SPEED, VEHICLE
from heatproof.network.laid import Network
from heatproof.network.rates import rates
from heatproof.network.solve import Duty, Run, make_work, solve_duty, uniform_state
from heatproof.network.transient import Stepping

T_AMBIENT, P_AMBIENT = 300.0, 101325.0
G0 = 9.80665

DUTIES = ("flat_out", "long_hill", "ten_pulls", "town_crawl", "track_session")
"""The shipped example's duties."""


def liquid(rho: float = 1000.0, nu: float = 1e-6, cp: float = 4180.0, slope: float = 0.0) -> np.ndarray:
    """Liquid of constant viscosity; rho (kg/m3) at 363.15 K, slope kg/m3/K."""
    return np.array([rho, slope, 0.0, np.log(nu), 0.0, 0.0, cp])


def tank(**changes: float) -> dict[str, float]:
    """Row of an expansion tank that no circuit has."""
    row = {"fluid": A.COOLANT, "mass": -1, "z": 0.0, "cap_pressure": 1.1e5, "air": 1e-3, "liquid": 8e-3}
    return row | {"fill_temperature": 293.15} | changes


def surroundings(network: Network, *, T: float = T_AMBIENT, **changes: object) -> A.Surroundings:
    """A still day; every boundary without its own temperature at T."""
    given = np.array(network.boundary_temperatures)
    around = A.Surroundings(
        pressure=P_AMBIENT,
        temperature=T,
        density=P_AMBIENT / (287.05 * T),
        boundary=np.where(np.isnan(given), T, given),
        sun=0.0,
        saturation_p0=30e3,
        saturation_step=5e3,
        saturation_T=np.linspace(340.0, 430.0, 100)[None, :],
        tanks=A.records(A.TANK, [tank()]),
    )
    return around._replace(**changes)


def sample(*, speed: float = 0.0, vehicle: float = 0.0) -> np.ndarray:
    """Engine off; speed (rev/s) and vehicle (m/s) still reach pumps and ram openings."""
    row = np.zeros(COLUMNS)
    row[SPEED], row[VEHICLE] = speed, vehicle
    return row


def state_of(network: Network, around: A.Surroundings, T: Mapping[str, float]) -> np.ndarray:
    """Uniform ambient state with some masses at their own temperature (K); names not laid are passed over."""
    y = uniform_state(network, around)
    for name, value in T.items():
        if name in network.masses:
            y[network.mass(name)] = value
    return y


def instant(
    network: Network,
    *,
    T: Mapping[str, float] | None = None,
    row: np.ndarray | None = None,
    pressures: np.ndarray | None = None,
) -> tuple[dict[str, float], A.Work]:
    """Flows (kg/s) by branch name, and the work arrays, with everything settled at one state."""
    around = surroundings(network)
    work = make_work(network, around)
    if pressures is not None:
        work.p[:] = pressures
    y = state_of(network, around, T or {})
    given_up = rates(
        network.model, around, sample() if row is None else row, y, np.zeros(len(network.fans)), work
    )
    assert given_up == 0.0
    return dict(zip(network.branches, work.m, strict=True)), work


def hold(
    network: Network,
    seconds: int,
    *,
    T: Mapping[str, float] | None = None,
    rows: np.ndarray | None = None,
    tolerance: float = 0.3,
    around: A.Surroundings | None = None,
) -> Run:
    """Integrate from given temperatures; inputs all zero unless rows (seconds, COLUMNS) say otherwise."""
    around = around or surroundings(network)
    samples = np.zeros((seconds, COLUMNS)) if rows is None else rows
    duty = Duty(samples, seconds)
    start = state_of(network, around, T or {})
    return solve_duty(network, around, duty, start, stepping=Stepping(tolerance=tolerance))


def course(run: Run, mass: str) -> np.ndarray:
    """Temperature (K) of a mass at every stored time."""
    return run.state[:, run.network.mass(mass)]
