"""The answer to what is cheapest, and the words it may be asked with."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from heatproof.kit.findings import Finding, Findings, listed, unknown
from heatproof.kit.project import Project
from heatproof.verdict.verdict import Verdict

BY: dict[str, dict[str, float]] = {
    "cost": {"cost": 1.0},
    "mass": {"cost": 0.0, "mass": 1.0},
    "labour": {"cost": 0.0, "labour": 1.0},
}
"""What is minimised → price per unit of currency, kg, minute."""


@dataclass(frozen=True)
class PricedSet:
    """One set: cost in the kit's currency, mass kg, labour s, all with the kit's base. slack: K left after the
    spread at the margin that has least; part, duty: which that is."""

    measures: tuple[str, ...]
    cost: float
    mass: float
    labour: float
    price: float
    slack: float
    part: str
    duty: str
    holds: bool


@dataclass(frozen=True)
class Chosen:
    """best: None where no set holds; closest: the set that comes nearest then. verdict: of the best or closest.

    proved: every cheaper admissible set has failed in the full model. undecided: cheaper sets only the bound
    rules out (None: too many to count). full_runs: work done in runs of all duties; sets: admissible ones (None:
    too many to count).
    """

    best: PricedSet | None
    closest: PricedSet
    runners_up: tuple[PricedSet, ...]
    front: tuple[PricedSet, ...]
    verdict: Verdict
    proved: bool
    undecided: int | None
    full_runs: float
    sets: int | None
    trust: float
    by: str
    confidence: float
    currency: str
    spreads: bool
    findings: tuple[Finding, ...]


def refuse_wrong(
    project: Project,
    by: str,
    names: Iterable[str],
    confidence: float | None,
    prices: Mapping[str, float] | None,
) -> None:
    """Refused where an option cannot be used."""
    found = Findings()
    for name in names:
        if name not in project.measures:
            found.append(unknown(f"unknown measure {name!r}", name, project.measures))
    if prices is None and by not in BY:
        found.append(Finding("error", "nothing of that name to minimise", got=by, allowed=listed(BY)))
    if confidence is not None and not 0.5 <= confidence < 1.0:
        found.append(
            Finding(
                "error",
                "confidence out of range",
                got=f"{100 * confidence:g} %",
                allowed="50 % to below 100 %",
            )
        )
    if not project.measures:
        found.append(Finding("error", "the kit has no measures", next_step="add `measures` to kit.yaml"))
    found.refuse_errors()
