"""A duty through time: linearly implicit Euler with one extrapolation, whole loop compiled.

Second order, stiffly accurate, content with an approximate Jacobian. Inputs are held over each second, so no
step crosses a change. Heat in and heat out are carried as two more components of the same scheme, so that the
balance printed is the balance solved.
"""

from typing import NamedTuple

import numpy as np

from heatproof.network.engine import AC, RUNNING
from heatproof.network.heat_flows import source_slope
from heatproof.network.matrix import jacobian
from heatproof.network.rates import rates
from heatproof.numerics.compiled import compiled, compiled_inner
from heatproof.numerics.sparse_lu import lu_factor, lu_solve

SHORTEST = 0.02  # s
T_LOWEST, T_HIGHEST = 150.0, 2500.0  # K, beyond which a step is refused
FIRST_STEP = 0.25  # s, at start and after key-off
OVERSHOOT = 0.3  # of the kelvin past saturation in a step that brings a cell to the boil, counted as error

OUT, RATE, D1, D2, MID, D3, ZERO, NEW, BUFFERS = 0, 1, 2, 3, 4, 5, 6, 7, 8  # rows of scratch

DONE, TOO_MANY_STEPS, NO_FLOW, NOT_FINITE = 0, 1, 2, 3


class Stepping(NamedTuple):
    """Choices of the integrator."""

    tolerance: float = 0.3  # K
    longest: float = 10.0  # s, where inputs are held
    switching: float = 0.2  # s, a fan's relay is looked at no later than this after its threshold
    keep: int = 1  # store every keep-th step


class Trace(NamedTuple):
    """Filled by `run`: one row per stored step."""

    time: np.ndarray
    state: np.ndarray
    flow: np.ndarray
    pressure: np.ndarray
    signal: np.ndarray
    boiled: np.ndarray  # W leaving each boiling cell as vapour
    energy: np.ndarray  # (3,) J: in, out, positive part of in
    fan_target: np.ndarray


@compiled
def implicit_matrix(model, K, h, A):
    """A = C − h K in LU slots."""
    for k in range(K.size):
        A[k] = -h * K[k]
    order, diagonal = model.pattern.order, model.pattern.diagonal
    for i in range(order.size):
        A[diagonal[i]] += model.capacity[order[i]]


@compiled_inner
def dot(a, b):
    s = 0.0
    for i in range(a.size):
        s += a[i] * b[i]
    return s


@compiled_inner
def fan_wanted(t, now, on, high, hysteresis, low_speed, asked):
    """Relay with hysteresis at sensor temperature t: off, low, high; air conditioning may ask for low."""
    new = now
    if t > high:
        new = 1.0
    elif t < high - hysteresis:
        new = min(now, low_speed)
        if t > on:
            new = low_speed
        elif t < on - hysteresis:
            new = 0.0
    return max(new, low_speed) if asked else new


@compiled_inner
def fan_target(fan, t, now, running, conditioning, since_off):
    """Share of full speed a fan or pump is told to run at; none once its run-on after key-off is over."""
    if running < 0.5 and since_off >= fan.run_on:
        return 0.0
    if running > 0.5 and fan.with_engine != 0.0:
        return max(fan.with_engine, 0.0)
    asked = running > 0.5 and conditioning > 0.5 and fan.with_ac > 0.5
    return fan_wanted(t, now, fan.on, fan.high, fan.hysteresis, fan.low_speed, asked)


@compiled
def switch_fans(fa, T, running, conditioning, since_off, target):
    """Look at the relay of every fan and electric pump."""
    for k in range(fa.size):
        fan = fa[k]
        target[k] = fan_target(fan, T[fan.sensor], target[k], running, conditioning, since_off)


@compiled_inner
def share_to_switch(fa, y, new, running, conditioning, since_off, step, target):
    """Share of the step after which the first relay switches, its sensor moving straight; 1 if none does."""
    share = 1.0
    for k in range(fa.size):
        fan, now = fa[k], target[k]
        a, b = y[fan.sensor], new[fan.sensor]
        if fan_target(fan, b, now, running, conditioning, since_off + step) == now:
            continue
        low, high = 0.0, 1.0
        for _ in range(12):
            f = 0.5 * (low + high)
            if fan_target(fan, a + f * (b - a), now, running, conditioning, since_off + f * step) == now:
                low = f
            else:
                high = f
        share = min(share, high)
    return share


@compiled_inner
def copy_row(values, table, row):
    for i in range(values.size):
        table[row, i] = values[i]


@compiled_inner
def keep_row(trace, row, t, y, model, work, n):
    trace.time[row] = t
    copy_row(y, trace.state, row)
    copy_row(work.m, trace.flow, row)
    copy_row(work.p, trace.pressure, row)
    copy_row(work.sig, trace.signal, row)
    bo, boil, T, boiled = model.boiling, work.boil, work.T, trace.boiled
    for k in range(bo.size):
        boiled[row, k] = boil[0, k] * (T[bo[k].cell] - boil[1, k])


@compiled_inner
def plausible(y, n):
    for i in range(y.size):
        if not np.isfinite(y[i]):
            return False
        if i < n and not T_LOWEST < y[i] < T_HIGHEST:
            return False
    return True


@compiled_inner
def past_saturation(bo, T_saturation, y, new):
    """Largest overshoot (K) of a cell that comes to the boil within the step: the step does not see that kink."""
    most = 0.0
    for k in range(bo.size):
        if y[bo[k].cell] < T_saturation[k]:
            most = max(most, new[bo[k].cell] - T_saturation[k])
    return most


