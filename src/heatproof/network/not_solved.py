"""A run that did not come to its end: what left its range, where, from what to what, and what to look at."""

import numpy as np

from heatproof.network import arrays as A
from heatproof.network import signals as S
from heatproof.network.laid import Network
from heatproof.network.transient import MID, NEW, NO_FLOW, NOT_FINITE, RATE, T_HIGHEST, T_LOWEST, Trace

LOOK = "look at what this part of the car is told to do in its files"
MOST_NAMES = 3  # in one message
BEYOND_SENSE = 1e5  # K, past which the figure of a step gone wrong says nothing


class NotSolved(RuntimeError):
    """The integrator gave up; the message says what did not converge and where, `time` (s) when."""

    def __init__(self, message: str, time: float, next_step: str = LOOK) -> None:
        super().__init__(message)
        self.time, self.next_step = time, next_step


def not_solved(
    network: Network,
    status: int,
    work: A.Work,
    buffers: np.ndarray,
    y: np.ndarray,
    time: float,
    when: str = "",
) -> NotSolved:
    """What did not converge, in names and values. y: the last good state; buffers: the step that failed."""
    if status == NO_FLOW:
        return NotSolved(f"{when}flow: {worst_network(network, work)}", time)
    if status == NOT_FINITE:
        what, next_step = out_of_range(network, work, buffers, y)
        return NotSolved(when + what, time, next_step)
    what = f"steps grow too short and too many; fastest change at {fastest_mass(network, work)}"
    return NotSolved(when + what, time, f"look at mass, surface and links of {fastest_mass(network, work)}")


def out_of_range(network: Network, work: A.Work, buffers: np.ndarray, y: np.ndarray) -> tuple[str, str]:
    """Masses that left what media are known for, with their temperatures, and what to do about it."""
    n = len(network.masses)
    unknown = [i for i in range(n) if not (np.isfinite(buffers[RATE, i]) and np.isfinite(work.rate[i]))]
    if unknown:
        names = few([network.masses[i] for i in unknown])
        return (
            f"temperatures: the heat into {names} is not a number",
            f"look for a value of {network.masses[unknown[0]]}, or of what touches it, that is none or far out",
        )
    for tried in (buffers[MID], buffers[NEW]):
        bad = [i for i in range(n) if not T_LOWEST < tried[i] < T_HIGHEST]
        if bad:
            bad.sort(key=lambda i: -abs(tried[i] - y[i]))
            said = few([f"{network.masses[i]} {course(y[i], tried[i])}" for i in bad])
            return (
                f"temperatures out of range: {said}; allowed {celsius(T_LOWEST)} to {celsius(T_HIGHEST)}",
                f"look at mass, heat and links of {network.masses[bad[0]]}, or at a flow through it that nothing cools",
            )
    return f"thermostats or fans: no speed found; fastest change at {fastest_mass(network, work)}", LOOK


def fastest_mass(network: Network, work: A.Work) -> str:
    """Name of the mass whose temperature changes fastest."""
    n = len(network.masses)
    return network.masses[int(np.argmax(np.abs(work.rate[:n]) / network.model.capacity[:n]))]


def celsius(T: float) -> str:
    """`2227 °C`, or words for what is none, or means nothing."""
    if not np.isfinite(T):
        return "not a number"
    return f"{T - 273.15:.0f} °C" if abs(T) < BEYOND_SENSE else f"beyond ±{BEYOND_SENSE:.0f} °C"


def course(before: float, after: float) -> str:
    """`from 714 °C to 3000 °C within a step`, or `passes 2227 °C` where it creeps."""
    first, then = celsius(before), celsius(after)
    return f"passes {then}" if first == then else f"from {first} to {then} within a step"


def few(texts: list[str]) -> str:
    """The first ones, and how many more there are."""
    more = len(texts) - MOST_NAMES
    return ", ".join(texts[:MOST_NAMES]) + (f" and {more} more" if more > 0 else "")


def signal_names() -> list[str]:
    """`brake power`; by number where a signal has no name of its own (fans, tanks)."""
    names = [f"signal {k}" for k in range(S.COUNT)]
    for name, k in vars(S).items():
        if name.isupper() and isinstance(k, int) and k < S.COUNT and not name.startswith("MAX_"):
            names[k] = name.lower().replace("_", " ")
    return names


def refuse_unnumbered(network: Network, trace: Trace, rows: int, stored: float) -> None:
    """Flows, pressures, signals and sums of a run that has come to its end are numbers. Raises NotSolved."""
    no_engine = network.model.engine[0]["displacement"] == 0.0
    signals = trace.signal[: 0 if no_engine else rows]
    kinds = (
        ("flow of", trace.flow[:rows], network.branches),
        ("pressure at", trace.pressure[:rows], network.junctions),
        ("boiling:", trace.boiled[:rows], network.link_names["boiling"]),
        ("engine and its duty:", signals, signal_names()),
        (
            "balance of heat:",
            np.array([[*trace.energy, stored]]),
            ("heat in", "heat out", "heat put in", "heat stored"),
        ),
    )
    for kind, values, names in kinds:
        wrong = np.argwhere(~np.isfinite(values))
        if wrong.size:
            row, k = (int(x) for x in wrong[0])
            time = float(trace.time[row if kind != "balance of heat:" else rows - 1])
            raise NotSolved(f"{kind} {names[k]} is not a number", time)


def worst_network(network: Network, work: A.Work) -> str:
    """Network and junction whose inflow is worst out of balance."""
    model = network.model
    balance = np.zeros(len(network.junctions))
    with np.errstate(invalid="ignore"):
        np.add.at(balance, model.branches["second"], work.m)
        np.subtract.at(balance, model.branches["first"], work.m)
    balance[model.junctions["fixed"] == 1] = 0.0
    j = int(np.argmax(np.abs(balance)))
    net = int(np.searchsorted(model.networks["junction_start"], j, side="right")) - 1
    place = f"network {network.networks[net]}, junction {network.junctions[j]}"
    if not np.isfinite(balance[j]):
        return f"{place}, where the flow is not a number"
    return f"{place}, {balance[j]:.3g} kg/s out of balance"
