"""Parameters of a kit fitted to what its logs measured.

Least squares (Levenberg–Marquardt in a trust region, scipy) on x, the parameters in standard deviations of
their priors; priors as further residual rows; residuals whitened per channel; sensors' and loggers' biases as
further unknowns; soft l1 loss. The model is solved again only where the fit moves far from where its
derivatives were taken. Intervals are those of the normal matrix at the end.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from heatproof.kit.records.variant import Variant
from heatproof.logs.correcting.correction_fit import FAR, Fit, FitSettings, TestRun
from heatproof.logs.correcting.information import Matrix
from heatproof.logs.correcting.parameters import Parameter
from heatproof.logs.correcting.responses import Response
from heatproof.logs.correcting.weighing import UNEXPLAINED, Weighed, biases
from heatproof.logs.reading.records import Floats, LogError
from heatproof.network.solve import Run
from heatproof.numerics.at_once import Tell

ROUNDS = 4


@dataclass(frozen=True, eq=False)
class Correction:
    """x: parameters in prior deviations; covariance (P, P) of x; `information` (P, P): what the data alone
    say, biases integrated out. residual: (column, run) to root mean square before and after, K."""

    parameters: tuple[Parameter, ...]
    x: Floats
    covariance: Matrix
    information: Matrix
    weighed: tuple[Weighed, ...]
    runs: tuple[TestRun, ...]
    response: Response
    sensor_bias: dict[str, tuple[float, float]]
    residual: dict[tuple[str, str], tuple[float, float]]
    solves: int
    at_bound: tuple[str, ...] = ()
    unsolved: tuple[str, ...] = ()
    settled: bool = True
    widened: dict[str, float] = field(default_factory=dict)
    """Path to how much wider it is than derivatives alone would say, where that is by half or more."""

    @property
    def sd(self) -> Floats:
        """Standard deviations left, in prior deviations."""
        return np.asarray(np.sqrt(np.diag(self.covariance)))

    def unexplained(self) -> dict[tuple[str, str], float]:
        """Channels and runs whose misfit is left far beyond sensor and run, with the misfit (K): there the model
        lacks something, and no interval covers that."""
        out = {}
        for w in self.weighed:
            key = (w.key, self.runs[w.run].name)
            if self.residual[key][1] > UNEXPLAINED * w.usual_K:
                out[key] = self.residual[key][1]
        return out


def correct(
    variant: Variant,
    parameters: Sequence[Parameter],
    runs: Sequence[TestRun],
    settings: FitSettings | None = None,
    *,
    tell: Tell | None = None,
) -> Correction:
    """The parameters that the runs ask for, and how sure. DutyNotSolved where the start does not solve.

    LogError where no channel has a place in the model or no parameter is given.
    """
    if not parameters:
        raise LogError("no parameter to correct", next_step="name one that has a spread, with --path")
    fit = Fit(variant, parameters, runs, settings or FitSettings(), tell)
    start = fit.response.runs
    # The first round keeps the weights assumed: residuals of a model not yet fitted say nothing of noise.
    z = fit.round(np.zeros(fit.unknowns.size))
    fit.reweigh(z)
    settled = False
    for _ in range(ROUNDS):
        before = z
        z = fit.round(z)
        fit.reweigh(z)
        if np.max(np.abs(z - before), initial=0.0) < 0.05:
            settled = True
            break
    # Only once the fit has settled is what is left over the model's; before that, less weight would hide the way.
    fit.reweigh(z, last=settled)
    if any(w.noise > 1.01 * v.noise for w, v in zip(fit.weighed, fit.before_last, strict=True)):
        z = fit.round(z)
    return reported(fit, z, start, settled)


def reported(fit: Fit, z: Floats, start: list[Run], settled: bool, *, tries: int = 2) -> Correction:
    """Covariance and figures at the end; from a lower place, where one is seen, once more."""
    P = len(fit.parameters)
    if np.max(np.abs(z[:P] - fit.response.x), initial=0.0) > FAR:
        fit.response = fit.respond(z[:P])
    N = fit.normal_matrix(z)
    full: Matrix = np.asarray(np.linalg.inv(N + np.eye(z.size)), dtype=float)
    factor, best = fit.widened(z, full)
    if tries > 0 and fit.cost(best) < fit.cost(z) - 1.0:
        return reported(fit, fit.round(best), start, settled, tries=tries - 1)
    nuisance = N[P:, P:] + np.eye(z.size - P)
    information = N[:P, :P] - N[:P, P:] @ np.linalg.solve(nuisance, N[P:, :P])
    wide = np.minimum(factor, 1.0 / np.sqrt(np.diag(full)[:P]))
    covariance = full[:P, :P] * np.outer(wide, wide)
    information = information / np.outer(wide, wide)
    return gathered(fit, z, start, settled, covariance, information, np.sqrt(np.diag(full)), wide)


def gathered(
    fit: Fit,
    z: Floats,
    start: list[Run],
    settled: bool,
    covariance: Matrix,
    information: Matrix,
    sd: Floats,
    wide: Floats,
) -> Correction:
    """All figures of a finished fit."""
    P = len(fit.parameters)
    ends = fit.runs_at(z[:P])
    own = {w.key: w.doubt.own_K for w in fit.weighed}
    low, high = fit.bounds()
    edge = [k for k in range(P) if z[k] < low[k] + 0.01 or z[k] > high[k] - 0.01]
    return Correction(
        parameters=fit.parameters,
        x=z[:P],
        covariance=covariance,
        information=information,
        weighed=tuple(fit.weighed),
        runs=fit.runs,
        response=fit.response,
        sensor_bias={
            column: (float(z[k] * own[column]), float(sd[k] * own[column]))
            for column, k in fit.unknowns.sensor.items()
        },
        residual={
            (w.key, fit.runs[w.run].name): (
                misfit(w, start[w.run], np.zeros(w.size)),
                misfit(w, ends[w.run], biases(w, fit.unknowns, z)),
            )
            for w in fit.weighed
        },
        solves=fit.solves,
        at_bound=tuple(fit.parameters[k].path for k in edge),
        unsolved=tuple(p.path for p, m in zip(fit.parameters, fit.response.moved, strict=True) if m is None),
        settled=settled,
        widened={p.path: float(f) for p, f in zip(fit.parameters, wide, strict=True) if f > 1.5},
    )


def misfit(one: Weighed, run: Run, bias: Floats) -> float:
    """Root mean square of measured less predicted less bias, K."""
    rest = one.blocks.values - one.blocks.shown_by(run) - bias
    return float(np.sqrt(np.mean(rest**2)))
