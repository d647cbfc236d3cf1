"""What the engine and its turbocharger do at this instant: air, fuel, heat, exhaust, pressures.

Mean values over a cycle. Everything follows from the duty's demand, the plenum temperature and the
compressor-inlet temperature (both stored masses), so there is nothing to iterate with the network; inside,
pumping work and a turbine that cannot drive the compressor are settled in a few passes.
"""

from heatproof.laws.engine import (
    mean_gas_temperature,
    motored_friction_pressure,
    power_factor_mixture,
    taylor_toong_heat,
)
from heatproof.media.exhaust import (
    combustion_efficiency,
    conductivity_exhaust,
    enthalpy_exhaust,
    temperature_exhaust,
    viscosity_exhaust,
)
from heatproof.network import signals as S
from heatproof.network.fluids import CP_AIR, R_AIR
from heatproof.network.turbo import next_boost, spare_power, turbo_pass
from heatproof.numerics.compiled import compiled, compiled_inner

T_ENTHALPY = 298.15  # K, zero of sensible enthalpy
T_VOLUMETRIC = 313.15  # K, manifold temperature at which the volumetric-efficiency curve holds
OVERRUN_PRESSURE = 30e3  # Pa in the manifold with the throttle shut
CUT_PRESSURE = 12e3  # Pa; asking for less than this manifold pressure, friction overcome, cuts the fuel
MOST_WALL_SHARE = 0.5  # of the heat released; the wall law is not meant for nearly shut throttles
MOST_PASSES = 100
ENOUGH = 0.9999  # of the compressor's power from the turbine
MOST_PUMPING = 0.15  # of the indicated power, past which `back_pressure` looks for what the engine can reach
SHORT, UNSETTLED = 1.0, 2.0  # why: less than asked for, or no balance found
RUN_AWAY = 10.0  # times the indicated power: pumping past this does not settle

# Columns of a duty sample.
SPEED, VEHICLE, DEMAND, RUNNING, AC = 0, 1, 2, 3, 4
COLUMNS = 5


@compiled
def curve(x, xs, ys):
    """Straight-line interpolation, held at the ends."""
    if x <= xs[0]:
        return ys[0]
    for i in range(1, xs.size):
        if x <= xs[i]:
            f = (x - xs[i - 1]) / (xs[i] - xs[i - 1])
            return ys[i - 1] + f * (ys[i] - ys[i - 1])
    return ys[-1]


@compiled_inner
def boost_target(e, around, N):
    """Pa over ambient the controller asks for at engine speed N (rev/s)."""
    boost = e.boost - around.pressure if e.boost_absolute == 1 else e.boost
    if boost <= 0.0:
        return 0.0
    low = 0.55 * e.boost_from
    return boost * min(max((N - low) / (e.boost_from - low), 0.0), 1.0)


@compiled_inner
def indicated_efficiency(e, mixture):
    """Indicated work over fuel energy at this relative air/fuel ratio."""
    return e.indicated_efficiency * power_factor_mixture(mixture) * min(mixture, 1.0)


@compiled_inner
def stopped(sig, around):
    """All engine signals of a standing engine."""
    for k in range(S.BRAKE_POWER, S.FIRST_FAN):
        sig[k] = 0.0
    sig[S.EXHAUST_CP] = 1100.0
    sig[S.MIXTURE] = 1.0
    sig[S.EXHAUST_TEMPERATURE] = around.temperature
    sig[S.MANIFOLD_PRESSURE] = around.pressure
    sig[S.PRESSURE_RATIO] = 1.0
    sig[S.EXPANSION_RATIO] = 1.0


@compiled_inner
def air_for(e, mixture, power):
    """Air (kg/s) that burns for so much indicated power (W)."""
    return mixture * e.air_fuel * power / (e.heating_value * indicated_efficiency(e, mixture))


@compiled_inner
def fuel_cut(e, per_pascal, demand, friction):
    """Whether the fuel is cut: so little is asked for that the throttle would be all but shut.

    Pumping is left out. It is larger with the fuel cut, as more air goes through; with it in the sum, some demands
    would cut the fuel by the pumping of a firing engine and fire by that of one cut.
    """
    return air_for(e, e.mixture_part, demand + friction) < per_pascal * CUT_PRESSURE


