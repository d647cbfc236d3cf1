"""Every heat flow, from its link's coefficient into the masses it joins."""

from heatproof.network.coefficients import capacity_rate, downstream, upstream
from heatproof.numerics.compiled import compiled, compiled_inner

SIGMA = 5.670374e-8


@compiled_inner
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


@compiled_inner
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


@compiled_inner
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


@compiled_inner
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


@compiled_inner
def source_slope(row, sig, T):
    """W/K that a source loses for each kelvin of its mass."""
    over = T[row.r] - row.fades_from
    return row.factor * sig[row.signal] / row.fades_over if 0.0 < over < row.fades_over else 0.0


@compiled_inner
def sources(so, sig, T, Q):
    """Heat of all sources; returns their sum and the sum of the positive ones (W)."""
    total, positive = 0.0, 0.0
    for k in range(so.size):
        q = source_heat(so[k], sig, T)
        Q[so[k].r] += q
        total += q
        positive += max(q, 0.0)
    return total, positive


@compiled_inner
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
