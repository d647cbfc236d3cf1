"""Worked examples that need several laws in a row; each returns what the book asks for."""

import numpy as np

from heatproof.laws import (
    convection,
    engine,
    exchange,
    insulation,
    pressure_loss,
    radiation,
    siphon,
    soak,
    turbo,
)
from heatproof.laws import fins as fin
from heatproof.laws.kays_london import surface_j_f
from heatproof.media import exhaust
from heatproof.media.water import saturation_pressure_water


def rate_exchanger(mh, cph, mc, cpc, T_hot, T_cold, UA, arrangement):
    """Effectiveness, heat [W] and both outlet temperatures."""
    Ch, Cc = mh * cph, mc * cpc
    c_min, c_max = min(Ch, Cc), max(Ch, Cc)
    eps = exchange.effectiveness(UA / c_min, c_min / c_max, arrangement)
    Q = eps * c_min * (T_hot - T_cold)
    return eps, Q, T_hot - Q / Ch, T_cold + Q / Cc


def area_from_effectiveness(eps, Cr, c_min, U, arrangement):
    return exchange.transfer_units(eps, Cr, arrangement) * c_min / U


def tabulated(Re, surface):
    return surface_j_f(Re, surface)


def surface_coefficient_by_table(speed, rho, mu, cp, Pr, sigma, Dh, surface):
    """G in the free area, Re and h of a core face at an approach speed."""
    G = rho * speed / sigma
    Re = G * Dh / mu
    j, _ = surface_j_f(Re, surface)
    return G, Re, j * G * cp * Pr ** (-2 / 3)


def finned_cylinder(k, diameter, length, fins, thickness, height, h, T, T_air):
    """Heat with and without annular fins [W], corrected tip radius."""
    r1 = diameter / 2
    r2 = r1 + height + thickness / 2
    eta = fin.annular_fin_efficiency(r1, r2, thickness, k, h)
    area_fin = 2 * np.pi * (r2**2 - r1**2)
    bare = 2 * np.pi * r1 * (length - fins * thickness)
    q = h * (fins * eta * area_fin + bare) * (T - T_air)
    return eta, q, h * 2 * np.pi * r1 * length * (T - T_air)


def manifold_pressure_chain(power, bsfc_g_per_kWh, lam, displacement, speed, eta_v, T_m):
    """Fuel, air [kg/s] and manifold pressure [Pa] for a power."""
    eta = engine.brake_efficiency(bsfc_g_per_kWh / 3.6e9, 43.0e6)
    fuel = engine.fuel_flow(power, eta, 43.0e6)
    air = engine.air_flow(fuel, lam, 14.6)
    return fuel, air, engine.manifold_pressure(air, T_m, eta_v, displacement, speed)


def heat_shares(power, bsfc_g_per_kWh, lam, T3):
    fuel = power * bsfc_g_per_kWh / 3.6e9
    shares = engine.heat_balance(power, fuel, lam, T3).shares()
    return [shares[key] for key in ("brake", "exhaust", "unburned", "rest")]


def mean_cp(T, lam):
    return exhaust.enthalpy_exhaust(T, lam) / (T - 298.15)


def mixed_temperature_drop(power, flow, cp, T3):
    return T3 - turbo.temperature_after_turbine(T3, power, flow, cp, 0.0)


def compressor_power_from_ratio(flow, T1, pressure_ratio, efficiency, cp):
    T2 = turbo.compressor_outlet_temperature(T1, pressure_ratio, efficiency, 1.4)
    return turbo.compressor_power(flow, T1, T2, cp)


def pipe_with_insulation():
    """Steam pipe: heat per metre, drop in the pipe wall, drop in the wool, surface temperature [degC]."""
    r = (0.025, 0.0275, 0.0575)
    R = (
        1 / (60 * 2 * np.pi * r[0]),
        insulation.cylinder_resistance(r[0], r[1], 80.0),
        insulation.cylinder_resistance(r[1], r[2], 0.05),
        1 / (18 * 2 * np.pi * r[2]),
    )
    q = (320.0 - 5.0) / sum(R)
    return q, q * R[1], q * R[2], 5.0 + q * R[3]


def insulated_wire(cover):
    """Interface temperature [degC] of a wire with plastic cover [m]."""
    R = insulation.cylinder_resistance(1.5e-3, 1.5e-3 + cover, 0.15, 5.0)
    return 30.0 + 80.0 * (R + 1.0 / (12.0 * 2.0 * np.pi * (1.5e-3 + cover) * 5.0))


