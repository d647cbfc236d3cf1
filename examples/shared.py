"""The project a script works on: the folder named on the command line, else a fresh copy of the shipped example."""

import atexit
import shutil
import sys
import tempfile
from importlib.resources import as_file, files
from pathlib import Path

from heatproof import Project, read_project


def project_named() -> Project:
    """Read from the first argument, or from a copy in a temporary folder that goes with the script."""
    if len(sys.argv) > 1:
        return read_project(sys.argv[1])
    folder = Path(tempfile.mkdtemp(prefix="heatproof-")) / "hatchback"
    atexit.register(shutil.rmtree, folder.parent, ignore_errors=True)
    with as_file(files("heatproof") / "examples" / "hatchback") as source:
        shutil.copytree(source, folder, ignore=shutil.ignore_patterns("results"))
    print("Working on a copy of the shipped example")
    return read_project(folder)
