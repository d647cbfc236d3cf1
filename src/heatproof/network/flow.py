"""Flow in branches between junctions: Newton on pressures, damped, warm-started.

Each branch law is monotone, so the pressures minimise a convex potential: one solution, found from anywhere.
"""

import numpy as np

from heatproof.network import signals as S
from heatproof.network.arrays import DRIVE, LAW_A, LAW_B, SLOPE
from heatproof.network.fluids import density, kinematic_viscosity
from heatproof.numerics.compiled import compiled_inner

GRAVITY = 9.80665
TOLERANCE = 1e-7  # imbalance over the largest flow
MOST_ITERATIONS = 80
STILL = 1e-9  # kg/s; flows below it are none
STALLED = 1e-5  # imbalance accepted where rounding keeps Newton from more
STEEPEST = 1e-9  # Pa s/kg; a branch without laminar part at rest


@compiled_inner
def branch_laws(br, ju, liquids, pressure, T0, T, lift, sig, law):
    """Coefficients of every branch at the present temperatures: a, b and the driving head (Pa)."""
    a, b, drive = law[LAW_A], law[LAW_B], law[DRIVE]
    for k in range(br.size):
        if br[k].given >= 0:
            drive[k] = 0.0
            continue
        fluid = br[k].fluid
        coef = liquids[fluid]
        i, j = br[k].first, br[k].second
        Ti, Tj = T[ju[i].mass], T[ju[j].mass]
        Tk = T[br[k].cell] if br[k].cell >= 0 else 0.5 * (Ti + Tj)
        rho0 = density(fluid, coef, T0, pressure)
        rho_k = density(fluid, coef, Tk, pressure)
        a[k] = br[k].a * kinematic_viscosity(fluid, coef, Tk, pressure) / br[k].nu_ref
        b[k] = br[k].b * br[k].rho_ref / rho_k
        z1, z2 = br[k].z1, br[k].z2
        d = -(rho_k - rho0) * GRAVITY * (z2 - z1)
        if z1 != ju[i].z:
            d -= (density(fluid, coef, Ti, pressure) - rho0) * GRAVITY * (z1 - ju[i].z)
        if z2 != ju[j].z:
            d += (density(fluid, coef, Tj, pressure) - rho0) * GRAVITY * (z2 - ju[j].z)
        if br[k].head_signal >= 0:
            ratio = sig[br[k].head_signal] / br[k].head_reference
            d += br[k].head * ratio * ratio * (rho_k / br[k].rho_ref)
        if br[k].lift >= 0:
            x = lift[br[k].lift]
            opening = (x if br[k].lift_sense > 0 else 1.0 - x) + br[k].leak
            a[k] /= opening
            b[k] /= opening * opening
        drive[k] = d


@compiled_inner
def branch_flow(a, b, dp, relief):
    """Flow m (kg/s) and slope dm/dΔp of one branch at pressure difference dp (Pa)."""
    if relief >= 0.0:
        if dp <= relief:
            return 0.0, 1e-14
        dp -= relief
    r = max(np.sqrt(a * a + 4.0 * b * abs(dp)), STEEPEST)
    return 2.0 * dp / (a + r), 1.0 / r


@compiled_inner
def evaluate(br, ju, nets, net, p, law, m, R):
    """Flows of one network at pressures p; R = net inflow of each unknown junction. Returns largest flow."""
    for q in range(nets[net].unknowns):
        R[q] = 0.0
    largest = 0.0
    for k in range(nets[net].branch_start, nets[net].branch_end):
        i, j = br[k].first, br[k].second
        if br[k].given < 0:
            m[k], law[SLOPE, k] = branch_flow(
                law[LAW_A, k], law[LAW_B, k], p[i] - p[j] + law[DRIVE, k], br[k].relief
            )
        if ju[i].place >= 0:
            R[ju[i].place] -= m[k]
        if ju[j].place >= 0:
            R[ju[j].place] += m[k]
        largest = max(largest, abs(m[k]))
    return largest


@compiled_inner
def laplacian(br, ju, nets, net, slope, L):
    """Sum of branch slopes between unknown junctions; the matrix of Newton's step (symmetric)."""
    n = nets[net].unknowns
    for q in range(n):
        for r in range(n):
            L[q, r] = 0.0
    for k in range(nets[net].branch_start, nets[net].branch_end):
        if br[k].given >= 0:
            continue
        i, j = ju[br[k].first].place, ju[br[k].second].place
        if i >= 0:
            L[i, i] += slope[k]
        if j >= 0:
            L[j, j] += slope[k]
        if i >= 0 and j >= 0:
            L[i, j] -= slope[k]
            L[j, i] -= slope[k]


