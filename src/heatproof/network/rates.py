"""Rates of change: every link's coefficient, then every heat flow.

`rates` first settles signals and flows at the given temperatures, then the coefficients of all links, then
sums heat into the masses. The coefficients stay in `work` for the matrix and the ledger.
"""

import numpy as np

from heatproof.laws.boiling import nucleate_boiling_coefficient
from heatproof.laws.convection import surface_coefficient
from heatproof.laws.exchange import exchanger_links
from heatproof.network import signals as S
from heatproof.network.arrays import EXHAUST
from heatproof.network.back_pressure import held_by_exhaust
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
    T, lift, sig, boundary = work.T, work.lift, work.sig, around.boundary
    for i in range(n):
        T[i] = y[i]
    for i in range(nb):
        T[n + i] = boundary[i]
    for k in range(lift.size):
        lift[k] = min(max(y[n + k], 0.0), 1.0)
    for k in range(model.fans.size):
        sig[S.FIRST_FAN + k] = max(y[n + lift.size + k], 0.0)


@compiled
def tank_pressure(model, around, T, number):
    """Pa over ambient in an expansion tank: trapped air squeezed by the coolant's expansion, up to the cap."""
    tank = around.tanks[number]
    if tank.mass < 0:
        return 0.0
    coef, bo, capacity = model.liquids[tank.fluid], model.boiling, model.capacity
    mean, volume = 0.0, 0.0
    for k in range(bo.size):
        if bo[k].tank == number:
            C = capacity[bo[k].cell]
            mean += C * T[bo[k].cell]
            volume += C
    mean = mean / volume if volume > 0.0 else tank.fill_temperature
    cold = density(tank.fluid, coef, tank.fill_temperature, 1e5)
    grown = tank.liquid * (cold / density(tank.fluid, coef, mean, 1e5) - 1.0)
    left = max(tank.air - grown, 0.02 * tank.air)
    p = around.pressure * (tank.air / left) * (T[tank.mass] / tank.fill_temperature)
    return min(max(p - around.pressure, 0.0), tank.cap_pressure)


@compiled
def zone_speeds(br, ju, pressure, T, m, speed):
    """Air speed (m/s) in every air junction from half of what flows through it."""
    for i in range(ju.size):
        speed[i] = 0.0
    for k in range(br.size):
        if br[k].fluid == 0:
            through = 0.5 * abs(m[k])
            speed[br[k].first] += through
            speed[br[k].second] += through
    for i in range(ju.size):
        area = ju[i].flow_area
        speed[i] = speed[i] * R_AIR * T[ju[i].mass] / (pressure * area) if area > 0.0 else 0.0


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
    return ju[br[k].first].mass if m >= 0.0 else ju[br[k].second].mass


@compiled
def downstream(br, ju, k, m):
    """Temperature index that takes up heat given to the stream of branch k: its cell, else what it enters."""
    if br[k].cell >= 0:
        return br[k].cell
    return ju[br[k].second].mass if m >= 0.0 else ju[br[k].first].mass


@compiled
def capacity_rate(br, m, sig, k):
    """|m| cp of branch k (W/K)."""
    cp = sig[S.EXHAUST_CP] if br[k].fluid == EXHAUST else br[k].cp
    return abs(m[k]) * cp


@compiled
def surface_coefficients(cv, pressure, T, speed, vehicle, g):
    """Conductances of surfaces in air."""
    for k in range(cv.size):
        row = cv[k]
        u = 0.0
        if row.junction >= 0:
            u = speed[row.junction] * row.exposure
        elif row.junction == VEHICLE_AIR:
            u = vehicle * row.exposure
        g[k] = row.area * surface_coefficient(T[row.i], T[row.j], pressure, row.length, u, row.orientation)


@compiled
def wetted_coefficients(we, m, g):
    """Conductances between walls and the liquid that wets them."""
    for k in range(we.size):
        row = we[k]
        flow = abs(m[row.branch]) / row.m_ref
        g[k] = row.G_still + (row.G_ref * flow**row.exponent if flow > 0.0 else 0.0)


@compiled
def duct_coefficients(du, br, m, sig, g):
    """Conductances between walls and the inlet temperature of the stream along them."""
    for k in range(du.size):
        row = du[k]
        C = capacity_rate(br, m, sig, row.branch)
        g[k] = 0.0
        if C > 1e-9:
            hA = row.hA_ref * (abs(m[row.branch]) / row.m_ref) ** row.exponent
            hA /= 1.0 + row.lining * hA
            g[k] = C * (1.0 - np.exp(-hA / C))


