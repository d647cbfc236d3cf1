"""A test day from hidden truth: written as two messy files, read back, cleaned, aligned, reduced."""

import numpy as np
import pytest
from synthetic import drive, lagged

from heatproof.logs.cleaning.align import align_logs, shift_log
from heatproof.logs.cleaning.clean import clean
from heatproof.logs.reading.read import read_log
from heatproof.logs.reducing.events import pulls
from heatproof.logs.reducing.reduce import cooler_effectiveness

OFFSET, DRIFT, TAU, EPS = 12.4, 180e-6, 6.0, 0.74


@pytest.fixture(scope="module")
def day(tmp_path_factory):
    """Engine logger: ten channels polled in turn, staircase, clock time over midnight, decimal commas.
    Thermocouple
    logger: 10 Hz, own clock, lagging sensors, drop-outs."""
    rng = np.random.default_rng(2026)
    t, n = drive(rng, 2400.0, 0.05)
    load = np.clip((n - 40) / 50, 0, 1)
    hot = 303 + 130 * lagged(t, load, 4.0)
    out = hot - EPS * (hot - 303)
    pressure = 100 + 120 * load
    folder = tmp_path_factory.mktemp("day")

    rows = np.arange(0, 2390, 0.05)
    columns = [n * 60, pressure, 20 + 0 * t, n, load * 100, 29.85 + 0 * t, load * 90, load * 80, n / 3, load]
    names = ["RPM [rpm]", "MAP [kPa]", "Fuel pressure [kPa]", "Speed [km/h]", "Pedal [%]",
        "Ambient temp [Â°C]",
             "Throttle [%]", "Load [%]", "Air mass [g/s]", "Lambda"]  # fmt: skip
    lines = ["Recorder A", ";".join(["Time", *names])]
    held = [""] * 10
    table = np.array([np.interp(rows, t, c) for c in columns])
    for k, when in enumerate(rows):
        held[k % 10] = f"{table[k % 10, k]:.2f}".replace(".", ",")
        clock = 86390 + when
        h, m, s = int(clock // 3600) % 24, int(clock // 60) % 60, clock % 60
        lines.append(f"{h:02d}:{m:02d}:{s:06.3f};".replace(".", ",") + ";".join(held))
    (folder / "engine.csv").write_text("\n".join(lines) + "\n", encoding="latin-1", errors="replace")

    t_b = np.arange(0, 2300, 0.1)
    true = t_b * (1 + DRIFT) + OFFSET
    shown = [
        lagged(t_b, np.interp(true, t, x), TAU) + rng.normal(0, 0.2, t_b.size) - 273.15 for x in (hot, out)
    ]
    shown[0][rng.random(t_b.size) < 0.003] = 400
    lines = ["Time (s),Charge cooler in (degC),Charge cooler out (degC),Engine speed (1/min)"]
    for k in range(t_b.size):
        speed = np.interp(true[k], t, n) * 60 + rng.normal(0, 5)
        lines.append(f"{t_b[k]:.2f},{shown[0][k]:.2f},{shown[1][k]:.2f},{speed:.0f}")
    (folder / "probes.csv").write_text("\n".join(lines) + "\n")
    return folder, t, hot, pressure


def test_whole_day(day):
    folder, t, hot, pressure = day
    engine, probes = clean(read_log(folder / "engine.csv")).log, clean(read_log(folder / "probes.csv"))
    assert engine.need("engine_speed").rate_Hz == pytest.approx(2.0, rel=1e-3)
    assert engine.span_s[1] == pytest.approx(2390, abs=0.1)
    spikes = sum(d.count for d in probes.dropped if d.column.startswith("Charge cooler in"))
    assert spikes == pytest.approx(0.003 * 23000, rel=0.4)

    clock = align_logs(engine, probes.log)
    assert clock.offset_s == pytest.approx(OFFSET, abs=0.1)
    assert clock.drift == pytest.approx(DRIFT, abs=10e-6)
    aligned = shift_log(probes.log, clock)

    probe = aligned.need("charge_in_temperature")
    model = lagged(probe.time_s, np.interp(probe.time_s, t, hot), TAU)
    assert np.nanmax(probe.values) == pytest.approx(model.max(), abs=2.0)
    off = (probe.values - model)[np.isfinite(probe.values)][300:]
    assert abs(off.mean()) < 0.1
    assert np.std(off) < 0.6

    ambient = engine.need("ambient_temperature")
    both = aligned.with_channels((*aligned.channels, ambient))
    figure = cooler_effectiveness(both)
    assert figure.value == pytest.approx(EPS, abs=0.01)

    lengths = [e.length_s for e in pulls(engine) if e.length_s > 3]
    above = np.diff(np.r_[0, (pressure >= 180).astype(int), 0])
    true = (np.flatnonzero(above == -1) - np.flatnonzero(above == 1)) * 0.05
    assert sum(lengths) == pytest.approx(true[true > 3].sum(), rel=0.15)
