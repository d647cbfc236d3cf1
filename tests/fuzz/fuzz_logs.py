"""Logs: text as loggers write it, packed text, Parquet, MDF4, bus frames with their DBC, and channel maps."""

import gzip
import io
import random
from pathlib import Path

import fuzz_mutators as M
import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
from asammdf import MDF, Signal, Source
from fuzz_readers import Reader, Told

from heatproof.logs.cleaning.clean import clean
from heatproof.logs.reading.channel_map import map_of, read_channel_map, save_channel_map
from heatproof.logs.reading.read import read_log
from heatproof.logs.reading.records import LogError
from heatproof.logs.reducing.events import find_events

TIMES = np.arange(0, 60, 0.25)


def rows(head: str, form: str, count: int = 150, sep: str = ",") -> bytes:
    """A text log; `form` is filled with time, a temperature, a speed."""
    lines = [form.format(0.1 * k, 80 + 0.2 * k, 1500 + 10 * k).replace("|", sep) for k in range(count)]
    return (head.replace("|", sep) + "\n" + "\n".join(lines) + "\n").encode()


TEXTS = (
    rows("Time [s]|Oil temp [degC]|Engine speed [rpm]", "{0:.2f}|{1:.1f}|{2:.0f}"),
    rows("Zeit [s]|Öltemperatur [°C]|Drehzahl [1/min]", "{0:.2f}|{1:.1f}|{2:.0f}", sep=";").replace(b".", b","),
    rows("Logger 3\nDate: 2026-01-31\n\nTime|Coolant|RPM\ns|degF|rpm", "{0:.2f}|{1:.1f}|{2:.0f}", sep="\t"),
    rows("timestamp|coolant_temp_C|rpm", "2026-01-31 10:00:{0:06.3f}|{1:.1f}|{2:.0f}"),
    b"time,channel,value\n" + b"".join(b"%d,Oil temp [degC],%d\n%d,Engine speed [rpm],%d\n" % (k, 80 + k, k, 900 + k)
                                       for k in range(90)),
)  # fmt: skip


def parquet() -> tuple[bytes, ...]:
    unit = pa.field("Boost", pa.float32(), metadata={"unit": "psi"})
    schema = pa.schema([pa.field("Time [s]", pa.float64()), pa.field("Oil temp [degC]", pa.float64()), unit,
                        pa.field("note", pa.string())])  # fmt: skip
    columns = [TIMES, 80 + TIMES, np.full(TIMES.size, 10, np.float32), ["x"] * TIMES.size]
    table = pa.table([pa.array(c, f.type) for c, f in zip(columns, schema, strict=True)], schema=schema)
    stamps = pa.table(
        {"when": pa.array((TIMES * 1e9).astype("datetime64[ns]")), "Oil temp [degC]": 80 + TIMES}
    )
    out = []
    for one, more in ((table, {"compression": "none"}), (table, {"compression": "zstd"}), (stamps, {"version": "1.0"}),
                      (table, {"compression": "gzip", "use_dictionary": False, "data_page_version": "2.0"})):  # fmt: skip
        stream = io.BytesIO()
        pq.write_table(one, stream, **more)
        out.append(stream.getvalue())
    return tuple(out)


def mdf(folder: Path, compression: int, bus: bool) -> bytes:
    path = folder / "b.mf4"
    with MDF() as made:
        if bus:
            made.append(
                Signal(frames(), TIMES, name="CAN_DataFrame", source=Source("CAN 1", "CAN 1", "", 2, 2))
            )
        else:
            many = [
                Signal(80 + np.sin(TIMES + n), TIMES, unit="degC", name=f"Oil temp {n}") for n in range(4)
            ]
            made.append(
                [*many, Signal((900 + TIMES).astype(np.uint16), TIMES, unit="1/min", name="Engine speed")]
            )
            made.append([Signal(20 + TIMES[::4], TIMES[::4], unit="degC", name="Ambient")])
        made.save(path, overwrite=True, compression=compression)
    return path.read_bytes()


def frames() -> np.recarray:
    """CAN frames of two messages, by plain packing."""
    n = TIMES.size
    ident = np.where(np.arange(n) % 4 == 3, 512, 256).astype(np.uint32)
    data = (np.arange(8 * n) % 97).astype(np.uint8).reshape(n, 8)
    one, eight = np.ones(n, np.uint8), np.full(n, 8, np.uint8)
    kinds = [("BusChannel", "u1"), ("ID", "<u4"), ("IDE", "u1"), ("DLC", "u1"), ("DataLength", "u1")]
    names = [(f"CAN_DataFrame.{name}", kind) for name, kind in kinds]
    return np.rec.fromarrays(
        [one, ident, 0 * one, eight, eight, data], dtype=[*names, ("CAN_DataFrame.DataBytes", "u1", (8,))]
    )


