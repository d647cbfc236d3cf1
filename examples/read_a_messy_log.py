"""What is in this logger file, and what can be believed? An invented file with the usual faults is written and read."""

from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from heatproof.logs.cleaning.clean import CleanLog, clean
from heatproof.logs.reading.read import read_log


def write_invented(path: Path, seed: int = 1) -> float:
    """Semicolons, decimal commas, a line of units, drop-outs shown as 1372. Returns the true highest charge
    temperature, degC."""
    rng = np.random.default_rng(seed)
    time = np.arange(0.0, 300.0, 0.5)
    charge = 35.0 + 20.0 * np.sin(time / 40.0) ** 2
    speed = 2500.0 + 2000.0 * np.sin(time / 40.0) ** 2
    shown = charge + rng.normal(0.0, 0.1, time.size)
    shown[rng.random(time.size) < 0.01] = 1372.0
    rows = ["Logger export;;", "Time;Charge cooler out;Engine speed", "s;degC;rpm"]
    rows += [f"{t:.1f};{c:.1f};{n:.0f}".replace(".", ",") for t, c, n in zip(time, shown, speed, strict=True)]
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return float(charge.max())


def main(path: Path) -> CleanLog:
    """The cleaned log, everything that was dropped, and what was noticed."""
    found = clean(read_log(path))
    for channel in found.log.channels:
        dropped = found.dropped_of(channel.column)
        print(
            f"{channel.column}: read as {channel.quantity}, {channel.rate_Hz:g} Hz, {dropped} samples dropped"
        )
    for finding in found.log.findings + found.findings:
        print(f"{finding.level}: {finding.what}")
    return found


if __name__ == "__main__":
    with TemporaryDirectory() as folder:
        write_invented(Path(folder) / "run.csv")
        main(Path(folder) / "run.csv")