@compiled_inner
def attempt(model, around, sample, y, target, step, K, A, work, buffers):
    """One step with its extrapolation, into buffers[NEW]. Returns the error, −1 where it leaves the plausible."""
    N, n = y.size, work.T.size - around.boundary.size
    k0, d1, d2, d3 = buffers[RATE], buffers[D1], buffers[D2], buffers[D3]
    mid, new, zero = buffers[MID], buffers[NEW], buffers[ZERO]
    implicit_matrix(model, K, step, A)
    lu_factor(model.pattern, A, zero)
    for i in range(N):
        d1[i] = step * k0[i]
        d2[i] = 0.5 * step * k0[i]
    lu_solve(model.pattern, A, d1, zero)
    implicit_matrix(model, K, 0.5 * step, A)
    lu_factor(model.pattern, A, zero)
    lu_solve(model.pattern, A, d2, zero)
    for i in range(N):
        mid[i] = y[i] + d2[i]
    if not plausible(mid, n):
        return -1.0
    rates(model, around, sample, mid, target, work)
    for i in range(N):
        d3[i] = 0.5 * step * work.rate[i]
    lu_solve(model.pattern, A, d3, zero)
    err = 0.0
    for i in range(N):
        fine = d2[i] + d3[i]
        err = max(err, model.weight[i] * abs(fine - d1[i]))
        new[i] = y[i] + 2.0 * fine - d1[i]
    err = max(err, OVERSHOOT * past_saturation(model.boiling, work.boil[1], y, new))
    return err if plausible(new, n) else -1.0


@compiled_inner
def next_step(h, step, err, tolerance):
    """Length to try next after a step that was taken with this error; h is what had been wished for."""
    factor = min(max(0.9 * np.sqrt(tolerance / max(err, 1e-12)), 0.25), 2.0)
    if factor < 1.0:
        return step * factor
    return max(h, step * factor) if factor > 1.25 else h


@compiled_inner
def faded(so, sig, y, d1, d2, d3):
    """W less of heat in for what a step adds to masses whose sources fade, as in the step's matrix."""
    less = 0.0
    for k in range(so.size):
        r = so[k].r
        less += source_slope(so[k], sig, y) * (d2[r] + d3[r] - d1[r])
    return less


@compiled
def run(model, around, samples, held, key_off, y, work, stepping, trace, buffers):
    """Integrate over all samples (one a second) from y, which is left at the end state.

    held[k]: first second after k whose sample differs. key_off: second of key-off. buffers: (BUFFERS, N) scratch.
    Returns status, rows stored, and the time reached.
    """
    N = y.size
    n = work.T.size - around.boundary.size
    K = np.zeros(model.pattern.column.size + 1)
    A = np.zeros_like(K)
    out_row, d1, d2, d3, new = buffers[OUT], buffers[D1], buffers[D2], buffers[D3], buffers[NEW]
    buffers[ZERO, :] = 0.0
    end = float(samples.shape[0])
    target = trace.fan_target
    t, h, row = 0.0, FIRST_STEP, 0
    steps = 0
    most = trace.time.size
    trace.energy[:] = 0.0
    sample = samples[0]
    while True:
        second = min(int(t + 1e-9), samples.shape[0] - 1)
        sample = samples[second]
        if second == key_off and t < key_off + 1e-6:
            h = FIRST_STEP
        switch_fans(model.fans, y, sample[RUNNING], sample[AC], t - key_off, target)
        imbalance = rates(model, around, sample, y, target, work)
        if imbalance > 0.5:
            return NO_FLOW, row, t
        if steps % stepping.keep == 0 or t >= end - 1e-9:
            if row >= most:
                return TOO_MANY_STEPS, row, t
            keep_row(trace, row, t, y, model, work, n)
            row += 1
        if t >= end - 1e-9:
            return DONE, row, t
        buffers[RATE, :] = work.rate
        jacobian(model, around, work, K, out_row)
        limit = float(held[second]) - t if held[second] - t > 1.0 else float(second + 1) - t
        longest, first_try = stepping.longest, True
        while True:
            step = min(h, longest, limit)
            if first_try and limit - step < 0.2 * step and limit <= longest:
                step = limit  # rather a little longer than a crumb left over
            first_try = False
            err = attempt(model, around, sample, y, target, step, K, A, work, buffers)
            good = err >= 0.0
            shortest = step <= 1.25 * SHORTEST  # the last step before a change may be a little longer
            if good and (err <= stepping.tolerance or shortest):
                if step <= stepping.switching:
                    break
                since_off = t - key_off
                share = share_to_switch(
                    model.fans, y, new, sample[RUNNING], sample[AC], since_off, step, target
                )
                if step * (1.0 - share) <= stepping.switching:
                    break
                h = max(step * share, stepping.switching)
                continue
            if shortest:
                return NOT_FINITE, row, t
            h = max(
                step * (0.25 if not good else max(0.25, 0.9 * np.sqrt(stepping.tolerance / err))), SHORTEST
            )
        trace.energy[0] += step * (work.energy[0] - faded(model.source, work.sig, y, d1, d2, d3))
        trace.energy[1] += step * (work.energy[1] + dot(out_row, d2) + dot(out_row, d3) - dot(out_row, d1))
        trace.energy[2] += step * work.energy[2]
        y[:] = new
        for k in range(n, N):
            y[k] = min(max(y[k], 0.0), 1.0)
        t += step
        if abs(t - np.round(t)) < 1e-9:
            t = np.round(t)
        h = next_step(h, step, err, stepping.tolerance)
        steps += 1
