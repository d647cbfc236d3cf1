"""How far an installer's result may be from nominal before a limit is lost: each value alone, then all together.

Alone: one value is moved in the direction that hurts until the first limit, less its spread, is used up. Together:
all values are drawn at once (Latin hypercube), each anywhere between nominal and a share of what it may do alone;
the share is lowered until enough of the draws hold. What the installer's sheet gets is nominal plus that share.
Limits that do not hold even at nominal are left out and named.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import qmc

from heatproof.kit.findings import Finding
from heatproof.kit.project import Project
from heatproof.kit.records.duty import Duty
from heatproof.kit.records.variant import Variant
from heatproof.numerics.at_once import Progress
from heatproof.study.questions.check import variant_of
from heatproof.study.questions.rating import assumed_slack
from heatproof.study.runs.cases import case, run_cases, run_split
from heatproof.study.runs.slack import UNSOLVED, Slack
from heatproof.study.search.bracket import End, last_that_holds
from heatproof.study.search.values import measure_values
from heatproof.units.quantity import Quantity
from heatproof.verdict.cautions import cautions_for
from heatproof.verdict.judged import judged
from heatproof.verdict.spread_runs import Key

INSTALLERS = ("area", "coverage", "distance", "height", "edge_gap", "gap", "length")
"""Last keys of values that depend on how well something is fitted."""
SHARES = (1.0, 0.7, 0.5, 0.35, 0.25, 0.15, 0.08)
FURTHEST_UP, FURTHEST_DOWN, FIRST_STEP = 10.0, 0.1, 0.25  # of nominal
NOTHING = 0.02  # K
HOW: dict[str, str] = {
    "area": "Measure length and width of what is left open with a steel rule; the area is their product.",
    "coverage": "Tape thread round what is bare, measure it with a steel rule, and compare with the whole surface.",
    "distance": "Push a gauge block or drill shank of this size through the narrowest place, engine on its mounts.",
    "height": "Measure up from the levelled shop floor at ride height.",
    "length": "Lay a tape along the middle of the line.",
    "heights": "Lay a spirit level along the line; it must rise all the way as drawn.",
    "loss": "Bleed, then watch the return at the expansion tank: a steady stream without bubbles.",
    "thickness": "Calliper at the thinnest place, not pressed.",
}
"""Last key → how the installer checks it (common practice, no source)."""
OTHERWISE = "Measure it as drawn and write the figure on the sheet."


@dataclass(frozen=True)
class Allowed:
    """One value, SI. alone: furthest it may be by itself; together: with all others at random; end as in bracket.

    part, duty: what is lost first. slack: K left at nominal at that part. does: False where moving it changes
    no margin by NOTHING.
    """

    path: str
    quantity: Quantity
    nominal: float
    alone: float
    together: float
    end: End
    part: str
    duty: str
    slack: float
    does: bool

    @property
    def how(self) -> str:
        """How to check it."""
        last = [key for key in self.path.split(".") if not key.isdigit()][-1]
        return HOW.get(last, OTHERWISE)


@dataclass(frozen=True)
class Tolerances:
    """items in the order asked for. share: of the room each has alone; holding: share of draws that hold then."""

    items: tuple[Allowed, ...]
    share: float
    holding: float
    draws: int
    required: float
    lost: tuple[tuple[str, str, float], ...]
    titles: Mapping[str, str]
    cautions: tuple[str, ...]
    findings: tuple[Finding, ...]


@dataclass
class Trial:
    """Slack of a variant with some values changed, limits lost at nominal left out."""

    variant: Variant
    duties: Mapping[str, Duty]
    slack: Slack
    jobs: int

    def at(self, values: Mapping[str, float]) -> dict[Key, float]:
        """Slack with values (SI) at paths."""
        return self.slack.each(run_split(case(changed(self.variant, values), self.duties), jobs=self.jobs))

    def many(self, all_values: Sequence[Mapping[str, float]]) -> list[dict[Key, float]]:
        """The same for many."""
        cases = [case(changed(self.variant, values), self.duties) for values in all_values]
        return [self.slack.each(one) for one in run_cases(cases, jobs=self.jobs)]


def changed(variant: Variant, values: Mapping[str, float]) -> Variant:
    """The variant with values replaced."""
    for path, value in values.items():
        variant = variant.with_value(path, value)
    return variant


def tolerance(
    project: Project,
    variant: Iterable[str] | Variant | None = None,
    *,
    paths: Sequence[str] = (),
    duties: Mapping[str, Duty] | None = None,
    spreads: bool = True,
    draws: int = 40,
    seed: int = 0,
    jobs: int = 2,
    progress: Progress | None = None,
) -> Tolerances:
    """paths: values to loosen; those of the fitted measures that depend on fitting where left out (INSTALLERS).

    Raises Refused and DutyNotSolved.
    """
    built, said = variant_of(project, variant)
    names = list(paths) or [p for p in measure_values(project, built) if p.split(".")[-1] in INSTALLERS]
    declared = {path: built.quantity(path) for path in names}
    slack = assumed_slack(project, built, spreads, jobs)
    trial = Trial(built, dict(duties or project.duties), slack, jobs)
    nominal = trial.at({})
    lost = {key: left for key, left in nominal.items() if left < 0.0}
    slack.left_out = frozenset(lost)
    kept = {key: left for key, left in nominal.items() if key not in lost}
    items = []
    for k, (path, quantity) in enumerate(declared.items()):
        items.append(alone(trial, path, quantity, kept))
        if progress is not None:
            progress(k + 1, len(declared) + 1, path)
    share, holding = together(trial, items, built.confidence, draws, seed)
    return Tolerances(
        items=tuple(scaled(one, share) for one in items),
        share=share,
        holding=holding,
        draws=draws,
        required=built.confidence,
        lost=tuple((part, duty, left) for (part, duty), left in lost.items()),
        titles={part.part: part.title for part in judged(built)},
        cautions=cautions_for({part.caution for part in judged(built)}),
        findings=tuple(dict.fromkeys([*project.findings, *said])),
    )


# --- alone ------------------------------------------------------------------------------------------------
def alone(trial: Trial, path: str, quantity: Quantity, nominal: Mapping[Key, float]) -> Allowed:
    """One value moved until a limit is lost."""
    value = float(trial.variant.value(path))
    far, first, worst = hurting(trial, path, quantity, value, nominal)
    if far == value:
        key = min(nominal, key=nominal.__getitem__, default=("", ""))
        return Allowed(path, quantity, value, value, value, "always", *key, nominal.get(key, np.inf), False)

    def at(x: float) -> tuple[float, dict[Key, float]]:
        found = nominal if x == value else trial.at({path: x})
        return min(found.values(), default=np.inf), dict(found)

    least = min(nominal.values(), default=np.inf)
    slope = max((least - min(worst.values(), default=least)) / abs(first - value), 1e-3 / abs(far - value))
    edge = last_that_holds(
        at,
        start=first,
        near=value,
        far=far,
        slope=slope,
        slack_within=0.25,
        value_within=0.04 * abs(first - value),
    )
    beyond = edge.beyond or edge.found
    part, duty = min(beyond, key=beyond.__getitem__)
    return Allowed(
        path,
        quantity,
        value,
        edge.value,
        edge.value,
        edge.end,
        part,
        duty,
        nominal.get((part, duty), np.nan),
        True,
    )


def hurting(
    trial: Trial, path: str, quantity: Quantity, value: float, nominal: Mapping[Key, float]
) -> tuple[float, float, dict[Key, float]]:
    """Far end on the side that uses up slack faster, first value on the way there, slacks at it."""
    sides = []
    for far in (min(value * FURTHEST_UP, quantity.high), max(value * FURTHEST_DOWN, quantity.low)):
        first = value + float(
            np.clip(FIRST_STEP * value * np.sign(far - value), -abs(far - value), abs(far - value))
        )
        if first == value:
            continue
        found = trial.at({path: first})
        used = max(
            (
                (nominal[k] - found.get(k, UNSOLVED)) / max(nominal[k], 1.0) / abs(first - value)
                for k in nominal
            ),
            default=0.0,
        )
        change = max((nominal[k] - found.get(k, UNSOLVED) for k in nominal), default=0.0)
        sides.append((used if change > NOTHING else 0.0, far, first, found))
    used, far, first, found = max(sides, key=lambda side: side[0], default=(0.0, value, value, {}))
    return (far, first, found) if used > 0.0 else (value, value, {})


# --- together ---------------------------------------------------------------------------------------------
def together(
    trial: Trial, items: Sequence[Allowed], required: float, count: int, seed: int
) -> tuple[float, float]:
    """Largest share of SHARES at which enough draws hold, and how many do; the smallest where none is enough."""
    moving = [one for one in items if one.does]
    if not moving or count == 0:
        return 1.0, 1.0
    unit = qmc.LatinHypercube(d=len(moving), rng=np.random.default_rng(seed)).random(count)
    share = holding = 0.0
    for share in SHARES:
        sets = [
            {
                one.path: one.nominal + share * u * (one.alone - one.nominal)
                for one, u in zip(moving, row, strict=True)
            }
            for row in unit
        ]
        holding = float(np.mean([min(s.values(), default=np.inf) >= 0.0 for s in trial.many(sets)]))
        if holding >= required:
            return share, holding
    return share, holding


def scaled(one: Allowed, share: float) -> Allowed:
    """With what the sheet gets."""
    together_ = one.nominal + share * (one.alone - one.nominal)
    return Allowed(
        one.path,
        one.quantity,
        one.nominal,
        one.alone,
        together_,
        one.end,
        one.part,
        one.duty,
        one.slack,
        one.does,
    )
