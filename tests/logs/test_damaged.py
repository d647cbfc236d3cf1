"""A hundred damaged files: each gets a clear message, none crashes, none is altered."""

import hashlib

import numpy as np
import pytest
from damage import damaged_files

from heatproof.logs.reading.read import read_log
from heatproof.logs.reading.records import LogError


@pytest.fixture(scope="module")
def base(tmp_path_factory, summer_head):
    import pyarrow as pa
    import pyarrow.parquet as pq
    from asammdf import MDF, Signal

    folder = tmp_path_factory.mktemp("base")
    t = np.arange(0, 60, 0.1)
    with MDF() as mdf:
        mdf.append([Signal(80 + np.sin(t + n), t, unit="degC", name=f"Oil temp {n}") for n in range(5)])
        mdf.save(folder / "b.mf4", overwrite=True)
    pq.write_table(pa.table({"Time [s]": t, "Oil temp [degC]": 80 + t}), folder / "b.parquet")
    return {
        ".csv": summer_head,
        ".mf4": (folder / "b.mf4").read_bytes(),
        ".parquet": (folder / "b.parquet").read_bytes(),
    }


def _outcome(path):
    """("error", message) or ("log", warnings)."""
    try:
        log = read_log(path)
    except LogError as error:
        return "error", error.text()
    assert log.channels
    assert any(c.measured.any() for c in log.channels)
    return "log", " | ".join(f.text() for f in log.findings if f.level == "warning")


MUST_REFUSE = {
    "header_only": "no table|header without data", "nothing": "empty", "blanks": "only blanks", "noise":
    "first bytes|binary|no table",
    "mostly_nul": "zero bytes", "all_nan": "no column holds numbers", "time_back": "time runs back",
    "shuffled": "time runs back", "twice": "time runs back", "wide": "too many columns", "one_line":
    "endless line",
    "no_time": "no time column", "broken_times": "not a readable time", "zipped": "zip",
    "cut_gzip": "cut short",
    "bad_gzip": "damaged gzip",
}  # fmt: skip
MUST_WARN = {
    "nul_block": "zero bytes removed", "nan_storm": "of the rows only", "ragged": "too many cells",
    "short_rows": "too few cells|time unreadable", "bad_bytes": "encodings|no numbers|cells|unreadable|times cannot be read",
    "half_utf16": "not utf-16", "odd_utf16": "not utf-16",
}  # fmt: skip


def test_a_hundred_damaged_files(tmp_path, base, recwarn):
    files = damaged_files(tmp_path, base, seed=2026)
    assert len(files) == 100
    for kind, path in files:
        before = hashlib.sha256(path.read_bytes()).hexdigest()
        outcome, text = _outcome(path)
        assert hashlib.sha256(path.read_bytes()).hexdigest() == before, path.name
        if outcome == "error":
            assert path.name in text, text
        for table, wanted in ((MUST_REFUSE, "error"), (MUST_WARN, None)):
            if kind in table and path.suffix == ".csv":
                assert wanted in (None, outcome), (path.name, text)
                assert any(part in text for part in table[kind].split("|")), (path.name, text)
    assert not [w for w in recwarn if issubclass(w.category, UserWarning)]


def test_refusals_say_what_to_do(tmp_path, base):
    """Every error names the file and, but for a few, the next step."""
    texts = [text for kind, path in damaged_files(tmp_path, base, seed=5) for outcome,
        text in [_outcome(path)]
             if outcome == "error"]  # fmt: skip
    assert len(texts) > 30
    assert sum("next step" in text for text in texts) == len(texts)


def test_too_large_a_file_is_refused_unread(tmp_path):
    path = tmp_path / "huge.csv"
    with open(path, "wb") as stream:
        stream.write(b"Time,A\n0,1\n")
        stream.truncate(5 * 2**30)
    with pytest.raises(LogError, match="too large"):
        read_log(path)


def test_missing_file_names_the_nearest(tmp_path):
    (tmp_path / "run1.csv").write_text("t,a\n0,1\n1,2\n")
    with pytest.raises(LogError, match=r"did you mean run1\.csv"):
        read_log(tmp_path / "run.csv")
    with pytest.raises(LogError, match="not a file"):
        read_log(tmp_path)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(10, 16))
def test_more_damaged_files(tmp_path, base, seed):
    for _, path in damaged_files(tmp_path, base, seed=seed):
        assert _outcome(path)
