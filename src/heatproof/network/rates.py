"""Rates of change: every link's coefficient, then every heat flow.

`rates` first settles signals and flows at the given temperatures, then the coefficients of all links, then
sums heat into the masses. The coefficients stay in `work` for the matrix and the ledger.
"""

import numpy as np

from heatproof.laws.boiling import nucleate_boiling_coefficient
from heatproof.laws.convection import surface_coefficient
from heatproof.laws.exchange import exchanger_links
from heatproof.network import signals as S
from heatproof.network.arrays import COOLANT, EXHAUST
from heatproof.network.engine import engine_signals
from heatproof.network.flow import GRAVITY, solve_flows
from heatproof.network.fluids import R_AIR, density, saturation_temperature
from heatproof.numerics.compiled import compiled

SIGMA = 5.670374e-8
STILL_AIR, VEHICLE_AIR = -2, -1


@compiled
def unpack(model, around, y, work):
    """Temperatures with boundaries, and lifts, from the state."""
    n, nb = model.capacity.size - model.lifts.size - model.fans.size, around.boundary.size
    for i in range(n):
        work.T[i] = y[i]
    for i in range(nb):
        work.T[n + i] = around.boundary[i]
    for k in range(work.lift.size):
        work.lift[k] = min(max(y[n + k], 0.0), 1.0)
    for k in range(model.fans.size):
        work.sig[S.FIRST_FAN + k] = max(y[n + work.lift.size + k], 0.0)


@compiled
def system_pressure(model, around, T):
    """Pa over ambient in the expansion tank: trapped air squeezed by the coolant's expansion, up to the cap."""
    if around.tank < 0:
        return 0.0
    coef = model.liquids[COOLANT]
    mean, volume = 0.0, 0.0
    for k in range(model.boiling.size):
        C = model.capacity[model.boiling.cell[k]]
        mean += C * T[model.boiling.cell[k]]
        volume += C
    mean = mean / volume if volume > 0.0 else around.fill_temperature
    cold = density(COOLANT, coef, around.fill_temperature, 1e5)
    grown = around.coolant_volume * (cold / density(COOLANT, coef, mean, 1e5) - 1.0)
    left = max(around.tank_air - grown, 0.02 * around.tank_air)
    p = around.pressure * (around.tank_air / left) * (T[around.tank] / around.fill_temperature)
    return min(max(p - around.pressure, 0.0), around.cap_pressure)


@compiled
def zone_speeds(model, around, work):
    """Air speed (m/s) in every air junction from half of what flows through it."""
    br, ju = model.branches, model.junctions
    for i in range(ju.size):
        work.speed[i] = 0.0
    for k in range(br.size):
        if br.fluid[k] == 0:
            through = 0.5 * abs(work.m[k])
            work.speed[br.first[k]] += through
            work.speed[br.second[k]] += through
    for i in range(ju.size):
        if ju.flow_area[i] > 0.0:
            work.speed[i] *= R_AIR * work.T[ju.mass[i]] / (around.pressure * ju.flow_area[i])
        else:
            work.speed[i] = 0.0


@compiled
def table_value(m, ln_m0, step, ln_values):
    """exp of a straight line in ln m; slope held beyond the ends."""
    x = (np.log(max(m, 1e-9)) - ln_m0) / step
    i = min(max(int(np.floor(x)), 0), ln_values.size - 2)
    f = x - i
    return np.exp(ln_values[i] * (1.0 - f) + ln_values[i + 1] * f)


@compiled
def upstream(br, ju, k, m):
    """Temperature index of what enters branch k at flow m."""
    return ju.mass[br.first[k]] if m >= 0.0 else ju.mass[br.second[k]]


@compiled
def downstream(br, ju, k, m):
    """Temperature index that takes up heat given to the stream of branch k: its cell, else what it enters."""
    if br.cell[k] >= 0:
        return br.cell[k]
    return ju.mass[br.second[k]] if m >= 0.0 else ju.mass[br.first[k]]


@compiled
def capacity_rate(br, m, sig, k):
    """|m| cp of branch k (W/K)."""
    cp = sig[S.EXHAUST_CP] if br.fluid[k] == EXHAUST else br.cp[k]
    return abs(m[k]) * cp


