"""Heat through every link at one stored state, by name: who gives what to whom."""

from dataclasses import dataclass

import numpy as np

from heatproof.network import signals as S
from heatproof.network.arrays import EXHAUST
from heatproof.network.heat_flows import SIGMA, source_heat
from heatproof.network.rates import rates
from heatproof.network.solve import Run, make_work


@dataclass(frozen=True)
class Path:
    """Heat (W) from `first` into `second` through one link; negative where it runs the other way."""

    kind: str
    name: str
    first: str
    second: str
    heat: float


def paths_at(run: Run, row: int) -> list[Path]:
    """All heat paths at a stored row."""
    network, around = run.network, run.around
    model, work = network.model, make_work(network, around)
    # A row on the stroke of a second ends the one before it.
    second = max(int(run.time[row] - 1e-6), 0)
    work.p[:] = run.pressure[row]
    rates(model, around, run.duty.samples[second], run.state[row], np.zeros(len(network.fans)), work)
    names = (*network.masses, *network.boundaries)
    T = work.T
    found: list[Path] = []

    def pairs(kind: str, table: np.ndarray, heat: np.ndarray) -> None:
        for k, row_ in enumerate(table):
            link = network.link_names[kind][k]
            found.append(Path(kind, link, names[row_["j"]], names[row_["i"]], float(heat[k])))

    def difference(table: np.ndarray) -> np.ndarray:
        return T[table["j"]] - T[table["i"]]

    pairs("conduction", model.conduction, model.conduction["G"] * difference(model.conduction))
    ra = model.radiation
    pairs("radiation", ra, SIGMA * ra["FA"] * (T[ra["j"]] ** 4 - T[ra["i"]] ** 4))
    pairs("convection", model.convection, work.g_convection * difference(model.convection))
    pairs("wetted", model.wetted, work.g_wetted * difference(model.wetted))
    found += streams(run, work, names)
    for k, source in enumerate(model.source):
        heat = source_heat(source, work.sig, T)
        cause = network.causes[source["cause"]]
        found.append(Path("source", network.link_names["source"][k], cause, names[source["r"]], float(heat)))
    for k, cell in enumerate(model.boiling):
        heat = work.boil[0, k] * (T[cell["cell"]] - work.boil[1, k])
        if heat > 0.0:
            found.append(Path("vapour", "boiling", names[cell["cell"]], names[cell["receiver"]], float(heat)))
    return found


def streams(run: Run, work, names: tuple[str, ...]) -> list[Path]:  # type: ignore[no-untyped-def]
    """Ducts, exchangers and carried heat at the state `work` holds."""
    model = run.network.model
    br, ju, T = model.branches, model.junctions, work.T
    found: list[Path] = []

    def ends(k: int) -> tuple[int, int, int]:
        """Temperature indices of what enters branch k, what it holds, and what it enters."""
        first, second = int(ju["mass"][br["first"][k]]), int(ju["mass"][br["second"][k]])
        up, end = (first, second) if work.m[k] >= 0.0 else (second, first)
        cell = int(br["cell"][k])
        return up, cell, end

    def rate(k: int) -> float:
        cp = work.sig[S.EXHAUST_CP] if br["fluid"][k] == EXHAUST else br["cp"][k]
        return abs(float(work.m[k])) * float(cp)

    for k, duct in enumerate(model.duct):
        up, cell, end = ends(int(duct["branch"]))
        heat = work.g_duct[k] * (T[up] - T[duct["i"]])
        stream = cell if cell >= 0 else end
        found.append(
            Path("duct", run.network.link_names["duct"][k], names[stream], names[duct["i"]], float(heat))
        )
    for k, ex in enumerate(model.exchanger):
        for side, branch in enumerate((int(ex["hot"]), int(ex["cold"]))):
            up, cell, end = ends(branch)
            heat = work.g_exchanger[side, k] * (T[up] - T[ex["metal"]])
            stream = cell if cell >= 0 else end
            name = run.network.link_names["exchanger"][k]
            found.append(Path("exchanger", name, names[stream], names[ex["metal"]], float(heat)))
    for k in range(br.size):
        up, cell, end = ends(k)
        C = rate(k)
        if C == 0.0:
            continue
        name = run.network.branches[k]
        if cell >= 0:
            found.append(Path("carried", name, names[up], names[cell], C * float(T[up] - T[cell])))
            up = cell
        found.append(Path("carried", name, names[up], names[end], C * float(T[up] - T[end])))
    return found
