"""General-purpose integrators on the compiled equations of a network, to measure the production step against.

Same rates, same analytic Jacobian, same held inputs. Samples are held over each second, so the right-hand side
jumps at every change. How that is met:

* while inputs change every second the integrator runs through with max_step 1 s (restarting 1200 times would cost
  it more); its error control cuts the step where a jump is felt;
* it is restarted at key-off;
* fan relays are looked at after every step the integrator accepts, as production does.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from scipy.integrate import BDF
from scipy.sparse import csc_matrix

from heatproof.network.arrays import Surroundings
from heatproof.network.engine import AC, RUNNING
from heatproof.network.laid import Network, exact_model
from heatproof.network.matrix import jacobian
from heatproof.network.rates import rates
from heatproof.network.solve import Duty, make_work
from heatproof.network.transient import switch_fans


@dataclass
class Record:
    """Accepted steps of one run, and what it cost."""

    time: list[float] = field(default_factory=list)
    state: list[np.ndarray] = field(default_factory=list)
    seconds: float = 0.0
    rate_calls: int = 0
    jacobian_calls: int = 0

    def peaks(self) -> np.ndarray:
        """Highest value of every state."""
        return np.max(self.state, axis=0)

    def keep(self, t: float, y: np.ndarray) -> None:
        self.time.append(t)
        self.state.append(y.copy())


class Equations:
    """dy/dt and its Jacobian at (t, y), with the sample of that second and the relays' last targets."""

    def __init__(self, network: Network, around: Surroundings, duty: Duty, fans: np.ndarray) -> None:
        self.network, self.around, self.duty, self.fans = network, around, duty, fans.copy()
        self.model, self.work = exact_model(network), make_work(network, around)
        pattern = self.model.pattern
        self.capacity = self.model.capacity
        self.K, self.row = np.zeros(pattern.column.size + 1), np.zeros(network.size)
        self.rows = pattern.order[np.repeat(np.arange(network.size), np.diff(pattern.start).astype(np.int64))]
        self.columns = pattern.order[pattern.column]
        self.record = Record()

    def sample(self, t: float) -> np.ndarray:
        return self.duty.samples[min(int(t + 1e-9), self.duty.duration - 1)]

    def rate(self, t: float, y: np.ndarray) -> np.ndarray:
        self.record.rate_calls += 1
        rates(self.model, self.around, self.sample(t), y, self.fans, self.work)
        return self.work.rate / self.capacity

    def slots(self, t: float, y: np.ndarray) -> np.ndarray:
        """Values of dF/dy in the pattern's slots, divided by the capacities."""
        self.record.jacobian_calls += 1
        rates(self.model, self.around, self.sample(t), y, self.fans, self.work)
        jacobian(self.model, self.around, self.work, self.K, self.row)
        return self.K[:-1] / self.capacity[self.rows]

    def sparse(self, t: float, y: np.ndarray) -> csc_matrix:
        n = self.network.size
        return csc_matrix((self.slots(t, y), (self.rows, self.columns)), shape=(n, n))

    def dense(self, t: float, y: np.ndarray, out: np.ndarray) -> None:
        out[...] = 0.0
        out[self.rows, self.columns] = self.slots(t, y)

    def relays(self, t: float, y: np.ndarray) -> bool:
        """Look at the fans' relays; whether one has switched."""
        row, before = self.sample(t), self.fans.copy()
        switch_fans(self.model.fans, y, row[RUNNING], row[AC], t - self.duty.key_off, self.fans)
        return bool(np.any(self.fans != before))


def pieces(duty: Duty, soak_step: float) -> list[tuple[float, float, float]]:
    """(from, to, longest step): the drive, then the soak."""
    end, off = float(duty.duration), float(min(duty.key_off, duty.duration))
    return [p for p in ((0.0, off, 1.0), (off, end, soak_step)) if p[1] > p[0]]