@compiled
def coefficients(model, around, work):
    """Conductances of all links that depend on temperatures and flows."""
    T, m = work.T, work.m
    br, cv = model.branches, model.convection
    for k in range(cv.size):
        u = 0.0
        if cv.junction[k] >= 0:
            u = work.speed[cv.junction[k]] * cv.exposure[k]
        elif cv.junction[k] == VEHICLE_AIR:
            u = work.sig[S.VEHICLE_SPEED] * cv.exposure[k]
        i, j = cv.i[k], cv.j[k]
        work.g_convection[k] = cv.area[k] * surface_coefficient(
            T[i], T[j], around.pressure, cv.length[k], u, cv.orientation[k]
        )
    we = model.wetted
    for k in range(we.size):
        flow = abs(m[we.branch[k]]) / we.m_ref[k] if we.branch[k] >= 0 else 0.0
        g = we.G_still[k] + (we.G_ref[k] * flow ** we.exponent[k] if flow > 0.0 else 0.0)
        work.g_wetted[k] = g
    du = model.duct
    for k in range(du.size):
        C = capacity_rate(br, work.m, work.sig, du.branch[k])
        g = 0.0
        if C > 1e-9:
            hA = du.hA_ref[k] * (abs(m[du.branch[k]]) / du.m_ref[k]) ** du.exponent[k]
            g = C * (1.0 - np.exp(-hA / C))
        work.g_duct[k] = g
    ex = model.exchanger
    for k in range(ex.size):
        mh, mc = abs(m[ex.hot[k]]) * ex.hot_share[k], abs(m[ex.cold[k]]) * ex.cold_share[k]
        Ch = capacity_rate(br, work.m, work.sig, ex.hot[k]) * ex.hot_share[k]
        Cc = capacity_rate(br, work.m, work.sig, ex.cold[k]) * ex.cold_share[k]
        hAh = table_value(mh, ex.hot_ln_m0[k], ex.hot_step[k], model.hot_ln_hA[k])
        hAc = table_value(mc, ex.cold_ln_m0[k], ex.cold_step[k], model.cold_ln_hA[k])
        Gh, Gc = exchanger_links(hAh, hAc, Ch, Cc, ex.arrangement[k])
        work.g_exchanger[0, k], work.g_exchanger[1, k] = Gh, Gc


@compiled
def boiling_coefficients(model, around, work):
    """Saturation temperature of every coolant cell, and the conductance past it (0 below)."""
    bo, we = model.boiling, model.wetted
    gauge = system_pressure(model, around, work.T)
    work.sig[S.SYSTEM_PRESSURE] = gauge
    rho = density(COOLANT, model.liquids[COOLANT], around.temperature, around.pressure)
    for k in range(bo.size):
        p = around.pressure + gauge + work.p[bo.junction[k]] + rho * GRAVITY * (around.tank_z - bo.z[k])
        work.boil[1, k] = saturation_temperature(around, p)
        work.boil[0, k] = bo.conductance[k] if work.T[bo.cell[k]] > work.boil[1, k] else 0.0
    # A wall hotter than saturation boils what wets it, although the stream's mean is below.
    for k in range(we.size):
        q = we.boiling_cell[k]
        if q >= 0:
            excess = work.T[we.i[k]] - work.boil[1, q]
            if excess > 0.0:
                flux = nucleate_boiling_coefficient(excess, around.pressure + gauge) * excess
                work.g_wetted[k] += we.boiling_area[k] * flux / max(work.T[we.i[k]] - work.T[we.j[k]], 1.0)


@compiled
def settle(model, around, sample, y, work):
    """Signals, flows and coefficients at state y. Returns 0, or 1 where flows were not found."""
    unpack(model, around, y, work)
    intake = model.engine[0].intake_junction
    p_intake = work.p[intake] if intake >= 0 else 0.0
    engine_signals(model, around, sample, work.T, p_intake, work.sig)
    imbalance = solve_flows(model, around, work)
    zone_speeds(model, around, work)
    coefficients(model, around, work)
    boiling_coefficients(model, around, work)
    return imbalance


@compiled
def add_pair(Q, out, n, i, j, q):
    """Heat q (W) from j to i; what a boundary receives counts as heat out."""
    if i < n:
        Q[i] += q
    else:
        out += q
    if j < n:
        Q[j] -= q
    else:
        out -= q
    return out


@compiled
def carried(model, work, n, out):
    """Heat carried by the streams of all branches, upwind; returns heat out."""
    br, ju = model.branches, model.junctions
    T, Q = work.T, work.rate
    for k in range(br.size):
        m = work.m[k]
        C = capacity_rate(br, work.m, work.sig, k)
        if C == 0.0:
            continue
        up = upstream(br, ju, k, m)
        end = ju.mass[br.second[k]] if m >= 0.0 else ju.mass[br.first[k]]
        cell = br.cell[k]
        if cell >= 0:
            Q[cell] += C * (T[up] - T[cell])
            up = cell
        q = C * (T[up] - T[end])
        if end < n:
            Q[end] += q
        else:
            out += q
    return out