@compiled_inner
def cholesky(L, n):
    """L Lᵀ in the lower triangle, in place; False where the matrix is not positive definite."""
    for j in range(n):
        s = L[j, j]
        for k in range(j):
            s -= L[j, k] * L[j, k]
        if not s > 0.0:
            return False
        d = np.sqrt(s)
        L[j, j] = d
        for i in range(j + 1, n):
            s = L[i, j]
            for k in range(j):
                s -= L[i, k] * L[j, k]
            L[i, j] = s / d
    return True


@compiled_inner
def cholesky_solve(L, n, x):
    """Solve in place with the factor of `cholesky`."""
    for i in range(n):
        s = x[i]
        for k in range(i):
            s -= L[i, k] * x[k]
        x[i] = s / L[i, i]
    for i in range(n - 1, -1, -1):
        s = x[i]
        for k in range(i + 1, n):
            s -= L[k, i] * x[k]
        x[i] = s / L[i, i]


@compiled_inner
def set_fixed_pressures(ju, around, sig, p):
    q = 0.5 * around.density * sig[S.VEHICLE_SPEED] ** 2
    for i in range(ju.size):
        if ju[i].fixed:
            p[i] = ju[i].pressure + ju[i].pressure_coefficient * q


@compiled_inner
def move(ju, nets, net, p, step, size):
    """p + size·step on the unknown junctions of one network."""
    for i in range(nets[net].junction_start, nets[net].junction_end):
        if ju[i].place >= 0:
            p[i] += size * step[ju[i].place]


@compiled_inner
def solve_network(br, ju, nets, net, p, law, m, L, R, step):
    """Newton on the pressures of one network, from the pressures given. Returns 0, or 1 where it gave up."""
    n = nets[net].unknowns
    evaluated, largest = False, 0.0
    for iteration in range(MOST_ITERATIONS):
        if iteration == MOST_ITERATIONS // 2:
            for i in range(nets[net].junction_start, nets[net].junction_end):
                if ju[i].place >= 0:
                    p[i] = 0.0
            evaluated = False
        if not evaluated:
            largest = evaluate(br, ju, nets, net, p, law, m, R)
        worst = 0.0
        for q in range(n):
            worst += abs(R[q])
        if not np.isfinite(worst + largest):
            return 1.0
        last_chance = iteration == MOST_ITERATIONS - 1 and worst <= STALLED * largest
        if worst <= TOLERANCE * largest + STILL or last_chance:
            laplacian(br, ju, nets, net, law[SLOPE], L)
            cholesky(L, n)
            return 0.0
        laplacian(br, ju, nets, net, law[SLOPE], L)
        if not cholesky(L, n):
            return 1.0
        slope0 = 0.0
        for q in range(n):
            step[q] = R[q]
        cholesky_solve(L, n, step)
        for q in range(n):
            slope0 += R[q] * step[q]
        # Along the step the potential is convex: its slope s falls from slope0. Bracket where it would turn
        # round (a relief valve opens there), else take the whole step.
        size, low, high, s_low, s_high = 1.0, 0.0, 0.0, slope0, 0.0
        move(ju, nets, net, p, step, size)
        for _ in range(30):
            largest, evaluated = evaluate(br, ju, nets, net, p, law, m, R), True
            s = 0.0
            for q in range(n):
                s += R[q] * step[q]
            if s < -0.9 * slope0:
                high, s_high = size, s
            elif high > 0.0 and s > 0.5 * slope0:
                low, s_low = size, s
            else:
                break
            share = min(max(s_low / (s_low - s_high), 0.1), 0.9)
            between = low + share * (high - low)
            move(ju, nets, net, p, step, between - size)
            size, evaluated = between, False
    return 1.0


@compiled_inner
def solve_flows(model, around, work):
    """Flows of all networks at the present temperatures, lifts and signals. Returns 0, or 1 where one gave up."""
    br, ju, nets = model.branches, model.junctions, model.networks
    branch_laws(
        br,
        ju,
        model.liquids,
        around.pressure,
        around.temperature,
        work.T,
        work.lift,
        work.sig,
        work.law,
    )
    m, sig, law, p, L, R, step = work.m, work.sig, work.law, work.p, work.L, work.R, work.step
    for k in range(br.size):
        if br[k].given >= 0:
            m[k] = br[k].given_factor * sig[br[k].given]
            law[SLOPE, k] = 0.0
    set_fixed_pressures(ju, around, work.sig, work.p)
    worst = 0.0
    for net in range(nets.size):
        imbalance = solve_network(br, ju, nets, net, p, law, m, L[net], R, step)
        worst = max(worst, imbalance)
    return worst