def run_bdf(
    network: Network,
    around: Surroundings,
    duty: Duty,
    start: np.ndarray,
    fans: np.ndarray,
    *,
    rtol: float = 1e-5,
    atol: float = 1e-2,
    drive_step: float = 1.0,
    soak_step: float = 10.0,
) -> Record:
    """SciPy's variable-order BDF with the analytic sparse Jacobian."""
    eq = Equations(network, around, duty, fans)
    y = np.array(start, dtype=float)
    began = time.perf_counter()
    eq.relays(0.0, y)
    eq.record.keep(0.0, y)
    for first, last, longest in pieces(duty, soak_step):
        longest = min(longest, drive_step) if first < duty.key_off else longest
        solver = BDF(eq.rate, first, y, last, max_step=longest, rtol=rtol, atol=atol, jac=eq.sparse)
        while solver.status == "running":
            message = solver.step()
            if solver.status == "failed":
                raise RuntimeError(f"BDF at {solver.t:.3f} s: {message}")
            eq.relays(solver.t, solver.y)
            eq.record.keep(solver.t, solver.y)
        y = solver.y.copy()
    eq.record.seconds = time.perf_counter() - began
    return eq.record


def run_cvode(
    network: Network,
    around: Surroundings,
    duty: Duty,
    start: np.ndarray,
    fans: np.ndarray,
    *,
    rtol: float = 1e-5,
    atol: float = 1e-2,
    drive_step: float = 1.0,
    soak_step: float = 10.0,
    restart: bool = False,
) -> Record:
    """SUNDIALS CVODE (BDF, LAPACK dense) with the analytic Jacobian; restart: anew at every second of the drive."""
    from sksundae.cvode import CVODE

    eq = Equations(network, around, duty, fans)
    y = np.array(start, dtype=float)

    # The last second of a piece ends just before the input changes.
    limit = [0.0, 0.0]

    def inside(t: float) -> float:
        return min(max(t, limit[0]), limit[1] - 1e-6)

    def rhs(t: float, y: np.ndarray, yp: np.ndarray) -> None:
        yp[:] = eq.rate(inside(t), np.array(y))

    def jac(t: float, y: np.ndarray, yp: np.ndarray, J: np.ndarray) -> None:
        eq.dense(inside(t), np.array(y), J)

    began = time.perf_counter()
    eq.relays(0.0, y)
    eq.record.keep(0.0, y)
    for first, last, longest in cuts(duty, soak_step, restart):
        limit[:] = first, last
        bound = min(longest, drive_step) if first < duty.key_off else longest
        solver = CVODE(
            rhs, method="BDF", rtol=rtol, atol=atol, max_step=bound, linsolver="lapackdense", jacfn=jac,
            max_num_steps=10**6,
        )  # fmt: skip
        solver.init_step(first, y)
        t = first
        while t < last - 1e-9:
            at = solver.step(last, method="onestep", tstop=last)
            t, y = float(np.ravel(at.t)[-1]), np.array(at.y, dtype=float).reshape(-1)[-network.size :]
            if eq.relays(inside(t), y) and t < last - 1e-9:
                solver.init_step(t, y)
            eq.record.keep(t, y)
    eq.record.seconds = time.perf_counter() - began
    return eq.record


def cuts(duty: Duty, soak_step: float, restart: bool) -> list[tuple[float, float, float]]:
    """`pieces`, with the drive cut at every second where the integrator is to restart."""
    out: list[tuple[float, float, float]] = []
    for first, last, longest in pieces(duty, soak_step):
        if restart and first < duty.key_off:
            out += [(float(s), float(s + 1), 1.0) for s in range(int(first), int(last))]
        else:
            out.append((first, last, longest))
    return out


def call_cost(call: Callable[[], object], repeats: int = 2000) -> float:
    """Seconds of one call, best of five batches."""
    best = np.inf
    for _ in range(5):
        began = time.perf_counter()
        for _ in range(repeats // 5):
            call()
        best = min(best, (time.perf_counter() - began) / (repeats // 5))
    return best
