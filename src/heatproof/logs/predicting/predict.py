"""What the model says each probe of a log should have read."""

import dataclasses
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from heatproof.assembly.duties.samples import plan_duty
from heatproof.assembly.duties.steps import CannotDrive
from heatproof.assembly.model import lay_network
from heatproof.assembly.surroundings import surroundings
from heatproof.kit.records.variant import Variant
from heatproof.logs.predicting.lag import shown
from heatproof.logs.predicting.logged_duty import LoggedDuty
from heatproof.logs.reading.records import Channel, Floats
from heatproof.network.laid import Network
from heatproof.network.not_solved import NotSolved
from heatproof.network.solve import Run, settle_start, solve_duty, uniform_state
from heatproof.verdict.solving import DutyNotSolved


@dataclass(frozen=True, eq=False)
class Reading:
    """One probe: its channel, its place (mass in the network), what it measured at `time_s` of the duty."""

    channel: Channel
    place: str
    time_s: Floats
    values: Floats

    @property
    def key(self) -> str:
        """Column name."""
        return self.channel.column


def run_logged(variant: Variant, logged: LoggedDuty, network: Network | None = None) -> Run:
    """The logged duty through the model. DutyNotSolved where it cannot be driven or does not converge."""
    network = network or lay_network(variant)
    duty = logged.duty(variant)
    try:
        plan = plan_duty(duty, variant)
        around = surroundings(variant, network, duty)
        if duty.start.cold:
            start, fans = uniform_state(network, around), None
        else:
            start, fans = settle_start(network, around, plan.start, seconds=max(plan.settle, 1))
        return solve_duty(network, around, plan.duty, start, fan_target=fans)
    except NotSolved as error:
        raise DutyNotSolved(logged.name, logged.name, error.time, str(error), error.next_step) from error
    except CannotDrive as error:
        raise DutyNotSolved(logged.name, logged.name, 0.0, str(error)) from error


def readings_of(channels: tuple[Channel, ...], mapped: dict[str, str], logged: LoggedDuty) -> list[Reading]:
    """Measured values of every mapped channel on the clock of the duty, inside it. mapped: column to mass."""
    end = logged.key_off + logged.soak
    out = []
    for channel in channels:
        if channel.column not in mapped:
            continue
        time = channel.time_s - logged.from_s
        ok = channel.measured & (time >= 0.0) & (time <= end)
        if ok.sum() >= 10:
            out.append(Reading(channel, mapped[channel.column], time[ok], channel.values[ok]))
    return out


def history(run: Run, place: str) -> Floats:
    """Temperature (K) of a mass at the run's own times."""
    return np.asarray(run.state[:, run.network.mass(place)])


def shown_by(run: Run, reading: Reading) -> Floats:
    """What the probe should have read, K: the model's history behind the probe's own lag."""
    return shown(run.time, history(run, reading.place), reading.channel.time_constant_s, reading.time_s)


@dataclass(frozen=True, eq=False)
class Blocks:
    """A reading in block means. The model is put through the same means: at a peak, the value at the middle of a
    block lies above the mean of the block."""

    raw: Reading
    number: NDArray[np.intp]
    time_s: Floats
    values: Floats

    def means(self, values: Floats) -> Floats:
        """Block means of values at the raw times."""
        count = np.bincount(self.number)
        return np.asarray(np.bincount(self.number, values)[count > 0] / count[count > 0])

    def shown_by(self, run: Run) -> Floats:
        """(blocks,) what the probe should have read."""
        return self.means(shown_by(run, self.raw))


def in_blocks(reading: Reading, block_s: float, from_s: float, end_s: float) -> Blocks:
    """Means over blocks of `block_s` from `from_s` on; blocks without a sample are left out."""
    late = (reading.time_s >= from_s) & (reading.time_s <= end_s)
    raw = dataclasses.replace(reading, time_s=reading.time_s[late], values=reading.values[late])
    number = ((raw.time_s - from_s) / block_s).astype(np.intp)
    blocks = Blocks(raw, number, raw.time_s, raw.values)
    return dataclasses.replace(blocks, time_s=blocks.means(raw.time_s), values=blocks.means(raw.values))
