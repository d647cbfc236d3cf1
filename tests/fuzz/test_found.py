"""What damaged inputs have found, at its smallest: each of these once ended in a traceback, a crash, a hang, or a
damaged result taken for a good one."""

import gzip
import json
import shutil
import warnings
from pathlib import Path

import numpy as np
import pytest

from heatproof.doors.page.papers import paper_view
from heatproof.kit.commented import load_commented, read_commented
from heatproof.kit.findings import Refused
from heatproof.kit.read import read_project
from heatproof.logs.correcting.memory import Lesson, read_memory, remember
from heatproof.logs.reading.channel_map import ChannelMap, MapRow, read_channel_map, save_channel_map
from heatproof.logs.reading.read import read_log
from heatproof.logs.reading.records import LogError
from heatproof.logs.reading.text_bytes import MAX_TEXT_BYTES
from heatproof.report.record_shape import parsed_record
from heatproof.shapes.tracing import read_or_discard
from heatproof.study.store import seal, unseal

SMALL = Path(__file__).parents[1] / "kit" / "small"
DRIVE = "{kind: grade, speed: 80 km/h, grade: 6 %, duration: 10 min}"


# --- speed traces -----------------------------------------------------------------------------------------
def traced(tmp_path: Path, file: str, data: bytes) -> Refused:
    folder = Path(shutil.copytree(SMALL, tmp_path / "small"))
    duty = folder / "duties" / "hill.yaml"
    duty.write_text(duty.read_text().replace(DRIVE, f"{{kind: trace, file: {file}}}"))
    (folder / "run.csv").write_bytes(data)
    with pytest.raises(Refused) as caught:
        read_project(folder)
    return caught.value


@pytest.mark.parametrize(
    ("file", "data", "says"),
    [
        ("run.csv", b'time [s],speed [km/h]\n0,"' + b"9" * 140_000, "not a row of cells"),
        ('"a\\0b.csv"', b"", "characters that do not show"),
        ("x" * 300, b"", "file is missing"),
        ("duties", b"", "not a file"),
    ],
)
def test_traces(tmp_path, file, data, says):
    refused = traced(tmp_path, file, data)
    (finding,) = [f for f in refused.findings if says in f.what]
    assert finding.where.line > 0
    assert finding.next_step


# --- YAML edited with its comments kept ---------------------------------------------------------------------
@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("a: " + "[" * 5000, "nest"),
        ("a: &a [x, x]\nb: &b [*a, *a]\n", "anchors"),
        ("a: !!python/object/apply:os.abort []\n", "tags"),
        ("a: 1\na: 2\n", "given twice"),
        ("\0", "binary"),
        ("- 1\n", "no mapping"),
    ],
)
@pytest.mark.parametrize("read", [read_commented, load_commented])
def test_only_plain_yaml_is_read_to_be_edited(tmp_path, text, says, read):
    (tmp_path / "m.yaml").write_text(text)
    with pytest.raises(Refused, match=says):
        read(tmp_path / "m.yaml")


def test_what_is_too_long_to_edit_is_still_read(tmp_path):
    path = tmp_path / "m.yaml"
    path.write_text("a: [" + "1, " * 31_000 + "1]\n")
    assert len(read_commented(path)["a"]) == 31_001
    with pytest.raises(Refused, match="too long to be edited"):
        load_commented(path)


@pytest.mark.parametrize("text", ["channels:\n", "# nothing yet\n", "", "time: t\n"])
def test_an_empty_map_is_filled(tmp_path, text):
    path = tmp_path / "m.yaml"
    path.write_text(text)
    save_channel_map(path, ChannelMap({"A": MapRow("oil_temperature"), "5": MapRow(unit="degC")}))
    save_channel_map(path, ChannelMap({"5": MapRow("coolant_temperature")}))
    found = read_channel_map(path)
    assert (found.rows["A"].quantity, found.rows["5"]) == (
        "oil_temperature",
        MapRow("coolant_temperature", "degC"),
    )


def test_a_column_called_by_a_number_is_found_again(tmp_path):
    path = tmp_path / "m.yaml"
    path.write_text("channels:\n  5: {unit: degC}\n")
    save_channel_map(path, ChannelMap({"5": MapRow("oil_temperature")}))
    assert read_channel_map(path).rows == {"5": MapRow("oil_temperature", "degC")}


@pytest.mark.parametrize("values", ["", "values:", "values: {parts.a.mass: }", "values: {parts.a.mass: []}"])
def test_an_empty_memory_is_filled(tmp_path, values):
    path = tmp_path / "m.yaml"
    path.write_text(f"format: heatproof memory 1\n{values}\n")
    assert remember(path, {"parts.a.mass": Lesson("T1", 1.1, 0.05)}).values["parts.a.mass"][0].kit == "T1"


@pytest.mark.parametrize("rows", ["7", "text", "{kit: T1}", "[7]", "[{kit: T1, ratio: .nan, spread: 1 %}]"])
def test_lessons_that_are_none(tmp_path, rows):
    (tmp_path / "m.yaml").write_text(f"format: heatproof memory 1\nvalues:\n  parts.a.mass: {rows}\n")
    with pytest.raises(Refused, match=r"m\.yaml:3"):
        read_memory(tmp_path / "m.yaml")