@compiled
def exchanger_coefficients(ex, hot_ln_hA, cold_ln_hA, br, m, sig, g):
    """Conductances from either inlet temperature to the metal between."""
    for k in range(ex.size):
        row = ex[k]
        mh, mc = abs(m[row.hot]) * row.hot_share, abs(m[row.cold]) * row.cold_share
        Ch = capacity_rate(br, m, sig, row.hot) * row.hot_share
        Cc = capacity_rate(br, m, sig, row.cold) * row.cold_share
        hAh = table_value(mh, row.hot_ln_m0, row.hot_step, hot_ln_hA[k])
        hAc = table_value(mc, row.cold_ln_m0, row.cold_step, cold_ln_hA[k])
        Gh, Gc = exchanger_links(hAh, hAc, Ch, Cc, row.arrangement)
        g[0, k], g[1, k] = Gh, Gc


@compiled
def held_conductance(G, C, T_in, T_metal, T_other):
    """G (W/K) small enough that a stream (C W/K) leaves no further than the metal, or the other inlet beyond it."""
    gap = T_in - T_metal
    if gap >= 0.0:
        reach = T_in - min(T_metal, T_other)
    else:
        gap, reach = -gap, max(T_metal, T_other) - T_in
    return C * reach / gap if G * gap > C * reach else G


@compiled
def hold_outlets(ex, br, ju, T, m, sig, g):
    """Second law for metal of another time: a steady core's one metal temperature may stand behind a stream's
    outlet, and the conductance that gives its steady heat would carry a stream past metal still cold, or still hot.
    """
    for k in range(ex.size):
        row = ex[k]
        Th, Tc = T[upstream(br, ju, row.hot, m[row.hot])], T[upstream(br, ju, row.cold, m[row.cold])]
        Ch = capacity_rate(br, m, sig, row.hot) * row.hot_share
        Cc = capacity_rate(br, m, sig, row.cold) * row.cold_share
        g[0, k] = held_conductance(g[0, k], Ch, Th, T[row.metal], Tc)
        g[1, k] = held_conductance(g[1, k], Cc, Tc, T[row.metal], Th)


@compiled
def boiling_coefficients(model, around, work):
    """Saturation temperature of every coolant cell, and the conductance past it (0 below)."""
    bo, we, tanks, sig = model.boiling, model.wetted, around.tanks, work.sig
    T, boil, junction_p, g = work.T, work.boil, work.p, work.g_wetted
    for k in range(tanks.size):
        sig[S.SYSTEM_PRESSURE + k] = tank_pressure(model, around, T, k)
    for k in range(bo.size):
        row = bo[k]
        tank = tanks[row.tank]
        rho = density(tank.fluid, model.liquids[tank.fluid], around.temperature, around.pressure)
        gauge = sig[S.SYSTEM_PRESSURE + row.tank]
        p = around.pressure + gauge + junction_p[row.junction] + rho * GRAVITY * (tank.z - row.z)
        boil[1, k] = saturation_temperature(
            around.saturation_p0, around.saturation_step, around.saturation_T[row.tank], p
        )
        boil[0, k] = row.conductance if T[row.cell] > boil[1, k] else 0.0
    # A wall hotter than saturation boils what wets it, although the stream's mean is below.
    for k in range(we.size):
        row = we[k]
        if row.boiling_cell >= 0:
            excess = T[row.i] - boil[1, row.boiling_cell]
            if excess > 0.0:
                gauge = sig[S.SYSTEM_PRESSURE + bo[row.boiling_cell].tank]
                flux = nucleate_boiling_coefficient(excess, around.pressure + gauge) * excess
                g[k] += row.boiling_area * flux / max(T[row.i] - T[row.j], 1.0)


@compiled
def settle(model, around, sample, y, work):
    """Signals, flows and coefficients at state y. Returns 0, or 1 where flows were not found."""
    unpack(model, around, y, work)
    intake = model.engine[0].intake_junction
    p_intake = work.p[intake] if intake >= 0 else 0.0
    engine_signals(model, around, sample, work.T, p_intake, work.sig)
    if work.sig[S.HELD_BY_EXHAUST] > 0.0:
        held_by_exhaust(model, around, sample, work.T, p_intake, work.sig)
    imbalance = solve_flows(model, around, work)
    zone_speeds(model.branches, model.junctions, around.pressure, work.T, work.m, work.speed)
    br, m, sig = model.branches, work.m, work.sig
    surface_coefficients(
        model.convection, around.pressure, work.T, work.speed, sig[S.VEHICLE_SPEED], work.g_convection
    )
    wetted_coefficients(model.wetted, m, work.g_wetted)
    duct_coefficients(model.duct, br, m, sig, work.g_duct)
    exchanger_coefficients(model.exchanger, model.hot_ln_hA, model.cold_ln_hA, br, m, sig, work.g_exchanger)
    hold_outlets(model.exchanger, br, model.junctions, work.T, m, sig, work.g_exchanger)
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
def carried(br, ju, T, m, sig, n, Q, out):
    """Heat carried by the streams of all branches, upwind; returns heat out."""
    for k in range(br.size):
        C = capacity_rate(br, m, sig, k)
        if C == 0.0:
            continue
        first, second = ju[br[k].first].mass, ju[br[k].second].mass
        up, end = (first, second) if m[k] >= 0.0 else (second, first)
        cell = br[k].cell
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
def linked(model, T, g_convection, g_wetted, n, Q, out):
    """Heat through conduction, radiation, convection, wetted walls; returns heat out."""
    cd, ra, cv, we = model.conduction, model.radiation, model.convection, model.wetted
    for k in range(cd.size):
        i, j = cd[k].i, cd[k].j
        out = add_pair(Q, out, n, i, j, cd[k].G * (T[j] - T[i]))
    for k in range(ra.size):
        i, j = ra[k].i, ra[k].j
        a, b = T[i] * T[i], T[j] * T[j]
        out = add_pair(Q, out, n, i, j, SIGMA * ra[k].FA * (b + a) * (b - a))
    for k in range(cv.size):
        i, j = cv[k].i, cv[k].j
        out = add_pair(Q, out, n, i, j, g_convection[k] * (T[j] - T[i]))
    for k in range(we.size):
        i, j = we[k].i, we[k].j
        out = add_pair(Q, out, n, i, j, g_wetted[k] * (T[j] - T[i]))
    return out


