"""File bytes to something a table reader can take: kind of file, size bounds, encoding."""

import hashlib
import io
import os
import zlib
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from heatproof.logs.reading.records import LogError, LogFinding

Kind = Literal["text", "mdf", "parquet"]
MAX_TEXT_BYTES = 512 * 2**20
MAX_BINARY_BYTES = 4 * 2**30
PIECE = 2**16  # bytes unpacked at a time
MAX_COLUMNS = 4000
MAX_CELLS = 50_000_000
MAX_ROWS = 6_000_000
"""16 h at 100 rows a second; bounded before anything is converted, for a packed row of zeros takes no room."""
BLANK = b" \t\r\n\x1a"
EXPORT = "export the log as CSV, Parquet or MDF4 and read that"


@dataclass(frozen=True, eq=False)
class TextBytes:
    """`data`: one byte per character of the ASCII part; `encoding` decodes names and units."""

    data: bytes
    encoding: str
    findings: tuple[LogFinding, ...]
    sha256: str

    def decode(self, raw: bytes) -> str:
        """Text of a few lines; single bad bytes are taken as Windows text."""
        if self.encoding != "utf-8":
            return raw.decode(self.encoding, errors="replace")
        try:
            return raw.decode("utf-8")
        except UnicodeDecodeError:
            return "\n".join(_decode_line(line) for line in raw.split(b"\n"))


def _decode_line(line: bytes) -> str:
    try:
        return line.decode("utf-8")
    except UnicodeDecodeError:
        return line.decode("cp1252", errors="replace")


def file_kind(path: Path) -> Kind:
    """What the first bytes say the file is; LogError for what cannot be a log (with the reason)."""
    where = path.name
    if not path.exists():
        near = _nearest_file(path)
        raise LogError(
            "no such file", where=str(path), next_step=f"did you mean {near}?" if near else "check the path"
        )
    if not path.is_file():
        raise LogError("not a file", where=str(path), next_step="give the log file itself")
    size = path.stat().st_size
    if size == 0:
        raise LogError(
            "the file is empty", where=where, got="0 bytes", next_step="copy it from the logger again"
        )
    with _open(path) as stream:
        head = stream.read(16)
    if head.startswith((b"MDF     ", b"UnFinMF ")):
        _bound(where, size, MAX_BINARY_BYTES)
        return "mdf"
    if head.startswith(b"PAR1"):
        _bound(where, size, MAX_BINARY_BYTES)
        return "parquet"
    if head.startswith(b"PK\x03\x04"):
        raise LogError("this is a zip or spreadsheet file, not a text log", where=where, next_step=EXPORT)
    if path.suffix.lower() in {".mf4", ".mdf", ".dat4"}:
        raise LogError(
            "not an MDF file: its first bytes are wrong", where=where, got=repr(head[:8]), next_step=EXPORT
        )
    if path.suffix.lower() in {".parquet", ".pq"}:
        raise LogError(
            "not a Parquet file: its first bytes are wrong", where=where, got=repr(head[:8]), next_step=EXPORT
        )
    _bound(where, size, MAX_TEXT_BYTES)
    return "text"


def read_text_bytes(path: Path) -> TextBytes:
    """The whole text file, gzip undone, its encoding found. The file itself is only opened for reading."""
    where = path.name
    try:
        raw = path.read_bytes()
    except OSError as error:
        raise LogError(
            "the file cannot be read", where=where, got=str(error), next_step="check its rights"
        ) from error
    digest = hashlib.sha256(raw).hexdigest()
    if raw[:2] == b"\x1f\x8b":
        raw = _unzip(raw, where)
    data, encoding, findings = _to_bytewise(raw, where)
    if not data[:65536].strip(BLANK) and not data.strip(BLANK):
        raise LogError(
            "the file holds only blanks",
            where=where,
            got=f"{len(raw)} bytes",
            next_step="copy it from the logger again",
        )
    return TextBytes(data, encoding, tuple(findings), digest)


