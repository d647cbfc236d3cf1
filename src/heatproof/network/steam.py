"""Where vapour goes, what it leaves dry, and what the tank loses.

Steam is 750 times lighter than coolant: 1.6 kW of it fills a jacket of 60 mL in a tenth of a second. So vapour is not
stored; what counts is the liquid left. Four kinds of state carry it: the filling φ of every cell whose wall boils, the
share α of vapour in every line, and of each tank the air left in it and the coolant lost.

Vapour starts where coolant passes saturation, W = G (T − T_s)/h_fg. It rises along the lines, condenses in cooler
liquid on its way as fast as that line's bore lets it, and only liquid that flows fast enough takes it down. A cell keeps
its liquid while its vapour finds a way up (`roads`) and liquid follows (`supply`); else vapour pushes the liquid out
and the wall is dry until less is boiled. Such a place really comes and goes in puffs; φ is the mean over them.

Sensible heat of liquid that fills up or is pushed out is not counted (5 % of the latent heat at 30 K).
"""

import numpy as np

from heatproof.laws.two_phase import (
    GRAVITY,
    LATENT_HEAT,
    LIQUID_DENSITY,
    bubble_rise,
    condensing_time,
    flooding_steam,
    steam_density,
)
from heatproof.network import signals as S
from heatproof.network.fluids import density
from heatproof.numerics.compiled import compiled_inner

ARRIVING, MADE, CONDENSED, PASSING, PUSHED, SLOPE, STUCK, WALL, STEAM_ROWS = (
    0,
    1,
    2,
    3,
    4,
    5,
    6,
    7,
    8,
)  # rows of Work.steam

LEAST = 1e-7  # kg/s of vapour (0.2 W) that is followed
SWEEPS = 8  # bottom to top, after which what still moves is stuck
LEVEL = 1e-3  # m, below which two ends stand level for a bubble
WALL_WET = 0.3  # filling from which a wall is wet all over
FILM_FROM, FILM_OVER = (
    130.0,
    60.0,
)  # K past saturation at which a wall carries a film of vapour, and from where on
DRY_COEFFICIENT = 35.0  # W/m2/K of a dry wall, radiation in it; 20 to 50
DRAG = 10.0  # volumes of vapour that falling liquid takes along, per volume beyond the speed at which bubbles rise
FILLING_TIME = 10.0  # s in which a cell with liquid at its door fills up
EMPTYING_TIME = 2.0  # s, at least, in which vapour without a way out pushes the liquid out
LOCKED = 1e-5  # kg/s (22 W) of vapour beyond its ways out, at which a cell keeps none
JACKET = 0.3  # kg; in more liquid than this vapour parts from it, and only what boils away is missing
LEAST_SHARE = 0.02  # of liquid in a line, for weight and friction
VALVE = -7e3  # Pa over ambient at which the cap lets air in; -5 to -10 kPa, common practice, no source
LEAST_GAS = 0.02  # of the tank's air space, below which liquid leaves through the cap


@compiled_inner
def smooth(x):
    x = min(max(x, 0.0), 1.0)
    return x * x * (3.0 - 2.0 * x)


@compiled_inner
def wetted_share(filling, T_wall, T_saturation):
    """Share of a wall that liquid wets: by the filling of its cell, and none where a film of vapour carries it."""
    film = smooth((T_saturation + FILM_FROM - T_wall) / FILM_OVER)
    return film if filling >= WALL_WET else film * smooth(filling / WALL_WET)


@compiled_inner
def liquid_share(model, wet, void, k):
    """Liquid in branch k over what it holds full."""
    row = model.branches[k].boiling
    if row < 0:
        return 1.0
    bo, share = model.boiling, 1.0
    if bo[row].void >= 0:
        share -= void[bo[row].void]
    if bo[row].wet >= 0:
        share = min(share, wet[bo[row].wet])
    return max(share, LEAST_SHARE)


