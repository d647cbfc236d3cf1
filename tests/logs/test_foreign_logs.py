"""Logs of other people's loggers: which column is the clock, what a name means, what may be believed.

The shapes are those met in public logs; every figure is made here, and is the truth of the test.
"""

import gzip
import tracemalloc

import numpy as np
import pytest
from synthetic import channel, log

from heatproof.logs.cleaning.clean import clean
from heatproof.logs.cleaning.join import join
from heatproof.logs.reading.names import guess_name
from heatproof.logs.reading.read import read_log
from heatproof.logs.reading.records import LogError
from heatproof.logs.reducing.reduce import rise_over_ambient


def put(tmp_path, text, name="run.csv"):
    path = tmp_path / name
    path.write_text(text)
    return path


def diagnostics_log(rows=1200):
    """Two rows a second; run time in whole seconds, minutes since the fault memory was cleared; no unit at all."""
    lines = [
        "ENGINE_RUN_TINE (),ENGINE_RPM (),VEHICLE_SPEED (),COOLANT_TEMPERATURE (),LONG_TERM_FUEL_TRIM_BANK_1 (),"
        "INTAKE_AIR_TEMP (),TIME_RUN_WITH_MIL_ON (),TIME_SINCE_TROUBLE_CODES_CLEARED ()"
    ]
    for n in range(rows):
        s = n // 2
        speed = 40 + 35 * np.sin(s / 25)
        trim = -2.3 * (n % 7 < 3)
        row = (
            s,
            1500 + 10 * speed,
            round(speed),
            min(25 + s // 6, 88),
            trim,
            30 + s // 100,
            0,
            1889 + s // 60,
        )
        lines.append(", ".join(f"{x:.6f}" for x in row) + ",")
    return "\n".join(lines) + "\n"


def test_run_time_wins_over_minutes_since_another_event(tmp_path):
    read = read_log(put(tmp_path, diagnostics_log()))
    assert read.span_s[1] == pytest.approx(599.5, abs=1.0)
    why = next(f for f in read.findings if "clock taken from" in f.what)
    assert why.level == "warning"
    assert "ENGINE_RUN_TINE" in why.what
    assert "TIME_SINCE_TROUBLE_CODES_CLEARED" in why.got
    assert "another event" in why.got


def test_a_fuel_trim_is_no_longitude_and_intake_air_stays(tmp_path):
    read = read_log(put(tmp_path, diagnostics_log()))
    assert not read.has("gps_longitude")
    assert read.has("fuel_trim")
    intake = clean(read).log.need("intake_temperature")
    assert intake.measured.mean() > 0.9


def test_a_counter_that_cannot_be_the_clock_of_the_speed_loses(tmp_path):
    """Names alike, neither tells: with the slow count in seconds the car would pull 10 g."""
    lines = ["time a,time b,speed [km/h],ECT [C]"]
    for n in range(900):
        lines.append(f"{n / 60:.3f},{n},{60 + 40 * np.sin(n / 20):.1f},{80 + n / 300:.1f}")
    assert read_log(put(tmp_path, "\n".join(lines))).span_s[1] == pytest.approx(899)


def test_values_that_cannot_be_the_quantity_are_not_taken_for_it(tmp_path):
    rows = "\n".join(f"{n},{-2.3 * (n % 5 < 2):.2f},{3000 + n}" for n in range(200))
    read = read_log(put(tmp_path, "Time [s],lon,coolant temp [C]\n" + rows))
    assert not read.has("gps_longitude")
    assert not read.has("coolant_temperature")
    assert sum("not taken as" in f.what for f in read.findings) == 2


NAMES = {
    "n_mot": "engine_speed",
    "EGT1": "exhaust_temperature",
    "IAT2": "intake_temperature",
    "AAT": "ambient_temperature",
    "CHT": "head_temperature",
    "Kuehlwassertemperatur [°C]": "coolant_temperature",
    "Kühlmitteltemperatur": "coolant_temperature",
    "Öltemperatur [°C]": "oil_temperature",
    "Ansauglufttemperatur": "intake_temperature",
    "Außentemperatur": "ambient_temperature",
    "Motordrehzahl [1/min]": "engine_speed",
    "Fahrzeuggeschwindigkeit": "vehicle_speed",
    "Saugrohrdruck [hPa]": "manifold_pressure",
    "SHORT_TERM_FUEL_TRIM_BANK_1 ()": "fuel_trim",
    "COMMANDED_EVAPORATIVE_PURGE ()": "purge_duty",
    "ABSOLUTE_BAROMETRIC_PRESSURE ()": "ambient_pressure",
}


@pytest.mark.parametrize(("name", "quantity"), NAMES.items())
def test_names_of_diagnostics_and_german_loggers(name, quantity):
    guess = guess_name(name)
    assert guess.quantity is not None
    assert guess.quantity.key == quantity


def test_more_than_a_hundredth_of_unreadable_times_is_refused(tmp_path):
    def text(bad):
        rows = [f"{'?' if n < bad else f'12:00:{n // 10:02d}.{n % 10}'};{80 + n / 100}" for n in range(600)]
        return "Time;ECT [C]\n" + "\n".join(sorted(rows, key=lambda r: r.startswith("?")))

    assert read_log(put(tmp_path, text(5))).span_s[1] > 50
    with pytest.raises(LogError, match=r"times cannot be read.*at most 1%"):
        read_log(put(tmp_path, text(250)))


def test_exact_repeats_are_dropped_and_the_rate_is_right(tmp_path):
    rows = [f"{n / 10:.1f};{80 + n / 100:.2f}" for n in range(400)]
    doubled = [row for n, row in enumerate(rows) for _ in range(2 if n % 3 == 0 else 1)]
    read = read_log(put(tmp_path, "Time [s];ECT [C]\n" + "\n".join(doubled)))
    coolant = read.need("coolant_temperature")
    assert coolant.values.size == 400
    assert coolant.time_s == pytest.approx(np.arange(400) / 10)
    assert any("repeat the row before" in f.what for f in read.findings)


def test_a_small_packed_log_is_bounded_before_it_is_converted(tmp_path):
    path = tmp_path / "zeros.csv.gz"
    block = gzip.compress(b"0,0\n" * 2_000_000, mtime=0)
    path.write_bytes(gzip.compress(b"time,ECT\n") + block * 8)
    assert path.stat().st_size < 200_000
    tracemalloc.start()
    with pytest.raises(LogError, match="too many rows"):
        read_log(path)
    assert tracemalloc.get_traced_memory()[1] < 200e6
    tracemalloc.stop()


T = np.arange(0, 600, 1.0)


def test_rubbish_is_gated_by_an_engine_speed_from_another_file():
    speed = np.where((T > 200) & (T < 260), 0.0, 30.0 + 5 * np.sin(T / 9))
    intake = 310 + 3 * np.sin(T / 60)
    intake[(T > 200) & (T < 275)] = 409.0
    road = 15 + 5 * np.sin(T / 9)
    engine = log(channel("engine_speed", T, speed), channel("vehicle_speed", T, road))
    other = log(channel("intake_temperature", T, intake), channel("vehicle_speed", T, road))
    joined = join([engine, other])
    assert np.nanmax(joined.log.need("intake_temperature").values) < 320
    assert not any("no engine speed" in f.what for f in joined.findings)


def test_spin_down_and_a_short_stall_are_gated():
    t = np.arange(0, 600, 0.5)
    speed = np.full(t.size, 800 / 60)
    speed[t >= 400] = 0.0
    speed[(t >= 300) & (t < 302)] = 150 / 60
    intake = np.full(t.size, 314.0)
    intake[(t >= 399) & (t < 400)] = 346.0
    intake[(t >= 301) & (t < 306)] = 340.0
    left = clean(log(channel("intake_temperature", t, intake), channel("engine_speed", t, speed))).log
    assert np.nanmax(left.need("intake_temperature").values) == 314.0


def test_air_flow_of_a_launch_after_a_restart_stays():
    speed = np.where((T > 200) & (T < 260), 0.0, 40.0)
    flow = np.where(speed > 0, 0.02, 0.0)
    flow[(T >= 264) & (T < 270)] = 0.13
    kept = clean(log(channel("air_flow", T, flow), channel("engine_speed", T, speed))).log.need("air_flow")
    assert np.nanmax(kept.values) == 0.13


def test_highest_is_no_single_jump_and_valid_is_earned():
    rise = np.full(T.size, 310.0)
    rise[300:310] = 318.0
    rise[400] = 330.0
    channels = [
        channel("intake_temperature", T, rise),
        channel("ambient_temperature", T, np.full(T.size, 300.0)),
    ]
    fast = channel("engine_speed", T, np.full(T.size, 40.0))
    slow = channel("engine_speed", T[::15], np.full(T[::15].size, 40.0))
    _, highest = rise_over_ambient(log(*channels, fast))
    assert highest.value == pytest.approx(18.0)
    assert highest.standing == "valid"
    for rest in ([slow], []):
        assert {f.standing for f in rise_over_ambient(log(*channels, *rest))} == {"not valid"}
