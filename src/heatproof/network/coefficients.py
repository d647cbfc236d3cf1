"""What every link passes a kelvin, at the flows and temperatures of this instant."""

import numpy as np

from heatproof.laws.boiling import nucleate_boiling_coefficient
from heatproof.laws.convection import surface_coefficient
from heatproof.laws.exchange import exchanger_links
from heatproof.network import signals as S
from heatproof.network.arrays import EXHAUST, VEHICLE_SPEED_COUNTS
from heatproof.network.flow import GRAVITY
from heatproof.network.fluids import density, saturation_temperature
from heatproof.numerics.compiled import compiled, compiled_inner


@compiled_inner
def table_value(m, ln_m0, step, ln_values):
    """exp of a straight line in ln m; slope held beyond the ends."""
    x = (np.log(max(m, 1e-9)) - ln_m0) / step
    i = min(max(int(np.floor(x)), 0), ln_values.size - 2)
    f = x - i
    return np.exp(ln_values[i] * (1.0 - f) + ln_values[i + 1] * f)


@compiled_inner
def upstream(br, ju, k, m):
    """Temperature index of what enters branch k at flow m."""
    return ju[br[k].first].mass if m >= 0.0 else ju[br[k].second].mass


@compiled_inner
def downstream(br, ju, k, m):
    """Temperature index that takes up heat given to the stream of branch k: its cell, else what it enters."""
    if br[k].cell >= 0:
        return br[k].cell
    return ju[br[k].second].mass if m >= 0.0 else ju[br[k].first].mass


@compiled_inner
def capacity_rate(br, m, sig, k):
    """|m| cp of branch k (W/K)."""
    cp = sig[S.EXHAUST_CP] if br[k].fluid == EXHAUST else br[k].cp
    return abs(m[k]) * cp


@compiled_inner
def surface_coefficients(cv, pressure, T, speed, vehicle, g):
    """Conductances of surfaces in air."""
    for k in range(cv.size):
        row = cv[k]
        u = 0.0
        if row.junction >= 0:
            u = speed[row.junction] * row.exposure
        elif row.junction == VEHICLE_SPEED_COUNTS:
            u = vehicle * row.exposure
        g[k] = row.area * surface_coefficient(T[row.i], T[row.j], pressure, row.length, u, row.orientation)


@compiled_inner
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


@compiled_inner
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


@compiled_inner
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


@compiled_inner
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
