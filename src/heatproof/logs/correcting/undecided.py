"""What a test could not tell apart, and which further thermocouple would.

The information of the data alone is decomposed into directions of x. A direction whose eigenvalue is below 1 is
known less from the log than it was before: its values may move together without the log noticing.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from heatproof.logs.correcting.correct import Correction
from heatproof.logs.correcting.information import Matrix, ReadingDoubt, integrated_out, run_information
from heatproof.logs.predicting.lag import shown
from heatproof.logs.predicting.places import Place
from heatproof.logs.reducing.sensor_doubt import SURFACE_MOUNTING
from heatproof.network.solve import Run

WEAK = 1.0
LEAST_SHARE = 0.3
GRID_S = 20.0
PROBE = ReadingDoubt(own=1.0, shared=0.6, run=1.0, noise=1.0, time_s=60.0)
"""A thermocouple as usual: class 1, cold junction; what one run and the model add; common practice, no source."""


@dataclass(frozen=True)
class Combination:
    """Values that the test lets move together. weights: path to its share, signed, largest first. told: how much
    of the combination's variance the log took away, 0..1. probe: where one more thermocouple would tell most, and
    the variance that would be left of what is left now (1: no place helps)."""

    weights: tuple[tuple[str, float], ...]
    told: float
    probe: str = ""
    left: float = 1.0

    @property
    def single(self) -> bool:
        """One value that the test did not see at all."""
        return len(self.weights) == 1


def undecided(found: Correction, candidates: Mapping[str, Place]) -> tuple[Combination, ...]:
    """Weak directions, least known first, each with the place of the probe that would help most."""
    values, vectors = np.linalg.eigh(found.information)
    information = {name: one_probe(found, name, place) for name, place in unused(found, candidates).items()}
    out = []
    for value, direction in zip(values, vectors.T, strict=True):
        if value >= WEAK:
            break
        name, left = best_probe(found, direction, information)
        out.append(Combination(weights_of(found, direction), float(value / (1.0 + value)), name, left))
    return tuple(out)


def unused(found: Correction, candidates: Mapping[str, Place]) -> dict[str, Place]:
    """Places without a sensor in every run."""
    taken = {w.blocks.raw.place for w in found.weighed}
    return {name: place for name, place in candidates.items() if name not in taken}


def weights_of(found: Correction, direction: np.ndarray) -> tuple[tuple[str, float], ...]:
    """The values that make up a direction, the largest counted up."""
    order = np.argsort(-np.abs(direction))
    sign = 1.0 if direction[order[0]] > 0.0 else -1.0
    shares = [(found.parameters[k].path, sign * float(direction[k])) for k in order]
    return tuple((path, share) for path, share in shares if abs(share) >= LEAST_SHARE)


def one_probe(found: Correction, name: str, place: Place) -> Matrix:
    """(P, P) information of a thermocouple there, in the same runs, its biases integrated out."""
    parts = []
    for k, run in enumerate(found.runs):
        at = np.arange(run.from_s, run.end_s, GRID_S)

        def read(solved: Run, _: int, at: np.ndarray = at) -> np.ndarray:
            return shown(solved.time, solved.state[:, solved.network.mass(name)], 3.0, at)

        S = found.response.of(read, k)
        T = read(found.response.runs[k], k)
        share = SURFACE_MOUNTING if place.medium == "solid" else 0.0
        parts.append(run_information(S, GRID_S, PROBE, mounting=share * (T - run.logged.weather.ambient)))
    total = np.sum(parts, axis=0)
    for sd in (1.0, PROBE.own, PROBE.shared):  # mounting, own, shared: last columns first
        total = integrated_out(total, -1, sd)
    return total


def best_probe(found: Correction, direction: np.ndarray, probes: Mapping[str, Matrix]) -> tuple[str, float]:
    """The place that leaves least variance in a direction, and that share of what is left without it."""
    now = float(direction @ found.covariance @ direction)
    base = np.linalg.inv(found.covariance)
    best, least = "", 1.0
    for name, matrix in probes.items():
        left = float(direction @ np.linalg.solve(base + matrix, direction)) / now
        if left < least - 1e-6:
            best, least = name, left
    return best, least


def helps(combinations: Sequence[Combination], least: float = 0.8) -> dict[str, float]:
    """Places that would settle something, with the best share left."""
    out: dict[str, float] = {}
    for one in combinations:
        if one.probe and one.left < least:
            out[one.probe] = min(out.get(one.probe, 1.0), one.left)
    return out
