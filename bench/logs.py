"""Reading logs: a 60-channel, 1 h, 20 Hz run as messy CSV, clean CSV, Parquet and MDF4."""

import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from heatproof.logs.reading.read import read_log

ROWS, CHANNELS = 72_000, 60


def values_of_an_hour() -> np.ndarray:
    """(ROWS, CHANNELS) °C, wandering. Invented."""
    rng = np.random.default_rng(7)
    return np.round(80 + np.cumsum(rng.normal(0, 0.05, (ROWS, CHANNELS)), axis=0), 3)


def _stamps() -> list[str]:
    out = []
    for n in range(ROWS):
        total = 8 * 3600 * 1000 + n * 50
        clock = f"{total // 3600000:02d}:{total // 60000 % 60:02d}:{total // 1000 % 60:02d}"
        ms = f"{total % 1000:03d}"
        out.append(f"{clock},{ms}" if n % 2 else f"25.11.2026 {clock}.{ms}")
    return out


def write_messy(path: Path, values: np.ndarray) -> None:
    """Latin-1, semicolons, decimal commas, four preamble lines, units row, mixed time stamps."""
    names = ";".join(["Time", *(f"Surface temp {n}" for n in range(CHANNELS))])
    units = ";".join(["[s]", *["[°C]"] * CHANNELS])
    head = f"Recorder;7\nDriver;nobody\nCar;invented\nRemark;30 °C\n{names}\n{units}\n"
    with open(path, "w", encoding="latin-1") as stream:
        stream.write(head)
        for stamp, row in zip(_stamps(), values, strict=True):
            stream.write(stamp + ";" + ";".join([f"{v:.3f}".replace(".", ",") for v in row]) + "\n")


def write_mdf(path: Path, values: np.ndarray) -> None:
    """Sixty channels in four groups: 20 at 1 Hz, 20 at 10 Hz, 12 at 50 Hz, 8 at 100 Hz."""
    from asammdf import MDF, Signal

    with MDF() as mdf:
        first = 0
        for count, rate in ((20, 1), (20, 10), (12, 50), (8, 100)):
            t = np.arange(3600 * rate) / rate
            pick = np.linspace(0, ROWS - 1, t.size).astype(int)
            mdf.append(
                [
                    Signal(values[pick, n].copy(), t, unit="degC", name=f"Surface temp {n}")
                    for n in range(first, first + count)
                ]
            )
            first += count
        mdf.save(path, overwrite=True)


def write_parquet(path: Path, values: np.ndarray) -> None:
    """One table with the time in s."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    columns = {"Time [s]": np.arange(ROWS) / 20}
    columns |= {f"Surface temp {n} [degC]": values[:, n].astype(np.float32) for n in range(CHANNELS)}
    pq.write_table(pa.table(columns), path)


def _best(action: Callable[[], object], repeats: int = 3) -> float:
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        action()
        times.append(time.perf_counter() - start)
    return min(times)


def run() -> list[tuple[str, float, str]]:
    """Rows of (label, value, unit)."""
    values = values_of_an_hour()
    out = []
    with tempfile.TemporaryDirectory() as folder:
        for label, name, write in (
            ("messy CSV", "run.csv", write_messy),
            ("Parquet", "run.parquet", write_parquet),
            ("MDF4", "run.mf4", write_mdf),
        ):
            path = Path(folder) / name
            write(path, values)
            out.append((f"{label}, 60 channels, 1 h: size", path.stat().st_size / 1e6, "MB"))
            out.append((f"{label}, 60 channels, 1 h: read", _best(lambda path=path: read_log(path)), "s"))
    return out


if __name__ == "__main__":
    for label, value, unit in run():
        print(f"{label:45s} {value:8.3f} {unit}")
