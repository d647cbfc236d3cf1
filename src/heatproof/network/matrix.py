"""The linear map from temperatures to heat flows, with the coefficients `settle` left in `work`.

With secant radiation it is exact for the present state (the ledger); with tangent radiation and the flows'
answer to buoyancy it is the Jacobian of an implicit step. Rows are W/K; what the surroundings receive is summed
in `out_row`.
"""

from heatproof.network import signals as S
from heatproof.network.arrays import EXHAUST, SLOPE
from heatproof.network.flow import GRAVITY, cholesky_solve
from heatproof.network.fluids import density
from heatproof.network.rates import SIGMA, capacity_rate, downstream, upstream
from heatproof.numerics.compiled import compiled


@compiled
def put(K, slot, out_row, n, r, c, g):
    """Row r gains g per kelvin of c."""
    if c < n:
        if r < n:
            K[slot[r, c]] += g
        else:
            out_row[c] += g


@compiled
def transfer(K, slot, out_row, n, r, a, b, g):
    """Row r gains g (T_a − T_b)."""
    put(K, slot, out_row, n, r, a, g)
    put(K, slot, out_row, n, r, b, -g)


@compiled
def exchange(K, slot, out_row, n, i, j, g):
    """i and j exchange g (T_j − T_i)."""
    transfer(K, slot, out_row, n, i, j, i, g)
    transfer(K, slot, out_row, n, j, i, j, g)


@compiled
def put_links(model, work, n, K, slot, out_row):
    """Conduction, convection, wetted walls."""
    cd, cv, we = model.conduction, model.convection, model.wetted
    for k in range(cd.size):
        exchange(K, slot, out_row, n, cd.i[k], cd.j[k], cd.G[k])
    for k in range(cv.size):
        exchange(K, slot, out_row, n, cv.i[k], cv.j[k], work.g_convection[k])
    for k in range(we.size):
        exchange(K, slot, out_row, n, we.i[k], we.j[k], work.g_wetted[k])


@compiled
def put_radiation_secant(model, work, n, K, slot, out_row):
    ra, T = model.radiation, work.T
    for k in range(ra.size):
        Ti, Tj = T[ra.i[k]], T[ra.j[k]]
        exchange(K, slot, out_row, n, ra.i[k], ra.j[k], SIGMA * ra.FA[k] * (Ti * Ti + Tj * Tj) * (Ti + Tj))


@compiled
def put_radiation_tangent(model, work, n, K, slot, out_row):
    ra, T = model.radiation, work.T
    for k in range(ra.size):
        i, j = ra.i[k], ra.j[k]
        gi = 4.0 * SIGMA * ra.FA[k] * T[i] * T[i] * T[i]
        gj = 4.0 * SIGMA * ra.FA[k] * T[j] * T[j] * T[j]
        put(K, slot, out_row, n, i, j, gj)
        put(K, slot, out_row, n, i, i, -gi)
        put(K, slot, out_row, n, j, i, gi)
        put(K, slot, out_row, n, j, j, -gj)


@compiled
def put_streams(model, work, n, K, slot, out_row):
    """Ducts, exchangers and carried heat."""
    br, ju, du, ex = model.branches, model.junctions, model.duct, model.exchanger
    for k in range(du.size):
        b = du.branch[k]
        m = work.m[b]
        up = upstream(br, ju, b, m)
        transfer(K, slot, out_row, n, du.i[k], up, du.i[k], work.g_duct[k])
        transfer(K, slot, out_row, n, downstream(br, ju, b, m), du.i[k], up, work.g_duct[k])
    for k in range(ex.size):
        for side in range(2):
            b = ex.hot[k] if side == 0 else ex.cold[k]
            g = work.g_exchanger[side, k]
            m = work.m[b]
            up = upstream(br, ju, b, m)
            transfer(K, slot, out_row, n, ex.metal[k], up, ex.metal[k], g)
            transfer(K, slot, out_row, n, downstream(br, ju, b, m), ex.metal[k], up, g)
    for k in range(br.size):
        C = capacity_rate(br, work.m, work.sig, k)
        m = work.m[k]
        up = upstream(br, ju, k, m)
        end = ju.mass[br.second[k]] if m >= 0.0 else ju.mass[br.first[k]]
        if br.cell[k] >= 0:
            transfer(K, slot, out_row, n, br.cell[k], up, br.cell[k], C)
            up = br.cell[k]
        transfer(K, slot, out_row, n, end, up, end, C)


@compiled
def put_vapour(model, work, n, K, slot, out_row):
    bo = model.boiling
    for k in range(bo.size):
        put(K, slot, out_row, n, bo.cell[k], bo.cell[k], -work.boil[0, k])
        put(K, slot, out_row, n, bo.receiver[k], bo.cell[k], work.boil[0, k])


