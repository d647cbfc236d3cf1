"""All duties of a variant solved; what fails says which duty, when, and where in the network."""

from collections.abc import Mapping
from typing import NamedTuple

from heatproof.assembly.duties.steps import CannotDrive
from heatproof.assembly.model import Solved, lay_network, solve
from heatproof.kit.findings import Finding, Refused, Where
from heatproof.kit.records.duty import Duty
from heatproof.kit.records.variant import Variant
from heatproof.network.laid import Network
from heatproof.network.not_solved import LOOK, NotSolved
from heatproof.network.transient import Stepping
from heatproof.numerics.at_once import Tell, at_once

AT_ONCE = 2
"""Duties solved at the same time: kernels run without the interpreter's lock, and share a network they only read."""


class Pace(NamedTuple):
    """How closely a run follows its duty. hold: s over which the drive is averaged."""

    stepping: Stepping = Stepping()
    hold: int = 1


class DutyNotSolved(RuntimeError):
    """duty: its key; name: as people know it; time: s reached; what: network, place and what did not converge."""

    def __init__(self, duty: str, name: str, time: float, what: str, next_step: str = LOOK) -> None:
        super().__init__(f"{name}: not solved at {time:.0f} s: {what}; next step: {next_step}")
        self.duty, self.name, self.time, self.what, self.next_step = duty, name, time, what, next_step


def solve_duty_of(
    variant: Variant, key: str, duty: Duty, network: Network, pace: Pace | None = None
) -> Solved:
    """One duty. DutyNotSolved where it does not converge, Refused where it cannot be driven."""
    stepping, hold = pace or Pace()
    try:
        return solve(variant, duty, network, stepping, hold=hold)
    except NotSolved as error:
        raise DutyNotSolved(key, duty.name, error.time, str(error), error.next_step) from error
    except CannotDrive as error:
        where = Where(f"duties/{key}.yaml", 0, "drive")
        raise Refused(
            [Finding("error", str(error), where, next_step="change the drive or the car")]
        ) from error


def solve_all(
    variant: Variant, duties: Mapping[str, Duty], network: Network | None = None, tell: Tell | None = None
) -> dict[str, Solved]:
    """Duty key to its run. Of several duties that fail, the first one's error is raised."""
    laid = network or lay_network(variant)
    solved = {}
    runs = at_once(lambda key: solve_duty_of(variant, key, duties[key], laid), duties, AT_ONCE)
    for key, run in zip(duties, runs, strict=True):
        solved[key] = run
        if tell is not None:
            tell(duties[key].name)
    return solved