# --- the tank ------------------------------------------------------------------------------------------------
@compiled_inner
def vapour_pressure(around, number, T):
    """Pa of a tank's coolant at T (K), from its boiling table; below it by the slope of its first two rows."""
    table, step = around.saturation_T[number], around.saturation_step
    if table[0] >= T:
        slope = np.log((around.saturation_p0 + step) / around.saturation_p0) / (
            1.0 / table[0] - 1.0 / table[1]
        )
        return around.saturation_p0 * np.exp(slope * (1.0 / table[0] - 1.0 / T))
    low, high = 0, table.size - 1
    while high - low > 1:
        middle = (low + high) // 2
        if table[middle] <= T:
            low = middle
        else:
            high = middle
    f = min((T - table[low]) / (table[high] - table[low]), 1.0)
    return around.saturation_p0 + step * (low + f)


@compiled_inner
def grown_volume(model, around, T, wet, void, number):
    """m3 by which the coolant of a circuit has grown since it was filled: by warmth, and by vapour in its place."""
    tank, bo, capacity = around.tanks[number], model.boiling, model.capacity
    coef = model.liquids[tank.fluid]
    mean, whole, displaced = 0.0, 0.0, 0.0
    for k in range(bo.size):
        if bo[k].tank == number:
            C = capacity[bo[k].cell]
            mean += C * T[bo[k].cell]
            whole += C
            gone = 0.0
            if bo[k].wet >= 0:
                gone = 1.0 - wet[bo[k].wet]
            if bo[k].void >= 0:
                gone = max(gone, void[bo[k].void])
            displaced += gone * bo[k].liquid / LIQUID_DENSITY
    mean = mean / whole if whole > 0.0 else tank.fill_temperature
    cold = density(tank.fluid, coef, tank.fill_temperature, 1e5)
    return tank.liquid * (cold / density(tank.fluid, coef, mean, 1e5) - 1.0) + displaced


@compiled_inner
def air_pressure(model, around, T, wet, void, lost, number):
    """Pa absolute that the whole of the air filled in would have now, were none let out."""
    tank = around.tanks[number]
    left = tank.air - grown_volume(model, around, T, wet, void, number) + lost[number] * tank.liquid
    left = max(left, LEAST_GAS * tank.air)
    dry = around.pressure - vapour_pressure(around, number, tank.fill_temperature)
    return dry * (tank.air / left) * (T[tank.mass] / tank.fill_temperature)


@compiled_inner
def tank_pressure(model, around, T, wet, void, air, lost, number):
    """Pa over ambient in an expansion tank: the air left in it, and vapour; between the cap's two valves."""
    tank = around.tanks[number]
    if tank.mass < 0:
        return 0.0
    p = air[number] * air_pressure(model, around, T, wet, void, lost, number)
    p += vapour_pressure(around, number, T[tank.mass]) - around.pressure
    return min(max(p, VALVE), tank.cap_pressure)


@compiled_inner
def move_caps(model, around, y, work):
    """After a step: air that a cap let out or in, and liquid that found no room; `y` is changed."""
    states, T, wet, void, lost = model.states, work.T, work.wet, work.void, work.lost
    for number in range(states.lost - states.air):
        tank = around.tanks[number]
        if tank.mass < 0:
            continue
        for i in range(states.lift):
            T[i] = y[i]
        for k in range(wet.size):
            wet[k] = y[states.wet + k]
        for k in range(void.size):
            void[k] = y[states.void + k]
        lost[number] = y[states.lost + number]
        room = tank.air * (1.0 - LEAST_GAS) + lost[number] * tank.liquid
        over = grown_volume(model, around, T, wet, void, number) - room
        if over > 0.0:
            lost[number] += over / tank.liquid
            y[states.lost + number] = lost[number]
        whole = air_pressure(model, around, T, wet, void, lost, number)
        steam = vapour_pressure(around, number, T[tank.mass])
        p = y[states.air + number] * whole
        most = max(around.pressure + tank.cap_pressure - steam, 0.0)
        least = max(around.pressure + VALVE - steam, 0.0)
        y[states.air + number] = min(max(p, least), most) / whole


@compiled_inner
def tank_levels(model, around, work):
    """Liquid left in each tank over a full one, into work.level."""
    bo = model.boiling
    for number in range(work.level.size):
        tank = around.tanks[number]
        own = 0.0
        for k in range(bo.size):
            if bo[k].tank == number and bo[k].is_tank == 1:
                own = bo[k].liquid / LIQUID_DENSITY
        if own <= 0.0:
            work.level[number] = 1.0
            continue
        grown = grown_volume(model, around, work.T, work.wet, work.void, number)
        work.level[number] = 1.0 + (grown - work.lost[number] * tank.liquid) / own


