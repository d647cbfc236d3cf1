"""The linear map from temperatures to heat flows, with the coefficients `settle` left in `work`.

With secant radiation it is exact for the present state (the ledger); with tangent radiation and the flows'
answer to buoyancy it is the Jacobian of an implicit step. Rows are W/K; what the surroundings receive is summed
in `out_row`.
"""

from heatproof.network import signals as S
from heatproof.network.arrays import EXHAUST, SLOPE
from heatproof.network.coefficients import capacity_rate, downstream, upstream
from heatproof.network.flow import GRAVITY, cholesky_solve
from heatproof.network.fluids import density
from heatproof.network.heat_flows import SIGMA, source_slope
from heatproof.numerics.compiled import compiled, compiled_inner

SLOW = 5.0  # m/s


@compiled_inner
def put(K, slot, out_row, n, r, c, g):
    """Row r gains g per kelvin of c."""
    if c < n:
        if r < n:
            K[slot[r, c]] += g
        else:
            out_row[c] += g


@compiled_inner
def transfer(K, slot, out_row, n, r, a, b, g):
    """Row r gains g (T_a − T_b)."""
    put(K, slot, out_row, n, r, a, g)
    put(K, slot, out_row, n, r, b, -g)


@compiled_inner
def put_pair(K, slots, k, out_row, n, i, j, gi, gj):
    """Pair k: i gains gj T_j − gi T_i, j loses it."""
    ii, ij, jj, ji = slots[k, 0], slots[k, 1], slots[k, 2], slots[k, 3]
    if ii >= 0:
        K[ii] -= gi
    if ij >= 0:
        K[ij] += gj
        K[ji] += gi
    elif i >= n and j < n:
        out_row[j] += gj
    elif j >= n and i < n:
        out_row[i] += gi
    if jj >= 0:
        K[jj] -= gj


@compiled_inner
def put_pairs(kind, g, slots, K, out_row, n):
    """Links whose conductance g holds both ways."""
    for k in range(kind.size):
        put_pair(K, slots, k, out_row, n, kind[k].i, kind[k].j, g[k], g[k])


@compiled_inner
def put_links(model, work, n, K, out_row):
    """Conduction, convection, wetted walls."""
    cd, slots = model.conduction, model.pair_slots
    conduction = slots.conduction
    for k in range(cd.size):
        put_pair(K, conduction, k, out_row, n, cd[k].i, cd[k].j, cd[k].G, cd[k].G)
    put_pairs(model.convection, work.g_convection, slots.convection, K, out_row, n)
    put_pairs(model.wetted, work.g_wetted, slots.wetted, K, out_row, n)


@compiled_inner
def put_radiation_secant(ra, T, radiating, slots, K, out_row, n):
    for k in radiating:
        i, j = ra[k].i, ra[k].j
        g = SIGMA * ra[k].FA * (T[i] * T[i] + T[j] * T[j]) * (T[i] + T[j])
        put_pair(K, slots, k, out_row, n, i, j, g, g)


@compiled_inner
def put_radiation_tangent(ra, T, radiating, slots, K, out_row, n):
    for k in radiating:
        i, j = ra[k].i, ra[k].j
        gi = 4.0 * SIGMA * ra[k].FA * T[i] * T[i] * T[i]
        gj = 4.0 * SIGMA * ra[k].FA * T[j] * T[j] * T[j]
        put_pair(K, slots, k, out_row, n, i, j, gi, gj)


