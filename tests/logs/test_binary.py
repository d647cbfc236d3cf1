"""MDF4, Parquet and CAN frames, written by the libraries that own the formats."""

import struct

import cantools
import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from asammdf import MDF, Signal, Source

from heatproof.logs.reading.can_frames import decode_frames
from heatproof.logs.reading.read import read_log
from heatproof.logs.reading.records import LogError

DBC = """VERSION ""
NS_ :
BS_:
BU_: ECU
BO_ 256 ENGINE: 8 ECU
 SG_ EngineSpeed : 0|16@1+ (0.25,0) [0|16000] "rpm" ECU
 SG_ CoolantTemp : 16|8@1+ (1,-40) [-40|215] "degC" ECU
 SG_ OilTemp : 31|16@0- (0.1,0) [-100|300] "degC" ECU
BO_ 512 AIR: 4 ECU
 SG_ AmbientTemp : 0|8@1+ (0.5,-40) [-40|87] "degC" ECU
"""


def frames(n=200):
    """Raw frames by plain struct packing: (times, ids, data, lengths, rpm, coolant, oil, ambient)."""
    t = np.arange(n) * 0.01
    rpm, coolant, oil = 800 + 10.0 * np.arange(n), 60 + np.arange(n) % 50, 90 + (np.arange(n) % 300) / 10
    ident = np.where(np.arange(n) % 4 == 3, 512, 256)
    data = np.zeros((n, 8), np.uint8)
    for k in range(n):
        raw = (
            struct.pack("<HB", int(rpm[k] * 4), int(coolant[k]) + 40)
            + struct.pack(">h", round(oil[k] * 10))
            + b"\0\0\0"
        )
        data[k] = list(raw if ident[k] == 256 else struct.pack("<B", 130) + b"\0" * 7)
    return t, ident, data, np.full(n, 8), rpm, coolant, oil


@pytest.fixture
def dbc(tmp_path):
    path = tmp_path / "car.dbc"
    path.write_text(DBC)
    return path


def check_frames(by_name):
    t, ident, _, _, rpm, coolant, oil = frames()
    engine = ident == 256
    assert by_name["EngineSpeed"][0] == pytest.approx(t[engine])
    assert by_name["EngineSpeed"][1] == pytest.approx(rpm[engine])
    assert by_name["CoolantTemp"][1] == pytest.approx(coolant[engine])
    assert by_name["OilTemp"][1] == pytest.approx(oil[engine])
    assert by_name["AmbientTemp"][1] == pytest.approx(np.full((~engine).sum(), 25.0))


def test_frames_through_dbc(dbc):
    t, ident, data, length, *_ = frames()
    findings = []
    channels = decode_frames(t, ident, data, length, dbc=dbc, findings=findings)
    check_frames({name: (times, values) for name, _, times, values, _ in channels})
    assert not findings
    ident = np.where(np.arange(t.size) == 5, 999, ident)
    length[8] = 2
    decode_frames(t, ident, data, length, dbc=dbc, findings=findings)
    assert sorted(f.what for f in findings) == [
        "1 of 200 frames are not in the DBC file",
        "1 short frame(s) of ENGINE",
    ]


def test_frames_inside_mdf(tmp_path, dbc):
    t, ident, data, length, *_ = frames()
    source = Source("CAN 1", "CAN 1", "", 2, 2)  # bus, CAN
    record = np.rec.fromarrays(
        [np.full(t.size, 1, np.uint8), ident.astype(np.uint32), np.zeros(t.size, np.uint8),
            length.astype(np.uint8),
         length.astype(np.uint8), data],
        dtype=[("CAN_DataFrame.BusChannel", "u1"), ("CAN_DataFrame.ID", "<u4"), ("CAN_DataFrame.IDE", "u1"),
               ("CAN_DataFrame.DLC", "u1"), ("CAN_DataFrame.DataLength", "u1"),
               ("CAN_DataFrame.DataBytes", "u1", (8,))],
    )  # fmt: skip
    path = tmp_path / "bus.mf4"
    with MDF() as mdf:
        mdf.append(Signal(record, t, name="CAN_DataFrame", source=source))
        mdf.save(path, overwrite=True)
    log = read_log(path, dbc=dbc)
    by_name = {c.column: c for c in log.channels}
    assert by_name["EngineSpeed"].quantity == "engine_speed"
    assert by_name["CoolantTemp"].si_unit == "K"
    assert by_name["CoolantTemp"].values[0] == pytest.approx(60 + 273.15)
    assert by_name["EngineSpeed"].values[0] == pytest.approx(800 / 60)
    with pytest.raises(LogError, match="no channel holds numbers"):
        read_log(path)