# --- ways of vapour ------------------------------------------------------------------------------------------
@compiled_inner
def away_from(br, m, k, junction):
    """kg/s that branch k takes away from one of its junctions; 0 also where it does not meet it."""
    if br[k].first == junction:
        return m[k]
    return -m[k] if br[k].second == junction else 0.0


@compiled_inner
def climb_from(br, k, junction):
    """m by which branch k rises from one of its junctions."""
    rise = br[k].z2 - br[k].z1
    return rise if br[k].first == junction else -rise


@compiled_inner
def dragging(bore):
    """kg/s of liquid past which bubbles go down with it."""
    return LIQUID_DENSITY * 0.25 * np.pi * bore * bore * bubble_rise(bore) / 1.2


@compiled_inner
def taken_down(flow, bore):
    """Share of bubbles that liquid flowing down (kg/s) takes along; half of them at the speed at which they rise."""
    return smooth(flow / max(dragging(bore), 1e-4) - 0.5)


@compiled_inner
def way_through(model, m, row, junction):
    """How open (0 to 1) a line is to vapour at one of its junctions: it rises in it, or liquid takes it along."""
    b, bore = model.boiling[row].branch, model.boiling[row].bore
    away = away_from(model.branches, m, b, junction)
    if climb_from(model.branches, b, junction) > LEVEL:
        return 1.0 - taken_down(-away, bore)
    return taken_down(away, bore)


@compiled_inner
def meets(br, bo, row, junction):
    b = bo[row].branch
    return b >= 0 and (br[b].first == junction or br[b].second == junction)


@compiled_inner
def condense(bo, T, T_saturation, cp, k, arriving, steam):
    """kg/s of vapour that leaves cell k again; what condenses in it, and what passes in the mean, is noted."""
    row = bo[k]
    cold = max(T_saturation - T[row.cell], 0.0)
    per_kelvin = row.liquid * cp / (LATENT_HEAT * condensing_time(row.bore))
    could = cold * per_kelvin - steam[CONDENSED, k]
    if could <= 0.0:
        steam[PASSING, k] += arriving
        return arriving
    x = could / arriving
    out = arriving * np.exp(-x)
    steam[CONDENSED, k] += arriving - out
    steam[PASSING, k] += (arriving - out) / x
    steam[SLOPE, k] = per_kelvin * np.exp(-x)
    return out


@compiled_inner
def from_line(model, m, k, v, pushed, steam):
    """Vapour of line k leaves by its upper end, or by its lower one where it was pushed in from above (share `pushed`)
    or liquid takes it down. False where no junction can take it."""
    bo, br, ju = model.boiling, model.branches, model.junctions
    b = bo[k].branch
    upper = br[b].second if br[b].z2 >= br[b].z1 else br[b].first
    lower = br[b].first + br[b].second - upper
    down = pushed + (1.0 - pushed) * taken_down(away_from(br, m, b, upper), bo[k].bore)
    up_row, down_row = ju[upper].boiling, ju[lower].boiling
    if up_row < 0 or down_row < 0:
        return False
    steam[ARRIVING, up_row] += (1.0 - down) * v
    steam[ARRIVING, down_row] += down * v
    return True


@compiled_inner
def pushed_area(bo, T, boil, row, steam):
    """Weight of a line for vapour that finds no way: the wider and the colder, the further it is let in."""
    if steam[MADE, row] > 0.0:
        return 0.0
    return bo[row].bore * bo[row].bore * (max(boil[1, row] - T[bo[row].cell], 0.0) + 0.1)


@compiled_inner
def from_junction(model, T, boil, m, k, v, steam):
    """Vapour of junction k rises, or is taken along; what finds neither is pushed into the lines. False without any."""
    bo, br = model.boiling, model.branches
    junction = bo[k].junction
    open_area, any_area = 0.0, 0.0
    for row in range(bo.size):
        if meets(br, bo, row, junction):
            area = bo[row].bore * bo[row].bore
            open_area += area * way_through(model, m, row, junction)
            any_area += pushed_area(bo, T, boil, row, steam)
    if open_area <= 0.0 and any_area <= 0.0:
        return False
    for row in range(bo.size):
        if not meets(br, bo, row, junction):
            continue
        area = bo[row].bore * bo[row].bore
        if open_area > 0.0:
            share = area * way_through(model, m, row, junction) / open_area
        else:
            share = pushed_area(bo, T, boil, row, steam) / any_area
        steam[ARRIVING, row] += share * v
        if climb_from(br, bo[row].branch, junction) <= LEVEL:
            steam[PUSHED, row] += share * v
    return True