DBC = b"""VERSION ""
NS_ :
BS_:
BU_: ECU
BO_ 256 ENGINE: 8 ECU
 SG_ EngineSpeed : 0|16@1+ (0.25,0) [0|16000] "rpm" ECU
 SG_ CoolantTemp : 16|8@1+ (1,-40) [-40|215] "degC" ECU
 SG_ OilTemp : 31|16@0- (0.1,0) [-100|300] "degC" ECU
BO_ 512 AIR: 4 ECU
 SG_ Page M : 24|8@1+ (1,0) [0|3] "" ECU
 SG_ AmbientTemp m1 : 0|8@1+ (0.5,-40) [-40|87] "degC" ECU
CM_ SG_ 256 OilTemp "in the sump";
VAL_ 512 Page 0 "none" 1 "air" ;
"""


class Logs(Reader):
    """A log of one kind: read, cleaned, its events found, as the page does."""

    ending = ".csv"

    def start(self) -> None:
        self.seeds = TEXTS

    def damaged(self, data: bytes, dice: random.Random) -> bytes:
        return M.text(data, dice)

    def put(self, dice: random.Random) -> None:
        self.path = self.inputs / f"run{self.ending}"
        self.path.write_bytes(self.damaged(dice.choice(self.seeds), dice))

    def more(self) -> dict[str, Path]:
        return {}

    def read(self) -> None:
        try:
            log = read_log(self.path, **self.more())
            assert log.channels
            find_events(clean(log).log)
        except LogError as error:
            good = bool(error.what and error.where and (error.next_step or error.allowed))
            raise Told(error.text(), good=good) from None


class Gzip(Logs):
    ending = ".csv.gz"

    def damaged(self, data: bytes, dice: random.Random) -> bytes:
        return M.packed(data, dice) if dice.random() < 0.6 else gzip.compress(M.text(data, dice), 1)


class Parquet(Logs):
    ending = ".parquet"

    def start(self) -> None:
        self.seeds = parquet()

    def damaged(self, data: bytes, dice: random.Random) -> bytes:
        return M.binary(data, dice)


class Mdf(Parquet):
    ending = ".mf4"

    def start(self) -> None:
        self.seeds = tuple(mdf(self.room, pack, bus) for pack in (0, 2) for bus in (False, True))
        self.dbc = self.room / "car.dbc"
        self.dbc.write_bytes(DBC)

    def more(self) -> dict[str, Path]:
        return {"dbc": self.dbc}


class Dbc(Mdf):
    """A whole bus log through a damaged description of its frames."""

    def start(self) -> None:
        (self.inputs / "bus.mf4").write_bytes(mdf(self.room, 0, True))
        self.path, self.dbc = self.inputs / "bus.mf4", self.inputs / "car.dbc"

    def put(self, dice: random.Random) -> None:
        self.dbc.write_bytes(M.text(DBC, dice))


class Maps(Logs):
    """A channel map beside a whole log: read, applied, and what was guessed written into a copy."""

    SEED = b"""# names of this car
rate_Hz: 10
time: "Time [s]"
channels:
  "Oil temp [degC]": {quantity: oil_temperature, unit: degC, sensor: "K bead", place: oil.sump, time_constant_s: 4}
  "Engine speed [rpm]":
    quantity: engine_speed   # from the crank
    ignore: false
"""

    def start(self) -> None:
        self.path = self.inputs / "run.csv"
        self.path.write_bytes(TEXTS[0])
        self.map = self.inputs / "run.yaml"

    def put(self, dice: random.Random) -> None:
        self.map.write_bytes(M.text(self.SEED, dice))

    def read(self) -> None:
        try:
            told = read_channel_map(self.map)
            copy = self.room / "copy.yaml"
            copy.write_bytes(self.map.read_bytes())
            log = read_log(self.path, told)
            save_channel_map(copy, map_of(log).merged(told))
            read_channel_map(copy)
        except LogError as error:
            raise Told(error.text(), good=bool(error.what and error.where)) from None


READERS = {"csv": Logs, "gzip": Gzip, "parquet": Parquet, "mdf": Mdf, "dbc": Dbc, "channel_map": Maps}
