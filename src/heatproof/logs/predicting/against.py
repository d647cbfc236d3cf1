"""Predicted against measured, channel by channel: bias, spread, time shift, normalised residual."""

from dataclasses import dataclass, replace

import numpy as np

from heatproof.kit.records.variant import Variant
from heatproof.logs.cleaning.autocorrelation import effective_size
from heatproof.logs.predicting.logged_duty import LoggedDuty
from heatproof.logs.predicting.predict import Reading, run_logged, shown_by
from heatproof.logs.reading.records import Floats
from heatproof.logs.reducing.sensor_doubt import described, doubt_of, mounting_share
from heatproof.logs.reducing.thermocouples import SensorDoubt
from heatproof.network.solve import Run

MOST_SHIFT_S = 120.0
MODEL_DOUBT = 0.05
"""Share of the rise over ambient that a prediction may be off (sd) where no spread is known; common practice,
no source."""


@dataclass(frozen=True, eq=False)
class ChannelResult:
    """One channel. All in K but `shift_s` (positive: the car is later than the model) and `normalised`.

    bias: mean of measured − predicted; spread: standard deviation of it round the bias; normalised: root mean
    square of measured − predicted over the doubt of sensor and model together (1: as expected; 3: look);
    peaks: highest measured and predicted. `worth`: independent samples the residual counts for.
    """

    column: str
    place: str
    sensor: str
    time_s: Floats
    measured: Floats
    predicted: Floats
    doubt: SensorDoubt
    model_sd: float
    bias: float
    spread: float
    rms: float
    normalised: float
    shift_s: float
    peak_measured: float
    peak_predicted: float
    worth: float


@dataclass(frozen=True, eq=False)
class Against:
    """All channels, worst first."""

    run: Run
    logged: LoggedDuty
    from_s: float
    channels: tuple[ChannelResult, ...]


def compare_with_model(
    variant: Variant,
    logged: LoggedDuty,
    readings: list[Reading],
    *,
    from_s: float = 0.0,
    run: Run | None = None,
    model_sd: dict[str, float] | None = None,
) -> Against:
    """Predicted against measured from `from_s` of the duty on.

    model_sd: column to standard deviation (K) of the prediction, where it is known from the project's
    spreads; else 5 % of the rise over ambient.
    """
    run = run or run_logged(variant, logged)
    results = [one_channel(run, r, logged, from_s, (model_sd or {}).get(r.key)) for r in readings]
    found = [r for r in results if r is not None]
    return Against(run, logged, from_s, tuple(sorted(found, key=lambda r: (-r.normalised, r.column))))


def one_channel(
    run: Run, reading: Reading, logged: LoggedDuty, from_s: float, model_sd: float | None
) -> ChannelResult | None:
    """None where nothing was measured from then on."""
    late = reading.time_s >= from_s
    time, measured = reading.time_s[late], reading.values[late]
    if time.size < 10:
        return None
    predicted = shown_by(run, reading)[late]
    ambient = logged.weather.ambient
    solid = run.network.kinds.get(reading.place) == "solid"
    doubt = doubt_of(reading.channel, ambient=ambient)
    mounting = mounting_share(reading.channel, surface=solid) * abs(float(measured.mean()) - ambient)
    doubt = replace(doubt, own_K=float(np.hypot(doubt.own_K, mounting)))
    sd = model_sd if model_sd is not None else MODEL_DOUBT * abs(float(predicted.mean()) - ambient)
    rest = measured - predicted
    rms = float(np.sqrt(np.mean(rest**2)))
    return ChannelResult(
        column=reading.key,
        place=reading.place,
        sensor=described(reading.channel),
        time_s=time,
        measured=measured,
        predicted=predicted,
        doubt=doubt,
        model_sd=sd,
        bias=float(rest.mean()),
        spread=float(rest.std()),
        rms=rms,
        normalised=rms / max(float(np.hypot(doubt.total_K, sd)), 0.1),
        shift_s=time_shift(time, measured, predicted),
        peak_measured=float(measured.max()),
        peak_predicted=float(predicted.max()),
        worth=effective_size(rest - rest.mean()),
    )


def time_shift(time: Floats, measured: Floats, predicted: Floats, most_s: float = MOST_SHIFT_S) -> float:
    """s by which the measured history trails the predicted one: least squares of the histories less their
    means; nan where neither moves by 2 K or the best shift lies at the end of the search."""
    if min(np.ptp(measured), np.ptp(predicted)) < 2.0 or time[-1] - time[0] < 3 * most_s:
        return float("nan")
    shifts = np.arange(-most_s, most_s + 0.5, 1.0)
    inside = (time >= time[0] + most_s) & (time <= time[-1] - most_s)
    y = measured[inside] - measured[inside].mean()
    misfit = []
    for shift in shifts:
        x = np.interp(time[inside] - shift, time, predicted)
        misfit.append(float(np.sum((y - (x - x.mean())) ** 2)))
    k = int(np.argmin(misfit))
    if not 0 < k < shifts.size - 1:
        return float("nan")
    left, top, right = misfit[k - 1 : k + 2]
    bend = left - 2 * top + right
    return float(shifts[k] + (0.5 * (left - right) / bend if bend > 0 else 0.0))
