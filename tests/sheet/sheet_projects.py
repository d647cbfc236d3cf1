"""Projects made from the sheets beside this file, each once."""

from functools import cache
from pathlib import Path
from tempfile import mkdtemp

from heatproof.kit.project import Project
from heatproof.kit.read import read_project
from heatproof.kit.tree import read_source
from heatproof.sheet.project import start_from_sheet

HERE = Path(__file__).parent
SHEETS = sorted(path.stem for path in HERE.glob("*.yaml"))


@cache
def project_of(name: str) -> Project:
    """The project of one of the sheets."""
    folder = Path(mkdtemp()) / name
    start_from_sheet(folder, read_source(HERE / f"{name}.yaml", HERE))
    return read_project(folder)
