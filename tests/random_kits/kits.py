"""Random projects that are valid: as nested texts, as files, as read."""

from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from air_side import air, cores
from bay_parts import give_shapes, links, parts
from drives import duty
from engine_side import charge, engine, exhaust, vehicle
from hypothesis import strategies as st
from kit_changes import changes, measures
from liquid_side import coolant, oil
from many import (
    further_links,
    further_oil,
    further_openings,
    further_parts,
    further_pipes,
    further_water,
    how_many_parts,
)
from pen import Pen
from sketch import LARGE, SIZES, Sketch, sketched

from heatproof._files import write_whole
from heatproof.kit.project import Project
from heatproof.kit.read import read_project
from heatproof.kit.write import flow

Section = dict[str, Any]
BY_NAME = (
    "air",
    "cores",
    "parts",
    "links",
    "measures",
    "duties",
    "exhaust",
    "circuits",
    "coolant",
    "oil",
    "changes",
)


@dataclass(frozen=True)
class Drawn:
    """The files of a project as nested texts: `car.yaml`, `kit.yaml`, `duties/*.yaml` by stem."""

    sketch: Sketch
    car: Section
    kit: Section
    duties: dict[str, Section]

    def texts(self) -> dict[str, str]:
        """File name → text, as the project's own writer writes nested texts."""
        files = {"car.yaml": self.car, "kit.yaml": self.kit}
        files |= {f"duties/{stem}.yaml": one for stem, one in self.duties.items()}
        return {name: written(tree) for name, tree in files.items()}

    def write(self, folder: Path) -> None:
        """Lays the project's folder."""
        (folder / "duties").mkdir()
        for name, content in self.texts().items():
            write_whole(folder / name, content.encode())

    def read(self) -> Project:
        """Written to a folder of its own and read back. Refused with every finding."""
        with TemporaryDirectory() as name:
            self.write(Path(name))
            return read_project(name)


def written(tree: Section) -> str:
    """A line for each section, one for each entry of a section that holds names."""
    lines = []
    for key, item in tree.items():
        if isinstance(item, dict) and key in BY_NAME and item:
            lines.append(f"{key}:")
            lines += [f"  {flow(name)}: {flow(entry)}" for name, entry in item.items()]
        else:
            lines.append(f"{key}: {flow(item)}")
    return "\n".join(lines) + "\n"


@st.composite
def projects(
    draw: Any, *, shapes: bool = False, doubtful: bool = True, duties: int = 1, sizes: tuple[str, ...] = SIZES
) -> Drawn:
    """A project from a handful of parts to twice the size of the shipped examples."""
    pen = Pen(draw, doubtful=doubtful and draw(st.booleans()))
    size = pen.pick(sizes)
    s = sketched(pen, size=size, shapes=shapes)
    gas = exhaust(pen, s) | further_pipes(pen, s)
    count = how_many_parts(pen, s) or pen.whole(1, 2 if size == "small" else 30)
    found = parts(pen, s, gas, count=count)
    car: Section = {
        "format": "heatproof car 1",
        "name": "Random car (invented)",
        "vehicle": vehicle(pen, s),
        "engine": engine(pen, s),
        "exhaust": gas,
        "charge": charge(pen, s),
        "air": air(pen, s),
        "cores": cores(pen, s),
        "coolant": coolant(pen, s),
        "oil": oil(pen, s),
        "parts": found,
        "links": links(pen, found, "manifold"),
    }
    further_water(pen, s, car["coolant"])
    further_oil(pen, s, car["oil"])
    car["air"]["passages"] |= further_openings(pen, s)
    car["parts"] |= further_parts(pen, s, car)
    car["links"] |= further_links(pen, s, found)
    if "bonnet" in found:
        car["air"]["zones"][found["bonnet"]["zone"]]["walls"] = "bonnet"
    kit: Section = {"format": "heatproof kit 1", "name": "Random kit (invented)"}
    if added := changes(pen, s):
        kit["changes"] = added
    if shapes:
        car["bay"] = give_shapes(pen, s, found)
    kit["measures"] = measures(pen, s, found)
    plans = {
        f"duty_{k + 1}": {"format": "heatproof duty 1", **duty(pen, s, f"Duty {k + 1}")}
        for k in range(duties)
    }
    return Drawn(s, car, kit, plans)


def large_projects(**options: Any) -> st.SearchStrategy[Drawn]:
    """Nearly all of a hundred masses and more."""
    return projects(sizes=LARGE, **options)