def natural(kind, T_s, T_air, L, k, nu, alpha, g):
    """Ra and Nu from the book's film properties (beta = 1/T_film)."""
    Pr = nu / alpha
    Ra = convection.rayleigh(T_s - T_air, L, 0.5 * (T_s + T_air), nu, Pr) * g / 9.80665
    law = {
        "vertical": lambda: convection.nusselt_vertical_plate(Ra, Pr),
        "cylinder": lambda: convection.nusselt_horizontal_cylinder(Ra, Pr),
        "up": lambda: convection.nusselt_plate_facing_up(Ra),
        "down": lambda: convection.nusselt_plate_facing_down(Ra),
    }[kind]
    Nu = law()
    return Ra, Nu, Nu * k / L


def furnace(F12):
    """Cylindrical furnace: top 1, base 2, black side 3; heat of each [W]."""
    F13 = 1 - F12
    area = np.array([np.pi, np.pi, 2 * np.pi])
    side = F13 * area[0] / area[2]
    F = np.array([[0, F12, F13], [F12, 0, F13], [side, side, 1 - 2 * side]])
    return radiation.enclosure_heat(F, area, np.array([0.8, 0.4, 1.0]), np.array([700.0, 500.0, 400.0]))


def reradiating_duct():
    """Triangular duct, side 3 reradiating (adiabatic): heat of the hot side [W/m] and T of side 3 [K]."""
    F = np.array([[0, 0.5, 0.5], [0.5, 0, 0.5], [0.5, 0.5, 0]])
    G = radiation.exchange_areas(F, np.ones(3), np.array([0.8, 0.4, 0.999999]))
    E1, E2 = radiation.emissive_power(1200.0), radiation.emissive_power(500.0)
    E3 = (G[2, 0] * E1 + G[2, 1] * E2) / (G[2, 0] + G[2, 1])
    return G[0, 1] * (E1 - E2) + G[0, 2] * (E1 - E3), (E3 / radiation.SIGMA) ** 0.25


def plates(T1, T2, eps1, eps2, shields):
    F = radiation.exchange_factor_plates(eps1, eps2, shields)
    return F * (radiation.emissive_power(T1) - radiation.emissive_power(T2))


def concentric_tubes(shielded):
    r1, r2, rs = 0.010, 0.025, 0.0175
    if shielded:
        F = radiation.exchange_factor_concentric_shielded(0.02, 0.05, r1, r2, rs, (0.02, 0.02))
    else:
        F = radiation.exchange_factor_concentric(0.02, 0.05, r1 / r2)
    return 2 * np.pi * r1 * F * (radiation.emissive_power(300.0) - radiation.emissive_power(77.0))


def concentric_spheres():
    F = radiation.exchange_factor_concentric(0.03, 0.03, (1.0 / 1.5) ** 2)
    area = np.pi * 0.3048**2
    return area * F * (radiation.emissive_power(490 / 1.8) - radiation.emissive_power(163 / 1.8))


def probe_heating_time(h, diameter, T0, T_gas, T):
    """Seconds for a lumped bead (rho c 3.4e6) to reach T."""
    tau = 8500.0 * 400.0 * diameter / (6.0 * h)
    low, high = 0.0, 100.0
    for _ in range(80):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if soak.lumped_temperature(middle, T0, T_gas, tau) < T else (low, middle)
    return tau, high


def loop_heat(rho, beta, mu, cp, diameter, length, height, dT):
    """Drive [Pa], volume flow [m3/s] and heat [W] of a laminar loop."""
    dp = siphon.drive_pressure(rho, beta, dT, height)
    Q = siphon.laminar_volume_flow(dp, length, diameter, mu)
    return dp, Q, rho * Q * cp * dT


def two_nodes(K_Bw, T_T, T_B):
    nodes = soak.TwoNodes(2400.0, 825.0, 3.0, 2.0, 0.5, K_Bw, 333.15, 378.15)
    peak, time = nodes.bearing_peak(273.15 + T_T, 273.15 + T_B)
    return peak - 273.15, time


def two_node_rates():
    return soak.TwoNodes(2400.0, 825.0, 3.0, 2.0, 0.5, 0.0, 333.15, 378.15).eigenvalues()


def two_node_water_heat(K_Bw):
    """Largest heat flow to the water [W] and heat in 1200 s [J]."""
    nodes = soak.TwoNodes(2400.0, 825.0, 3.0, 2.0, 0.5, K_Bw, 333.15, 378.15)
    t = np.arange(0.0, 1200.0, 1.0)
    q = K_Bw * (nodes.temperatures(t, 1023.15, 403.15)[1] - 378.15)
    return q.max(), q.sum()