@compiled_inner
def put_streams(model, work, n, K, slot, out_row):
    """Ducts, exchangers and carried heat."""
    br, ju, du, ex = model.branches, model.junctions, model.duct, model.exchanger
    flow, sig, g_duct, g_exchanger = work.m, work.sig, work.g_duct, work.g_exchanger
    for k in range(du.size):
        b = du[k].branch
        m = flow[b]
        up = upstream(br, ju, b, m)
        transfer(K, slot, out_row, n, du[k].i, up, du[k].i, g_duct[k])
        transfer(K, slot, out_row, n, downstream(br, ju, b, m), du[k].i, up, g_duct[k])
    for k in range(ex.size):
        for side in range(2):
            b = ex[k].hot if side == 0 else ex[k].cold
            g = g_exchanger[side, k]
            m = flow[b]
            up = upstream(br, ju, b, m)
            transfer(K, slot, out_row, n, ex[k].metal, up, ex[k].metal, g)
            transfer(K, slot, out_row, n, downstream(br, ju, b, m), ex[k].metal, up, g)
    for k in range(br.size):
        C = capacity_rate(br, flow, sig, k)
        m = flow[k]
        up = upstream(br, ju, k, m)
        end = ju[br[k].second].mass if m >= 0.0 else ju[br[k].first].mass
        if br[k].cell >= 0:
            transfer(K, slot, out_row, n, br[k].cell, up, br[k].cell, C)
            up = br[k].cell
        transfer(K, slot, out_row, n, end, up, end, C)


@compiled_inner
def put_vapour(model, work, n, K, slot, out_row):
    bo, boil = model.boiling, work.boil
    for k in range(bo.size):
        put(K, slot, out_row, n, bo[k].cell, bo[k].cell, -boil[0, k])
        put(K, slot, out_row, n, bo[k].receiver, bo[k].cell, boil[0, k])


@compiled_inner
def put_fading(so, sig, T, n, K, slot, out_row):
    """Sources that fall with the temperature of their mass."""
    for k in range(so.size):
        put(K, slot, out_row, n, so[k].r, so[k].r, -source_slope(so[k], sig, T))


@compiled_inner
def put_controls(model, work, n, K, slot):
    li, fa, T = model.lifts, model.fans, work.T
    for k in range(li.size):
        span = li[k].full - li[k].opens
        f = (T[li[k].sensor] - li[k].opens) / span
        K[slot[n + k, n + k]] -= 1.0 / li[k].tau
        if 0.0 < f < 1.0:
            K[slot[n + k, li[k].sensor]] += 6.0 * f * (1.0 - f) / (span * li[k].tau)
    for k in range(fa.size):
        r = n + li.size + k
        K[slot[r, r]] -= 1.0 / fa[k].tau


@compiled_inner
def head_slope(br, ju, liquids, pressure, T, k, c):
    """d(gravity head of branch k)/dT_c, Pa/K."""
    row = br[k]
    ci, cj, cell = ju[row.first].mass, ju[row.second].mass, row.cell
    s = 0.0
    if cell >= 0:
        if cell == c:
            s -= row.z2 - row.z1
    elif c == ci or c == cj:
        s -= 0.5 * (row.z2 - row.z1)
    if c == ci:
        s -= row.z1 - ju[row.first].z
    if c == cj:
        s += row.z2 - ju[row.second].z
    if s == 0.0:
        return 0.0
    fluid = row.fluid
    above = density(fluid, liquids[fluid], T[c] + 0.5, pressure)
    below = density(fluid, liquids[fluid], T[c] - 0.5, pressure)
    return s * GRAVITY * (above - below)


