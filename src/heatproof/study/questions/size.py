"""Continuous sizes inside stated envelopes for most margin, most power or least mass.

Differential evolution on the full model: each candidate is laid and solved anew, so a thicker core pays for itself
with its own pressure loss and a longer line with its own. Limits are a constraint for power and mass: what is
missing to them (after the spread) is charged so dearly that a candidate that holds always beats one that does not.
A core's mass follows its volume (width × height × depth) from the mass stated; other masses do not follow sizes.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from scipy.optimize import differential_evolution

from heatproof._program_hash import answers_hash
from heatproof.kit.findings import Finding, Refused
from heatproof.kit.project import Project
from heatproof.kit.records.duty import Duty
from heatproof.kit.records.variant import Variant
from heatproof.numerics.at_once import Progress, counted
from heatproof.study.questions.check import variant_of
from heatproof.study.questions.rating import assumed_slack
from heatproof.study.runs.cases import Case, Outcome, case, from_plain, run_case, run_plain
from heatproof.study.runs.slack import Slack
from heatproof.study.runs.spread_out import SweepStopped, spread_out
from heatproof.study.search.values import ranged
from heatproof.units.quantity import Quantity
from heatproof.verdict.cautions import cautions_for
from heatproof.verdict.judged import judged
from heatproof.verdict.spread_runs import Key

AIMS = ("margin", "power", "mass")
PRICE_OF_A_KELVIN = 1e4
UNBUILT = 1e7
CORE_SIZES = ("width", "height", "depth")


@dataclass(frozen=True)
class Size:
    """One size: SI value before and found, within low to high."""

    path: str
    quantity: Quantity
    before: float
    found: float
    low: float
    high: float

    @property
    def at_edge(self) -> bool:
        """Whether the envelope stops it."""
        return min(self.found - self.low, self.high - self.found) < 0.01 * (self.high - self.low)


@dataclass(frozen=True)
class Sized:
    """Slack: least left after the spread, K; power W; core_mass kg of all cores; before and after."""

    aim: str
    sizes: tuple[Size, ...]
    slack: tuple[float, float]
    power: tuple[float, float]
    core_mass: tuple[float, float]
    closest: tuple[Key, Key]
    holds: bool
    runs: int
    settled: bool
    titles: Mapping[str, str]
    cautions: tuple[str, ...]
    findings: tuple[Finding, ...]


@dataclass
class Sizing:
    """The function that is minimised, and its map."""

    variant: Variant
    duties: Mapping[str, Duty]
    paths: Sequence[str]
    slack: Slack
    aim: str
    workers: int
    cluster: str | None
    resume: Path | str | None
    runs: int = 0

    def changed(self, x: Iterable[float]) -> Variant:
        """The variant with these sizes; core masses follow."""
        out = self.variant
        for path, value in zip(self.paths, x, strict=True):
            out = out.with_value(path, float(value))
        return with_core_masses(self.variant, out, self.paths)

    def score(self, variant: Variant, outcome: Outcome) -> float:
        """What is minimised."""
        if outcome.unsolved:
            return UNBUILT
        slack = self.slack.least(outcome)[0]
        if self.aim == "margin":
            return -slack
        missing = PRICE_OF_A_KELVIN * max(-slack, 0.0)
        return missing + (core_mass(variant) if self.aim == "mass" else -outcome.power / 1e3)

    def map(self, _: Callable[..., Any], population: Iterable[np.ndarray]) -> list[float]:
        """What the optimiser calls for a whole generation."""
        variants = [self.changed(x) for x in population]
        self.runs += len(variants)
        cases: list[Case] = [case(variant, self.duties) for variant in variants]
        label = answers_hash() if self.resume else ""
        plain = spread_out(
            run_plain, cases, workers=self.workers, cluster=self.cluster, resume=self.resume, label=label
        )
        return [self.score(v, from_plain(one)) for v, one in zip(variants, plain, strict=True)]


def size(
    project: Project,
    ranges: Sequence[str],
    variant: Iterable[str] | Variant | None = None,
    *,
    aim: str = "margin",
    duties: Mapping[str, Duty] | None = None,
    spreads: bool = True,
    generations: int = 15,
    population: int = 8,
    seed: int = 0,
    workers: int = 2,
    cluster: str | None = None,
    resume: Path | str | None = None,
    progress: Progress | None = None,
) -> Sized:
    """ranges: `path=low..high` with units. aim: margin, power or mass. population: candidates per size.

    Raises Refused.
    """
    refuse(aim, ranges)
    built, said = variant_of(project, variant)
    envelopes = [ranged(built, text) for text in ranges]
    paths = [one[0] for one in envelopes]
    slack = assumed_slack(project, built, spreads, workers)
    used = dict(duties or project.duties)
    sizing = Sizing(built, used, paths, slack, aim, workers, cluster, resume)
    before = run_case(case(built, used))
    x0 = [float(np.clip(built.value(path), low, high)) for path, low, high, _ in envelopes]

    tell = counted(progress, generations)

    def after_generation(intermediate_result: Any) -> None:
        tell(f"best {-intermediate_result.fun:.4g}")

    found = differential_evolution(
        lambda x: np.inf,
        bounds=[(low, high) for _, low, high, _ in envelopes],
        x0=x0,
        maxiter=generations,
        popsize=population,
        rng=np.random.default_rng(seed),
        workers=sizing.map,
        updating="deferred",
        polish=False,
        tol=1e-3,
        callback=after_generation,
    )
    x = with_ends_tried(sizing, found.x, float(found.fun), [one[1:3] for one in envelopes])
    after_variant = sizing.changed(x)
    after = run_case(case(after_variant, used))
    if after.unsolved:
        raise SweepStopped(
            f"no candidate could be solved: {next(iter(after.unsolved.values()))}", 0, sizing.runs
        )
    left = (slack.least(before), slack.least(after))
    return Sized(
        aim=aim,
        sizes=tuple(
            Size(path, quantity, float(built.value(path)), float(x), low, high)
            for (path, low, high, quantity), x in zip(envelopes, x, strict=True)
        ),
        slack=(left[0][0], left[1][0]),
        power=(before.power, after.power),
        core_mass=(core_mass(built), core_mass(after_variant)),
        closest=(left[0][1], left[1][1]),
        holds=left[1][0] >= 0.0,
        runs=sizing.runs + 2,
        settled=bool(found.success),
        titles={part.part: part.title for part in judged(built)},
        cautions=cautions_for({part.caution for part in judged(built)}),
        findings=tuple(dict.fromkeys([*project.findings, *said])),
    )


def with_ends_tried(
    sizing: Sizing, x: np.ndarray, score: float, envelopes: Sequence[tuple[float, float]]
) -> np.ndarray:
    """x with every size in turn put to the ends of its envelope where that is better.

    The best often lies at an end (more distance, more area), which a search at random only comes near.
    """
    best, least = np.array(x, dtype=float), score
    for k, ends in enumerate(envelopes):
        tried = [np.where(np.arange(best.size) == k, end, best) for end in ends]
        scores = sizing.map(map, tried)
        if min(scores) < least:
            best, least = tried[int(np.argmin(scores))], min(scores)
    return best


def refuse(aim: str, ranges: Sequence[str]) -> None:
    """Refused where there is nothing to do."""
    if aim not in AIMS:
        raise Refused([Finding("error", "nothing of that name to aim at", got=aim, allowed=", ".join(AIMS))])
    if not ranges:
        step = "--vary cores.charge_cooler.geometry.depth=50 mm..90 mm"
        raise Refused([Finding("error", "no size to vary", next_step=step)])


def core_mass(variant: Variant) -> float:
    """kg of all cores."""
    return float(sum(core.mass for core in variant.cores.values()))


def with_core_masses(before: Variant, after: Variant, paths: Sequence[str]) -> Variant:
    """Core masses in proportion to volume, where a size of theirs was changed and their mass is not varied itself."""
    out = after
    for name, core in before.cores.items():
        stem = f"cores.{name}."
        geometry = getattr(core, "geometry", None)
        touched = any(p.startswith(stem) and p.split(".")[-1] in CORE_SIZES for p in paths)
        if geometry is None or not touched or f"{stem}mass" in paths:
            continue
        ratio = 1.0
        for key in CORE_SIZES:
            ratio *= getattr(after.cores[name].geometry, key) / getattr(geometry, key)
        out = out.with_value(f"{stem}mass", core.mass * ratio)
    return out
