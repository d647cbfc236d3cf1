"""Solving a network for a duty: the Python face of the compiled loop."""

from dataclasses import dataclass

import numpy as np

from heatproof.network import arrays as A
from heatproof.network import signals as S
from heatproof.network.engine import COLUMNS, RUNNING
from heatproof.network.laid import Network
from heatproof.network.not_solved import not_solved, refuse_unnumbered
from heatproof.network.transient import BUFFERS, DONE, Stepping, Trace, run

STORED_ROWS_PER_SECOND = 3
SPARE_ROWS = 4000


@dataclass(frozen=True)
class Duty:
    """What the car does: one row a second (columns of network.engine), held over the second."""

    samples: np.ndarray  # (seconds, COLUMNS)
    key_off: int  # second of key-off; = seconds where the engine never stops

    @property
    def duration(self) -> int:
        """Seconds."""
        return int(self.samples.shape[0])


@dataclass(frozen=True)
class Run:
    """All stored steps of one duty: time (rows,) s, state (rows, states), flow (rows, branches) kg/s, …"""

    network: Network
    around: A.Surroundings
    duty: Duty
    time: np.ndarray
    state: np.ndarray
    flow: np.ndarray
    pressure: np.ndarray
    signal: np.ndarray
    boiled: np.ndarray
    heat_in: float  # J, sources; negative ones (turbine work) subtracted
    heat_out: float  # J, to the surroundings
    heat_put_in: float  # J, positive sources alone
    stored: float  # J

    @property
    def closure(self) -> float:
        """Heat in less out less stored, over heat put in; each integrated with the step itself."""
        return (self.heat_in - self.heat_out - self.stored) / max(self.heat_put_in, 1.0)

    def speed_of(self, fan: str) -> np.ndarray:
        """(rows,) speed ratio of a fan or electric pump by name; zeros where none is laid."""
        if fan not in self.network.fans:
            return np.zeros(self.time.size)
        return self.signal[:, S.FIRST_FAN + self.network.fans.index(fan)]


def make_work(network: Network, around: A.Surroundings) -> A.Work:
    """Scratch for one network; not shared between threads."""
    model = network.model
    most = max(int(model.networks["unknowns"].max(initial=0)), 1)
    nj, nbr = model.junctions.size, model.branches.size
    n = len(network.masses)

    def zeros(*shape: int) -> np.ndarray:
        return np.zeros(shape)

    return A.Work(
        T=zeros(n + around.boundary.size),
        sig=zeros(S.COUNT),
        lift=zeros(len(network.lifts)),
        p=zeros(nj),
        m=zeros(nbr),
        law=zeros(4, nbr),
        L=zeros(max(len(network.networks), 1), most, most),
        R=zeros(most),
        step=zeros(most),
        speed=zeros(nj),
        g_convection=zeros(model.convection.size),
        g_wetted=zeros(model.wetted.size),
        g_duct=zeros(model.duct.size),
        g_exchanger=zeros(2, model.exchanger.size),
        boil=zeros(2, model.boiling.size),
        rate=zeros(network.size),
        energy=zeros(3),
        tried=zeros(2, S.COUNT),
    )


def held_until(samples: np.ndarray) -> np.ndarray:
    """For each second, the first later second whose sample differs (or the end)."""
    n = samples.shape[0]
    differs = np.any(samples[1:] != samples[:-1], axis=1)
    until = np.empty(n, dtype=np.int64)
    until[-1] = n
    for k in range(n - 2, -1, -1):
        until[k] = k + 1 if differs[k] else until[k + 1]
    return until


def make_trace(network: Network, seconds: int, keep: int = 1) -> Trace:
    """Empty trace long enough for a duty."""
    model = network.model
    rows = STORED_ROWS_PER_SECOND * seconds // keep + SPARE_ROWS
    return Trace(
        time=np.empty(rows),
        state=np.empty((rows, network.size)),
        flow=np.empty((rows, model.branches.size)),
        pressure=np.empty((rows, model.junctions.size)),
        signal=np.empty((rows, S.COUNT)),
        boiled=np.empty((rows, model.boiling.size)),
        energy=np.zeros(3),
        fan_target=np.zeros(len(network.fans)),
    )


def solve_duty(
    network: Network,
    around: A.Surroundings,
    duty: Duty,
    start: np.ndarray,
    *,
    stepping: Stepping | None = None,
    fan_target: np.ndarray | None = None,
) -> Run:
    """Integrate one duty from `start` (states, K and ratios). Raises NotSolved with place and time."""
    stepping = stepping or Stepping()
    trace = make_trace(network, duty.duration, stepping.keep)
    if fan_target is not None:
        trace.fan_target[:] = fan_target
    work = make_work(network, around)
    y = np.array(start, dtype=float)
    buffers = np.zeros((BUFFERS, network.size))
    status, rows, reached = run(
        network.model,
        around,
        duty.samples,
        held_until(duty.samples),
        duty.key_off,
        y,
        work,
        stepping,
        trace,
        buffers,
    )
    if status != DONE:
        raise not_solved(network, status, work, buffers, y, reached)
    C = network.model.capacity[: len(network.masses)]
    with np.errstate(invalid="ignore"):  # a capacity without end is refused below
        stored = float(C @ (y[: C.size] - trace.state[0, : C.size]))
    refuse_unnumbered(network, trace, rows, stored)
    return Run(
        network=network,
        around=around,
        duty=duty,
        time=trace.time[:rows].copy(),
        state=trace.state[:rows].copy(),
        flow=trace.flow[:rows].copy(),
        pressure=trace.pressure[:rows].copy(),
        signal=trace.signal[:rows].copy(),
        boiled=trace.boiled[:rows].copy(),
        heat_in=float(trace.energy[0]),
        heat_out=float(trace.energy[1]),
        heat_put_in=float(trace.energy[2]),
        stored=stored,
    )


def settle_start(
    network: Network,
    around: A.Surroundings,
    sample: np.ndarray,
    *,
    seconds: int = 3600,
    start: np.ndarray | None = None,
) -> tuple[np.ndarray, np.ndarray]:
    """State after `seconds` of one held sample from ambient (or `start`); also the fans' last targets."""
    y = uniform_state(network, around) if start is None else np.array(start, dtype=float)
    trace = make_trace(network, 1)
    work = make_work(network, around)
    samples = np.repeat(sample[None, :], seconds, axis=0)
    held = np.full(seconds, seconds, dtype=np.int64)
    never = seconds if sample[RUNNING] > 0.5 else 0
    stepping = Stepping(tolerance=1.0, longest=60.0, keep=10**9)
    buffers = np.zeros((BUFFERS, network.size))
    status, _, reached = run(network.model, around, samples, held, never, y, work, stepping, trace, buffers)
    if status != DONE:
        raise not_solved(network, status, work, buffers, y, reached, "warm-up: ")
    return y, trace.fan_target.copy()


def uniform_state(network: Network, around: A.Surroundings, T: float | None = None) -> np.ndarray:
    """All masses at one temperature (K; ambient unless given), lifts and fans at zero."""
    y = np.zeros(network.size)
    y[: len(network.masses)] = around.temperature if T is None else T
    return y


def idle_sample() -> np.ndarray:
    """A sample of a standing car with the engine off."""
    return np.zeros(COLUMNS)