@compiled_inner
def spread_vapour(model, around, work):
    """All vapour from where it is made to where it condenses, kg/s, into work.steam."""
    bo, T, m, boil, steam = model.boiling, work.T, work.m, work.boil, work.steam
    most = 0.0
    for k in range(bo.size):
        for row in range(WALL):
            steam[row, k] = 0.0
        made = boil[0, k] * (T[bo[k].cell] - boil[1, k]) / LATENT_HEAT
        steam[MADE, k] = made
        if bo[k].is_tank == 0:
            steam[ARRIVING, k] = made
            most = max(most, made)
    if most <= 0.0:
        return
    for _ in range(SWEEPS):
        moving = False
        for k in range(bo.size):
            v = steam[ARRIVING, k]
            if v <= LEAST:
                continue
            moving = True
            steam[ARRIVING, k] = 0.0
            if bo[k].is_tank == 1:
                steam[CONDENSED, k] += v
                continue
            cp = model.liquids[around.tanks[bo[k].tank].fluid, 6]
            pushed = min(steam[PUSHED, k] / v, 1.0)
            steam[PUSHED, k] = 0.0
            out = condense(bo, T, boil[1, k], cp, k, v, steam)
            if out > LEAST:
                if bo[k].branch >= 0:
                    known = from_line(model, m, k, out, pushed, steam)
                else:
                    known = from_junction(model, T, boil, m, k, out, steam)
                if known:
                    continue
            steam[STUCK, k] += out
        if not moving:
            break
    for number in range(around.tanks.size):
        place_stuck(model, around, T, boil, number, steam)


@compiled_inner
def place_stuck(model, around, T, boil, number, steam):
    """Vapour that finds no way is pressed to where its circuit is cold; where nothing is, it reaches the tank."""
    bo = model.boiling
    stuck, cold, tank = 0.0, 0.0, -1
    for k in range(bo.size):
        if bo[k].tank == number:
            stuck += steam[ARRIVING, k] + steam[STUCK, k]
            cold += could_condense(bo, T, boil, k)
            if bo[k].is_tank == 1:
                tank = k
    if stuck <= 0.0:
        return
    room = cold * model.liquids[around.tanks[number].fluid, 6]
    for k in range(bo.size):
        if bo[k].tank == number:
            here = stuck * could_condense(bo, T, boil, k) / (cold + 1e-9)
            steam[CONDENSED, k] += here * min(room / stuck, 1.0)
    left = stuck * max(1.0 - room / stuck, 0.0) + stuck * min(room / stuck, 1.0) * (1e-9 / (cold + 1e-9))
    if tank >= 0:
        steam[CONDENSED, tank] += left


@compiled_inner
def could_condense(bo, T, boil, k):
    """kg/s of vapour that cell k could condense, over its specific heat (J/kg/K)."""
    row = bo[k]
    cold = max(boil[1, k] - T[row.cell], 0.0)
    return cold * row.liquid / (LATENT_HEAT * condensing_time(row.bore))


# --- filling and vapour shares ------------------------------------------------------------------------------
@compiled_inner
def blown(br, b, climb, rho):
    """kg/s of vapour that a rising line full of it passes, driven by the liquid standing as high outside."""
    return np.sqrt(LIQUID_DENSITY * GRAVITY * climb * rho / max(br[b].b * br[b].rho_ref, 1e-6))


@compiled_inner
def roads(model, m, p, junction, own, steam):
    """kg/s of vapour that finds its way from a junction through other lines than `own`, liquid keeping its place; and
    kg/s of liquid that comes down to it beside rising vapour."""
    bo, br = model.boiling, model.branches
    out, back = 0.0, 0.0
    rho = steam_density(p)
    for row in range(bo.size):
        b = bo[row].branch
        if b == own or not meets(br, bo, row, junction):
            continue
        away = away_from(br, m, b, junction)
        climb = climb_from(br, b, junction)
        if climb > LEVEL:
            flood = flooding_steam(bo[row].bore, p)
            out += max(flood, blown(br, b, climb, rho)) + DRAG * rho / LIQUID_DENSITY * max(away, 0.0)
            back += 0.5 * flood
        else:
            out += DRAG * rho / LIQUID_DENSITY * max(away - dragging(bo[row].bore), 0.0)
    return out, back