@compiled
def put_controls(model, work, n, K, slot):
    li, fa = model.lifts, model.fans
    for k in range(li.size):
        span = li.full[k] - li.opens[k]
        f = (work.T[li.sensor[k]] - li.opens[k]) / span
        K[slot[n + k, n + k]] -= 1.0 / li.tau[k]
        if 0.0 < f < 1.0:
            K[slot[n + k, li.sensor[k]]] += 6.0 * f * (1.0 - f) / (span * li.tau[k])
    for k in range(fa.size):
        r = n + li.size + k
        K[slot[r, r]] -= 1.0 / fa.tau[k]


@compiled
def density_slope(model, around, k, T):
    fluid = model.branches.fluid[k]
    coef = model.liquids[fluid]
    return density(fluid, coef, T + 0.5, around.pressure) - density(fluid, coef, T - 0.5, around.pressure)


@compiled
def head_slope(model, around, work, k, c):
    """d(gravity head of branch k)/dT_c, Pa/K."""
    br, ju = model.branches, model.junctions
    i, j = br.first[k], br.second[k]
    ci, cj = ju.mass[i], ju.mass[j]
    z1, z2 = br.z1[k], br.z2[k]
    s = 0.0
    if br.cell[k] >= 0:
        if br.cell[k] == c:
            s -= z2 - z1
    elif c in (ci, cj):
        s -= 0.5 * (z2 - z1)
    if c == ci:
        s -= z1 - ju.z[i]
    if c == cj:
        s += z2 - ju.z[j]
    return 0.0 if s == 0.0 else s * GRAVITY * density_slope(model, around, k, work.T[c])


@compiled
def put_buoyancy_of(model, around, work, net, c, n, K, slot, out_row):
    """What a kelvin of temperature c does to the flows of its network, and they to carried heat."""
    br, ju, nets = model.branches, model.junctions, model.networks
    unknowns, moved = nets.unknowns[net], False
    first, last = nets.branch_start[net], nets.branch_end[net]
    for q in range(unknowns):
        work.step[q] = 0.0
    for k in range(first, last):
        if br.given[k] >= 0:
            continue
        d = head_slope(model, around, work, k, c)
        if d != 0.0:
            moved = True
            if ju.place[br.first[k]] >= 0:
                work.step[ju.place[br.first[k]]] -= work.law[SLOPE, k] * d
            if ju.place[br.second[k]] >= 0:
                work.step[ju.place[br.second[k]]] += work.law[SLOPE, k] * d
    if not moved:
        return
    cholesky_solve(work.L[net], unknowns, work.step)
    for k in range(first, last):
        if br.given[k] >= 0:
            continue
        i, j = br.first[k], br.second[k]
        pi = work.step[ju.place[i]] if ju.place[i] >= 0 else 0.0
        pj = work.step[ju.place[j]] if ju.place[j] >= 0 else 0.0
        dm = work.law[SLOPE, k] * (head_slope(model, around, work, k, c) + pi - pj)
        m = work.m[k]
        cp = work.sig[S.EXHAUST_CP] if br.fluid[k] == EXHAUST else br.cp[k]
        g = cp * dm if m >= 0.0 else -cp * dm
        up = upstream(br, ju, k, m)
        end = ju.mass[j] if m >= 0.0 else ju.mass[i]
        if br.cell[k] >= 0:
            put(K, slot, out_row, n, br.cell[k], c, g * (work.T[up] - work.T[br.cell[k]]))
            up = br.cell[k]
        put(K, slot, out_row, n, end, c, g * (work.T[up] - work.T[end]))


@compiled
def put_buoyancy(model, around, work, n, K, slot, out_row):
    br, ju, nets = model.branches, model.junctions, model.networks
    for net in range(nets.size):
        if not nets.buoyant[net]:
            continue
        for i in range(nets.junction_start[net], nets.junction_end[net]):
            if ju.mass[i] < n:
                put_buoyancy_of(model, around, work, net, ju.mass[i], n, K, slot, out_row)
        for k in range(nets.branch_start[net], nets.branch_end[net]):
            if br.cell[k] >= 0:
                put_buoyancy_of(model, around, work, net, br.cell[k], n, K, slot, out_row)


@compiled
def jacobian(model, around, work, K, out_row):
    """K (nnz + 1,) in the slots of model.pattern, out_row (n,): tangent at the state last settled."""
    n = work.T.size - around.boundary.size
    slot = model.pattern.slot
    K[:] = 0.0
    out_row[:] = 0.0
    put_links(model, work, n, K, slot, out_row)
    put_radiation_tangent(model, work, n, K, slot, out_row)
    put_streams(model, work, n, K, slot, out_row)
    put_vapour(model, work, n, K, slot, out_row)
    put_controls(model, work, n, K, slot)
    put_buoyancy(model, around, work, n, K, slot, out_row)


@compiled
def secant_matrix(model, around, work, K, out_row):
    """As `jacobian`, but with secant radiation and flows held: exact heat flows of the state last settled."""
    n = work.T.size - around.boundary.size
    slot = model.pattern.slot
    K[:] = 0.0
    out_row[:] = 0.0
    put_links(model, work, n, K, slot, out_row)
    put_radiation_secant(model, work, n, K, slot, out_row)
    put_streams(model, work, n, K, slot, out_row)
    put_vapour(model, work, n, K, slot, out_row)