@compiled_inner
def air_asked_for(e, per_pascal, air_full, cut, demand, losses):
    """Air (kg/s) and mixture, fuel cut or not, for a demand (W) and friction with pumping (W).

    air_full: what full load gives at the pressure there is.
    """
    if cut:
        return per_pascal * OVERRUN_PRESSURE, e.mixture_part
    fuel_energy = e.heating_value / e.air_fuel  # J per kg of air at stoichiometric mixture
    gross = air_full / e.mixture_full * fuel_energy * indicated_efficiency(e, e.mixture_full)
    power_full = gross - losses
    if demand >= power_full:
        return air_full, e.mixture_full
    mixture = e.mixture_part
    threshold = e.full_threshold * power_full
    if demand > threshold:
        mixture += (e.mixture_full - mixture) * (demand - threshold) / (power_full - threshold)
    air = air_for(e, mixture, demand + losses)
    return (air_full, e.mixture_full) if air > air_full else (air, mixture)


@compiled_inner
def heat_to_walls(e, exhaust, mixture, T_m, T_coolant, released):
    """W from the gas into head, liners and pistons; none while the fuel is cut."""
    if released <= 0.0:
        return 0.0
    T_gas = mean_gas_temperature(mixture, T_m) + e.gas_temperature_offset
    mu, k = viscosity_exhaust(T_gas, mixture), conductivity_exhaust(T_gas, mixture)
    walls = taylor_toong_heat(exhaust, e.bore, e.cylinders, mu, k, T_gas - T_coolant)
    return min(e.wall_heat_factor * walls, MOST_WALL_SHARE * released)


@compiled
def mean_cp(T, T_ambient, mixture):
    """J/(kg K) of exhaust gas between ambient and T, on either side of it; over 1 K about their middle at least."""
    middle, half = 0.5 * (T + T_ambient), max(0.5 * abs(T - T_ambient), 0.5)
    return (enthalpy_exhaust(middle + half, mixture) - enthalpy_exhaust(middle - half, mixture)) / (
        2.0 * half
    )


@compiled_inner
def given(sample, around, sig):
    """What the duty says, into the signals."""
    sig[S.ONE], sig[S.HELD_BY_EXHAUST] = 1.0, 0.0
    sig[S.ENGINE_ON] = sample[RUNNING]
    sig[S.ENGINE_SPEED] = sample[SPEED]
    sig[S.VEHICLE_SPEED] = sample[VEHICLE]
    sig[S.AIR_CONDITIONING] = sample[AC] * sample[RUNNING]
    sig[S.SUN] = around.sun


@compiled_inner
def burned(e, air, mixture, cut, pumping, T_m, T_coolant, T_ambient):
    """Balance of the cylinders for so much air (kg/s), fuel cut or not, pumping in W.

    Returns fuel and exhaust kg/s, indicated power W, combustion efficiency, heat to walls W, exhaust temperature K
    and its mean heat capacity over ambient J/kg/K.
    """
    fuel = 0.0 if cut else air / (mixture * e.air_fuel)
    exhaust = air + fuel
    indicated = fuel * e.heating_value * indicated_efficiency(e, mixture)
    eta_c = combustion_efficiency(mixture, 0.97)
    released = fuel * e.heating_value * eta_c
    walls = heat_to_walls(e, exhaust, mixture, T_m, T_coolant, released)
    heat = released + air * CP_AIR * (T_m - T_ENTHALPY) - indicated + pumping - walls
    T3, cp = T_ENTHALPY + heat / (exhaust * CP_AIR), CP_AIR  # what leaves is air
    if not cut:
        T3 = temperature_exhaust(heat / exhaust, mixture)
        cp = mean_cp(T3, T_ambient, mixture)
    return fuel, exhaust, indicated, eta_c, walls, T3, cp


@compiled_inner
def delivered(sig, e, around, demand, power, air, fuel, exhaust, mixture, eta_c, walls, T3, cp):
    """What the cylinders give and leave, into the signals."""
    sig[S.BRAKE_POWER] = power
    sig[S.AIR], sig[S.FUEL], sig[S.EXHAUST] = air, fuel, exhaust
    sig[S.MIXTURE] = mixture
    sig[S.EXHAUST_CP], sig[S.EXHAUST_TEMPERATURE] = cp, T3
    sig[S.EXHAUST_HEAT] = exhaust * cp * (T3 - around.temperature)
    sig[S.WALL_HEAT] = walls
    sig[S.DEMAND_SHORT] = max(demand - power, 0.0) if demand < 1e8 else 0.0
    sig[S.FUEL_HEAT] = fuel * e.heating_value
    sig[S.CHEMICAL_LOSS] = fuel * e.heating_value * (1.0 - eta_c)


