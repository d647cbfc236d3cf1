"""Channel map: the user's corrections win, comments stay, files are written whole."""

import pytest

from heatproof.logs.reading.channel_map import ChannelMap, MapRow, map_of, read_channel_map, save_channel_map
from heatproof.logs.reading.read import read_log
from heatproof.logs.reading.records import LogError

CSV = "Time [s],ECT [C],AIN3\n" + "\n".join(f"{n},{80 + n},{n / 10}" for n in range(20)) + "\n"


@pytest.fixture
def csv(tmp_path):
    path = tmp_path / "run.csv"
    path.write_text(CSV)
    return path


def test_round_trip_and_corrections(tmp_path, csv):
    log = read_log(csv)
    assert log.columns == ("ECT [C]", "AIN3")
    path = tmp_path / "maps" / "run.yaml"
    save_channel_map(path, map_of(log))
    text = path.read_text()
    assert "coolant_temperature" in text
    text = text.replace("quantity: unknown", "quantity: oil_pressure  # fuel rail was a slip\n    unit: bar")
    path.write_text(text)
    again = read_log(csv, path)
    assert again.need("oil_pressure").values[10] == pytest.approx(1e5)
    save_channel_map(path, map_of(again))
    assert "# fuel rail was a slip" in path.read_text()
    assert read_channel_map(path).row("AIN3").quantity == "oil_pressure"
    assert not list(path.parent.glob(".run*"))


def test_users_unit_sensor_and_lag_win(tmp_path, csv):
    path = tmp_path / "m.yaml"
    path.write_text(
        'channels:\n  "ECT [C]": {quantity: oil_temperature, unit: degF, sensor: "3 mm K", '
        "place: sump, time_constant_s: 9}\n"
        "  AIN3: {ignore: true}\n"
    )
    log = read_log(csv, path)
    (channel,) = log.channels
    assert (channel.quantity, channel.sensor, channel.place, channel.time_constant_s) == (
        "oil_temperature", "3 mm K", "sump", 9.0)  # fmt: skip
    assert channel.values[0] == pytest.approx((80 + 459.67) / 1.8)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("channels:\n  A: {quantity: coolant_temprature}\n", r"m\.yaml:2.*did you mean coolant_temperature"),
        ("channels:\n  A: {unit: banana}\n", r"m\.yaml:2.*unknown unit"),
        ("channels:\n  A:\n    qantity: pedal\n", r"m\.yaml:3.*did you mean quantity"),
        ("channels:\n  A: {time_constant_s: -3}\n", r"time_constant_s"),
        ("channels:\n  A: 7\n", r"needs a table"),
        ("channels: [1, 2]\n", r"must be a table"),
        ("rate_Hz: fast\n", r"rate_Hz is not a rate"),
        ("- a\n- b\n", r"m\.yaml:1: file holds no mapping"),
        ("channels: {A: {quantity: pedal\n", r"m\.yaml:\d+: not valid YAML"),
    ],
)
def test_errors_name_file_line_and_cure(tmp_path, text, message):
    path = tmp_path / "m.yaml"
    path.write_text(text)
    with pytest.raises(LogError, match=message):
        read_channel_map(path)


def test_merging_keeps_corrections():
    mine = ChannelMap({"A": MapRow(quantity="pedal")}, 10.0)
    guessed = ChannelMap(
        {"A": MapRow(quantity="throttle", unit="%"), "B": MapRow(quantity="lambda")}, None, "t"
    )
    both = mine.merged(guessed)
    assert both.row("A") == MapRow(quantity="pedal", unit="%")
    assert both.row("B").quantity == "lambda"
    assert (both.rate_Hz, both.time) == (10.0, "t")
