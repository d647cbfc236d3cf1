"""A measured peak on another day: the model run again there, with the simple rule of one to one beside it."""

from dataclasses import dataclass, replace

import numpy as np

from heatproof.kit.records.variant import Variant
from heatproof.logs.correcting.correction_fit import TestRun
from heatproof.logs.predicting.predict import run_logged, shown_by
from heatproof.logs.reducing.reduce import to_ambient
from heatproof.network.solve import Run


@dataclass(frozen=True)
class OtherDay:
    """One channel; K. measured: its peak; by_model: the peak moved by as much as the model's moves; by_rule:
    moved by the difference of the ambients. span: between the two ambients."""

    column: str
    place: str
    measured: float
    by_model: float
    by_rule: float
    span: float


def on_another_day(
    variant: Variant, run: TestRun, ambient: float, *, solved: Run | None = None
) -> tuple[OtherDay, ...]:
    """Every channel's peak at another ambient (K), hottest first. DutyNotSolved where that day does not solve.

    The drive stays as logged: same speeds, same air drawn. solved: the run as logged, if it is there already.
    """
    here = solved or run_logged(variant, run.logged)
    weather = run.logged.weather.model_copy(update={"ambient": ambient})
    there = run_logged(variant, replace(run.logged, weather=weather))
    own = run.logged.weather.ambient
    out = []
    for reading in run.readings:
        late = reading.time_s >= run.from_s
        if not late.any():
            continue
        measured = float(np.max(reading.values[late]))
        moved = float(np.max(shown_by(there, reading)[late]) - np.max(shown_by(here, reading)[late]))
        rule = to_ambient(measured, own, ambient)
        out.append(OtherDay(reading.key, reading.place, measured, measured + moved, rule, ambient - own))
    return tuple(sorted(out, key=lambda one: -one.by_model))