def heywood_viscosity_of_burned_gas(T, phi):
    """Reference form of the burned-gas viscosity minus ours, relative."""
    return 3.3e-7 * T**0.7 / (1 + 0.027 * phi) / exhaust.viscosity_exhaust(T, 1.0 / phi)


def j607_in_trade_units(F, RH, inHg):
    T = (F - 32) / 1.8 + 273.15
    pv = RH * saturation_pressure_water(T)
    from heatproof.laws.vehicle import power_factor_j607

    return power_factor_j607(inHg * 3386.389, pv, T)


def orifice_gpm():
    """Crane 7.23: orifice 2.00 in in 4.026 in pipe, 13 805 Pa; US gallons a minute."""
    beta, D, rho, mu = 2.0 / 4.026, 4.026 * 0.0254, 62.364 * 16.01846, 1.1e-3
    Q = 0.0067
    for _ in range(30):
        Re = 4 * rho * Q / (np.pi * D * mu)
        C = pressure_loss.orifice_discharge(beta, Re) / np.sqrt(1 - beta**4)
        Q = C * np.pi / 4 * (2.0 * 0.0254) ** 2 * np.sqrt(2 * 13805.0 / rho)
    return Q / 6.30902e-5


def smooth_pipe_friction(m3_per_s, diameter, nu):
    Re = 4 * m3_per_s / (np.pi * diameter * nu)
    return pressure_loss.friction_factor(Re, 0.0)


def vijayan_loop(rho, mu, beta, cp, d, L, H, heat):
    """Re of the 26.9 mm loop from Gr_m/N_G with friction length only."""
    area = np.pi * d**2 / 4
    Gr = d**3 * rho**2 * beta * siphon.G0 * heat * H / (area * mu**3 * cp)
    return Gr, siphon.loop_reynolds(Gr / (L / d))


def rate_exchanger_short(**inputs):
    """Effectiveness and heat only."""
    return rate_exchanger(**inputs)[:2]


def finned_cylinder_heat(**inputs):
    return finned_cylinder(**inputs)[1:]


def surface_flow_by_table(**inputs):
    return surface_coefficient_by_table(**inputs)[:2]


def surface_h_by_table(**inputs):
    return surface_coefficient_by_table(**inputs)[2]


def affinity_us(flow, head, power, speed_ratio):
    from heatproof.laws.vehicle import affinity

    return affinity(flow, head, power, speed_ratio)


def density_by_mass(T, glycol_mass):
    from heatproof.media.coolants import density_coolant, volume_fraction

    return density_coolant(T, volume_fraction(glycol_mass))


def air_per_power(bsfc_g_per_kWh, afr):
    """Air per power [kg/J] and the trade's lb/min per 10 hp."""
    ratio = engine.air_flow(
        engine.fuel_flow(1.0, engine.brake_efficiency(bsfc_g_per_kWh / 3.6e9), 43e6), 1.0, afr
    )
    return ratio, ratio * 7457.0 / (0.45359237 / 60)


def manifold_pressure_chain_air(power, bsfc_g_per_kWh, lam):
    return manifold_pressure_chain(power, bsfc_g_per_kWh, lam, 2e-3, 100.0, 0.95, 320.0)[1]


def exhaust_temperature_closure(power, bsfc_g_per_kWh, lam, heat_out):
    fuel = power * bsfc_g_per_kWh / 3.6e9
    return engine.exhaust_temperature(power, fuel, lam, heat_out, 298.15, 43e6, 14.6)


def effectiveness_of_cooler(T2, T_in, T_out):
    """The effectiveness at which our cooler law returns the published outlet temperature."""
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if turbo.charge_cooler_outlet(T2, T_in, middle) > T_out else (low, middle)
    return high


def rod_conductance(diameter, length, k):
    return 1.0 / insulation.plane_resistance(length, k, np.pi / 4 * diameter**2)


def shield_reduction(eps1, eps2, shield):
    bare = radiation.exchange_factor_plates(eps1, eps2)
    return 1.0 - radiation.exchange_factor_plates(eps1, eps2, ((shield, shield),)) / bare


def grey_emission(eps, T):
    return eps * radiation.emissive_power(T)


def plate_heat(kind, L):
    """0.6 m plate, 90 degC in 30 degC air, one side [W]."""
    return natural(kind, 363.15, 303.15, L, 0.02808, 1.896e-5, 1.896e-5 / 0.7202, 9.81)[2] * 0.36 * 60.0
