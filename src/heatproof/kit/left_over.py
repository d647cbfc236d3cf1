"""Values that came with a shipped example and were never touched, once the car bears another name.

A project begun as a copy of an example keeps what nobody changed: invented figures, "measurements", costs, a revision, duties.
They are no data of the new car. Numbers are compared as they are written, place by place; a car that keeps the example's
name is the example, and one that shares less than half of an example's numbers was not begun from it.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from heatproof.kit.examples import EXAMPLES, examples
from heatproof.kit.findings import Finding, Findings, Where
from heatproof.kit.project import Project
from heatproof.kit.tree import Mapping, Node, Scalar, Sequence, Source, parse_tree

NUMBER = re.compile(r"\s*[-+−.]?\d")
ENOUGH = 0.5  # of an example's numbers
LIKE = 0.2  # of an example's lines: below, nothing is compared
NAMED = 6


@dataclass(frozen=True)
class LeftOver:
    """Places of the values left of an example: file and dotted path to the text."""

    example: str
    places: dict[tuple[str, str], str]

    @property
    def finding(self) -> Finding:
        """Says how many, and where most of them are."""
        sections: dict[str, int] = {}
        for file, path in self.places:
            section = f"{file}: {path.split('.')[0]}" if "/" not in file else "duties"
            sections[section] = sections.get(section, 0) + 1
        most = sorted(sections.items(), key=lambda item: -item[1])[:NAMED]
        what = (
            f"{len(self.places)} values came with the example {self.example!r} and were never touched, though the car has "
            "another name: its measurements, costs, revision and duties say nothing of this car"
        )
        step = "heatproof new DIR --sheet makes a project of your own car; heatproof new PROJECT --left-over lists them"
        got = ", ".join(f"{section} {count}" for section, count in most)
        return Finding(
            "warning", what, Where("car.yaml", 0, "name"), got=got, next_step=step, code="project.left_over"
        )


def left_over(project: Project) -> LeftOver | None:
    """What is left of an example in a project of another name; None where nothing is."""
    car = project.files.get("car.yaml")
    if car is None or project.car is None:
        return None
    name = project.car.tree.entries.get("name")
    lines = set(car.text.splitlines())
    for example in examples():
        text = (EXAMPLES / example / "car.yaml").read_text(encoding="utf-8")
        own = {line for line in text.splitlines() if line.strip()}
        if len(own & lines) < LIKE * len(own):
            continue
        shipped = numbers_of_example(example)
        if isinstance(name, Scalar) and name.text == name_of_example(example):
            return None
        here = {
            (file, path): value for file, source in project.files.items() for path, value in numbers(source)
        }
        same = {place: value for place, value in shipped.items() if here.get(place) == value}
        if len(same) >= ENOUGH * len(shipped):
            return LeftOver(example, same)
    return None


@cache
def numbers_of_example(example: str) -> dict[tuple[str, str], str]:
    """(file, path) to text of every number of a shipped example."""
    folder = EXAMPLES / example
    files = sorted(path for path in folder.rglob("*.yaml") if "results" not in path.parts)
    return {
        (path.relative_to(folder).as_posix(), place): text
        for path in files
        for place, text in numbers(Source(path.name, path.read_text(encoding="utf-8")))
    }


@cache
def name_of_example(example: str) -> str:
    """The car's name in a shipped example."""
    text = (EXAMPLES / example / "car.yaml").read_text(encoding="utf-8")
    found = re.search(r"^name:\s*(.+?)\s*$", text, re.MULTILINE)
    return found.group(1) if found else ""


def numbers(source: Source) -> Iterator[tuple[str, str]]:
    """(dotted path, text) of every number of a file; list items by their place."""
    tree = parse_tree(source, Findings())
    if tree is not None:
        yield from below(tree, "")


def below(node: Node, path: str) -> Iterator[tuple[str, str]]:
    """The same below a node."""
    if isinstance(node, Mapping):
        for key, entry in node.entries.items():
            yield from below(entry, f"{path}.{key}" if path else key)
    elif isinstance(node, Sequence):
        for index, item in enumerate(node.items):
            yield from below(item, f"{path}.{index}")
    elif NUMBER.match(node.text):
        yield path, node.text
