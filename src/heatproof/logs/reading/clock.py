"""Time text to seconds, vectorised: clock with and without date, mixed forms, midnight, ISO, epoch."""

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime

import numpy as np
from numpy.typing import NDArray

from heatproof.logs.reading.records import Floats, LogFinding

DAY = 86400.0
_MONTHS = {
    m: i + 1
    for i, m in enumerate(
        ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"]
    )
}
_MONTHS |= {"mär": 3, "mrz": 3, "mai": 5, "okt": 10, "dez": 12}

# Applied to a template: the text with every digit replaced by 0.
_CLOCK = r"(?P<H>0{1,2}):(?P<M>00)(?::(?P<S>00)(?:[.,:](?P<F>0{1,9}))?)?\s*(?P<P>[AaPp]\.?[Mm]\.?)?"
_ZONE = r"\s*(?P<Z>[Zz]|[+-]00:?00|UTC|GMT)?"
_DATE = (
    r"(?:(?P<Y>0000)[-/.](?P<m>00?)[-/.](?P<d>00?)"
    r"|(?P<a>00?)(?P<sep>[-/.])(?P<b>00?)[-/.](?P<y>0000|00)"
    r"|(?P<d2>00?)[- ](?P<mon>[A-Za-zä]{3})[a-z]*[- ](?P<y2>0000))"
)
_FORMS = (
    re.compile(rf"^(?:{_DATE}[T ,;_]+)?{_CLOCK}{_ZONE}$"),
    re.compile(rf"^{_DATE}$"),
    re.compile(r"^(?P<Y>0000)(?P<m>00)(?P<d>00)[T _-]?(?P<H>00)(?P<M>00)(?P<S>00)(?:[.,](?P<F>0{1,9}))?Z?$"),
)


@dataclass(frozen=True, eq=False)
class ClockTimes:
    """`seconds` (n,): from midnight of `first_day` (or of an unknown day), NaN where unreadable."""

    seconds: Floats
    first_day: date | None
    unreadable: int
    findings: tuple[LogFinding, ...]


def template_of(text: str) -> str:
    """Text with every digit as 0."""
    return re.sub(r"\d", "0", text.strip())


def looks_like_clock(text: str) -> bool:
    """Whether one cell is a clock time, a date, or both."""
    template = template_of(text[:64])
    return any(form.match(template) for form in _FORMS)


def parse_clock(cells: NDArray[np.bytes_], *, column: str = "time") -> ClockTimes:
    """Clock text, shape (n,), fixed-width ASCII bytes, to seconds.

    Rows without a date follow the rows with one; a backward jump of more than twelve hours is midnight. The
    order of day and month is taken from the rows (a part above 12); if none tells, day first, with a warning.
    """
    rows = len(cells)
    day = np.full(rows, np.nan)
    clock = np.full(rows, np.nan)
    ambiguous = False
    forms = 0
    for where, template in _groups(cells):
        parts = _match(template)
        if parts is None:
            continue
        forms += 1
        digits = _digits(cells[where], len(template))
        clock[where] = _seconds_of_day(digits, parts, template)
        days, unsure = _day_number(digits, parts, template)
        ambiguous |= unsure
        if days is not None:
            day[where] = days
    seconds, first_day, findings = _join(day, clock)
    if ambiguous:
        findings.append(
            LogFinding(
                "warning", "order of day and month not certain, day first assumed", column, _text(cells[0])
            )
        )
    if forms > 1:
        findings.append(LogFinding("note", f"{forms} forms of time stamp mixed", column))
    unreadable = int(np.isnan(seconds).sum())
    return ClockTimes(seconds, first_day, unreadable, tuple(findings))


def parse_epoch(values: Floats) -> tuple[Floats, datetime] | None:
    """Numbers that count from 1970 in s, ms, µs or ns: seconds from the first, and its UTC date; else
    None."""
    good = values[np.isfinite(values)]
    if not good.size:
        return None
    first = float(good[0])
    for scale, low in ((1e-9, 1e17), (1e-6, 1e14), (1e-3, 1e11), (1.0, 5e8)):
        if low < first < low * 20 and float(good.min()) > low:
            return (values - first) * scale, datetime.fromtimestamp(first * scale, UTC)
    return None


def _text(cell: bytes) -> str:
    return bytes(cell).decode("latin-1")


def _groups(cells: NDArray[np.bytes_]) -> list[tuple[NDArray[np.intp], str]]:
    """Row numbers of each template; at most 64 templates, further rows stay unreadable."""
    width = cells.dtype.itemsize
    raw = np.ascontiguousarray(cells).view(np.uint8).reshape(len(cells), width)
    shape = np.where((raw >= 48) & (raw <= 57), np.uint8(48), raw)
    keys = np.ascontiguousarray(shape).view(f"S{width}").ravel()
    left = np.arange(len(cells))
    out = []
    for _ in range(64):
        if not left.size:
            break
        key = keys[left[0]]
        same = keys[left] == key
        out.append((left[same], bytes(key).decode("latin-1")))
        left = left[~same]
    return out


