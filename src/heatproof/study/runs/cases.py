"""Margins and a few figures of one variant in some duties: what every search and sweep asks for."""

import dataclasses
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from heatproof.assembly.model import Solved, lay_network
from heatproof.kit.findings import Refused
from heatproof.kit.records.duty import Duty
from heatproof.kit.records.variant import Variant
from heatproof.network import signals as S
from heatproof.network.laid import Network
from heatproof.numerics.at_once import Progress, at_once, counted
from heatproof.study.runs.switches import Facts, switch_facts
from heatproof.verdict.judged import judged
from heatproof.verdict.margins import margins_in
from heatproof.verdict.solving import DutyNotSolved, Pace, solve_duty_of
from heatproof.verdict.spread_runs import Key


@dataclass(frozen=True)
class Case:
    """One variant and the duties it is driven through. Sent to workers as it is, so without its text."""

    variant: Variant
    duties: dict[str, Duty]


@dataclass(frozen=True)
class Outcome:
    """margins K by (part, duty); power W and charge K: highest of all duties; unsolved: duty to what went wrong."""

    margins: dict[Key, float] = field(default_factory=dict)
    power: float = 0.0
    charge: float = 0.0
    unsolved: dict[str, str] = field(default_factory=dict)
    facts: dict[str, Facts] = field(default_factory=dict, compare=False)
    """Duty to what switched in it."""
    rows: int = field(default=0, compare=False)
    """Stored rows of all runs: how much work they were."""

    @property
    def smallest(self) -> float:
        """K; −inf where a duty was not solved, +inf where nothing is judged."""
        if self.unsolved:
            return -np.inf
        return min(self.margins.values(), default=np.inf)


def case(variant: Variant, duties: Mapping[str, Duty]) -> Case:
    """A case without the text the variant was read from."""
    return Case(dataclasses.replace(variant, tree=None), dict(duties))


Laid = tuple[Variant, Network | str]
"""A variant and its network, or why it cannot be laid."""


def lay(variant: Variant) -> Laid:
    """The network of a variant, laid once for all its duties."""
    try:
        return variant, lay_network(variant)
    except ValueError as error:  # values that no real part has, such as a core better than its flows allow
        return variant, str(error)


def run_case(driven: Case) -> Outcome:
    """Solves every duty. What cannot be solved or driven is told, not raised."""
    return run_laid(lay(driven.variant), driven.duties)


def run_laid(laid: Laid, duties: Mapping[str, Duty], pace: Pace | None = None) -> Outcome:
    """The same, of a network that is laid already."""
    variant, network = laid
    if isinstance(network, str):
        return Outcome(unsolved=dict.fromkeys(duties, network))
    margins: dict[Key, float] = {}
    unsolved: dict[str, str] = {}
    facts: dict[str, Facts] = {}
    power, charge, rows = 0.0, 0.0, 0
    parts = judged(variant)
    for key, duty in duties.items():
        try:
            solved = solve_duty_of(variant, key, duty, network, pace)
        except (DutyNotSolved, Refused) as error:
            unsolved[key] = str(error)
            continue
        margins |= {(part, key): m.margin for part, m in margins_in(solved.run, parts).items()}
        power = max(power, float(solved.run.signal[:, S.BRAKE_POWER].max()))
        charge = max(charge, charge_temperature(solved))
        facts[key] = switch_facts(solved)
        rows += solved.run.time.size
    return Outcome(margins, power, charge, unsolved, facts, rows)


def charge_temperature(solved: Solved) -> float:
    """Highest temperature (K) of the charge in the manifold while the engine runs."""
    run = solved.run
    on = run.signal[:, S.ENGINE_ON] > 0.5
    plenum = run.state[on, run.network.mass("charge.plenum")]
    return float(plenum.max(initial=0.0))


def run_cases(cases: Sequence[Case], *, jobs: int = 2, progress: Progress | None = None) -> list[Outcome]:
    """Outcomes in the order of the cases, `jobs` cases at a time."""
    tell, outcomes = counted(progress, len(cases)), []
    for outcome in at_once(run_case, cases, jobs):
        outcomes.append(outcome)
        tell(str(len(outcomes)))
    return outcomes


def run_split(split: Case, *, jobs: int = 2) -> Outcome:
    """One case, its duties over threads."""
    laid = lay(split.variant)
    return joined(at_once(lambda key: run_laid(laid, {key: split.duties[key]}), split.duties, jobs))


def joined(outcomes: Iterable[Outcome]) -> Outcome:
    """Outcomes of the same variant in different duties as one."""
    margins: dict[Key, float] = {}
    unsolved: dict[str, str] = {}
    facts: dict[str, Facts] = {}
    power, charge, rows = 0.0, 0.0, 0
    for outcome in outcomes:
        margins |= outcome.margins
        facts |= outcome.facts
        unsolved |= outcome.unsolved
        power, charge = max(power, outcome.power), max(charge, outcome.charge)
        rows += outcome.rows
    return Outcome(margins, power, charge, unsolved, facts, rows)


# --- plain data, for workers elsewhere and files -----------------------------------------------------------
def run_plain(driven: Case) -> dict[str, Any]:
    """`run_case` as plain data."""
    outcome = run_case(driven)
    return {
        "margins": [[part, duty, margin] for (part, duty), margin in outcome.margins.items()],
        "power": outcome.power,
        "charge": outcome.charge,
        "unsolved": outcome.unsolved,
        "facts": outcome.facts,
    }


def from_plain(data: Mapping[str, Any]) -> Outcome:
    """The outcome again."""
    margins = {(part, duty): float(margin) for part, duty, margin in data["margins"]}
    return Outcome(
        margins, data["power"], data["charge"], dict(data["unsolved"]), dict(data.get("facts", {}))
    )
