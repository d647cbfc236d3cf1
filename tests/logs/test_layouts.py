"""Layouts of text logs as they come. The truth is the numbers written."""

import itertools
from datetime import datetime

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from heatproof.logs.reading.read import read_log
from heatproof.logs.reading.records import LogError
from heatproof.logs.reading.sniff import sniff
from heatproof.logs.reading.text_bytes import read_text_bytes

COOLANT = np.array([80.0, 80.5, 81.25, 82.0, 82.5, 83.0, 84.5, 85.0])
SPEED = np.array([0.0, 3.6, 7.2, 18.0, 36.0, 54.0, 72.0, 90.0])


def put(tmp_path, text, encoding="utf-8", name="run.csv"):
    path = tmp_path / name
    path.write_bytes(text.encode(encoding))
    return path


def number(value, decimal):
    return f"{value:.2f}".replace(".", decimal)


def check(log, step=0.5):
    coolant, speed = log.need("coolant_temperature"), log.need("vehicle_speed")
    assert coolant.values == pytest.approx(COOLANT + 273.15)
    assert speed.values == pytest.approx(SPEED / 3.6)
    assert coolant.time_s == pytest.approx(np.arange(8) * step, abs=1e-6)


STYLES = list(
    itertools.product(
        [(",", "."), (";", ","), (";", "."), ("\t", ","), ("\t", "."), ("|", ".")],
        ["utf-8", "utf-8-sig", "latin-1", "cp1252", "utf-16", "utf-16-le"],
        ["\n", "\r\n"],
    )
)


@pytest.mark.parametrize(("style", "encoding", "newline"), STYLES)
def test_delimiter_decimal_encoding(tmp_path, style, encoding, newline):
    delimiter, decimal = style
    rows = [delimiter.join(["Time [s]", "Coolant temp [°C]", "Speed [km/h]"])]
    rows += [
        delimiter.join([number(n * 0.5, decimal), number(c, decimal), number(v, decimal)])
        for n, (c, v) in enumerate(zip(COOLANT, SPEED, strict=True))
    ]
    log = read_log(put(tmp_path, newline.join(rows) + newline, encoding))
    check(log)
    assert log.layout["delimiter"] == delimiter
    assert log.layout["decimal"] == decimal


HEADERS = {
    "units in brackets": "Time [s];Coolant temp [°C];Speed [km/h]",
    "units in parentheses": "Time (s);Coolant temp (°C);Speed (km/h)",
    "own units row": "Time;Coolant temp;Speed\ns;°C;km/h",
    "units row in brackets": "Time;Coolant temp;Speed\n[s];[°C];[km/h]",
    "unit in the name": "Time_s;Coolant temp_degC;Speed_kmh",
    "garbled degree sign": "Time [s];Coolant temp [Â°C];Speed [km/h]",
    "doubled units": "Time [s];Coolant temp [°C°C];Speed [km/h]",
    "misspelt": "Time [s];Engin Coolent Temprature [Celcius];Vehical Speed [kmh]",
    "preamble": "Recorder 7\nDriver;nobody\n\nTime [s];Coolant temp [°C];Speed [km/h]",
    "names in row 4, units in row 5": "a;b;c\nDate;25.11.2026;\nRemark;30;\n"
    "Time;Coolant temp;Speed\ns;C;km/h",
}


@pytest.mark.parametrize("header", HEADERS.values(), ids=HEADERS.keys())
@pytest.mark.parametrize("trailing", ["", ";"])
def test_headers(tmp_path, header, trailing):
    rows = [f"{n * 0.5};{c};{v}{trailing}" for n, (c, v) in enumerate(zip(COOLANT, SPEED, strict=True))]
    check(read_log(put(tmp_path, "\n".join([header, *rows]) + "\n")))


def test_trailing_comma_does_not_shift_columns(tmp_path):
    rows = [f"{n * 0.5},{c},{v}," for n, (c, v) in enumerate(zip(COOLANT, SPEED, strict=True))]
    check(read_log(put(tmp_path, "\n".join(["Time [s],ECT [C],Speed [km/h]", *rows]))))


def test_imperial_units(tmp_path):
    rows = [
        f"{n * 0.5},{c * 1.8 + 32},{v / 1.609344}"
        for n, (c, v) in enumerate(zip(COOLANT, SPEED, strict=True))
    ]
    check(read_log(put(tmp_path, "\n".join(["Time [sec],ECT [degF],Speed [mph]", *rows]))))


def _timed(tmp_path, stamps, header="Time"):
    rows = [f"{t};{c};{v}" for t, c, v in zip(stamps, COOLANT, SPEED, strict=True)]
    return read_log(put(tmp_path, "\n".join([f"{header};ECT [C];Speed [km/h]", *rows])))