@compiled_inner
def shaft_powers(sig, compression, turbine_work):
    """W into the charge air and out of the gas, into the signals; the bearing takes what lies between."""
    sig[S.COMPRESSION_HEAT], sig[S.TURBINE_WORK] = compression, turbine_work
    sig[S.BEARING_HEAT] = turbine_work - compression


@compiled_inner
def engine_signals(model, around, sample, T, p_intake, sig):
    """Fill the engine's signals for one instant.

    sample: one row of the duty; T: temperatures (K); p_intake: Pa over ambient where the filter draws.
    """
    e = model.engine[0]
    N, demand = sample[SPEED], sample[DEMAND]
    given(sample, around, sig)
    if sample[RUNNING] < 0.5 or N <= 0.0:
        stopped(sig, around)
        return
    T_m, T1 = T[e.plenum], T[e.compressor_in]
    swept = e.displacement * N / 2.0  # m3/s
    eta_v = curve(N, model.breathing[0], model.breathing[1]) * (T_m / T_VOLUMETRIC) ** (1.0 - e.flow_exponent)
    per_pascal = eta_v * swept / (R_AIR * T_m)  # kg/s of air per Pa of manifold pressure
    friction = e.friction_factor * motored_friction_pressure(N) * swept
    cut = fuel_cut(e, per_pascal, demand, friction)

    boost = boost_target(e, around, N)
    pumping, got = 0.0, 1.0
    low, high, spare_low, spare_high = 0.0, 1.0, 0.0, 0.0  # shares of the boost that can and cannot be had
    air = 0.0
    for _ in range(MOST_PASSES):
        # What full load gives at the pressure there is.
        p1 = around.pressure + p_intake - e.filter_loss * air * air
        p_full = around.pressure + got * boost if boost > 0.0 else p1
        air_full = per_pascal * p_full
        air_now, mixture = air_asked_for(e, per_pascal, air_full, cut, demand, friction + pumping)
        p_m = air_now / per_pascal
        fuel, exhaust, indicated, eta_c, walls, T3, cp = burned(
            e, air_now, mixture, cut, pumping, T_m, T[e.coolant], around.temperature
        )
        power = indicated - friction - pumping
        settled = abs(air_now - air) <= 1e-7 * air_now
        air = air_now
        if e.turbo == 0:
            sig[S.PRESSURE_RATIO], sig[S.EXPANSION_RATIO] = 1.0, 1.0
            compression = 0.0
            if settled:
                break
            continue
        compression, share, new_pumping, p1, p4 = turbo_pass(
            model, around, air, p_m, exhaust, T3, mixture, cp, T_m, T1, p_intake, swept, sig
        )
        shaft = compression / e.mechanical_efficiency
        change = abs(new_pumping - pumping)
        pumping = new_pumping
        if not cut and not pumping < RUN_AWAY * indicated:
            settled = False
            break
        if settled and change <= 1e-4 * (abs(power) + friction):
            throttled = p_m <= p1
            if got == 1.0 and (share >= ENOUGH or throttled):
                break
            spare = 0.5 if throttled else spare_power(e, exhaust, T3, mixture, cp, p4, shaft)
            if abs(spare) <= 1.0 - ENOUGH:
                break
            # The end that stays counts half from the second time on (Illinois).
            if spare > 0.0:
                spare_high *= 0.5 if spare_low > 0.0 else 1.0
                low, spare_low = got, spare
            else:
                spare_low *= 0.5 if spare_high < 0.0 else 1.0
                high, spare_high = got, spare
            got = next_boost(low, spare_low, high, spare_high)
    short = (1.0 - got) * boost
    if not cut and pumping > MOST_PUMPING * indicated:
        if not settled:
            sig[S.HELD_BY_EXHAUST] = UNSETTLED
        elif power < 0.999 * demand:
            sig[S.HELD_BY_EXHAUST] = SHORT
    delivered(sig, e, around, demand, power, air, fuel, exhaust, mixture, eta_c, walls, T3, cp)
    sig[S.FRICTION_HEAT] = friction
    shaft_powers(sig, compression, compression / e.mechanical_efficiency)
    sig[S.MANIFOLD_PRESSURE], sig[S.BOOST_SHORT] = p_m, short
