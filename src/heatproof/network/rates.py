"""Rates of change: every link's coefficient, then every heat flow.

`rates` first settles signals and flows at the given temperatures, then the coefficients of all links, then
sums heat into the masses. The coefficients stay in `work` for the matrix and the ledger.
"""

from heatproof.network import signals as S
from heatproof.network.back_pressure import held_by_exhaust
from heatproof.network.coefficients import (
    boiling_coefficients,
    duct_coefficients,
    exchanger_coefficients,
    hold_outlets,
    surface_coefficients,
    wetted_coefficients,
)
from heatproof.network.engine import engine_signals
from heatproof.network.flow import solve_flows
from heatproof.network.fluids import R_AIR
from heatproof.network.heat_flows import carried, linked, sources, streamed, vapour
from heatproof.numerics.compiled import compiled, compiled_inner


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


@compiled_inner
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


@compiled_inner
def settle(model, around, sample, y, work):
    """Signals, flows and coefficients at state y. Returns 0, or 1 where flows were not found."""
    unpack(model, around, y, work)
    intake = model.engine[0].intake_junction
    p_intake = work.p[intake] if intake >= 0 else 0.0
    engine_signals(model, around, sample, work.T, p_intake, work.sig)
    if work.sig[S.HELD_BY_EXHAUST] > 0.0:
        held_by_exhaust(model, around, sample, work.T, p_intake, work.sig, work.tried)
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


@compiled_inner
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
