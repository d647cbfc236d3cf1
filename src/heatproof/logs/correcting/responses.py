"""What every mass of the model does when a parameter moves: the derivatives that fits and plans live on."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from heatproof.assembly.model import lay_network
from heatproof.kit.findings import Refused
from heatproof.kit.records.variant import Variant
from heatproof.logs.correcting.information import Matrix
from heatproof.logs.correcting.parameters import Parameter, applied
from heatproof.logs.reading.records import Floats
from heatproof.network.laid import Network
from heatproof.network.solve import Run
from heatproof.numerics.at_once import Tell, at_once
from heatproof.verdict.solving import DutyNotSolved

STEP = 0.5
"""Standard deviations of a difference quotient: far above the integrator's tolerance, well below bends."""

Solve = Callable[[Variant, Network], list[Run]]
"""All runs of one variant."""


@dataclass(frozen=True, eq=False)
class Response:
    """Runs at x, and moved runs with the steps taken: moved[k] is None where it could not be solved."""

    x: Floats
    runs: list[Run]
    moved: list[list[Run] | None]
    steps: Floats

    def of(self, read: Callable[[Run, int], Floats], k: int) -> Matrix:
        """(n, P): derivative per standard deviation of what `read(run, k)` (n,) makes of run k."""
        base = read(self.runs[k], k)
        columns = [
            np.zeros_like(base) if runs is None else (read(runs[k], k) - base) / step
            for runs, step in zip(self.moved, self.steps, strict=True)
        ]
        return np.array(columns).reshape(len(columns), -1).T


def solve_at(variant: Variant, parameters: Sequence[Parameter], x: Floats, solve: Solve) -> list[Run]:
    """All runs at x. DutyNotSolved where one does not converge, or where no real part has such values."""
    moved = applied(variant, parameters, x)
    try:
        return solve(moved, lay_network(moved))
    except (ValueError, Refused) as error:
        raise DutyNotSolved("correction", "correction", 0.0, str(error)) from error


def step_from(parameter: Parameter, x: float, step: float = STEP) -> float:
    """A step that stays inside the bounds, signed; the longer side where neither has the room."""
    low, high = parameter.bounds
    if x + step <= high:
        return step
    if x - step >= low:
        return -step
    return high - x if high - x >= x - low else low - x


def respond(
    variant: Variant,
    parameters: Sequence[Parameter],
    x: Floats,
    solve: Solve,
    *,
    runs: list[Run] | None = None,
    step: float = STEP,
    jobs: int = 2,
    tell: Tell | None = None,
) -> Response:
    """Runs at x and with each parameter moved, over threads: kernels hold no lock of the interpreter."""
    base = runs or solve_at(variant, parameters, x, solve)
    steps = np.array([step_from(p, float(v), step) for p, v in zip(parameters, x, strict=True)])

    def moved(k: int) -> list[Run] | None:
        if abs(steps[k]) < 0.02:
            return None
        there = x.copy()
        there[k] += steps[k]
        try:
            return solve_at(variant, parameters, there, solve)
        except DutyNotSolved:
            return None

    work = at_once(moved, range(len(parameters)), jobs)
    found = []
    for parameter, one in zip(parameters, work, strict=True):
        found.append(one)
        if tell is not None:
            tell(parameter.path)
    return Response(np.array(x, dtype=float), base, found, np.where(np.abs(steps) < 0.02, 1.0, steps))
