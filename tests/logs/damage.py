"""A seeded maker of damaged logs. `damaged_files(folder, seed)` writes a hundred and says what was done to
each."""

import gzip
import io
import zipfile
from collections.abc import Callable
from pathlib import Path

import numpy as np

Make = Callable[[bytes, np.random.Generator], bytes]


def _rows(data: bytes) -> list[bytes]:
    return data.rstrip(b"\n").split(b"\n")


def _text(rows: list[bytes]) -> bytes:
    return b"\n".join(rows) + b"\n"


def cut(data: bytes, rng: np.random.Generator) -> bytes:
    return data[: int(rng.integers(1, len(data)))]


def header_only(data: bytes, rng: np.random.Generator) -> bytes:
    return _text(_rows(data)[:1])


def nothing(data: bytes, rng: np.random.Generator) -> bytes:
    return b""


def blanks(data: bytes, rng: np.random.Generator) -> bytes:
    return b" \r\n\t" * int(rng.integers(1, 500))


def noise(data: bytes, rng: np.random.Generator) -> bytes:
    return rng.bytes(int(rng.integers(20, 40_000)))


def nul_block(data: bytes, rng: np.random.Generator) -> bytes:
    at = int(rng.integers(len(data)))
    return data[:at] + b"\0" * int(rng.integers(1, 2000)) + data[at:]


def mostly_nul(data: bytes, rng: np.random.Generator) -> bytes:
    return data[:500] + b"\0" * (4 * len(data))


def nan_storm(data: bytes, rng: np.random.Generator) -> bytes:
    rows = [row.split(b",") for row in _rows(data)]
    words = [b"NaN", b"", b"---", b"#N/A", b"inf", b"-", b"1.#QNAN", b"err"]
    for row in rows[1:]:
        for n in range(1, len(row)):
            if rng.random() < 0.7:
                row[n] = words[int(rng.integers(len(words)))]
    return _text([b",".join(row) for row in rows])


def all_nan(data: bytes, rng: np.random.Generator) -> bytes:
    rows = [row.split(b",") for row in _rows(data)]
    return _text([b",".join(rows[0])] + [b",".join([r[0]] + [b"NaN"] * (len(r) - 1)) for r in rows[1:]])


def time_back(data: bytes, rng: np.random.Generator) -> bytes:
    rows = _rows(data)
    return _text([rows[0], *rows[:0:-1]])


def shuffled(data: bytes, rng: np.random.Generator) -> bytes:
    rows = _rows(data)
    return _text([rows[0], *(rows[1:][i] for i in rng.permutation(len(rows) - 1))])


def twice(data: bytes, rng: np.random.Generator) -> bytes:
    return data + data


def ragged(data: bytes, rng: np.random.Generator) -> bytes:
    rows = _rows(data)
    for n in rng.integers(1, len(rows), 20):
        rows[n] = rows[n] + b",7" * int(rng.integers(1, 9))
    return _text(rows)


def short_rows(data: bytes, rng: np.random.Generator) -> bytes:
    rows = _rows(data)
    for n in rng.integers(1, len(rows), 20):
        rows[n] = rows[n][: int(rng.integers(1, len(rows[n])))]
    return _text(rows)


def open_quote(data: bytes, rng: np.random.Generator) -> bytes:
    at = int(rng.integers(len(data)))
    return data[:at] + b'"' + data[at:]


def bad_bytes(data: bytes, rng: np.random.Generator) -> bytes:
    out = bytearray(data)
    for at in rng.integers(0, len(out), 60):
        out[at] = int(rng.integers(128, 256))
    return bytes(out)


def flipped(data: bytes, rng: np.random.Generator) -> bytes:
    out = bytearray(data)
    for at in rng.integers(0, len(out), 40):
        out[at] ^= 1 << int(rng.integers(8))
    return bytes(out)


def half_utf16(data: bytes, rng: np.random.Generator) -> bytes:
    half = len(data) // 2
    return data[:half].decode("utf-8", "ignore").encode("utf-16") + data[half:]


def odd_utf16(data: bytes, rng: np.random.Generator) -> bytes:
    return data.decode("utf-8", "ignore").encode("utf-16")[:-1]


def other_delimiter(data: bytes, rng: np.random.Generator) -> bytes:
    half = len(data) // 2
    return data[:half] + data[half:].replace(b",", b";")


def wide(data: bytes, rng: np.random.Generator) -> bytes:
    return b",".join(b"c%d" % n for n in range(1_000_000)) + b"\n" + b",".join([b"1"] * 1_000_000) + b"\n"


def one_line(data: bytes, rng: np.random.Generator) -> bytes:
    return b"x" * 2_000_000


def no_time(data: bytes, rng: np.random.Generator) -> bytes:
    return _text([row.split(b",", 1)[1] for row in _rows(data)])


def broken_times(data: bytes, rng: np.random.Generator) -> bytes:
    rows = _rows(data)
    return _text([rows[0], *(b"99:99:99.999" + row[12:] for row in rows[1:])])


def huge_numbers(data: bytes, rng: np.random.Generator) -> bytes:
    return data.replace(b"14.5", b"1" * 400).replace(b"97.0", b"1e999")


def zipped(data: bytes, rng: np.random.Generator) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("sheet.xml", data[:2000])
    return out.getvalue()


def cut_gzip(data: bytes, rng: np.random.Generator) -> bytes:
    packed = gzip.compress(data)
    return packed[: int(rng.integers(20, len(packed) - 1))]


def bad_gzip(data: bytes, rng: np.random.Generator) -> bytes:
    packed = bytearray(gzip.compress(data))
    packed[len(packed) // 2] ^= 255
    return bytes(packed)


TEXT: tuple[tuple[Make, int], ...] = (
    (cut, 10), (header_only, 1), (nothing, 1), (blanks, 2), (noise, 6), (nul_block, 4), (mostly_nul, 1),
    (nan_storm, 3), (all_nan, 1), (time_back, 1), (shuffled, 2), (twice, 1), (ragged, 3), (short_rows, 3),
    (open_quote, 6), (bad_bytes, 5), (flipped, 8), (half_utf16, 1), (odd_utf16, 1), (other_delimiter, 1),
    (wide, 1),
    (one_line, 1), (no_time, 1), (broken_times, 1), (huge_numbers, 1), (zipped, 1), (cut_gzip, 4),
    (bad_gzip, 1),
)  # fmt: skip
BINARY: tuple[tuple[Make, int], ...] = ((cut, 5), (flipped, 8), (noise, 1))


def damaged_files(folder: Path, base: dict[str, bytes], *, seed: int) -> list[tuple[str, Path]]:
    """Write the files; `base` holds whole files by ending (`.csv`, `.mf4`, `.parquet`)."""
    rng = np.random.default_rng(seed)
    out = []
    for ending, table in ((".csv", TEXT), (".mf4", BINARY), (".parquet", BINARY)):
        for make, count in table:
            for n in range(count):
                path = folder / f"{make.__name__}_{n}{ending}"
                path.write_bytes(make(base[ending], rng))
                out.append((make.__name__, path))
    return out
