"""Hashes of the program itself: what was made by an older program must never be handed out as new.

Two hashes. *Answers* (stored verdicts, kept figures, a sweep's results) depend on every source and every data file of
the package: any edit makes them anew, which costs seconds. *Kernels* cost a minute or more to compile, so their hash
covers what can change machine code and nothing else: the modules that hold a compiled function, every module of the
package those import, directly or through others, and the data files of the rooms they stand in, since the compiler
freezes a global that was read from a file. The modules are found by reading the sources, so a compiled function in a
new place is covered the day it is written; an edited label in `doors` recompiles nothing.

Sources are searched with patterns, not parsed: this runs at every start (10 ms, where parsing would take half a
second). A pattern that matches too much, such as an import quoted in a docstring, only adds a file;
`tests/test_program_hash.py` parses every source and asserts that none is missing.
"""

import hashlib
import os
import platform
import re
import sys
from collections.abc import Container, Mapping
from functools import cache
from importlib.metadata import version
from pathlib import Path

PACKAGE = Path(__file__).parent

NOT_PROGRAM = ("__pycache__", "results")
"""Folders left out: byte code, and results of an example that somebody ran in place."""
FROZEN_NOWHERE = "kit/"
"""Imports from here are not followed: `kit` may not import `numerics`, and of what it declares the kernels' modules
import record classes only, which no compiled function can hold (a test asserts both). Else every new field of a
record would compile all kernels again."""
COMPILES = (b"@compiled", b"compiled(", b"import numba")
"""A source with one of these holds a compiled function, or the compiler."""
FROM = re.compile(rb"from heatproof([\w.]*) import (\([^)]*\)|[^\n]*)")
PLAIN = re.compile(rb"import heatproof([\w.]+)()")
WORD = re.compile(rb"\w+")


@cache
def answers_hash(package: Path = PACKAGE) -> str:
    """64 hex digits over every source and data file of the package, compiler, Python and processor."""
    return digest(files_of(package))


@cache
def kernel_hash(package: Path = PACKAGE) -> str:
    """16 hex digits over all that can change a compiled function of the package."""
    return digest(kernel_files(files_of(package)))[:16]


def digest(files: Mapping[str, bytes]) -> str:
    """SHA-256 over names, contents, and what compiles and runs them."""
    maker = f"{version('numba')} {sys.version} {platform.machine()} {platform.processor()}"
    whole = hashlib.sha256(maker.encode())
    for name in sorted(files):
        whole.update(f"{name}\0{len(files[name])}\0".encode())
        whole.update(files[name])
    return whole.hexdigest()


def files_of(package: Path) -> dict[str, bytes]:
    """Every source and data file of the package: its path inside it, with `/`, to its contents."""
    contents, folders = {}, [str(package)]
    start = len(str(package)) + 1
    while folders:
        with os.scandir(folders.pop()) as entries:
            for entry in entries:
                if entry.is_dir():
                    if entry.name not in NOT_PROGRAM:
                        folders.append(entry.path)
                elif not entry.name.endswith(".pyc"):
                    with open(entry.path, "rb") as file:
                        contents[entry.path[start:].replace(os.sep, "/")] = file.read()
    return contents


def kernel_files(files: Mapping[str, bytes]) -> dict[str, bytes]:
    """Of the package's files those that can change a compiled function."""
    sources = {name for name in files if name.endswith(".py")}
    reached: set[str] = set()
    left = [name for name in sources if any(word in files[name] for word in COMPILES)]
    while left:
        name = left.pop()
        if name not in reached:
            reached.add(name)
            left += imported_files(files[name], sources)
    rooms = {name.split("/")[0] for name in reached if "/" in name}
    data = {name for name in files if name.split("/")[0] in rooms and name not in sources}
    return {name: files[name] for name in reached | data}


def imported_files(source: bytes, sources: Container[str]) -> list[str]:
    """The package's modules that a source imports, by file; of `from room import name` also `room/name.py`."""
    paths = set()
    for module, names in FROM.findall(source) + PLAIN.findall(source):
        base = module.decode().replace(".", "/").removeprefix("/")
        paths |= {base, *(f"{base}/{word.decode()}".removeprefix("/") for word in WORD.findall(names))}
    places = (file for path in paths for file in (f"{path}.py", f"{path}/__init__.py"))
    return [file for file in places if file in sources and not file.startswith(FROZEN_NOWHERE)]