def _match(template: str) -> re.Match[str] | None:
    return next((found for form in _FORMS if (found := form.match(template))), None)


def _digits(cells: NDArray[np.bytes_], width: int) -> NDArray[np.int64]:
    full = np.ascontiguousarray(cells).view(np.uint8).reshape(len(cells), -1)
    return full[:, :width].astype(np.int64) - 48


def _number(digits: NDArray[np.int64], parts: re.Match[str], name: str) -> NDArray[np.int64] | None:
    if name not in parts.re.groupindex or parts.group(name) is None:
        return None
    start, stop = parts.span(name)
    weights = 10 ** np.arange(stop - start - 1, -1, -1)
    return np.asarray(digits[:, start:stop] @ weights)


def _seconds_of_day(digits: NDArray[np.int64], parts: re.Match[str], template: str) -> Floats:
    hour = _number(digits, parts, "H")
    if hour is None:
        return np.zeros(len(digits))
    minute = _number(digits, parts, "M")
    second = _number(digits, parts, "S")
    fraction = _number(digits, parts, "F")
    if "P" in parts.re.groupindex and parts.group("P"):
        hour = hour % 12 + (12 if parts.group("P")[0] in "Pp" else 0)
    total = hour * 3600.0 + minute * 60.0  # type: ignore[operator]
    if second is not None:
        total += second
    if fraction is not None:
        total += fraction / 10.0 ** (parts.end("F") - parts.start("F"))
    if "Z" in parts.re.groupindex and parts.group("Z") and parts.group("Z")[0] in "+-":
        total -= _zone_seconds(digits, parts)
    bad = (hour > 24) | (minute > 59) | (second > 60 if second is not None else False)  # type: ignore[operator]
    return np.where(bad, np.nan, total)


def _zone_seconds(digits: NDArray[np.int64], parts: re.Match[str]) -> Floats:
    start, stop = parts.span("Z")
    pick = digits[:, start + 1 : stop]
    pick = pick[:, [0, 1, -2, -1]]
    sign = 1.0 if parts.group("Z")[0] == "+" else -1.0
    return sign * ((pick[:, 0] * 10 + pick[:, 1]) * 3600.0 + (pick[:, 2] * 10 + pick[:, 3]) * 60.0)


def _day_number(digits: NDArray[np.int64], parts: re.Match[str], template: str) -> tuple[Floats | None, bool]:
    """Day count since 1970, and whether the order of day and month is a guess."""
    year = _number(digits, parts, "Y")
    if year is not None:
        return _days(year, _number(digits, parts, "m"), _number(digits, parts, "d")), False
    if "mon" in parts.re.groupindex and parts.group("mon"):
        month = _MONTHS.get(parts.group("mon").lower())
        if month is None:
            return None, False
        year, dom = _number(digits, parts, "y2"), _number(digits, parts, "d2")
        return _days(year, np.full(len(digits), month), dom), False
    year, first, second = (_number(digits, parts, k) for k in ("y", "a", "b"))
    if year is None or first is None or second is None:
        return None, False
    year = np.where(year < 100, year + 2000, year)
    if (second > 12).any() and not (first > 12).any():
        return _days(year, first, second), False
    unsure = parts.group("sep") == "/" and not (first > 12).any()
    return _days(year, second, first), unsure


def _days(
    year: NDArray[np.int64] | None, month: NDArray[np.int64] | None, dom: NDArray[np.int64] | None
) -> Floats:
    assert year is not None
    assert month is not None
    assert dom is not None
    ok = (month >= 1) & (month <= 12) & (dom >= 1) & (dom <= 31) & (year >= 1970) & (year < 2200)
    months = (np.where(ok, year, 1970) - 1970) * 12 + np.where(ok, month, 1) - 1
    first = months.astype("datetime64[M]").astype("datetime64[D]").astype(np.int64)
    return np.where(ok, first + dom - 1.0, np.nan)


def _join(day: Floats, clock: Floats) -> tuple[Floats, date | None, list[LogFinding]]:
    """Seconds from midnight of the first day, over midnight, dated and undated rows together."""
    findings: list[LogFinding] = []
    good = np.flatnonzero(np.isfinite(clock))
    if not good.size:
        return clock, None, findings
    running = clock.copy()
    back = np.diff(clock[good]) < -DAY / 2
    dated = np.isfinite(day)
    running[good[1:]] += DAY * np.cumsum(back)
    if not dated.any():
        if back.any():
            findings.append(
                LogFinding("note", f"clock passes midnight {int(back.sum())} time(s), days added", "time")
            )
        return running, None, findings
    first = float(np.nanmin(day[dated]))
    seconds = np.where(dated, (day - first) * DAY + clock, np.nan)
    both = dated & np.isfinite(seconds)
    undated = ~dated & np.isfinite(clock)
    if undated.any() and both.any():
        shift = np.round(np.median((seconds - running)[both]) / DAY) * DAY
        seconds = np.where(undated, running + shift, seconds)
    elif not both.any():
        seconds = running
    return seconds, date.fromordinal(date(1970, 1, 1).toordinal() + int(first)), findings
