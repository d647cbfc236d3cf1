"""CAN frames to channels through a DBC file (cantools)."""

from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatproof.logs.reading.records import Floats, LogError, LogFinding

EXTENDED = 0x1FFFFFFF
LARGEST_DBC = 32 * 2**20  # bytes
AGAIN = "export the DBC file again from the program that made it"


def decode_frames(
    time_s: Floats,
    ident: NDArray[np.int64],
    data: NDArray[np.uint8],
    length: NDArray[Any],
    *,
    dbc: Path,
    findings: list[LogFinding],
) -> list[tuple[str, str, Floats, Floats, str]]:
    """Channels of all known frames: (name, unit, times, values, source). Shapes: (n,), (n,), (n, bytes),
    (n,).

    Frames that the DBC does not know, and frames too short for their message, are counted in `findings`.
    """
    database = _database(dbc)
    out = []
    unknown = 0
    for number in np.unique(ident):
        rows = np.flatnonzero(ident == number)
        try:
            message = database.get_message_by_frame_id(int(number) & EXTENDED)
        except KeyError:
            unknown += rows.size
            continue
        out += _message(message, time_s[rows], data[rows], length[rows], dbc.name, findings)
    if unknown:
        findings.append(
            LogFinding("note", f"{unknown} of {ident.size} frames are not in the DBC file", dbc.name)
        )
    return out


def _database(dbc: Path) -> Any:
    try:
        import cantools
    except ImportError as error:
        raise LogError(
            "reading bus frames needs cantools", next_step='pip install "heatproof[logs]"'
        ) from error
    if not dbc.is_file():
        raise LogError("no such DBC file", where=str(dbc), next_step="check the path")
    if dbc.stat().st_size > LARGEST_DBC:
        raise LogError(
            "the DBC file is too large",
            where=dbc.name,
            allowed=f"at most {LARGEST_DBC // 2**20} MiB",
            next_step=AGAIN,
        )
    try:
        return cantools.database.load_file(dbc, strict=False)
    except Exception as error:  # the library raises many kinds on damaged text
        got = str(error).split("\n")[0][:160] or type(error).__name__
        raise LogError("the DBC file cannot be read", where=dbc.name, got=got, next_step=AGAIN) from error


def _message(
    message: Any,
    time_s: Floats,
    data: NDArray[np.uint8],
    length: NDArray[Any],
    name: str,
    findings: list[LogFinding],
) -> list[tuple[str, str, Floats, Floats, str]]:
    """Decode every frame of one message; a multiplexed signal is NaN in frames that do not carry it."""
    whole = length >= message.length
    if not whole.all():
        findings.append(
            LogFinding("warning", f"{int((~whole).sum())} short frame(s) of {message.name}", name)
        )
    times, frames = time_s[whole], data[whole][:, : message.length]
    columns = {signal.name: np.full(times.size, np.nan) for signal in message.signals}
    failed = 0
    for n in range(times.size):
        try:
            decoded = message.decode(frames[n].tobytes(), decode_choices=False)
        except (ValueError, KeyError, IndexError):
            failed += 1
            continue
        for key, value in decoded.items():
            columns[key][n] = value
    if failed:
        findings.append(LogFinding("warning", f"{failed} frame(s) of {message.name} cannot be decoded", name))
    return [
        (s.name, s.unit or "", times, columns[s.name], f"frame 0x{message.frame_id:X}")
        for s in message.signals
    ]