def test_bad_dbc(tmp_path):
    t, ident, data, length, *_ = frames()
    bad = tmp_path / "bad.dbc"
    bad.write_text("BO_ this is no dbc")
    with pytest.raises(LogError, match="DBC file cannot be read"):
        decode_frames(t, ident, data, length, dbc=bad, findings=[])
    assert cantools.database.load_string(DBC, "dbc").messages


def test_mdf_keeps_each_groups_own_time(tmp_path):
    path = tmp_path / "run.mf4"
    slow, fast = np.arange(0, 60, 1.0) + 5, np.arange(0, 60, 0.01) + 5.003
    with MDF() as mdf:
        mdf.append([Signal(80 + slow / 10, slow, unit="degC", name="Oil temp")])
        mdf.append([Signal(np.arange(fast.size, dtype=np.uint16), fast, unit="1/min", name="Engine speed")])
        mdf.save(path, overwrite=True)
    log = read_log(path)
    oil, engine = log.need("oil_temperature"), log.need("engine_speed")
    assert (oil.rate_Hz, engine.rate_Hz) == pytest.approx((1, 100), rel=1e-6)
    assert engine.time_s[0] - oil.time_s[0] == pytest.approx(0.003)
    assert oil.values == pytest.approx(80 + slow / 10 + 273.15)
    assert engine.values[600] == pytest.approx(10.0)


def test_parquet(tmp_path):
    t = np.arange(0, 10, 0.1)
    unit = pa.field("Boost", pa.float32(), metadata={"unit": "psi"})
    table = pa.table(
        [pa.array(t), pa.array(80 + t), pa.array(np.full(t.size, 10, np.float32)), pa.array(["x"] * t.size)],
        schema=pa.schema(
            [("Time [s]", pa.float64()), ("ECT [degC]", pa.float64()), unit, ("note", pa.string())]
        ),
    )
    path = tmp_path / "run.parquet"
    pq.write_table(table, path)
    log = read_log(path)
    assert log.need("coolant_temperature").values == pytest.approx(80 + t + 273.15)
    assert log.need("boost_pressure").values[0] == pytest.approx(10 * 6894.757, rel=1e-6)
    assert any("text left out" in f.what for f in log.findings)
    stamped = pa.table(
        {"when": pa.array((t * 1e6).astype("int64") + 1764072000_000000, pa.timestamp("us")), "ECT [C]": t}
    )
    pq.write_table(stamped, path)
    log = read_log(path)
    assert log.need("coolant_temperature").time_s == pytest.approx(t, abs=1e-5)
    assert log.start is not None
    assert log.start.year == 2025
    pq.write_table(pa.table({"ECT [C]": t}), path)
    with pytest.raises(LogError, match="no time column"):
        read_log(path)
    assert read_log(path, rate_Hz=10).need("coolant_temperature").time_s == pytest.approx(t)


def test_missing_library_names_the_install_line(tmp_path, monkeypatch):
    import builtins

    path = tmp_path / "run.csv"
    path.write_text("Time [s],ECT [C]\n0,80\n1,81\n2,82\n")
    real = builtins.__import__

    def without(name, *args, **kwargs):
        if name == "pandas":
            raise ImportError(name)
        return real(name, *args, **kwargs)

    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(LogError, match=r'pip install "heatproof\[logs\]"'):
        read_log(path)
