"""Where something stops holding along one value: a bracketed secant that always ends on the side that holds."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic, Literal, TypeVar

Found = TypeVar("Found")
End = Literal["limit", "always", "never", "not found"]
MOST_STEPS = 14


@dataclass(frozen=True)
class Edge(Generic[Found]):
    """value: the furthest that was seen to hold (the near end where none does); slack and what came with it there.

    end: `limit`: slack runs out just beyond; `always`: it holds up to the far end; `never`: not even at the near
    end; `not found`: the bracket did not close. beyond: what was found on the side that does not hold.
    """

    value: float
    slack: float
    found: Found
    end: End
    steps: int
    beyond: Found | None = None


def last_that_holds(
    at: Callable[[float], tuple[float, Found]],
    *,
    start: float,
    near: float,
    far: float,
    slope: float,
    slack_within: float,
    value_within: float,
) -> Edge[Found]:
    """`at(value)` → (slack, anything); slack ≥ 0 holds at `near` and falls towards `far` (either side of near).

    start: first value tried. slope: expected d slack / d value, for the first step. Ends when the slack left is
    below `slack_within` or the bracket narrower than `value_within`.
    """
    sign = 1.0 if far >= near else -1.0
    x = min(max(start, min(near, far)), max(near, far))
    holds: tuple[float, float, Found] | None = None
    fails: tuple[float, float, Found] | None = None
    for step in range(1, MOST_STEPS + 1):
        slack, found = at(x)
        if slack >= 0.0:
            holds = (x, slack, found)
        else:
            fails = (x, slack, found)
        if holds is not None and holds[1] <= slack_within and (fails is not None or x != far):
            return Edge(*holds, "limit", step, fails[2] if fails else None)
        if holds is not None and fails is None and x == far:
            return Edge(*holds, "always", step)
        if fails is not None and holds is None and x == near:
            return Edge(*fails, "never", step, fails[2])
        if holds is not None and fails is not None and abs(fails[0] - holds[0]) <= value_within:
            return Edge(*holds, "limit", step, fails[2])
        x = next_value(holds, fails, sign, abs(slope), near, far, slack_within, 1.2 * 1.5 ** (step - 1))
    last = holds or fails
    assert last is not None
    return Edge(*last, "not found", MOST_STEPS, fails[2] if fails else None)


def next_value(
    holds: tuple[float, float, Found] | None,
    fails: tuple[float, float, Found] | None,
    sign: float,
    slope: float,
    near: float,
    far: float,
    slack_within: float,
    stride: float,
) -> float:
    """Inside the bracket where there is one, aiming at half of `slack_within`; else `stride` times the step that the
    expected slope asks for."""
    if holds is not None and fails is not None:
        width = fails[0] - holds[0]
        aim = 0.5 * slack_within
        share = (holds[1] - aim) / max(holds[1] - fails[1], 1e-12)
        return holds[0] + width * min(max(share, 0.08), 0.92)
    if holds is not None:
        return beyond(holds[0], sign * max(holds[1] / slope, abs(far - near) * 0.01) * stride, near, far)
    assert fails is not None
    if fails[1] < -300.0:
        return near
    return beyond(fails[0], -sign * max(-fails[1] / slope, abs(far - near) * 0.01) * stride, near, far)


def beyond(x: float, step: float, near: float, far: float) -> float:
    """x + step, kept between the ends."""
    return min(max(x + step, min(near, far)), max(near, far))
