"""Edits change their own characters and nothing else."""

import stat
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heatproof.kit.findings import Refused
from heatproof.kit.read import read_project
from heatproof.kit.tree import Source, read_source
from heatproof.kit.write import edited, write_edits

SAMPLE = Source(
    "car.yaml",
    "# head\na:\n  b: 1 mm   # why\n  c: {x: 1,  y: 'two'}\n\n  # between\n  d: [1, 2]\n"
    "v: {value: 3 K, spread: 1 K}\nset: {p.q: 1}\n",
)


@pytest.mark.parametrize(
    ("path", "value", "old", "new"),
    [
        ("a.b", "2 mm", "b: 1 mm   # why", "b: 2 mm   # why"),
        ("a.c.x", "5", "{x: 1,  y", "{x: 5,  y"),
        ("a.c.y", "three: it", "'two'", '"three: it"'),
        ("a.c.z", "4", "y: 'two'}", "y: 'two', z: 4}"),
        ("a.c.x", None, "{x: 1,  y", "{y"),
        ("a.c.y", None, ",  y: 'two'}", "}"),
        ("a.b", None, "  b: 1 mm   # why\n", ""),
        ("a.d", ["3", "4"], "[1, 2]", "[3, 4]"),
        ("a.e", "9 %", "  d: [1, 2]\n", "  d: [1, 2]\n  e: 9 %\n"),
        ("a.f.g.h", "1", "  d: [1, 2]\n", "  d: [1, 2]\n  f: {g: {h: 1}}\n"),
        ("v", "4 K", "value: 3 K", "value: 4 K"),
        ("v.spread", "2 K", "spread: 1 K", "spread: 2 K"),
        ("set.p.q", "7", "{p.q: 1}", "{p.q: 7}"),
        ("a.c", {"k": "1"}, "{x: 1,  y: 'two'}", "{k: 1}"),
    ],
)
def test_only_the_value_changes(path, value, old, new):
    assert SAMPLE.text.count(old) == 1
    assert edited(SAMPLE, {path: value}) == SAMPLE.text.replace(old, new)


def test_removing_what_is_not_there_is_refused():
    with pytest.raises(Refused, match=r"nothing stands at 'a.bb'[\s\S]*nearest: b"):
        edited(SAMPLE, {"a.bb": None})


@given(
    st.text(alphabet=st.characters(codec="utf-8", exclude_categories=["Cs", "Cc"]), min_size=1, max_size=40)
)
def test_any_text_reads_back(text):
    source = Source("car.yaml", edited(SAMPLE, {"a.b": text, "a.c.y": text}))
    assert edited(source, {"a.b": "1 mm", "a.c.y": "two"}).replace("two", "'two'") == SAMPLE.text


def test_example_takes_edits_and_keeps_every_other_line(example: Path):
    source = read_source(example / "car.yaml", example)
    new = edited(source, {"parts.loom.mass": "0.75 kg", "engine.gas_temperature": "431 degC"})
    changed = [(a, b) for a, b in zip(source.text.splitlines(), new.splitlines(), strict=True) if a != b]
    assert len(changed) == 2
    assert all("#" not in a or a[a.index("#") :] == b[b.index("#") :] for a, b in changed)


def test_identity(example: Path):
    source = read_source(example / "kit.yaml", example)
    there = edited(source, {"measures.loom_sleeve.cost": "11 EUR"})
    assert there != source.text
    assert edited(Source("kit.yaml", there), {"measures.loom_sleeve.cost": "9 EUR"}) == source.text


def test_write_then_read(small: Path):
    project = read_project(small)
    (small / "car.yaml").chmod(0o640)
    now = write_edits(small, project.files["car.yaml"], {"parts.loom.mass": "0.6 kg"})
    assert now.text == (small / "car.yaml").read_text()
    assert stat.S_IMODE((small / "car.yaml").stat().st_mode) == 0o640
    assert read_project(small).variant().parts["loom"].mass == pytest.approx(0.6)
    assert sorted(p.name for p in small.iterdir()) == ["car.yaml", "duties", "kit.yaml"]


def test_a_file_changed_meanwhile_is_not_overwritten(small: Path):
    project = read_project(small)
    other = (small / "car.yaml").read_text() + "# someone else was here\n"
    (small / "car.yaml").write_text(other)
    with pytest.raises(Refused, match="changed on disk"):
        write_edits(small, project.files["car.yaml"], {"parts.loom.mass": "0.6 kg"})
    assert (small / "car.yaml").read_text() == other


def test_windows_line_ends_and_byte_order_mark_stay(small: Path):
    path = small / "car.yaml"
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes().replace(b"\n", b"\r\n"))
    before = path.read_bytes()
    write_edits(small, read_source(path, small), {"vehicle.mass": "901 kg"})
    assert path.read_bytes() == before.replace(b"900 kg", b"901 kg")
    assert read_project(small).bare_car().vehicle.mass == 901