@compiled
def streamed(du, ex, br, ju, T, m, g_duct, g_exchanger, n, Q, out):
    """Heat between walls or metals and streams seen by their inlet temperature; returns heat out."""
    for k in range(du.size):
        b, wall = du[k].branch, du[k].i
        q = g_duct[k] * (T[upstream(br, ju, b, m[b])] - T[wall])
        out = add_pair(Q, out, n, wall, downstream(br, ju, b, m[b]), q)
    for k in range(ex.size):
        metal = ex[k].metal
        for side in range(2):
            b = ex[k].hot if side == 0 else ex[k].cold
            q = g_exchanger[side, k] * (T[upstream(br, ju, b, m[b])] - T[metal])
            out = add_pair(Q, out, n, metal, downstream(br, ju, b, m[b]), q)
    return out


@compiled
def source_heat(row, sig, T):
    """W of one source, less of it as its mass nears the temperature at which it is switched off."""
    q = row.factor * sig[row.signal]
    over = T[row.r] - row.fades_from
    return q * max(1.0 - over / row.fades_over, 0.0) if over > 0.0 else q


@compiled
def source_slope(row, sig, T):
    """W/K that a source loses for each kelvin of its mass."""
    over = T[row.r] - row.fades_from
    return row.factor * sig[row.signal] / row.fades_over if 0.0 < over < row.fades_over else 0.0


@compiled
def sources(so, sig, T, Q):
    """Heat of all sources; returns their sum and the sum of the positive ones (W)."""
    total, positive = 0.0, 0.0
    for k in range(so.size):
        q = source_heat(so[k], sig, T)
        Q[so[k].r] += q
        total += q
        positive += max(q, 0.0)
    return total, positive


@compiled
def vapour(bo, T, boil, n, Q, out):
    """Heat past saturation leaves a cell as vapour for the tank; from the tank's own boiling it leaves the car."""
    for k in range(bo.size):
        cell, r = bo[k].cell, bo[k].receiver
        q = boil[0, k] * (T[cell] - boil[1, k])
        Q[cell] -= q
        if r < n:
            Q[r] += q
        else:
            out += q
    return out


@compiled
def controls(model, work, y, n, fan_target):
    """Rates of thermostat lifts and fan speeds (1/s)."""
    li, fa, T, rate = model.lifts, model.fans, work.T, work.rate
    for k in range(li.size):
        f = (T[li[k].sensor] - li[k].opens) / (li[k].full - li[k].opens)
        f = min(max(f, 0.0), 1.0)
        rate[n + k] = (f * f * (3.0 - 2.0 * f) - y[n + k]) / li[k].tau
    first = n + li.size
    for k in range(fa.size):
        rate[first + k] = (fan_target[k] - y[first + k]) / fa[k].tau


@compiled
def rates(model, around, sample, y, fan_target, work):
    """Heat into every mass (W) in work.rate, lifts and fans (1/s) behind; work.energy = [in, out, positive in].

    Returns 0, or 1 where flows were not found.
    """
    imbalance = settle(model, around, sample, y, work)
    n = work.T.size - around.boundary.size
    Q, T, m, sig = work.rate, work.T, work.m, work.sig
    br, ju = model.branches, model.junctions
    Q[:] = 0.0
    out = linked(model, T, work.g_convection, work.g_wetted, n, Q, 0.0)
    out = streamed(model.duct, model.exchanger, br, ju, T, m, work.g_duct, work.g_exchanger, n, Q, out)
    out = carried(br, ju, T, m, sig, n, Q, out)
    out = vapour(model.boiling, T, work.boil, n, Q, out)
    work.energy[0], work.energy[2] = sources(model.source, sig, T, Q)
    work.energy[1] = out
    controls(model, work, y, n, fan_target)
    return imbalance
