"""Test day: logs of the project, what their channels mean, and their traces."""

import re
from pathlib import Path
from typing import Any

import numpy as np

from heatproof.kit.files import write_whole
from heatproof.kit.findings import Finding, Refused, listed
from heatproof.kit.records.variant import Where

ENDINGS = (".csv", ".txt", ".parquet", ".mf4")
NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._-]{0,99}")
MOST_POINTS = 60_000


def refuse(what: str, **more: str) -> Refused:
    """One error about a log."""
    return Refused([Finding("error", what, Where("logs"), **more)])


def log_path(folder: Path, name: str) -> Path:
    """A log of the project by its bare file name. Refused for anything else."""
    if not NAME.fullmatch(name) or not name.lower().endswith(ENDINGS):
        raise refuse(
            "that is no name of a log",
            got=name[:80],
            allowed=f"letters, digits, space . _ -, ending in {listed(ENDINGS)}",
        )
    path = folder / "logs" / name
    if path.is_symlink() or (folder / "logs").is_symlink():
        raise refuse("logs may not be links out of the project", got=name)
    return path


def logs_view(folder: Path) -> dict[str, Any]:
    """Names and sizes."""
    room = folder / "logs"
    found = (
        [p for p in sorted(room.iterdir()) if p.is_file() and p.suffix.lower() in ENDINGS]
        if room.is_dir()
        else []
    )
    return {"logs": [{"name": p.name, "bytes": p.stat().st_size} for p in found], "endings": list(ENDINGS)}


def store_log(folder: Path, name: str, data: bytes) -> str:
    """Keeps an upload whole; never over a log that is there. Refused."""
    path = log_path(folder, name)
    if not data:
        raise refuse("the file is empty", got=name)
    if path.exists():
        raise refuse(
            "there is a log of that name already; it was not touched", got=name, next_step="rename the file"
        )
    path.parent.mkdir(exist_ok=True)
    write_whole(path, data)
    return path.name


def log_view(folder: Path, name: str) -> dict[str, Any]:
    """Channels, findings and traces of one log."""
    from heatproof.logs.read import read_log
    from heatproof.logs.records import LogError

    path = log_path(folder, name)
    if not path.is_file():
        raise refuse("no such log", got=name, allowed=listed(x["name"] for x in logs_view(folder)["logs"]))
    try:
        log = read_log(path)
    except LogError as error:
        raise Refused(
            [
                Finding(
                    "error",
                    error.what,
                    Where(f"logs/{name}"),
                    got=error.got,
                    allowed=error.allowed,
                    next_step=error.next_step,
                )
            ]
        ) from error
    channels = []
    for channel in log.channels:
        values = channel.values - 273.15 if channel.si_unit == "K" else channel.values
        step = max(1, int(np.ceil(values.size / MOST_POINTS)))
        channels.append(
            {
                "column": channel.column,
                "quantity": channel.quantity,
                "unit": "°C" if channel.si_unit == "K" else channel.si_unit,
                "rate": channel.rate_Hz,
                "samples": int(channel.measured.sum()),
                "place": channel.place,
                "time": [round(float(t), 3) for t in channel.time_s[::step]],
                "values": [round(float(v), 3) if np.isfinite(v) else None for v in values[::step]],
            }
        )
    return {
        "name": name,
        "channels": channels,
        "findings": [{"level": f.level, "text": f.text()} for f in log.findings],
        "span": list(log.span_s),
    }
