"""What the readers of binary logs share: bounds and error text."""

from heatproof.logs.reading.records import Channel, LogError
from heatproof.logs.reading.text_bytes import MAX_CELLS, MAX_COLUMNS, bound_rows

INSTALL = 'pip install "heatproof[logs]"'
AGAIN = "copy the file from the logger again, or export it as CSV"


def need_channels(channels: list[Channel], where: str) -> None:
    """LogError if nothing was measured."""
    if not any(c.measured.any() for c in channels):
        raise LogError("no channel holds numbers", where=where, next_step=AGAIN)


def bound(where: str, rows: int, columns: int) -> None:
    """LogError for more columns or values than are read."""
    if columns > MAX_COLUMNS:
        raise LogError(
            "too many columns",
            where=where,
            got=str(columns),
            allowed=f"at most {MAX_COLUMNS}",
            next_step="export only the channels you need",
        )
    bound_rows(where, rows)
    if rows * columns > MAX_CELLS:
        raise LogError(
            "too many values",
            where=where,
            got=str(rows * columns),
            allowed=f"at most {MAX_CELLS}",
            next_step="cut it into single runs",
        )


def short(error: BaseException) -> str:
    """First line of a library's error."""
    return f"{type(error).__name__}: {error}".split("\n")[0][:160]
