"""The least squares behind a correction: runs, weights, residuals and derivatives of one fit."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
from scipy.optimize import least_squares

from heatproof.kit.records.variant import Variant
from heatproof.logs.correcting.information import Matrix
from heatproof.logs.correcting.parameters import Parameter
from heatproof.logs.correcting.responses import Response, respond, solve_at
from heatproof.logs.correcting.weighing import (
    Weighed,
    reweighed_all,
    robust_loss,
    unknowns_of,
    weigh,
    white_jacobian,
    white_residual,
)
from heatproof.logs.predicting.logged_duty import LoggedDuty
from heatproof.logs.predicting.predict import Blocks, Reading, run_logged
from heatproof.logs.reading.records import Floats, LogError
from heatproof.network.laid import Network
from heatproof.network.solve import Run
from heatproof.numerics.at_once import Tell
from heatproof.verdict.solving import DutyNotSolved

FAR = 0.03
"""Standard deviations from where the derivatives were taken, beyond which they are taken anew."""
REACH = 2.0
UNSOLVED = 1e4


@dataclass(frozen=True, eq=False)
class TestRun:
    """One logged run: its duty and its readings. from_s: what comes before is not compared (unknown start)."""

    __test__ = False  # not a test of pytest

    name: str
    logged: LoggedDuty
    readings: list[Reading]
    from_s: float = 0.0

    @property
    def end_s(self) -> float:
        """Length of the duty, s."""
        return self.logged.key_off + self.logged.soak


@dataclass(frozen=True)
class FitSettings:
    """block_s: means that enter the fit, s. jobs: runs at once."""

    block_s: float = 20.0
    robust: bool = True
    jobs: int = 2


class Fit:
    """The state of one correction: runs, weights, and the last place where derivatives were taken."""

    def __init__(
        self,
        variant: Variant,
        parameters: Sequence[Parameter],
        runs: Sequence[TestRun],
        settings: FitSettings,
        tell: Tell | None = None,
    ) -> None:
        self.variant, self.parameters, self.runs = variant, tuple(parameters), tuple(runs)
        self.settings, self.tell = settings, tell
        self.solves = 0
        self.cache: dict[bytes, list[Run]] = {}
        self.response = self.respond(np.zeros(len(self.parameters)))
        self.weighed = self.weigh()
        self.before_last = self.weighed
        self.unknowns = unknowns_of(self.weighed, len(self.parameters))

    # --- the model ------------------------------------------------------------------------------
    def solve(self, variant: Variant, network: Network) -> list[Run]:
        self.solves += len(self.runs)
        return [run_logged(variant, run.logged, network) for run in self.runs]

    def runs_at(self, x: Floats) -> list[Run]:
        key = np.round(x, 9).tobytes()
        if key not in self.cache:
            found = solve_at(self.variant, self.parameters, x, self.solve)
            self.cache = {**dict(list(self.cache.items())[-2:]), key: found}
        return self.cache[key]

    def respond(self, x: Floats) -> Response:
        return respond(
            self.variant,
            self.parameters,
            x,
            self.solve,
            runs=self.runs_at(x),
            jobs=self.settings.jobs,
            tell=self.tell,
        )

    def weigh(self) -> list[Weighed]:
        out: list[Weighed] = []
        for k, run in enumerate(self.runs):
            solved = self.response.runs[k]
            kinds = solved.network.kinds
            out += weigh(
                k,
                run.readings,
                block_s=self.settings.block_s,
                from_s=run.from_s,
                end_s=run.end_s,
                ambient=run.logged.weather.ambient,
                surfaces={name for name, kind in kinds.items() if kind == "solid"},
                predicted=partial(shown_in, solved),
            )
        if not out:
            raise LogError(
                "nothing to fit: no channel of the logs has a place in the model",
                where=", ".join(run.name for run in self.runs),
                next_step="give `place:` in the channel maps",
            )
        return out

    # --- residuals ------------------------------------------------------------------------------
    def slope(self, one: Weighed) -> Matrix:
        return self.response.of(lambda run, _: one.blocks.shown_by(run), one.run)

    def residuals(self, z: Floats) -> Floats:
        try:
            runs = self.runs_at(z[: len(self.parameters)])
        except DutyNotSolved:
            return np.full(sum(w.size for w in self.weighed) + z.size, UNSOLVED)
        rows = [white_residual(w, self.unknowns, z, w.blocks.shown_by(runs[w.run])) for w in self.weighed]
        return np.concatenate([*rows, z])

    def jacobian(self, z: Floats) -> Matrix:
        x = z[: len(self.parameters)]
        if np.max(np.abs(x - self.response.x), initial=0.0) > FAR:
            self.response = self.respond(x)
        rows = [white_jacobian(w, self.unknowns, self.slope(w)) for w in self.weighed]
        return np.vstack([*rows, np.eye(z.size)])

    # --- rounds ---------------------------------------------------------------------------------
    def bounds(self) -> tuple[Floats, Floats]:
        low, high = np.full(self.unknowns.size, -8.0), np.full(self.unknowns.size, 8.0)
        for k, parameter in enumerate(self.parameters):
            low[k], high[k] = parameter.bounds
        return low, high

    def round(self, z: Floats) -> Floats:
        """One least-squares fit with the weights as they stand."""
        data = sum(w.size for w in self.weighed)
        low, high = self.bounds()
        result = least_squares(
            self.residuals,
            np.clip(z, low + 1e-6, high - 1e-6),
            jac=self.jacobian,
            bounds=(low, high),
            loss=robust_loss(data) if self.settings.robust else "linear",
            xtol=2e-3,
            ftol=1e-5,
            gtol=1e-2,
            max_nfev=10,
        )
        return np.asarray(result.x)

    def reweigh(self, z: Floats, *, last: bool = False) -> None:
        self.before_last = self.weighed
        runs = self.runs_at(z[: len(self.parameters)])
        shown = [w.blocks.shown_by(runs[w.run]) for w in self.weighed]
        self.weighed = reweighed_all(self.weighed, self.unknowns, z, shown, last=last)

    def cost(self, z: Floats) -> float:
        """Robust sum of squares with priors, with the weights as they stand."""
        r = self.residuals(z)
        rows = r.size - z.size
        return float(robust_loss(rows)(r**2)[0].sum() if self.settings.robust else r @ r)

    def widened(self, z: Floats, covariance: Matrix) -> tuple[Floats, Floats]:
        """How much wider each parameter is than its normal matrix says, and the lowest place seen on the way.

        Two deviations to either side along the parameter's profile the sum of squares should rise by 4. Where a
        thermostat or a fan switches at another time, derivatives hold spikes that are no information: the sum
        then rises by less, or falls.
        """
        base, sd = self.cost(z), np.sqrt(np.diag(covariance))
        low, high = self.bounds()
        factor, lowest, best = np.ones(len(self.parameters)), base, z
        for k in range(len(self.parameters)):
            rises = []
            for side in (-1.0, 1.0):
                there = np.clip(z + side * REACH * covariance[:, k] / sd[k], low + 1e-6, high - 1e-6)
                rise, asked = self.cost(there) - base, ((there[k] - z[k]) / sd[k]) ** 2
                rises.append(max(rise, 0.0) / max(asked, 1e-9))
                if base + rise < lowest:
                    lowest, best = base + rise, there
            factor[k] = 1.0 / np.sqrt(max(min(float(np.mean(rises)), 1.0), 1e-4))
        return factor, best

    def normal_matrix(self, z: Floats) -> Matrix:
        """J'WJ of the data rows, W the robust weights."""
        J = self.jacobian(z)[: -z.size]
        if self.settings.robust:
            r = self.residuals(z)[: -z.size]
            J = J * np.sqrt(robust_loss(r.size)(r**2)[1])[:, None]
        return np.asarray(J.T @ J)


def shown_in(run: Run, blocks: Blocks) -> Floats:
    """What a probe should have read, in its blocks."""
    return blocks.shown_by(run)