@compiled_inner
def put_buoyancy_of(
    br, ju, liquids, pressure, T, m, law, L, step, unknowns, first, last, c, cp_exhaust, n, K, slot, out_row
):
    """What a kelvin of temperature c does to the flows of its network, and they to carried heat."""
    moved = False
    for q in range(unknowns):
        step[q] = 0.0
    for k in range(first, last):
        if br[k].given >= 0:
            continue
        d = head_slope(br, ju, liquids, pressure, T, k, c)
        if d != 0.0:
            moved = True
            i, j = ju[br[k].first].place, ju[br[k].second].place
            if i >= 0:
                step[i] -= law[SLOPE, k] * d
            if j >= 0:
                step[j] += law[SLOPE, k] * d
    if not moved:
        return
    cholesky_solve(L, unknowns, step)
    for k in range(first, last):
        if br[k].given >= 0:
            continue
        i, j = br[k].first, br[k].second
        pi = step[ju[i].place] if ju[i].place >= 0 else 0.0
        pj = step[ju[j].place] if ju[j].place >= 0 else 0.0
        dm = law[SLOPE, k] * (head_slope(br, ju, liquids, pressure, T, k, c) + pi - pj)
        cp = cp_exhaust if br[k].fluid == EXHAUST else br[k].cp
        forward = m[k] >= 0.0
        g = cp * dm if forward else -cp * dm
        up = ju[i].mass if forward else ju[j].mass
        end = ju[j].mass if forward else ju[i].mass
        cell = br[k].cell
        if cell >= 0:
            put(K, slot, out_row, n, cell, c, g * (T[up] - T[cell]))
            up = cell
        put(K, slot, out_row, n, end, c, g * (T[up] - T[end]))


@compiled_inner
def put_buoyancy(model, around, work, n, K, slot, out_row):
    """Answer of all buoyant networks to every temperature in them."""
    br, ju, nets, liquids = model.branches, model.junctions, model.networks, model.liquids
    T, m, law, step, all_L = work.T, work.m, work.law, work.step, work.L
    pressure, cp = around.pressure, work.sig[S.EXHAUST_CP]
    for net in range(nets.size):
        if nets[net].buoyant == 0:
            continue
        L, unknowns = all_L[net], nets[net].unknowns
        first, last = nets[net].branch_start, nets[net].branch_end
        for i in range(nets[net].junction_start, nets[net].junction_end):
            c = ju[i].mass
            if c < n:
                put_buoyancy_of(
                    br,
                    ju,
                    liquids,
                    pressure,
                    T,
                    m,
                    law,
                    L,
                    step,
                    unknowns,
                    first,
                    last,
                    c,
                    cp,
                    n,
                    K,
                    slot,
                    out_row,
                )
        for k in range(first, last):
            c = br[k].cell
            if c >= 0:
                put_buoyancy_of(
                    br,
                    ju,
                    liquids,
                    pressure,
                    T,
                    m,
                    law,
                    L,
                    step,
                    unknowns,
                    first,
                    last,
                    c,
                    cp,
                    n,
                    K,
                    slot,
                    out_row,
                )


@compiled
def jacobian(model, around, work, K, out_row):
    """K (nnz + 1,) in the slots of model.pattern, out_row (n,): tangent at the state last settled."""
    n = work.T.size - around.boundary.size
    slot = model.pattern.slot
    K[:] = 0.0
    out_row[:] = 0.0
    put_links(model, work, n, K, out_row)
    slots = model.pair_slots
    put_radiation_tangent(model.radiation, work.T, slots.radiating, slots.radiation, K, out_row, n)
    put_streams(model, work, n, K, slot, out_row)
    put_vapour(model, work, n, K, slot, out_row)
    put_fading(model.source, work.sig, work.T, n, K, slot, out_row)
    put_controls(model, work, n, K, slot)
    # Fans, pumps and ram air drown buoyancy while driving; a Jacobian without it serves as well there.
    if work.sig[S.ENGINE_ON] < 0.5 or work.sig[S.VEHICLE_SPEED] < SLOW:
        put_buoyancy(model, around, work, n, K, slot, out_row)


@compiled
def secant_matrix(model, around, work, K, out_row):
    """As `jacobian`, but with secant radiation and flows held: exact heat flows of the state last settled."""
    n = work.T.size - around.boundary.size
    slot = model.pattern.slot
    K[:] = 0.0
    out_row[:] = 0.0
    put_links(model, work, n, K, out_row)
    slots = model.pair_slots
    put_radiation_secant(model.radiation, work.T, slots.radiating, slots.radiation, K, out_row, n)
    put_streams(model, work, n, K, slot, out_row)
    put_vapour(model, work, n, K, slot, out_row)