@compiled
def linked(model, work, n, out):
    """Heat through conduction, radiation, convection, wetted walls; returns heat out."""
    T, Q = work.T, work.rate
    cd, ra, cv, we = model.conduction, model.radiation, model.convection, model.wetted
    for k in range(cd.size):
        out = add_pair(Q, out, n, cd.i[k], cd.j[k], cd.G[k] * (T[cd.j[k]] - T[cd.i[k]]))
    for k in range(ra.size):
        a, b = T[ra.i[k]] * T[ra.i[k]], T[ra.j[k]] * T[ra.j[k]]
        out = add_pair(Q, out, n, ra.i[k], ra.j[k], SIGMA * ra.FA[k] * (b + a) * (b - a))
    for k in range(cv.size):
        out = add_pair(Q, out, n, cv.i[k], cv.j[k], work.g_convection[k] * (T[cv.j[k]] - T[cv.i[k]]))
    for k in range(we.size):
        out = add_pair(Q, out, n, we.i[k], we.j[k], work.g_wetted[k] * (T[we.j[k]] - T[we.i[k]]))
    return out


@compiled
def streamed(model, work, n, out):
    """Heat between walls or metals and streams seen by their inlet temperature; returns heat out."""
    T, Q = work.T, work.rate
    br, ju, du, ex = model.branches, model.junctions, model.duct, model.exchanger
    for k in range(du.size):
        m = work.m[du.branch[k]]
        q = work.g_duct[k] * (T[upstream(br, ju, du.branch[k], m)] - T[du.i[k]])
        out = add_pair(Q, out, n, du.i[k], downstream(br, ju, du.branch[k], m), q)
    for k in range(ex.size):
        metal = ex.metal[k]
        for side in range(2):
            branch = ex.hot[k] if side == 0 else ex.cold[k]
            m = work.m[branch]
            g = work.g_exchanger[side, k]
            q = g * (T[upstream(br, ju, branch, m)] - T[metal])
            out = add_pair(Q, out, n, metal, downstream(br, ju, branch, m), q)
    return out


@compiled
def sources(model, work):
    """Heat of all sources; returns their sum and the sum of the positive ones (W)."""
    so, total, positive = model.source, 0.0, 0.0
    for k in range(so.size):
        q = so.factor[k] * work.sig[so.signal[k]]
        work.rate[so.r[k]] += q
        total += q
        positive += max(q, 0.0)
    return total, positive


@compiled
def vapour(model, work, n, out):
    """Heat past saturation leaves a cell as vapour for the tank; from the tank's own boiling it leaves the car."""
    bo, T, Q = model.boiling, work.T, work.rate
    for k in range(bo.size):
        q = work.boil[0, k] * (T[bo.cell[k]] - work.boil[1, k])
        Q[bo.cell[k]] -= q
        r = bo.receiver[k]
        if r < n:
            Q[r] += q
        else:
            out += q
    return out


@compiled
def controls(model, work, y, n, fan_target):
    """Rates of thermostat lifts and fan speeds (1/s)."""
    li, fa = model.lifts, model.fans
    for k in range(li.size):
        f = (work.T[li.sensor[k]] - li.opens[k]) / (li.full[k] - li.opens[k])
        f = min(max(f, 0.0), 1.0)
        work.rate[n + k] = (f * f * (3.0 - 2.0 * f) - y[n + k]) / li.tau[k]
    first = n + li.size
    for k in range(fa.size):
        work.rate[first + k] = (fan_target[k] - y[first + k]) / fa.tau[k]


@compiled
def rates(model, around, sample, y, fan_target, work):
    """Heat into every mass (W) in work.rate, lifts and fans (1/s) behind; work.energy = [in, out, positive in].

    Returns 0, or 1 where flows were not found.
    """
    imbalance = settle(model, around, sample, y, work)
    n = work.T.size - around.boundary.size
    work.rate[:] = 0.0
    out = linked(model, work, n, 0.0)
    out = streamed(model, work, n, out)
    out = carried(model, work, n, out)
    out = vapour(model, work, n, out)
    work.energy[0], work.energy[2] = sources(model, work)
    work.energy[1] = out
    controls(model, work, y, n, fan_target)
    return imbalance
