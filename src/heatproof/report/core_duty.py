"""What each exchanger core has to do: heat, flows, temperatures and pressure losses at its hardest instant."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from heatproof.assembly.core_tables import air_losses, air_stream, hot_losses, liquid_losses
from heatproof.assembly.cores import Streams, streams
from heatproof.assembly.model import Solved
from heatproof.kit.records.air import Core
from heatproof.kit.records.variant import Variant
from heatproof.laws.core import Stream
from heatproof.network import signals as S
from heatproof.network.arrays import Work
from heatproof.network.coefficients import exchanger_coefficients
from heatproof.network.rates import rates
from heatproof.network.solve import Run, make_work
from heatproof.verdict.names import spaced


@dataclass(frozen=True)
class CoreDuty:
    """heat W; flows kg/s; temperatures K at the inlets; losses Pa of the core alone, as modelled.

    hot_kind, cold_kind: what flows there: `air`, `charge`, `oil`, `coolant` or a further circuit's path.
    """

    core: str
    title: str
    duty: str
    time: float
    heat: float
    hot_flow: float
    cold_flow: float
    hot_in: float
    cold_in: float
    hot_out: float
    hot_loss: float
    cold_loss: float
    hot_kind: str
    cold_kind: str


def core_duties(variant: Variant, solved: Mapping[str, Solved]) -> tuple[CoreDuty, ...]:
    """The hardest instant of every core that a fluid flows through; condensers are left out."""
    found = []
    for name, core in variant.cores.items():
        every = [one for key in solved for one in at_candidates(variant, key, solved[key], name, core)]
        if every:
            found.append(max(every, key=lambda one: one.heat))
    return tuple(found)


def at_candidates(variant: Variant, key: str, solved: Solved, name: str, core: Core) -> list[CoreDuty]:
    """At most power, at the hottest inlet, and at the hottest outlet while the engine runs."""
    run = solved.run
    own = [k for k, link in enumerate(run.network.link_names["exchanger"]) if link.split(" in ")[0] == name]
    if not own:
        return []
    on = np.flatnonzero(run.signal[:, S.ENGINE_ON] > 0.5)
    hot = run.network.model.branches[int(run.network.model.exchanger[own[0]]["hot"])]
    inlet, outlet = int(hot["first"]), int(hot["second"])
    masses = [index for index in (mass_of(run, inlet), mass_of(run, outlet)) if index is not None]
    rows = {int(on[np.argmax(run.signal[on, S.BRAKE_POWER])])}
    rows |= {int(on[np.argmax(run.state[on, mass])]) for mass in masses}
    return [one_instant(variant, key, run, row, name, core, own) for row in rows]


def mass_of(run: Run, junction: int) -> int | None:
    """The mass that stands for a junction."""
    name = run.network.junctions[junction]
    return run.network.mass(name) if name in run.network.masses else None


def one_instant(
    variant: Variant, key: str, run: Run, row: int, name: str, core: Core, own: list[int]
) -> CoreDuty:
    """One core at one stored row."""
    network = run.network
    work = evaluated(run, row)
    table = network.model.exchanger
    hot, cold = int(table[own[0]]["hot"]), [int(table[k]["cold"]) for k in own]
    hot_name, cold_name = network.branches[hot], network.branches[cold[0]]
    m_hot, m_cold = abs(float(work.m[hot])), sum(abs(float(work.m[k])) for k in cold)
    T_hot = upstream(run, row, hot, work.m)
    T_cold = [upstream(run, row, k, work.m) for k in cold]
    heat = steady_heat(T_hot, work.g_exchanger[0, own], T_cold, work.g_exchanger[1, own])
    s = streams(variant, name, core)
    return CoreDuty(
        core=name,
        title=core.title or spaced(name),
        duty=key,
        time=float(run.time[row]),
        heat=float(heat),
        hot_flow=m_hot,
        cold_flow=m_cold,
        hot_in=T_hot,
        cold_in=float(np.average(T_cold, weights=[abs(float(work.m[k])) + 1e-9 for k in cold])),
        hot_out=T_hot - float(heat) / max(m_hot * s.hot_stream.cp, 1e-6),
        hot_loss=loss(hot_losses(core, hot_stream(run, row, s)), m_hot),
        cold_loss=loss(air_losses(core) if s.cold is None else liquid_losses(core, s.cold_stream), m_cold),
        hot_kind=hot_name.rpartition(".")[0],
        cold_kind=cold_name.rpartition(".")[0],
    )


def evaluated(run: Run, row: int) -> Work:
    """Flows and conductances at a stored row, with the inputs of the second that begins there."""
    work = make_work(run.network, run.around)
    second = min(int(run.time[row] + 1e-9), run.duty.duration - 1)
    work.p[:] = run.pressure[row]
    no_fans = np.zeros(len(run.network.fans))
    model = run.network.model
    rates(model, run.around, run.duty.samples[second], run.state[row], no_fans, work)
    # As steady: without what holds outlets while the metal lags.
    tables = (model.exchanger, model.hot_ln_hA, model.cold_ln_hA)
    exchanger_coefficients(*tables, model.branches, work.m, work.sig, work.g_exchanger)
    return work


def steady_heat(T_hot: float, G_hot: np.ndarray, T_cold: list[float], G_cold: np.ndarray) -> float:
    """Heat (W) that would flow on and on with these inlets: what the metal stores or gives up meanwhile left out.

    The metal settles where Σ G_hot (T_hot − T) = Σ G_cold (T − T_cold).
    """
    total = float(G_hot.sum() + G_cold.sum())
    if total <= 0.0:
        return 0.0
    settled = float(G_hot.sum() * T_hot + G_cold @ np.array(T_cold)) / total
    return float(G_hot.sum()) * (T_hot - settled)


def loss(law: tuple[float, float], flow: float) -> float:
    """Pa of a m + b m²."""
    return law[0] * flow + law[1] * flow * flow


def upstream(run: Run, row: int, branch: int, flow: np.ndarray) -> float:
    """K of what enters a branch."""
    one = run.network.model.branches[branch]
    junction = int(one["first"] if flow[branch] >= 0.0 else one["second"])
    mass = mass_of(run, junction)
    return float(run.state[row, mass]) if mass is not None else float(run.around.temperature)


def hot_stream(run: Run, row: int, s: Streams) -> Stream:
    """The hot fluid as the model takes it; charge air at its density of this instant."""
    if not s.hot.startswith("charge."):
        return s.hot_stream
    T = float(run.state[row, run.network.mass("charge.plenum")])
    return air_stream(T, float(run.signal[row, S.MANIFOLD_PRESSURE]) / (287.05 * T))