# --- packed logs --------------------------------------------------------------------------------------------
ROWS = b"Time [s],Oil temp [degC]\n" + b"".join(b"%d,%d\n" % (k, 80 + k) for k in range(60))


def test_a_log_of_many_gzip_members_is_read_whole(tmp_path):
    path = tmp_path / "run.csv.gz"
    path.write_bytes(b"".join(gzip.compress(row + b"\n") for row in ROWS.rstrip().split(b"\n")))
    assert read_log(path).channels[0].values.size == 60


@pytest.mark.parametrize("damage", ["checksum", "method", "cut"])
def test_a_second_member_that_is_damaged(tmp_path, damage):
    second = bytearray(gzip.compress(b"60,140\n" * 50))
    if damage == "cut":
        del second[-10:]
    else:
        second[-6 if damage == "checksum" else 2] ^= 0xFF
    path = tmp_path / "run.csv.gz"
    path.write_bytes(gzip.compress(ROWS) + bytes(second))
    with pytest.raises(LogError, match="gzip file"):
        read_log(path)


@pytest.mark.slow
def test_a_bomb_of_many_members_is_never_unpacked_whole(tmp_path):
    """Sixty-five members of 8 MiB of line ends each, from half a megabyte: refused in the first."""
    member = gzip.compress(b"\n" * 2**23, 9)
    path = tmp_path / "run.csv.gz"
    path.write_bytes(member * (MAX_TEXT_BYTES // 2**23 + 1))
    with pytest.raises(LogError, match="too many rows"):
        read_log(path)


def test_a_parquet_cell_that_signals_is_no_number(tmp_path):
    """A signalling NaN as a time: arithmetic with it would warn on the terminal."""
    pa, pq = pytest.importorskip("pyarrow"), pytest.importorskip("pyarrow.parquet")
    times = np.arange(60.0)
    times.view(np.uint64)[7] = 0x7FF0000000000001
    pq.write_table(
        pa.table({"Time [ms]": times, "Oil temp [degC]": 80 + np.arange(60.0)}), tmp_path / "a.parquet"
    )
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        log = read_log(tmp_path / "a.parquet")
    assert log.channels[0].values.size == 59


# --- what is kept -------------------------------------------------------------------------------------------
@pytest.mark.parametrize("at", [0, 20, 80, -1, -5])
def test_a_seal_tells_every_changed_byte(at):
    raw = bytearray(seal({"peak": 371.25, "name": "ö", "list": [1, 2]}))
    assert unseal(bytes(raw)) == {"peak": 371.25, "name": "ö", "list": [1, 2]}
    assert json.loads(raw)["kept"]["peak"] == 371.25
    raw[at] ^= 1
    with pytest.raises(ValueError, match=r"not a sealed|not as it was"):
        unseal(bytes(raw))


@pytest.mark.parametrize("raw", [b"", b"{}", b'{"sha256": "', b"null", b"\xff" * 200])
def test_what_was_never_sealed(raw):
    with pytest.raises(ValueError, match="not a sealed"):
        unseal(raw)


RECORD = {
    "format": "heatproof release 1", "released": True, "day": "2026-01-31", "verdict": "holds", "cost": 1.0, "currency": "EUR",
    "kit": {"name": "T1", "revision": "a", "fitted": []}, "mass_kg": 1.0, "limits": [], "measures": [], "values": {},
    "inputs": [{"file": "car.yaml", "sha256": "0"}], "versions": {}, "cautions": [],
}  # fmt: skip


@pytest.mark.parametrize(
    ("key", "value", "place"),
    [
        ("kit", {"name": "T1"}, "kit.revision"), ("inputs", [{}], "inputs.0.file"), ("limits", [[]], "limits.0"),
        ("cost", float("nan"), "cost"), ("cost", "12", "cost"), ("versions", [], "versions"), ("released", 1, "released"),
        ("cautions", None, "cautions"), ("mass_kg", 10**400, "mass_kg"),
    ],
)  # fmt: skip
def test_records_of_another_shape(tmp_path, key, value, place):
    path = tmp_path / "r.json"
    path.write_text(json.dumps(RECORD))
    assert parsed_record(path) == RECORD
    path.write_text(json.dumps(RECORD | {key: value}))
    with pytest.raises(Refused, match="the record is damaged") as caught:
        parsed_record(path)
    assert caught.value.findings[0].where.path == place
    assert caught.value.findings[0].next_step


@pytest.mark.parametrize("text", ["[" * 100_000, "", "nul", "\ufeff{}", '{"format": 1}'])
def test_records_that_are_none(tmp_path, text):
    (tmp_path / "r.json").write_text(text, encoding="utf-8")
    with pytest.raises(Refused, match="no release record"):
        parsed_record(tmp_path / "r.json")
    assert paper_view(tmp_path / "r.json", {}) is None


def test_ray_files_of_any_bytes_are_discarded(tmp_path):
    for n, data in enumerate((b"", b"PK\x03\x04" + b"\0" * 60, b"\x93NUMPY\x01\x00v\x00{'descr': '<f8',")):
        path = tmp_path / f"counts-{n}.npz"
        path.write_bytes(data)
        notes: list[str] = []
        assert read_or_discard(path, ("counts",), notes) is None
        assert not path.exists()
        assert notes
