"""What a planned sensor should read on the day of the test, and what counts as pass.

The limit holds at the duty's own ambient; the test is driven at another. The model carries one to the other: the
highest reading that still means the limit holds is the predicted peak of the test plus the margin of the duty.
What is uncertain in that sum (not in each of the two) and the sensor itself are taken off with the confidence the
kit asks for.
"""

from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from heatproof.kit.records.variant import Variant
from heatproof.logs.planning.plan import ChosenSensor, Plan, counted_s
from heatproof.logs.planning.sensor_kinds import MIND, RUN_K, doubt_at, medium_of
from heatproof.logs.predicting.lag import shown
from heatproof.logs.reading.records import Floats
from heatproof.network.solve import Run
from heatproof.verdict.cautions import BY_KIND
from heatproof.verdict.judged import Judged, judged
from heatproof.verdict.spread import half_width
from heatproof.verdict.verdict import Row, Verdict


@dataclass(frozen=True)
class Expected:
    """One sensor in one test duty; K and s. low, high: range in which 95 % of readings of the peak should fall;
    passes: highest peak that proves the limit with the confidence asked for; fails: above it the limit does not
    hold; both None where nothing is judged there or no margin was found."""

    sensor: ChosenSensor
    duty: str
    peak: float
    time: float
    at_key_off: float
    sd: float
    passes: float | None = None
    fails: float | None = None
    part: str = ""

    @property
    def low(self) -> float:
        return self.peak - 1.96 * self.sd

    @property
    def high(self) -> float:
        return self.peak + 1.96 * self.sd


def expected(plan: Plan, variant: Variant, verdict: Verdict) -> tuple[Expected, ...]:
    """Every sensor in every duty that is driven."""
    by_mass: dict[str, Judged] = {}
    for part in judged(variant):
        if not part.boil:
            by_mass.setdefault(part.mass, part)
    keys = list(plan.duties)
    return tuple(
        one_reading(plan, verdict, sensor, keys.index(duty), duty, by_mass.get(sensor.place.mass))
        for duty in plan.runs
        for sensor in plan.sensors
    )


def one_reading(
    plan: Plan, verdict: Verdict, sensor: ChosenSensor, k: int, duty: str, part: Judged | None
) -> Expected:
    """One sensor in one duty."""
    peaks = np.array([peak_of(plan.response.runs[k], sensor)])
    slope = plan.response.of(lambda run, _: np.array([peak_of(run, sensor)]), k)[0]
    peak, run = float(peaks[0]), plan.response.runs[k]
    doubt = doubt_at(sensor.kind, peak)
    mounting = sensor.kind.mounting * abs(peak - plan.duties[duty].air.ambient)
    own = float(np.sqrt(doubt.own**2 + doubt.shared**2 + RUN_K**2 + mounting**2))
    history = reads(run, sensor)
    key_off = float(np.interp(min(run.duty.key_off, run.time[-1]), run.time, history))
    found = Expected(
        sensor,
        duty,
        peak,
        float(run.time[int(np.argmax(np.where(counts(run, sensor), history, -np.inf)))]),
        key_off,
        float(np.hypot(own, np.linalg.norm(slope))),
    )
    if part is None or (part.part, duty) not in plan.change:
        return found
    margin = verdict.row(part.part, duty).margin
    carried = float(np.linalg.norm(slope + plan.change[part.part, duty]))
    z = NormalDist().inv_cdf(verdict.required)
    fails = peak + margin
    passes = fails - z * float(np.hypot(carried, own))
    return Expected(
        found.sensor, duty, peak, found.time, key_off, found.sd, passes=passes, fails=fails, part=part.part
    )


def undecided_after(row: Row, sd: float, required: float) -> bool:
    """Whether a margin that comes out as predicted still has the limit within its band, with `sd` (K) left."""
    return abs(row.margin) < half_width(sd, required)


def reads(run: Run, sensor: ChosenSensor) -> Floats:
    """What the sensor shows at the run's own times."""
    values = run.state[:, run.network.mass(sensor.place.mass)]
    return shown(run.time, values, sensor.response, run.time)


def peak_of(run: Run, sensor: ChosenSensor) -> float:
    """Highest reading, K."""
    return float(np.max(reads(run, sensor)[counts(run, sensor)]))


def counts(run: Run, sensor: ChosenSensor) -> NDArray[np.bool_]:
    """Rows that are read there."""
    return np.asarray(run.time <= counted_s(run, sensor.place.mass))


def place_cautions(variant: Variant, sensor: ChosenSensor) -> tuple[str, ...]:
    """What to mind at this place: for its medium, and for the part it stands on."""
    part = variant.parts.get(sensor.place.mass.removesuffix(".skin"))
    kind = part.caution if part is not None else "none"
    texts = [MIND[medium_of(sensor.place)]]
    texts += [BY_KIND[kind]] if kind in BY_KIND else []
    if kind == "brake":
        texts.append("Only bond to the outside; never drill, clamp hard or open a brake part for a sensor.")
    if kind == "fuel":
        texts.append("Only bond to the outside; no solder, no welding, and no open flame near it.")
    return tuple(texts)
