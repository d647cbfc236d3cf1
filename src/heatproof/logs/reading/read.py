"""The door to a log file: CSV as it comes, Parquet, MDF4. The file is only ever opened for reading."""

from dataclasses import replace
from pathlib import Path

from heatproof.logs.reading.channel_map import ChannelMap, read_channel_map
from heatproof.logs.reading.records import Log, LogError
from heatproof.logs.reading.text_bytes import file_kind, read_text_bytes


def read_log(
    path: str | Path,
    channel_map: ChannelMap | str | Path | None = None,
    *,
    rate_Hz: float | None = None,
    dbc: str | Path | None = None,
) -> Log:
    """One test run as `Log`: channels in SI, each with its own time, and a finding for every guess.

    Parameters
    ----------
    path : CSV (any common layout, also `.gz`), Parquet or MDF4.
    channel_map : corrections by the user, or the YAML file that holds them; they win over every guess.
    rate_Hz : rows per second of a log without a time column.
    dbc : description of the bus frames inside an MDF4 file.

    Raises
    ------
    LogError : what, where (file:line), got, allowed, next step. Nothing else is raised for a bad file.
    """
    path = Path(path)
    told = _map(channel_map, rate_Hz)
    try:
        return _read(path, told, Path(dbc) if dbc else None)
    except MemoryError as error:
        step = "close other programs, or cut the log into single runs"
        raise LogError("not enough memory to read the log", where=path.name, next_step=step) from error


def _read(path: Path, told: ChannelMap, dbc: Path | None) -> Log:
    kind = file_kind(path)
    if kind == "mdf":
        from heatproof.logs.reading.read_mdf import read_mdf_log

        return read_mdf_log(path, channel_map=told, dbc=dbc)
    if kind == "parquet":
        from heatproof.logs.reading.read_parquet import read_parquet_log

        return read_parquet_log(path, channel_map=told)
    from heatproof.logs.reading.read_text import read_text_log

    return read_text_log(read_text_bytes(path), path=str(path), name=path.name, channel_map=told)


def _map(channel_map: ChannelMap | str | Path | None, rate_Hz: float | None) -> ChannelMap:
    told = channel_map if isinstance(channel_map, ChannelMap) else ChannelMap()
    if isinstance(channel_map, str | Path):
        told = read_channel_map(channel_map)
    if rate_Hz is None:
        return told
    if not 0 < rate_Hz <= 1e5:
        raise LogError("rate_Hz is not a rate", got=repr(rate_Hz), allowed="a number above 0, in Hz")
    return replace(told, rate_Hz=float(rate_Hz))
