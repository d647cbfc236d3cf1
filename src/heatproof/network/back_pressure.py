"""What an engine can reach whose exhaust holds it back.

Brake power over air rises while the gas gets out and falls once pushing it out takes more than the further air
brings: P_b(m) = P_i(m) − P_f − P_p(m) has a highest point. Past it more air gives less; an iteration that answers
missing power with more air runs away. Here the highest point is bracketed, and a demand below it met on the near side.
Pumping heats the gas, hot gas is harder to push out: at given air that loop is closed by secants.
"""

import numpy as np

from heatproof.laws.engine import motored_friction_pressure
from heatproof.network import signals as S
from heatproof.network.engine import (
    DEMAND,
    ENOUGH,
    SPEED,
    T_VOLUMETRIC,
    UNSETTLED,
    boost_target,
    burned,
    curve,
    delivered,
    shaft_powers,
)
from heatproof.network.fluids import R_AIR
from heatproof.network.turbo import turbo_pass
from heatproof.numerics.compiled import compiled_inner

GOLDEN = 0.6180339887498949
STEPS = 24  # of air from none to full load, among which the highest power is looked for
LEAST_STEP = 0.5  # of such a step: the least air tried
NARROWINGS = 32  # of the bracket about it, to 2e-7 of it
# W where the turbine cannot give the boost, or pumping takes all: worse than any engine, and worse for more air, so that
# the bracket moves to less.
NO_BOOST, NO_WAY_OUT = -1e9, -3e9
SAME = 1e-10  # of the indicated power, within which pumping is settled
AS_GOOD = 1e-4  # of the highest power: what was settled is kept
BEYOND = 1.002  # times the air of the highest power: what holds the engine there


@compiled_inner
def breathing(model, around, N, T_m, p_intake):
    """m3/s swept, kg/s of air per Pa in the manifold, friction W, and air of full load kg/s."""
    e = model.engine[0]
    swept = e.displacement * N / 2.0
    eta_v = curve(N, model.breathing[0], model.breathing[1]) * (T_m / T_VOLUMETRIC) ** (1.0 - e.flow_exponent)
    per_pascal = eta_v * swept / (R_AIR * T_m)
    p_full = around.pressure + max(boost_target(e, around, N), min(p_intake, 0.0))
    return swept, per_pascal, e.friction_factor * motored_friction_pressure(N) * swept, per_pascal * p_full


@compiled_inner
def with_air(model, around, sample, T, p_intake, air, mixture, sig):
    """Brake power (W) with so much air (kg/s), all signals of it in `sig`; below `NO_BOOST` where it cannot be had."""
    e = model.engine[0]
    N, T_m, T1 = sample[SPEED], T[e.plenum], T[e.compressor_in]
    swept, per_pascal, friction, air_full = breathing(model, around, N, T_m, p_intake)
    p_m, T_coolant = air / per_pascal, T[e.coolant]
    worst = 1.0 + air / air_full
    pumping, before, answer_before = 0.0, 0.0, 0.0
    for k in range(60):
        fuel, exhaust, indicated, eta_c, walls, T3, cp = burned(
            e, air, mixture, False, pumping, T_m, T_coolant, around.temperature
        )
        compression, share, answer, p1, _ = turbo_pass(
            model, around, air, p_m, exhaust, T3, mixture, cp, T_m, T1, p_intake, swept, sig
        )
        if not answer < indicated:
            return NO_WAY_OUT * worst
        if abs(answer - pumping) <= SAME * indicated:
            break
        slope = (answer - answer_before) / (pumping - before) if k > 0 else 0.0
        if slope >= 1.0:
            return NO_WAY_OUT * worst  # the gas grows hotter faster than it gets out
        before, answer_before = pumping, answer
        pumping = max(pumping + (answer - pumping) / (1.0 - slope), 0.0)
        if not pumping < indicated:
            return NO_WAY_OUT * worst
    boosted = boost_target(e, around, N) > 0.0
    if (share < ENOUGH and p_m > p1) or (not boosted and p_m > p1):
        return NO_BOOST * worst
    power = indicated - friction - pumping
    delivered(sig, e, around, sample[DEMAND], power, air, fuel, exhaust, mixture, eta_c, walls, T3, cp)
    sig[S.FRICTION_HEAT], sig[S.MANIFOLD_PRESSURE] = friction, p_m
    shaft_powers(sig, compression, compression / e.mechanical_efficiency)
    return power


