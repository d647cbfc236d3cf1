"""What a log is once it has been read: channels with their own time, and a report of every guess."""

from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Level = Literal["note", "warning"]


class LogError(Exception):
    """A log that cannot be read: what, where (file:line), got, allowed, next step."""

    def __init__(
        self, what: str, *, where: str = "", got: str = "", allowed: str = "", next_step: str = ""
    ) -> None:
        self.what, self.where, self.got = what, where, got
        self.allowed, self.next_step = allowed, next_step
        super().__init__(self.text())

    def text(self) -> str:
        """One line for the user."""
        parts = [f"{self.where}: {self.what}" if self.where else self.what]
        parts += [f"got {self.got}"] if self.got else []
        parts += [f"allowed: {self.allowed}"] if self.allowed else []
        parts += [f"next step: {self.next_step}"] if self.next_step else []
        return "; ".join(parts)


@dataclass(frozen=True)
class LogFinding:
    """One guess or defect in a column or line of a log. `note`: taken as stated; `warning`: the user should look."""

    level: Level
    what: str
    where: str = ""
    got: str = ""
    next_step: str = ""

    def text(self) -> str:
        """One line for the user."""
        head = f"{self.where}: {self.what}" if self.where else self.what
        return "; ".join([head, *([f"got {self.got}"] if self.got else []), *filter(None, [self.next_step])])


@dataclass(frozen=True)
class Dropped:
    """Samples taken out of one channel by one step, and why."""

    column: str
    step: str
    count: int
    of: int
    why: str
    first_s: float = float("nan")

    @property
    def share(self) -> float:
        """Dropped share of the samples that were there, 0..1."""
        return self.count / self.of if self.of else 0.0


@dataclass(frozen=True, eq=False)
class Channel:
    """One measured quantity. `time_s` and `values` have shape (n,); values in SI, NaN = not measured.

    `unit` is the text found in the file, `si_unit` the unit of `values`. Temperatures are in K, pressures in
    Pa (absolute unless the quantity says gauge), rotational speeds in turns per second, shares 0..1.
    """

    column: str
    quantity: str
    unit: str
    si_unit: str
    time_s: Floats
    values: Floats
    source: str
    sensor: str = ""
    place: str = ""
    time_constant_s: float = 0.0

    @property
    def rate_Hz(self) -> float:
        """Measured samples (not NaN) per second, from the median interval; 0 for fewer than two."""
        return rate_of(self.time_s[np.isfinite(self.values)])

    @property
    def measured(self) -> Flags:
        """True where a value was measured, shape (n,)."""
        return np.isfinite(self.values)

    def with_data(self, time_s: Floats, values: Floats) -> "Channel":
        """The same channel with other samples."""
        return replace(self, time_s=time_s, values=values)

    def at(self, time_s: Floats) -> Floats:
        """Linear in between, NaN outside the measured span or with nothing measured; shape of `time_s`."""
        ok = self.measured
        if not ok.any():
            return np.full(np.shape(time_s), np.nan)
        return np.interp(time_s, self.time_s[ok], self.values[ok], left=np.nan, right=np.nan)


@dataclass(frozen=True, eq=False)
class Log:
    """One test run. Times are seconds from the first sample; `start` is its date and clock if the file
    said."""

    path: str
    channels: tuple[Channel, ...]
    start: datetime | None = None
    findings: tuple[LogFinding, ...] = ()
    layout: dict[str, Any] = field(default_factory=dict)
    sha256: str = ""

    @property
    def columns(self) -> tuple[str, ...]:
        """Column names in file order."""
        return tuple(channel.column for channel in self.channels)

    @property
    def span_s(self) -> tuple[float, float]:
        """First and last time of any channel, s; (0, 0) when there is none."""
        spans = [c.time_s for c in self.channels if c.time_s.size]
        if not spans:
            return 0.0, 0.0
        return float(min(t[0] for t in spans)), float(max(t[-1] for t in spans))

    def has(self, quantity: str) -> bool:
        """Whether a channel of this quantity was measured."""
        return any(c.quantity == quantity for c in self.channels)

    def find(self, quantity: str) -> Channel | None:
        """First channel of this quantity, None if there is none."""
        return next((c for c in self.channels if c.quantity == quantity), None)

    def need(self, quantity: str) -> Channel:
        """First channel of this quantity (or of this column name); LogError naming those that exist."""
        found = self.find(quantity) or next((c for c in self.channels if c.column == quantity), None)
        if found is not None:
            return found
        known = ", ".join(sorted({c.quantity for c in self.channels if c.quantity != "unknown"})) or "none"
        raise LogError(
            f"no channel of quantity {quantity}",
            where=self.path,
            allowed=known,
            next_step="name the column in the channel map, or choose one of those",
        )

    def with_channels(self, channels: tuple[Channel, ...]) -> "Log":
        """The same log with other channels."""
        return replace(self, channels=channels)


def rate_of(time_s: Floats) -> float:
    """Samples per second from the median interval, 1/s; 0 for fewer than two samples."""
    if time_s.size < 2:
        return 0.0
    step = float(np.median(np.diff(time_s)))
    return 1.0 / step if step > 0 else 0.0