@compiled_inner
def inflow(model, m, junction):
    """kg/s that flow into a junction."""
    br, total = model.branches, 0.0
    for k in range(br.size):
        if br[k].first == junction or br[k].second == junction:
            total += max(-away_from(br, m, k, junction), 0.0)
    return total


@compiled_inner
def filling_rate(model, around, work, k):
    """1/s of the filling of cell k."""
    bo, br, ju, m, steam = model.boiling, model.branches, model.junctions, work.m, work.steam
    row = bo[k]
    p = around.pressure + work.sig[S.SYSTEM_PRESSURE + row.tank]
    # What its own walls boil; vapour that liquid warmed by others' vapour gives back only passes through.
    filling, made = work.wet[row.wet], min(steam[MADE, k], steam[WALL, k])
    if filling >= 1.0 and made <= 0.0:
        return 0.0
    if row.branch >= 0:
        b = row.branch
        upper = br[b].second if br[b].z2 >= br[b].z1 else br[b].first
        out, back = roads(model, m, p, upper, b, steam)
        if ju[upper].boiling >= 0 and bo[ju[upper].boiling].is_tank == 1:
            out += 1.0
        taken = m[b] if upper == br[b].first else -m[b]  # towards the lower end
        out += DRAG * steam_density(p) / LIQUID_DENSITY * max(taken - dragging(row.bore), 0.0)
        supply = abs(m[b]) + back
    else:
        out, back = roads(model, m, p, row.junction, -1, steam)
        supply = inflow(model, m, row.junction) + back
    supply *= smooth(work.level[row.tank] / 0.1)
    locked = min(max((made - out) / (LOCKED + 0.2 * out), 0.0), 1.0)
    if row.liquid > JACKET:
        locked = 0.0
    wish = made + (1.0 - filling) * row.liquid / FILLING_TIME
    pushed_out = max(made - out, 0.0) / steam_density(p) * LIQUID_DENSITY / row.liquid
    emptying = filling * min(pushed_out, 1.0 / EMPTYING_TIME)
    return ((1.0 - locked) * min(supply, wish) - made) / row.liquid - locked * emptying


@compiled_inner
def void_goal(model, around, work, k):
    """Share of vapour line k tends to, and the seconds it takes to."""
    row = model.boiling[k]
    passing = work.steam[PASSING, k]
    if passing <= LEAST or row.wet >= 0:
        return 0.0, 2.0
    p = around.pressure + work.sig[S.SYSTEM_PRESSURE + row.tank]
    area = 0.25 * np.pi * row.bore * row.bore
    b = row.branch
    steep = min(abs(model.branches[b].z2 - model.branches[b].z1) / row.length, 1.0)
    gas, liquid = passing / (steam_density(p) * area), abs(work.m[b]) / (LIQUID_DENSITY * area)
    rise = bubble_rise(row.bore) * np.sqrt(steep) + 0.01
    return gas / (gas + liquid + rise), min(max(row.length / (gas + liquid + rise), 2.0), 10.0)


@compiled_inner
def steam_rates(model, around, work):
    """Rates (1/s) of fillings, vapour shares, air and loss, into work.rate."""
    states, bo, rate = model.states, model.boiling, work.rate
    for number in range(states.lost - states.air):
        rate[states.air + number] = 0.0
        rate[states.lost + number] = 0.0
    tank_levels(model, around, work)
    for k in range(bo.size):
        row = bo[k]
        if row.wet >= 0:
            rate[states.wet + row.wet] = filling_rate(model, around, work, k)
        if row.void >= 0:
            goal, time = void_goal(model, around, work, k)
            rate[states.void + row.void] = (goal - work.void[row.void]) / time
        if row.is_tank == 1:
            whole = around.tanks[row.tank].liquid * LIQUID_DENSITY
            rate[states.lost + row.tank] = work.steam[MADE, k] / whole
