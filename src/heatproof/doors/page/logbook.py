"""Logs of a project: kept, read once, cleaned, and their channels named. The log itself is never changed.

Names given on the page stand in `logs/NAME.yaml`, where `heatproof log` keeps them too; comments in it stay.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, Unpack

from heatproof._files import write_whole
from heatproof.kit.commented import commented_text, load_commented
from heatproof.kit.findings import Finding, More, Refused, Where, listed
from heatproof.kit.tree import Source
from heatproof.logs.cleaning.clean import CleanLog, clean
from heatproof.logs.reading.channel_map import KEYS, ChannelMap, read_channel_map
from heatproof.logs.reading.read import read_log
from heatproof.logs.reading.records import Log, LogError
from heatproof.logs.reducing.events import Event, find_events
from heatproof.logs.reducing.steady import steady_stretches

ENDINGS = (".csv", ".txt", ".parquet", ".mf4")
NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._-]{0,99}")
MOST_READ = 4


@dataclass(frozen=True, eq=False)
class ReadLog:
    """One log as read and as cleaned."""

    log: Log
    clean: CleanLog
    events: tuple[Event, ...]


def refuse(what: str, **more: Unpack[More]) -> Refused:
    """One error about a log."""
    return Refused([Finding("error", what, Where("logs"), **more)])


def as_refused(error: LogError, name: str) -> Refused:
    """What a reader of logs says, as any other refusal of the page."""
    more: More = {"got": error.got, "allowed": error.allowed, "next_step": error.next_step}
    place = error.where if "/" not in error.where else ""
    file, _, line = place.partition(":")
    where = Where(f"logs/{file or name}", int(line) if line.isdigit() else 0)
    return Refused([Finding("error", error.what, where, **more)])


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


def log_names(folder: Path) -> list[Path]:
    """Logs in the project, by name."""
    room = folder / "logs"
    if not room.is_dir():
        return []
    return [p for p in sorted(room.iterdir()) if p.is_file() and p.suffix.lower() in ENDINGS]


def known_logs(folder: Path, names: list[str]) -> None:
    """Refused where none is named, or one is not there."""
    if not names:
        raise refuse("no log was named", next_step="choose one, or read one")
    for name in names:
        if not log_path(folder, name).is_file():
            raise refuse("no such log", got=name, allowed=listed(p.name for p in log_names(folder)))


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


def map_path(path: Path) -> Path:
    """The file that names a log's channels."""
    return path.with_name(f"{path.name.rpartition('.')[0]}.yaml")


def opened(folder: Path, name: str) -> ReadLog:
    """Read and cleaned, kept until the file or its names change. Refused."""
    path = log_path(folder, name)
    if not path.is_file():
        raise refuse("no such log", got=name, allowed=listed(p.name for p in log_names(folder)))
    try:
        return _read(path, stamp(path), stamp(map_path(path)))
    except LogError as error:
        raise as_refused(error, name) from error


def stamp(path: Path) -> tuple[int, int]:
    """Time and size: tells one state of a file from another; zeros where there is none."""
    try:
        told = path.stat()
    except OSError:
        return 0, 0
    return told.st_mtime_ns, told.st_size


@lru_cache(maxsize=MOST_READ)
def _read(path: Path, _log: tuple[int, int], named: tuple[int, int]) -> ReadLog:
    told: ChannelMap | None = read_channel_map(map_path(path)) if named != (0, 0) else None
    log = read_log(path, told)
    cleaned = clean(log)
    events = (*find_events(cleaned.log), *steady_stretches(cleaned.log))
    return ReadLog(log, cleaned, tuple(sorted(events, key=lambda one: (one.start_s, one.kind))))


# --- names of channels --------------------------------------------------------------------------------------
def name_channels(folder: Path, name: str, rows: Iterable[dict[str, Any]]) -> None:
    """Writes what the page says of columns into the log's map, whole, comments kept. Refused; nothing is written then."""
    read = opened(folder, name)
    path = map_path(log_path(folder, name))
    if path.is_symlink():
        raise refuse("the channel map may not be a link", got=path.name)
    text = edited_map(path, {row["column"]: row for row in rows}, read.log.columns)
    try:
        read_channel_map(Source(path.name, text))
        write_whole(path, text.encode())
    except LogError as error:
        raise as_refused(error, path.name) from error


def edited_map(path: Path, rows: dict[str, dict[str, Any]], columns: Iterable[str]) -> str:
    """Text of the map with these rows: an empty entry goes, so that the reader guesses again."""
    from ruamel.yaml.comments import CommentedMap

    unknown = sorted(rows.keys() - set(columns))
    if unknown:
        raise refuse("the log has no such column", got=unknown[0][:80], allowed=listed(columns))
    data = load_commented(path) if path.exists() else None
    if data is None:
        data = CommentedMap()
        data.yaml_set_start_comment("What the channels of this log mean. What stands here wins over guesses.")
    if data.get("channels") is None:
        data["channels"] = CommentedMap()
    table = data["channels"]
    for column, row in rows.items():
        entry = table.setdefault(column, CommentedMap())
        for key in KEYS:
            if key in row and row[key] not in ("", None, False):
                entry[key] = row[key]
            elif key in row:
                entry.pop(key, None)
        if not entry:
            del table[column]
    return commented_text(data)
