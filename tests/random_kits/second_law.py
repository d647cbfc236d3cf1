"""What every mass touches at one stored row: its hottest and coldest neighbour, its own heat, its conductance.

With conductances that are none negative, C dT/dt = Σ G (T_j − T) + Q leaves a mass at its peak no hotter than its
hottest neighbour plus Q/ΣG, and at its trough no colder than its coldest less what work takes from it (maximum
principle). Neighbours are what the solver couples: links, the stream entering a duct, a core or a branch, vapour.
"""

from dataclasses import dataclass

import numpy as np

from heatproof.laws.engine import mean_gas_temperature
from heatproof.network import signals as S
from heatproof.network.arrays import EXHAUST
from heatproof.network.heat_flows import SIGMA, source_heat
from heatproof.network.rates import rates
from heatproof.network.solve import Run, make_work
from heatproof.network.transient import Stepping

USUAL, FINE = Stepping(), Stepping(tolerance=0.03)
MOST_GAMMA_SHARE = 0.286  # (γ − 1)/γ of air; hot exhaust gas has less


# Which mass a stream comes from and gives to, and its capacity rate: what the compiled functions of the network do, in words
# of this file.
def upstream(br, ju, k, m) -> int:
    """Mass that a branch draws from at flow m: its first junction's, or its second's where it runs back."""
    return int(ju["mass"][br["first" if m >= 0.0 else "second"][k]])


def downstream(br, ju, k, m) -> int:
    """Mass that takes up what the stream is given: the branch's own cell, else the junction it runs to."""
    return int(br["cell"][k]) if br["cell"][k] >= 0 else upstream(br, ju, k, -m)


def capacity_rate(br, m, sig, k) -> float:
    """|m| cp, W/K; exhaust gas has the cp of the moment."""
    return float(abs(m[k]) * (sig[S.EXHAUST_CP] if br["fluid"][k] == EXHAUST else br["cp"][k]))


@dataclass(frozen=True)
class Touching:
    """Per mass, at one row: K, K, W, W/K."""

    hottest: np.ndarray
    coldest: np.ndarray
    made: np.ndarray
    conductance: np.ndarray


def touching(run: Run, row: int) -> Touching:
    """Neighbours of every mass at a stored row."""
    network, model = run.network, run.network.model
    work = make_work(network, run.around)
    second = max(int(run.time[row] - 1e-6), 0)  # a row on the stroke of a second ends the one before it
    work.p[:] = run.pressure[row]
    rates(model, run.around, run.duty.samples[second], run.state[row], np.zeros(len(network.fans)), work)
    T, n = work.T, len(network.masses)
    hottest, coldest, made, total = np.full(n, -np.inf), np.full(n, np.inf), np.zeros(n), np.zeros(n)

    def feels(i: int, j: int, G: float) -> None:
        """Mass i is coupled to temperature j by G (W/K)."""
        if i < n and G > 0.0:
            hottest[i], coldest[i] = max(hottest[i], T[j]), min(coldest[i], T[j])
            total[i] += G

    def both(table: np.ndarray, G: np.ndarray) -> None:
        for row_, g in zip(table, G, strict=True):
            feels(row_["i"], row_["j"], g)
            feels(row_["j"], row_["i"], g)

    ra = model.radiation
    a, b = T[ra["i"]], T[ra["j"]]
    both(model.conduction, model.conduction["G"])
    both(ra, SIGMA * ra["FA"] * (a + b) * (a * a + b * b))
    both(model.convection, work.g_convection)
    both(model.wetted, work.g_wetted)
    br, ju, m, sig = model.branches, model.junctions, work.m, work.sig
    for k in range(br.size):
        C = float(capacity_rate(br, m, sig, k))
        up, end, cell = upstream(br, ju, k, m[k]), upstream(br, ju, k, -m[k]), int(br["cell"][k])
        assert C >= 0.0, f"capacity rate of {network.branches[k]} is {C:.3g} W/K"
        if m[k] != 0.0 and cell >= 0:
            feels(cell, up, C)
            up = cell
        if m[k] != 0.0:
            feels(end, up, C)
    for k, duct in enumerate(model.duct):
        b_ = int(duct["branch"])
        both_ways(
            feels, int(duct["i"]), upstream(br, ju, b_, m[b_]), downstream(br, ju, b_, m[b_]), work.g_duct[k]
        )
    for k, core in enumerate(model.exchanger):
        inlets = [upstream(br, ju, int(core[side]), m[core[side]]) for side in ("hot", "cold")]
        for side, b_ in enumerate((int(core["hot"]), int(core["cold"]))):
            end = downstream(br, ju, b_, m[b_])
            both_ways(feels, int(core["metal"]), inlets[side], end, work.g_exchanger[side, k])
            feels(end, inlets[1 - side], 1e-12)  # the metal's mean may lie short of it; no heat of its own
    for cell, (G, T_boils) in zip(model.boiling, work.boil.T, strict=True):
        if G > 0.0:  # vapour leaves at saturation; where it condenses it is heat brought in
            i = int(cell["cell"])
            hottest[i], coldest[i] = max(hottest[i], T_boils), min(coldest[i], T_boils)
            total[i] += G
            if cell["receiver"] < n:
                made[cell["receiver"]] += G * (T[cell["cell"]] - T_boils)
    for source in model.source:
        made[source["r"]] += source_heat(source, sig, T)
    return Touching(hottest, coldest, made, total)


