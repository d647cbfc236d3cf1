"""The turbocharger at this instant: compressor by its map or one efficiency, turbine and wastegate, pumping work."""

import numpy as np

from heatproof.laws.exhaust_pipe import pressure_ahead
from heatproof.laws.turbo import turbine_match
from heatproof.media.exhaust import gamma_exhaust
from heatproof.network import signals as S
from heatproof.network.arrays import MAP_EFFICIENCY, MAP_INSIDE, MAP_SPEED
from heatproof.network.fluids import CP_AIR, R_AIR
from heatproof.numerics.compiled import compiled_inner

R_EXHAUST = 287.0
GAMMA = 1.4
SMALLEST_RATIO = 1.002


@compiled_inner
def map_lookup(e, compressor_map, layer, flow, ratio):
    """Bilinear look-up in a compressor table at corrected flow (kg/s) and pressure ratio."""
    table = compressor_map[layer]
    x = min(max((flow - e.map_flow0) / e.map_flow_step, 0.0), table.shape[1] - 1.000001)
    y = min(max((ratio - e.map_ratio0) / e.map_ratio_step, 0.0), table.shape[0] - 1.000001)
    # What is no number has no cell: the first one, so that nothing outside the table is read.
    i, j = min(max(int(y), 0), table.shape[0] - 2), min(max(int(x), 0), table.shape[1] - 2)
    f, g = y - i, x - j
    low = table[i, j] * (1.0 - g) + table[i, j + 1] * g
    high = table[i + 1, j] * (1.0 - g) + table[i + 1, j + 1] * g
    return low * (1.0 - f) + high * f


@compiled_inner
def compressor(e, compressor_map, air, T1, p1, ratio, sig):
    """Power into the charge air (W); sets the map's signals."""
    efficiency = e.compressor_efficiency
    if e.map_T_ref > 0.0:
        corrected = air * np.sqrt(T1 / e.map_T_ref) / (p1 / e.map_p_ref)
        sig[S.CORRECTED_FLOW] = corrected
        if ratio > SMALLEST_RATIO:
            efficiency = map_lookup(e, compressor_map, MAP_EFFICIENCY, corrected, ratio)
            sig[S.TURBO_SPEED] = map_lookup(e, compressor_map, MAP_SPEED, corrected, ratio) * np.sqrt(
                T1 / e.map_T_ref
            )
            sig[S.MAP_FLAG] = (
                1.0 if map_lookup(e, compressor_map, MAP_INSIDE, corrected, ratio) < 0.5 else 0.0
            )
    return air * CP_AIR * T1 * (ratio ** ((GAMMA - 1.0) / GAMMA) - 1.0) / efficiency


@compiled_inner
def turbine(e, exhaust, T3, mixture, cp, p4, power, sig):
    """Expansion ratio and wastegate share that give `power` (W at the shaft). Returns the share of it got."""
    ratio, bypass, got = turbine_match(
        power,
        exhaust,
        p4,
        T3,
        e.swallowing_area,
        e.turbine_efficiency,
        cp,
        gamma_exhaust(T3, mixture),
        R_EXHAUST,
    )
    sig[S.EXPANSION_RATIO] = ratio
    sig[S.WASTEGATE_SHARE] = bypass / exhaust
    return got / max(power, 1e-6)


@compiled_inner
def spare_power(e, exhaust, T3, mixture, cp, p4, power):
    """What all the gas through the turbine could give over the power (W) it must, less 1; at most 0.5."""
    gamma = gamma_exhaust(T3, mixture)
    ask, area, efficiency = 1.5 * max(power, 1e-6), e.swallowing_area, e.turbine_efficiency
    _, _, got = turbine_match(ask, exhaust, p4, T3, area, efficiency, cp, gamma, R_EXHAUST)
    return got / max(power, 1e-6) - 1.0


@compiled_inner
def next_boost(low, spare_low, high, spare_high):
    """Share of the boost to try next: half until one is found that can be had, then by false position."""
    if spare_low <= 0.0:
        return 0.5 * high
    f = spare_low / (spare_low - spare_high)
    return low + min(max(f, 0.05), 0.95) * (high - low)


@compiled_inner
def turbo_pass(model, around, air, p_m, exhaust, T3, mixture, cp, T_m, T1, p_intake, swept, sig):
    """Compressor and turbine for so much air and exhaust (kg/s) at p_m (Pa) in the manifold.

    Returns compression W, share of its power the turbine gives, pumping W, pressure before the compressor and behind
    the turbine Pa.
    """
    e = model.engine[0]
    p1 = around.pressure + p_intake - e.filter_loss * air * air
    p2 = p_m + e.charge_loss * air * air * (e.charge_rho * R_AIR * T_m / p_m)
    ratio = max(p2 / p1, SMALLEST_RATIO)
    compression = compressor(e, model.compressor_map, air, T1, p1, ratio, sig)
    p4 = pressure_ahead(around.pressure, e.exhaust_loss * exhaust * exhaust * (T3 / e.exhaust_T))
    shaft = compression / e.mechanical_efficiency
    share = turbine(e, exhaust, T3, mixture, cp, p4, shaft, sig)
    p3 = p4 * sig[S.EXPANSION_RATIO]
    sig[S.PRESSURE_RATIO] = ratio
    return compression, share, max(p3 - max(p_m, p1), 0.0) * swept, p1, p4
