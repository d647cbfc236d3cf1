"""What stands behind each limit: prediction, test, or both; and whether somebody signed for what is over."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from heatproof.kit.records.variant import Variant
from heatproof.report.signed_files import Deviation, Tested
from heatproof.verdict.verdict import Row, State, Verdict

Kind = Literal["predicted", "both", "tested"]
SHORT: dict[Kind, str] = {"predicted": "predicted", "both": "predicted and tested", "tested": "tested"}


@dataclass(frozen=True)
class Limit:
    """One limit in one duty. row: the prediction; None for a part the model does not have. Temperatures K.

    state: the worse of prediction and test. signed: the deviation that covers it where it is over or thin.
    """

    part: str
    title: str
    duty: str
    duty_title: str
    row: Row | None
    tests: tuple[Tested, ...]
    state: State
    limit: float
    signed: Deviation | None = None
    unsigned: str = ""
    """Why nothing covers it."""

    @property
    def kind(self) -> Kind:
        if self.row is None:
            return "tested"
        return "both" if self.tests else "predicted"

    @property
    def margin(self) -> float:
        """K: the smaller of the predicted one and that of each test."""
        tested = [self.limit - one.peak for one in self.tests]
        return min([*tested, *([self.row.margin] if self.row is not None else [])])

    @property
    def blocks(self) -> bool:
        """Whether the kit cannot be released because of it."""
        return self.state == "over" and self.signed is None


def limits_of(
    verdict: Verdict, variant: Variant, tested: Iterable[Tested], deviations: Iterable[Deviation]
) -> tuple[Limit, ...]:
    """All limits, in the order of the verdict; parts only tested come last."""
    tests, signed = tuple(tested), tuple(deviations)
    names = {duty.key: duty.name for duty in verdict.duties}
    found = [predicted(row, tests) for row in verdict.rows]
    known = {(row.part, row.duty) for row in verdict.rows}
    alone = [one for one in tests if (one.part, one.duty) not in known and one.limit is not None]
    found += [only_tested(one, names) for one in alone]
    return tuple(covered(one, signed, variant.head.revision) for one in found)


def predicted(row: Row, tests: Iterable[Tested]) -> Limit:
    """A predicted limit with the tests of the same part and duty."""
    own = tuple(one for one in tests if (one.part, one.duty) == (row.part, row.duty))
    # Against the continuous or short limit that decides; a single measured peak cannot show time above a limit.
    over = any(one.peak >= row.found.limit and row.found.rule != "continuous" for one in own)
    over = over or any(one.peak >= row.found.limit and not row.found.allowed_time for one in own)
    state: State = "over" if over else row.state
    return Limit(row.part, row.title, row.duty, row.duty_name, row, own, state, row.found.limit)


def only_tested(one: Tested, names: dict[str, str]) -> Limit:
    """A part that the model does not have."""
    assert one.limit is not None
    state: State = "over" if one.peak >= one.limit else "holds"
    return Limit(one.part, one.part, one.duty, names.get(one.duty, one.duty), None, (one,), state, one.limit)


def covered(one: Limit, signed: Iterable[Deviation], revision: str) -> Limit:
    """With the deviation that covers it, or why none does."""
    if one.state == "holds":
        return one
    reasons = []
    for deviation in signed:
        if deviation.part != one.part or deviation.duty not in ("", one.duty):
            continue
        why = refused_because(deviation, one, revision)
        if not why:
            return Limit(**{**vars(one), "signed": deviation})
        reasons.append(why)
    return Limit(**{**vars(one), "unsigned": "; ".join(reasons) or "nobody has signed for it"})


def refused_because(deviation: Deviation, one: Limit, revision: str) -> str:
    """Why a deviation does not cover this limit; empty where it does."""
    if deviation.revision != revision:
        return f"signed for revision {deviation.revision!r}, this is {revision!r}"
    if one.margin < deviation.margin - 1e-9:
        return f"signed down to {deviation.margin:.1f} K, the margin is {one.margin:.1f} K".replace("-", "−")
    return ""


def blocking(limits: Iterable[Limit]) -> tuple[Limit, ...]:
    """Limits that stand in the way of a release, least margin first."""
    return tuple(sorted((one for one in limits if one.blocks), key=lambda one: one.margin))


def worst_of_parts(limits: Iterable[Limit]) -> tuple[Limit, ...]:
    """Each part once: its limit with the least left after the spread."""
    first: dict[str, Limit] = {}
    for one in limits:
        kept = first.get(one.part)
        if kept is None or (one.state == "over" and kept.state != "over") or left(one) < left(kept):
            first[one.part] = one
    return tuple(first.values())


def left(one: Limit) -> float:
    """K after the spread of the prediction, or of the test where that is less."""
    predicted_ = one.row.left if one.row is not None else float("inf")
    return min([predicted_, *(one.limit - t.peak for t in one.tests)])