CLOCKS = {
    "hh:mm:ss,mmm": [f"12:00:0{n // 2},{n % 2 * 500:03d}" for n in range(8)],
    "hh:mm:ss.mmm": [f"12:00:0{n // 2}.{n % 2 * 500:03d}" for n in range(8)],
    "dd.mm.yyyy": [f"25.11.2026 12:00:0{n // 2}.{n % 2 * 500:03d}" for n in range(8)],
    "ISO": [f"2026-11-25T12:00:0{n // 2}.{n % 2 * 5}" for n in range(8)],
    "ISO zone": [f"2026-11-25T12:00:0{n // 2}.{n % 2 * 5}+01:00" for n in range(8)],
    "mixed": [f"{'25.11.2026 ' if n % 3 == 0 else ''}12:00:0{n // 2},{n % 2 * 500:03d}" for n in range(8)],
    "am pm": [
        f"11:59:{58 + n // 2:02d}.{n % 2 * 5} PM" if n < 4 else f"12:00:{n // 2 - 2:02d}.{n % 2 * 5} AM"
        for n in range(8)
    ],
    "midnight": [
        f"23:59:{58 + n // 2}.{n % 2 * 5}" if n < 4 else f"00:00:0{n // 2 - 2}.{n % 2 * 5}" for n in range(8)
    ],
    "midnight with mixed dates": [
        f"{'25.11.2026 ' if n == 0 else ''}23:59:{58 + n // 2}.{n % 2 * 5}" if n < 4
        else f"{'26.11.2026 ' if n == 7 else ''}00:00:0{n // 2 - 2}.{n % 2 * 5}" for n in range(8)
    ],
    "month name": [f"25 Nov 2026 12:00:0{n // 2}.{n % 2 * 5}" for n in range(8)],
    "compact": [f"20261125 12000{n // 2}.{n % 2 * 5}" for n in range(8)],
    "epoch s": [f"{1764072000 + n * 0.5:.1f}" for n in range(8)],
    "epoch ms": [f"{1764072000000 + n * 500}" for n in range(8)],
    "whole-second stamps": [f"12:00:0{n // 2}" for n in range(8)],
}  # fmt: skip


@pytest.mark.parametrize("stamps", CLOCKS.values(), ids=CLOCKS.keys())
def test_clocks(tmp_path, stamps):
    check(_timed(tmp_path, stamps))


def test_start_date_is_kept(tmp_path):
    assert _timed(tmp_path, CLOCKS["dd.mm.yyyy"]).start == datetime(2026, 11, 25, 12)
    assert _timed(tmp_path, CLOCKS["hh:mm:ss,mmm"]).start is None


def test_day_before_month_is_a_reported_guess(tmp_path):
    unsure = _timed(tmp_path, [f"03/04/2026 12:00:0{n // 2}.{n % 2 * 5}" for n in range(8)])
    assert unsure.start == datetime(2026, 4, 3, 12)
    assert any("day and month" in f.what for f in unsure.findings if f.level == "warning")
    sure = _timed(tmp_path, [f"03/14/2026 12:00:0{n // 2}.{n % 2 * 5}" for n in range(8)])
    assert sure.start == datetime(2026, 3, 14, 12)


def test_date_and_clock_in_two_columns(tmp_path):
    rows = [
        f"25.11.2026;12:00:0{n // 2}.{n % 2 * 5};{c};{v}"
        for n, (c, v) in enumerate(zip(COOLANT, SPEED, strict=True))
    ]
    log = read_log(put(tmp_path, "\n".join(["Date;Time;ECT [C];Speed [km/h]", *rows])))
    check(log)
    assert log.start == datetime(2026, 11, 25, 12)


def test_milliseconds_without_unit(tmp_path):
    rows = [f"{n * 500},{c},{v}" for n, (c, v) in enumerate(zip(COOLANT, SPEED, strict=True))]
    log = read_log(put(tmp_path, "\n".join(["Time,ECT [C],Speed [km/h]", *rows])))
    check(log)
    assert any("milliseconds" in f.what for f in log.findings if f.level == "warning")


def test_no_time_column_needs_a_rate(tmp_path):
    rows = [f"{c},{v}" for c, v in zip(COOLANT, SPEED, strict=True)]
    path = put(tmp_path, "\n".join(["ECT [C],Speed [km/h]", *rows]))
    with pytest.raises(LogError, match=r"no time column.*rate"):
        read_log(path)
    check(read_log(path, rate_Hz=2))
    with pytest.raises(LogError, match="rate_Hz"):
        read_log(path, rate_Hz=0)


def test_long_form(tmp_path):
    """`"SECONDS";"PID";"VALUE";"UNITS";` with a trailing delimiter: one channel a row, own times."""
    rows = ['"SECONDS";"PID";"VALUE";"UNITS";']
    for n in range(8):
        rows.append(f'"{n * 0.5}";"Engine coolant temperature";"{COOLANT[n]}";"°C";')
        rows.append(f'"{n * 0.5 + 0.2}";"Vehicle speed";"{SPEED[n]}";"km/h";')
    log = read_log(put(tmp_path, "\n".join(rows) + "\n"))
    check_values = log.need("coolant_temperature").values
    assert check_values == pytest.approx(COOLANT + 273.15)
    assert log.need("coolant_temperature").time_s == pytest.approx(np.arange(8) * 0.5)
    assert log.need("vehicle_speed").time_s == pytest.approx(np.arange(8) * 0.5 + 0.2)
    assert log.layout["form"] == "long"


