"""What is written is what is read: nested texts → files → records, single edits, and edits taken back."""

from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from kits import Drawn, large_projects, projects

from heatproof.kit.convert import plain
from heatproof.kit.fields import fields_of
from heatproof.kit.project import Project
from heatproof.kit.read import read_project
from heatproof.kit.records.base import Record
from heatproof.kit.records.variant import Variant, child
from heatproof.kit.write import write_edits
from heatproof.units.quantity import Quantity
from heatproof.units.show import show

ANY = settings(
    deadline=None, derandomize=True, database=None, print_blob=True, suppress_health_check=list(HealthCheck)
)
NEAR = 0.02  # an edit moves its value by so much at most, so that the project stays valid


def amounts(holder: Any, path: str = "") -> list[tuple[str, Quantity, float]]:
    """Every single amount a car file gives: dotted path, declaration, SI value."""
    found: list[tuple[str, Quantity, float]] = []
    if isinstance(holder, dict):
        for name, item in holder.items():
            found += amounts(item, f"{path}.{name}")
    elif isinstance(holder, Record):
        for key, declared in fields_of(type(holder)).items():
            value, here = child(holder, key), f"{path}.{key}" if path else key
            if declared.shape == "number" and isinstance(value, float):
                found.append((here, declared.quantity, value))
            elif isinstance(value, dict | Record):
                found += amounts(value, here)
    return found


def written_in_car(project: Project, path: str) -> bool:
    """Whether the car file itself gives the value at a path."""
    node: Any = project.car.tree if project.car else None
    for key in path.split("."):
        node = getattr(node, "entries", {}).get(key)
    return node is not None


def assert_reads_back(drawn: Drawn, data: st.DataObject) -> None:
    """Trees read as written; an edit changes its value and nothing else; taken back, the file is as before."""
    with TemporaryDirectory() as name:
        folder = Path(name)
        drawn.write(folder)
        project = read_project(folder)
        assert plain(project.car.tree) == drawn.car
        assert plain(project.kit.tree) == drawn.kit
        before = project.bare_car()
        edited_and_back(folder, project, before, data)


def edited_and_back(folder: Path, project: Project, before: Variant, data: st.DataObject) -> None:
    """One amount of the car written anew, read, and written back."""
    known = [entry for entry in amounts(before.assembly) if written_in_car(project, entry[0])]
    path, declared, old = data.draw(st.sampled_from(known), label="path")
    low, high = max(declared.low, old - NEAR * abs(old)), min(declared.high, old + NEAR * abs(old))
    assume(low < high)
    value = float(f"{low + data.draw(st.floats(0.1, 0.9)) * (high - low):.6g}")
    source = project.files["car.yaml"]
    new = write_edits(folder, source, {path: show(value, declared)})
    changed = read_project(folder, strict=False).bare_car()
    assert changed.value(path) == pytest.approx(value, rel=1e-9)
    assert changed.replace(path, old).assembly == before.assembly
    restored = write_edits(folder, new, {path: text_at(project, path)})
    assert restored.data == source.data


def text_at(project: Project, path: str) -> str:
    """An amount as the car file has it."""
    node: Any = project.car.tree if project.car else None
    for key in path.split("."):
        node = node.entries[key]
    return str(getattr(node, "text", None) or node.entries["value"].text)


@settings(ANY, max_examples=20)
@given(projects(), st.data())
def test_any_project_reads_back_as_written(drawn, data):
    assert_reads_back(drawn, data)


@pytest.mark.slow
@pytest.mark.parametrize("block", range(5))
@settings(ANY, max_examples=100)
@given(drawn=projects(duties=2), data=st.data())
def test_many_projects_read_back_as_written(block, drawn, data):
    assert_reads_back(drawn, data)


@pytest.mark.slow
@pytest.mark.parametrize("block", range(10))
@settings(ANY, max_examples=30)
@given(drawn=large_projects(), data=st.data())
def test_large_projects_read_back_as_written(block, drawn, data):
    assert_reads_back(drawn, data)
