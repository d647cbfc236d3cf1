"""One duty by SciPy's `solve_ivp` (Radau), second by second where inputs change; relays as events."""

import itertools
from dataclasses import dataclass

import numpy as np
from scipy.integrate import solve_ivp
from second_heat import Balance

RUNNING, CONDITIONING = 3, 4


@dataclass(frozen=True)
class Course:
    """States (rows, size) at the times asked for, and the highest of every state at any accepted step."""

    time: np.ndarray
    state: np.ndarray
    highest: np.ndarray


def tolerances(network) -> np.ndarray:
    """K a step may err: air and gas lie in no part and settle within a fraction of a second."""
    kinds = [network.kinds[name] for name in network.masses]
    of = {"solid": 1e-3, "coolant": 1e-3, "oil": 1e-3, "air": 1e-2, "gas": 5e-2}
    return np.array([*(of[kind] for kind in kinds), *[1e-4] * (network.size - len(kinds))])


class March:
    """Integrates one duty and looks at its relays."""

    def __init__(self, network, around, duty, fans) -> None:
        self.balance = Balance(network, around)
        self.duty, self.atol = duty, tolerances(network)
        self.balance.target = np.array(fans, dtype=float)

    def run(self, start, times) -> Course:
        """From `start` to the last of the times (s), states kept at each."""
        y, rows, highest = np.array(start, dtype=float), [], np.array(start, dtype=float)
        times = np.asarray(times)
        for t0, t1 in self.pieces(float(times[-1])):
            self.balance.sample = self.duty.samples[int(t0)]
            wanted = times[(times >= t0 - 1e-9) & (times < t1 - 1e-9)]
            if t1 >= times[-1] - 1e-9:
                wanted = times[times >= t0 - 1e-9]
            y, kept, high = self.piece(t0, t1, y, np.clip(wanted, t0, t1))
            rows.append(kept)
            highest = np.maximum(highest, high)
        return Course(times, np.vstack(rows), highest)

    def pieces(self, end: float) -> list[tuple[float, float]]:
        """Spells of one held sample, cut at key-off."""
        samples = self.duty.samples
        cuts = {0, int(np.ceil(end)), min(self.duty.key_off, int(np.ceil(end)))}
        changes = 1 + np.flatnonzero(np.any(samples[1:] != samples[:-1], axis=1))
        cuts |= {int(k) for k in changes if k < end}
        marks = sorted(cuts)
        return [(float(a), min(float(b), end)) for a, b in itertools.pairwise(marks)]

    def piece(self, t0, t1, y, wanted):
        """One spell; stopped and restarted wherever a relay switches."""
        kept, high, t = [], y.copy(), t0
        self.look(t, y)
        while t < t1 - 1e-9:
            events = self.events(t, y)
            inside = wanted[(wanted >= t - 1e-9)]
            found = solve_ivp(
                self.balance.rate, (t, t1), y, method="Radau", jac=self.balance.slope, rtol=1e-9, atol=self.atol,
                first_step=min(0.02, t1 - t), dense_output=True, events=events or None,
            )  # fmt: skip
            assert found.success, found.message
            reached = found.t[-1]
            last = reached >= t1 - 1e-9
            now = inside if last else inside[inside < reached]
            if now.size:
                kept.append(found.sol(now).T)
            high = np.maximum(high, found.y.max(axis=1))
            y, t = found.y[:, -1], reached
            wanted = inside[now.size :]
            if not last:
                self.look(t, y, nudge=1e-6)
        return y, np.vstack(kept) if kept else np.zeros((0, y.size)), high

    # --- relays ---------------------------------------------------------------------------------------------
    def told(self, k: int, T: float, t: float, now: float) -> float:
        """Speed a relay asks for: off, low, full, with hysteresis."""
        fa = {name: value[k] for name, value in self.balance.fans.items()}
        running, conditioning = self.balance.sample[RUNNING] > 0.5, self.balance.sample[CONDITIONING] > 0.5
        if not running and t - self.duty.key_off >= fa["run_on"] - 1e-9:
            return 0.0
        if running and fa["with_engine"] != 0.0:
            return max(fa["with_engine"], 0.0)
        new = now
        if fa["high"] < T:
            new = 1.0
        elif fa["high"] - fa["hysteresis"] > T:
            new = min(now, fa["low_speed"])
            if fa["on"] < T:
                new = fa["low_speed"]
            elif fa["on"] - fa["hysteresis"] > T:
                new = 0.0
        asked = running and conditioning and fa["with_ac"] > 0.5
        return max(new, fa["low_speed"]) if asked else new

    def look(self, t, y, nudge: float = 0.0) -> None:
        """Set every relay; at an event its sensor stands on the threshold, so look a hair to both sides."""
        for k, sensor in enumerate(self.balance.fans["sensor"]):
            now = self.balance.target[k]
            new = self.told(k, y[sensor], t, now)
            for T in (y[sensor] + nudge, y[sensor] - nudge):
                new = self.told(k, T, t, now) if new == now else new
            self.balance.target[k] = new

    def events(self, t, y):
        """One event a threshold that would switch a relay from its present state."""
        found = []
        for k, sensor in enumerate(self.balance.fans["sensor"]):
            fa = {name: value[k] for name, value in self.balance.fans.items()}
            for threshold in (
                fa["on"],
                fa["on"] - fa["hysteresis"],
                fa["high"],
                fa["high"] - fa["hysteresis"],
            ):
                for way in (1.0, -1.0):
                    beyond = threshold + way * 1e-6
                    if self.told(k, beyond, t, self.balance.target[k]) != self.balance.target[k]:
                        found.append(self.event(int(sensor), threshold, way))
        return found

    @staticmethod
    def event(sensor: int, threshold: float, way: float):
        def crossing(t, y):
            return y[sensor] - threshold

        crossing.terminal, crossing.direction = True, way
        return crossing