@compiled_inner
def air_of_most_power(model, around, sample, T, p_intake, air_full, sig):
    """Air (kg/s) at the highest brake power, and that power (W).

    Looked for in even steps up to full load, as a second, lower top may stand where the turbine begins to work; then
    by golden section about the best.
    """
    rich = model.engine[0].mixture_full
    best, most = 1, -np.inf
    for k in range(1, STEPS + 1):
        power = with_air(model, around, sample, T, p_intake, k * air_full / STEPS, rich, sig)
        if power > most:
            best, most = k, power
    low, high = max(best - 1, LEAST_STEP) * air_full / STEPS, min(best + 1, STEPS) * air_full / STEPS
    a, b = high - GOLDEN * (high - low), low + GOLDEN * (high - low)
    at_a = with_air(model, around, sample, T, p_intake, a, rich, sig)
    at_b = with_air(model, around, sample, T, p_intake, b, rich, sig)
    for _ in range(NARROWINGS):
        if at_a >= at_b:
            high, b, at_b = b, a, at_a
            a = high - GOLDEN * (high - low)
            at_a = with_air(model, around, sample, T, p_intake, a, rich, sig)
        else:
            low, a, at_a = a, b, at_b
            b = low + GOLDEN * (high - low)
            at_b = with_air(model, around, sample, T, p_intake, b, rich, sig)
    return low, with_air(model, around, sample, T, p_intake, low, rich, sig)


@compiled_inner
def air_for_demand(model, around, sample, T, p_intake, most_air, most, sig):
    """Air (kg/s) and mixture for a demand below the highest power (W), on the near side of it, by bisection."""
    e, demand = model.engine[0], sample[DEMAND]
    mixture, threshold = e.mixture_part, e.full_threshold * most
    if demand > threshold:
        mixture += (e.mixture_full - mixture) * (demand - threshold) / (most - threshold)
    low, high = 0.0, most_air
    for _ in range(NARROWINGS):
        air = 0.5 * (low + high)
        if with_air(model, around, sample, T, p_intake, air, mixture, sig) < demand:
            low = air
        else:
            high = air
    return high, mixture


@compiled_inner
def copy_signals(sig, to):
    for k in range(sig.size):
        to[k] = sig[k]


@compiled_inner
def limit_beyond(model, around, sample, T, p_intake, air, air_full, sig, beyond_sig):
    """Signals of what holds the engine at its highest power: its exhaust, its turbine (boost short, Pa), or neither."""
    e = model.engine[0]
    sig[S.HELD_BY_EXHAUST], sig[S.BOOST_SHORT] = 0.0, 0.0
    if BEYOND * air > air_full:
        return
    p_m = sig[S.MANIFOLD_PRESSURE]
    copy_signals(sig, beyond_sig)
    beyond = with_air(model, around, sample, T, p_intake, BEYOND * air, e.mixture_full, beyond_sig)
    if NO_WAY_OUT < beyond <= NO_BOOST:
        sig[S.BOOST_SHORT] = p_m * (air_full / air - 1.0)
    else:
        sig[S.HELD_BY_EXHAUST] = 1.0


@compiled_inner
def held_by_exhaust(model, around, sample, T, p_intake, sig, scratch):
    """Signals of an engine suspected past its highest power: what it can reach, or the demand below that.

    Where what was settled is as good, it stays. scratch: (2, S.COUNT).
    """
    unsettled, power = sig[S.HELD_BY_EXHAUST] == UNSETTLED, sig[S.BRAKE_POWER]
    sig[S.HELD_BY_EXHAUST] = 0.0
    _, _, _, air_full = breathing(model, around, sample[SPEED], T[model.engine[0].plenum], p_intake)
    tried = scratch[0]
    copy_signals(sig, tried)
    air, most = air_of_most_power(model, around, sample, T, p_intake, air_full, tried)
    if most <= NO_BOOST or (not unsettled and power >= (1.0 - AS_GOOD) * most):
        return
    if sample[DEMAND] < most:
        air, mixture = air_for_demand(model, around, sample, T, p_intake, air, most, tried)
        with_air(model, around, sample, T, p_intake, air, mixture, tried)
    else:
        limit_beyond(model, around, sample, T, p_intake, air, air_full, tried, scratch[1])
    copy_signals(tried, sig)