def file_hash(path: Path) -> str:
    """SHA-256 of a file, hexadecimal."""
    with open(path, "rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def _open(path: Path):  # type: ignore[no-untyped-def]
    try:
        return open(path, "rb")
    except OSError as error:
        raise LogError(
            "the file cannot be read", where=path.name, got=str(error), next_step="check its rights"
        ) from error


def _nearest_file(path: Path) -> str:
    import difflib

    try:
        names = [entry.name for entry in os.scandir(path.parent)][:2000]
    except OSError:
        return ""
    found = difflib.get_close_matches(path.name, names, n=1)
    return found[0] if found else ""


def _bound(where: str, size: int, limit: int) -> None:
    if size > limit:
        raise LogError(
            "the file is too large",
            where=where,
            got=f"{size / 2**20:.0f} MiB",
            allowed=f"at most {limit / 2**20:.0f} MiB",
            next_step="cut it into single runs, or convert it to MDF4 or Parquet",
        )


def bound_rows(where: str, rows: int) -> None:
    """LogError for more rows than are read."""
    if rows > MAX_ROWS:
        raise LogError(
            "too many rows",
            where=where,
            got=f"more than {MAX_ROWS}",
            allowed=f"at most {MAX_ROWS}",
            next_step="cut it into single runs, or export fewer rows a second",
        )


def _unzip(raw: bytes, where: str) -> bytes:
    """Every member of the file, one after another, and never more than may be read."""
    out, at, rows = io.BytesIO(), 0, 0
    while raw[at : at + 2] == b"\x1f\x8b":
        unpack = zlib.decompressobj(wbits=31)
        while not unpack.eof:
            piece = raw[at : at + PIECE]
            if not piece:
                raise LogError(
                    "gzip file is cut short", where=where, got=f"{len(raw)} bytes", next_step="copy it again"
                )
            try:
                text = unpack.decompress(piece, MAX_TEXT_BYTES + 1 - out.tell())
            except zlib.error as error:
                raise LogError(
                    "damaged gzip file", where=where, got=str(error), next_step="copy it again"
                ) from error
            rows += text.count(b"\n")
            bound_rows(where, rows)
            out.write(text)
            _bound(where, out.tell(), MAX_TEXT_BYTES)
            at += len(piece) - len(unpack.unused_data)
    return out.getvalue()


def _to_bytewise(raw: bytes, where: str) -> tuple[bytes, str, list[LogFinding]]:
    for mark, name in ((b"\xef\xbb\xbf", "utf-8"), (b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be")):
        if raw.startswith(mark):
            note = [LogFinding("note", "encoding", where, f"{name}, with byte-order mark")]
            return _bytewise(raw[len(mark) :], name, where, note)
    if guessed := _utf16_without_mark(raw[:4096]):
        note = [
            LogFinding("note", "encoding", where, f"{guessed}, guessed from zero bytes, no byte-order mark")
        ]
        return _bytewise(raw, guessed, where, note)
    return _bytewise(raw, "", where, [])


def _utf16_without_mark(head: bytes) -> str:
    if len(head) < 8:
        return ""
    even, odd = head[0::2].count(0), head[1::2].count(0)
    half = len(head) / 2
    if odd > 0.8 * half and even < 0.05 * half:
        return "utf-16-le"
    return "utf-16-be" if even > 0.8 * half and odd < 0.05 * half else ""


def _bytewise(
    raw: bytes, name: str, where: str, notes: list[LogFinding]
) -> tuple[bytes, str, list[LogFinding]]:
    if name.startswith("utf-16"):
        text = raw[: len(raw) // 2 * 2].decode(name, errors="replace")
        if len(raw) % 2 or sum(ord(c) > 0x2FFF for c in text) > 0.01 * len(text):
            notes.append(
                LogFinding(
                    "warning", "parts of the file are not utf-16: cut short or two files joined?", where
                )
            )
        raw, name = text.encode("utf-8", errors="replace"), "utf-8"
    raw, nul_note = _without_nul(raw, where)
    notes += nul_note
    _refuse_binary(raw[:65536], where)
    if not name:
        name, note = _eight_bit(raw, where)
        notes.append(note)
    return raw.replace(b"\r\n", b"\n").replace(b"\r", b"\n") if b"\r" in raw else raw, name, notes


def _without_nul(raw: bytes, where: str) -> tuple[bytes, list[LogFinding]]:
    zeros = raw.count(b"\0")
    if not zeros:
        return raw, []
    if zeros > 0.3 * len(raw):
        raise LogError(
            "binary data, not text",
            where=where,
            got=f"{zeros} zero bytes of {len(raw)}",
            next_step="if the logger lost power the file may be beyond help; else " + EXPORT,
        )
    first = raw.find(b"\0")
    line = raw.count(b"\n", 0, first) + 1
    note = LogFinding(
        "warning",
        f"{zeros} zero bytes removed",
        f"{where}:{line}",
        next_step="the logger may have lost power",
    )
    return raw.replace(b"\0", b""), [note]


def _refuse_binary(head: bytes, where: str) -> None:
    odd = sum(head.count(bytes([b])) for b in range(32) if b not in (9, 10, 12, 13, 26))
    high = sum(1 for b in head[:8192] if b > 126)
    if odd > 0.01 * len(head) + 4 or high > 0.3 * min(len(head), 8192):
        raise LogError("binary data, not text", where=where, got=repr(head[:12]), next_step=EXPORT)


def _eight_bit(raw: bytes, where: str) -> tuple[str, LogFinding]:
    try:
        raw.decode("utf-8")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        if _has_utf8_pairs(raw[:65536]):
            return "utf-8", LogFinding(
                "warning", "mixed encodings, bad bytes taken as Windows text", f"{where}:{line}"
            )
        windows = any(0x80 <= b <= 0x9F for b in raw[:65536])
        name = "cp1252" if windows else "latin-1"
        return name, LogFinding("note", "encoding", where, f"{name}, guessed")
    return "utf-8", LogFinding("note", "encoding", where, "ASCII" if raw.isascii() else "utf-8")


def _has_utf8_pairs(head: bytes) -> bool:
    text = head.decode("utf-8", errors="ignore")
    return any(ord(c) > 127 for c in text)