def both_ways(feels, wall: int, up: int, end: int, G: float) -> None:  # type: ignore[no-untyped-def]
    """A wall along a stream: the wall sees what enters, what the stream enters sees the wall."""
    feels(wall, up, G)
    feels(end, wall, G)


def step_error(run: Run, stepping: Stepping = USUAL) -> np.ndarray:
    """K per mass that two accepted steps may be off: the integrator's tolerance over the mass's weight."""
    return 2.0 * stepping.tolerance / run.network.model.weight[: len(run.network.masses)]


def too_hot(run: Run, stepping: Stepping = USUAL) -> list[str]:
    """Masses that rose to a peak past their hottest neighbour and own heat, or fell to a trough past their coldest, by
    more than steps may be off. A state that was there at the start, after the warm-up, is not looked at."""
    n, allowed = len(run.network.masses), step_error(run, stepping)
    T, seen, found = run.state[:, :n], {}, []

    def reach(row: int, i: int, sign: float) -> float:
        if row not in seen:
            seen[row] = touching(run, row)
        return bound(seen[row], i, sign)

    for i in range(n):
        for sign in (1.0, -1.0):
            course = sign * T[:, i]
            row = int(course.argmax())
            lower = np.flatnonzero(course[:row] < course[row] - allowed[i])
            if lower.size == 0:
                continue
            # While it rose the last stretch, some neighbour must have stood above it.
            least = float(course[row] - allowed[i])
            by = np.inf
            for r in range(row, int(lower[-1]) - 1, -1):
                by = min(by, least - reach(r, i, sign))
                if by <= 0.0:
                    break
            if by > 0.0:
                what = "hottest" if sign > 0.0 else "coldest"
                found.append(
                    f"{run.network.masses[i]} {by + allowed[i]:.2f} K past its {what} at {run.time[row]:.1f} s"
                )
    return found


def bound(at: Touching, i: int, sign: float) -> float:
    """sign · temperature (K) a mass may reach: its furthest neighbour and its own heat, or work, over ΣG."""
    if at.conductance[i] <= 0.0:
        return np.inf
    furthest = at.hottest[i] if sign > 0.0 else -at.coldest[i]
    return float(furthest + max(sign * at.made[i], 0.0) / at.conductance[i])


def too_cold(run: Run) -> list[str]:
    """Masses below ambient by more than steps may be off; behind the turbine below an isentropic expansion."""
    n = len(run.network.masses)
    T, allowed = run.state[:, :n], step_error(run)
    least = np.full(n, run.around.temperature)
    if "exhaust.turbine" in run.network.masses:
        ratio = float(run.signal[:, S.EXPANSION_RATIO].max())
        behind = [i for i, name in enumerate(run.network.masses) if name.startswith("exhaust.")]
        least[behind] *= max(ratio, 1.0) ** -MOST_GAMMA_SHARE
    under = least - allowed - T.min(axis=0)
    return [
        f"{run.network.masses[i]} {under[i] + allowed[i]:.2f} K too cold" for i in np.flatnonzero(under > 0.0)
    ]


def past_the_flame(run: Run) -> list[str]:
    """Masses hotter than the hottest gas the engine made, what makes heat of its own, or what was there at first; and what combustion heats
    through the walls, against the effective gas temperature that drives it (Taylor and Toong, `laws.engine`)."""
    network, T = run.network, run.state[:, : len(run.network.masses)]
    e = network.model.engine[0]
    plenum = T[:, network.mass("charge.plenum")].max()
    effective = mean_gas_temperature(1.0, plenum) + e["gas_temperature_offset"]
    burnt = (S.EXHAUST_HEAT, S.WALL_HEAT)
    own = [source["r"] for source in network.model.source if source["signal"] not in burnt]
    # What air conditioning, friction or current heats is a source itself, for itself and its neighbours.
    sources = (run.signal[:, S.EXHAUST_TEMPERATURE].max(), effective, T[0].max(), T[:, own].max(initial=0.0))
    most = np.full(T.shape[1], max(sources))
    walls = [source["r"] for source in network.model.source if source["signal"] == S.WALL_HEAT]
    most[walls] = np.maximum(effective, T[0, walls])
    over = T.max(axis=0) - most - step_error(run)
    return [f"{network.masses[i]} {over[i]:.2f} K past the gas" for i in np.flatnonzero(over > 0.0)]