def test_one_channel_a_row_in_a_wide_table(tmp_path):
    rows = ["Time [s],ECT [C],Speed [km/h],RPM [rpm]"]
    for n in range(8):
        rows += [
            f"{n * 0.6:.1f},{COOLANT[n]},,",
            f"{n * 0.6 + 0.2:.1f},,{SPEED[n]},",
            f"{n * 0.6 + 0.4:.1f},,,900",
        ]
    log = read_log(put(tmp_path, "\n".join(rows)))
    assert log.need("vehicle_speed").time_s == pytest.approx(np.arange(8) * 0.6 + 0.2)
    assert log.need("vehicle_speed").values == pytest.approx(SPEED / 3.6)


def test_same_column_twice(tmp_path):
    rows = [f"{n},{c},{c + 1}" for n, c in enumerate(COOLANT)]
    log = read_log(put(tmp_path, "\n".join(["Time [s],ECT [C],ECT [C]", *rows])))
    assert log.columns == ("ECT [C]", "ECT [C] #2")


def test_thousands_and_words_in_cells(tmp_path):
    rows = [f"{n};1.{n}00,5;---" if n != 3 else "3;ERR;7,5" for n in range(8)]
    log = read_log(put(tmp_path, "\n".join(["Time [s];RPM [rpm];ECT [C]", *rows])))
    rpm = log.need("engine_speed").values * 60
    assert rpm[[0, 1, 7]] == pytest.approx([1000.5, 1100.5, 1700.5])
    assert np.isnan(rpm[3])


def test_channel_without_unit_is_guessed_and_reported(tmp_path):
    rows = [f"{n},{c}" for n, c in enumerate(COOLANT)]
    log = read_log(put(tmp_path, "\n".join(["Time [s],Coolant temp", *rows])))
    assert log.need("coolant_temperature").values == pytest.approx(COOLANT + 273.15)
    assert any("unit taken as degC" in f.what for f in log.findings if f.level == "warning")
    log = read_log(put(tmp_path, "\n".join(["Time [s],Coolant temp"] + [f"{n},{200 + n}" for n in range(8)])))
    assert log.need("coolant_temperature").values[0] == pytest.approx((200 + 459.67) / 1.8)


def sound_or_refused(path):
    """A log whose channels hold together, or an error that names the file; anything else fails the test."""
    refusal = ""
    try:
        log = read_log(path)
    except LogError as error:
        refusal = error.text()
    if refusal:
        assert path.name in refusal
        return
    assert log.channels
    assert all(c.time_s.shape == c.values.shape for c in log.channels)
    assert all(np.all(np.diff(c.time_s) >= 0) for c in log.channels)


cells = st.one_of(
    st.floats(-1e6, 1e6).map(lambda v: f"{v:.3f}"), st.integers(-9999, 9999).map(str), st.just(""),
        st.just("NaN"),
    st.text("abc°µ[]();,.:-\"' ", max_size=8), st.just("12:00:01.5"), st.just("25.11.2026"),
    st.just("1.234,5"),
)  # fmt: skip
tables = st.lists(st.lists(cells, min_size=1, max_size=6), min_size=1, max_size=30)


@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    rows=tables, delimiter=st.sampled_from(",;\t| "), encoding=st.sampled_from(["utf-8", "latin-1", "utf-16"])
)
def test_sniffer_never_crashes_on_tables(tmp_path, rows, delimiter, encoding):
    text = "\n".join(delimiter.join(row) for row in rows)
    path = tmp_path / "f.csv"
    path.write_bytes(text.encode(encoding, errors="replace"))
    before = path.read_bytes()
    sound_or_refused(path)
    assert path.read_bytes() == before


@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(raw=st.binary(min_size=0, max_size=400))
def test_sniffer_never_crashes_on_bytes(tmp_path, raw):
    path = tmp_path / "f.csv"
    path.write_bytes(raw)
    sound_or_refused(path)
    assert path.read_bytes() == raw


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    values=st.lists(
        st.tuples(*[st.floats(-99, 999).map(lambda v: round(v, 2))] * 3), min_size=5, max_size=40
    ),
    style=st.sampled_from([(",", "."), (";", ","), (";", "."), ("\t", ","), ("|", ".")]),
    preamble=st.integers(0, 4),
)
def test_layout_is_recovered(tmp_path, values, style, preamble):
    """Whatever the numbers, delimiter, decimal mark, header line and values come back."""
    delimiter, decimal = style
    lines = [f"remark {n}" for n in range(preamble)]
    lines.append(delimiter.join(["Time [s]", "Oil temp [K]", "Gearbox temp [K]", "Bay temp [K]"]))
    for n, row in enumerate(values):
        lines.append(delimiter.join([number(n * 0.1, decimal)] + [number(v, decimal) for v in row]))
    path = tmp_path / "g.csv"
    path.write_text("\n".join(lines) + "\n")
    layout, _ = sniff(read_text_bytes(path), where="g.csv")
    assert (layout.delimiter, layout.decimal, layout.header_line) == (delimiter, decimal, preamble)
    log = read_log(path)
    assert pytest.approx(np.array(values), abs=0.006) == np.array([c.values for c in log.channels]).T
