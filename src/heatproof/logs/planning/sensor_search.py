"""The search behind a plan: sets of sensors and numbers of runs against the margins in doubt."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from heatproof.logs.correcting.information import Matrix, posterior, sensor_information, variances
from heatproof.logs.planning.sensor_kinds import SensorKind, doubt_at
from heatproof.logs.predicting.places import Place

SHARED_K = 0.58
"""Cold junction of the logger, sd: 1 K as a rectangle; common practice, no source."""
LEAST_GAIN, LEAST_SENSOR_GAIN = 0.02, 0.01
"""Share of the summed deviations that one more run, or sensor, has to take away."""
SIMPLER = 1.03


@dataclass(frozen=True, eq=False)
class Candidate:
    """One kind of sensor at one place. runs: per test duty, the normal matrix of one run of it."""

    place: Place
    kind: SensorKind
    response: float
    T: float
    runs: tuple[Matrix, ...]


class Search:
    """Sets of sensors and runs against the doubtful margins. wanted (margins, P): K per standard deviation."""

    def __init__(self, wanted: Matrix, candidates: list[Candidate], tests: int) -> None:
        self.wanted, self.candidates, self.tests = wanted, candidates, tests
        self.known: dict[tuple[int, tuple[int, ...]], Matrix] = {}

    def information(self, one: Candidate, counts: Sequence[int]) -> Matrix:
        key = (id(one), tuple(counts))
        if key not in self.known:
            parts = [n * matrix for n, matrix in zip(counts, one.runs, strict=True) if n]
            self.known[key] = sensor_information(parts, doubt_at(one.kind, one.T))
        return self.known[key]

    def covariance(self, chosen: Sequence[Candidate], counts: Sequence[int]) -> Matrix:
        P = self.wanted.shape[1]
        total = np.zeros((P + 1, P + 1))
        for one in chosen:
            total += self.information(one, counts)
        return posterior(total, SHARED_K)

    def left(self, chosen: Sequence[Candidate], counts: Sequence[int]) -> float:
        """Sum of the doubtful margins' standard deviations, K."""
        return float(np.sqrt(variances(self.covariance(chosen, counts), self.wanted)).sum())

    def lefts(self, chosen: Sequence[Candidate], counts: Sequence[int]) -> list[float]:
        return [self.left(chosen[: k + 1], counts) for k in range(len(chosen))]

    def free(self, chosen: Sequence[Candidate]) -> list[Candidate]:
        taken = {c.place.mass for c in chosen}
        return [c for c in self.candidates if c.place.mass not in taken]

    def sensors(self, most: int, fitted: Sequence[str]) -> list[Candidate]:
        """Greedy, one run of every test duty; first those that are fitted anyway."""
        counts = [1] * self.tests
        chosen: list[Candidate] = []
        for mass in fitted:
            here = [c for c in self.free(chosen) if c.place.mass == mass]
            chosen += here[:1]
        start = now = self.left(chosen, counts)
        for _ in range(most):
            options = self.free(chosen)
            if not options:
                break
            lefts = [self.left([*chosen, c], counts) for c in options]
            best = int(np.argmin(lefts))
            if chosen and now - lefts[best] < LEAST_SENSOR_GAIN * start:
                break
            chosen.append(options[best])
            now = lefts[best]
        return chosen

    def runs(self, chosen: Sequence[Candidate], most: int) -> tuple[list[int], list[tuple[int, float]]]:
        """Greedy numbers of runs; ends where one more would shrink the sum by less than 2 %."""
        counts = [0] * self.tests
        now = float(np.sqrt(np.sum(self.wanted**2, axis=1)).sum())
        steps: list[tuple[int, float]] = []
        for _ in range(most):
            lefts = []
            for k in range(self.tests):
                counts[k] += 1
                lefts.append(self.left(chosen, counts))
                counts[k] -= 1
            best = int(np.argmin(lefts))
            if steps and now - lefts[best] < LEAST_GAIN * now:
                break
            counts[best] += 1
            now = lefts[best]
            steps.append((best, now))
        return counts, steps

    def exchanged(self, chosen: list[Candidate], counts: Sequence[int], kept: int = 0) -> list[Candidate]:
        """Each chosen sensor against each other one, until nothing helps; the first `kept` stay."""
        chosen, best = list(chosen), self.left(chosen, counts)
        better = True
        while better:
            better = False
            for k in range(min(kept, len(chosen)), len(chosen)):
                rest = [*chosen[:k], *chosen[k + 1 :]]
                options = self.free(rest)
                lefts = [self.left([*rest, c], counts) for c in options]
                n = int(np.argmin(lefts))
                if lefts[n] < best * (1.0 - 1e-4):
                    chosen[k], best, better = options[n], lefts[n], True
        return self.in_order(chosen, counts, min(kept, len(chosen)))

    def in_order(self, chosen: list[Candidate], counts: Sequence[int], kept: int) -> list[Candidate]:
        """The same sensors, each time the one that helps most first."""
        out, waiting = chosen[:kept], chosen[kept:]
        while waiting:
            n = int(np.argmin([self.left([*out, c], counts) for c in waiting]))
            out.append(waiting.pop(n))
        return out

    def simpler(
        self, chosen: Sequence[Candidate], k: int, kinds: Sequence[Candidate], counts: Sequence[int]
    ) -> SensorKind | None:
        """The last kind in the list at this place that leaves at most 3 % more, None where only the best will do."""
        most = self.left(chosen, counts) * SIMPLER
        rest = [*chosen[:k], *chosen[k + 1 :]]
        enough = [
            c.kind for c in kinds if c.kind is not chosen[k].kind and self.left([*rest, c], counts) <= most
        ]
        return enough[-1] if enough else None

    def others(
        self, chosen: Sequence[Candidate], counts: Sequence[int], most: int = 5
    ) -> tuple[tuple[Place, SensorKind, float], ...]:
        """The next best places, one kind each, and the sum left with them as well."""
        found: dict[str, tuple[Place, SensorKind, float]] = {}
        for c in self.free(chosen):
            one = self.left([*chosen, c], counts)
            if c.place.mass not in found or one < found[c.place.mass][2]:
                found[c.place.mass] = (c.place, c.kind, one)
        return tuple(sorted(found.values(), key=lambda item: item[2])[:most])
