"""Where each degree comes from: a run's rises split exactly by cause.

Heat flows are linear in the rises over ambient once the present coefficients are held (secant radiation, flows,
films): F = A θ + Σ S_c. The integrator's stages are linear solves, so every stage splits the same way and the
split is replayed step by step along the stored states. What the replay does not reproduce
(rounding, a lift held at its stop) is one more row, the numerical remainder; it travels like any other cause.
"""

from dataclasses import dataclass

import numpy as np

from heatproof.network.heat_flows import source_heat
from heatproof.network.laid import exact_model
from heatproof.network.matrix import jacobian, secant_matrix
from heatproof.network.rates import rates
from heatproof.network.solve import Run, make_work
from heatproof.network.transient import implicit_matrix
from heatproof.numerics.compiled import compiled
from heatproof.numerics.sparse_lu import lu_factor, lu_solve

START, GIVEN, NUMERICAL = "start state", "given temperatures and boiling", "numerical remainder"


@dataclass(frozen=True)
class Ledger:
    """rise (rows, causes, masses) K over ambient at `times` (rows,) s; `total` (rows, masses) what they sum to."""

    causes: tuple[str, ...]
    masses: tuple[str, ...]
    times: np.ndarray
    rise: np.ndarray
    total: np.ndarray


@compiled
def multiply(pattern, K, x, y):
    """y = K x for K in LU slots; all in the caller's numbering."""
    order = pattern.order
    for i in range(order.size):
        s = 0.0
        for k in range(pattern.start[i], pattern.start[i + 1]):
            s += K[k] * x[order[pattern.column[k]]]
        y[order[i]] = s


@compiled
def split_flows(model, around, sample, y, theta, A, row, F, work, no_fans):
    """F[c] (W) of every cause at state y; row is scratch."""
    n = work.T.size - around.boundary.size
    rates(model, around, sample, y, no_fans, work)
    secant_matrix(model, around, work, A, row)
    causes = theta.shape[0]
    for c in range(causes):
        multiply(model.pattern, A, theta[c], F[c])
    so, sig = model.source, work.sig
    for k in range(so.size):
        F[so[k].cause, so[k].r] += source_heat(so[k], sig, work.T)
    # What is left belongs to temperatures given from outside: saturation, boundaries other than ambient.
    for i in range(n):
        known = 0.0
        for c in range(causes):
            known += F[c, i]
        F[causes - 2, i] += work.rate[i] - known
    for c in range(causes):
        for i in range(n, y.size):
            F[c, i] = 0.0


@compiled
def replay(model, exact, around, samples, time, state, wanted, theta, kept, work, no_fans):
    """Carry theta (causes, N) from the first stored row to the last wanted one; kept (wanted, causes, N).

    model: as stepped with; exact: the same with every pair in its matrix, for the heat flows.
    """
    causes, N = theta.shape
    n = work.T.size - around.boundary.size
    K = np.zeros(model.pattern.column.size + 1)
    M, A = np.zeros_like(K), np.zeros(exact.pattern.column.size + 1)
    row, zero, mid, whole = np.zeros(N), np.zeros(N), np.zeros(N), np.zeros(N)
    F, d1, d2, th = np.zeros((causes, N)), np.zeros((causes, N)), np.zeros((causes, N)), np.zeros((causes, N))
    found = 0
    for q in range(time.size):
        while found < wanted.size and wanted[found] == q:
            kept[found] = theta
            found += 1
        if found == wanted.size or q == time.size - 1:
            return
        y, h = state[q], time[q + 1] - time[q]
        sample = samples[min(int(time[q] + 1e-9), samples.shape[0] - 1)]
        split_flows(exact, around, sample, y, theta, A, row, F, work, no_fans)
        whole[:] = work.rate  # all causes together, lifts and fans too
        jacobian(model, around, work, K, row)
        implicit_matrix(model, K, h, M)
        lu_factor(model.pattern, M, zero)
        for c in range(causes):
            for i in range(N):
                d1[c, i] = h * F[c, i]
                d2[c, i] = 0.5 * d1[c, i]
            lu_solve(model.pattern, M, d1[c], zero)
        implicit_matrix(model, K, 0.5 * h, M)
        lu_factor(model.pattern, M, zero)
        for i in range(N):
            whole[i] *= 0.5 * h
        lu_solve(model.pattern, M, whole, zero)
        for i in range(N):
            mid[i] = y[i] + whole[i]
        for i in range(N - no_fans.size, N):
            mid[i] = 0.5 * (y[i] + state[q + 1, i])  # fans: what the relay asked for is not stored
        for c in range(causes):
            lu_solve(model.pattern, M, d2[c], zero)
            for i in range(n):
                th[c, i] = theta[c, i] + d2[c, i]
        split_flows(exact, around, sample, mid, th, A, row, F, work, no_fans)
        for c in range(causes):
            for i in range(N):
                F[c, i] *= 0.5 * h
            lu_solve(model.pattern, M, F[c], zero)
            for i in range(n):
                theta[c, i] += 2.0 * (d2[c, i] + F[c, i]) - d1[c, i]
        for i in range(n):
            total = 0.0
            for c in range(causes):
                total += theta[c, i]
            theta[causes - 1, i] += state[q + 1, i] - around.temperature - total


def split_rise(run: Run, rows: np.ndarray) -> Ledger:
    """Ledger of all masses at stored rows (ascending). The rows of `rise` sum to the rise exactly."""
    network, around = run.network, run.around
    wanted = np.asarray(rows, dtype=np.int64)
    causes = (*network.causes, START, GIVEN, NUMERICAL)
    N, n = network.size, len(network.masses)
    theta = np.zeros((len(causes), N))
    theta[len(network.causes), :n] = run.state[0, :n] - around.temperature
    kept = np.zeros((wanted.size, len(causes), N))
    work = make_work(network, around)
    no_fans = np.zeros(len(network.fans))
    exact = exact_model(network)
    samples = run.duty.samples
    replay(network.model, exact, around, samples, run.time, run.state, wanted, theta, kept, work, no_fans)
    return Ledger(
        causes=causes,
        masses=network.masses,
        times=run.time[wanted],
        rise=kept[:, :, :n],
        total=run.state[wanted, :n] - around.temperature,
    )
