"""What an older program made is never handed out as new: an edit changes the hash of all that depends on it.

The hash finds its files by patterns. These tests find them a second way, by parsing every source.
"""

import ast
import importlib
import os
import shutil
from pathlib import Path

import numba
import pytest

from heatproof._compiled_cache import use_user_cache
from heatproof._program_hash import (
    FROZEN_NOWHERE,
    PACKAGE,
    answers_hash,
    digest,
    files_of,
    kernel_files,
    kernel_hash,
)

FILES = files_of(PACKAGE)
TREES = {name: ast.parse(text) for name, text in FILES.items() if name.endswith(".py")}


def imports(name: str) -> list[tuple[str, str]]:
    """(module, name imported from it) of the package; the name is empty for `import module`."""
    found = []
    for node in ast.walk(TREES[name]):
        assert not (isinstance(node, ast.ImportFrom) and node.level), f"{name}: relative import"
        if isinstance(node, ast.ImportFrom) and node.module and node.module.split(".")[0] == "heatproof":
            found += [(node.module, alias.name) for alias in node.names]
        elif isinstance(node, ast.Import):
            found += [(alias.name, "") for alias in node.names if alias.name.startswith("heatproof")]
    return found


def file_of(module: str) -> str | None:
    path = module.replace(".", "/").removeprefix("heatproof/")
    return next((file for file in (f"{path}.py", f"{path}/__init__.py") if file in TREES), None)


def holds_compiled(tree: ast.Module) -> bool:
    """Whether a function is compiled here: decorated, or handed to the compiler."""
    words = {"compiled", "compiled_inner", "njit", "jit", "vectorize", "guvectorize", "cfunc"}
    for node in ast.walk(tree):
        heads = node.decorator_list if isinstance(node, ast.FunctionDef) else []
        heads = heads + ([node] if isinstance(node, ast.Call) else [])
        for head in heads:
            called = head.func if isinstance(head, ast.Call) else head
            if (called.id if isinstance(called, ast.Name) else getattr(called, "attr", "")) in words:
                return True
    return False


def reached_from_kernels() -> set[str]:
    left, reached = [name for name, tree in TREES.items() if holds_compiled(tree)], set()
    while left:
        name = left.pop()
        if name in reached or name.startswith(FROZEN_NOWHERE):
            continue
        reached.add(name)
        for module, word in imports(name):
            left += [file for file in (file_of(module), file_of(f"{module}.{word}")) if file]
    return reached


REACHED = reached_from_kernels()


def test_kernels_are_where_they_were_missed() -> None:
    """The two rooms that an earlier list of rooms left out."""
    assert {"assembly/duties/car.py", "shapes/tracing.py", "network/rates.py", "laws/exchange.py"} <= REACHED
    assert not any(name.startswith(("doors/", "report/", "study/", "verdict/")) for name in REACHED)


@pytest.mark.parametrize("name", sorted(REACHED))
def test_an_edit_of_a_kernel_or_of_what_it_calls_compiles_again(name: str) -> None:
    edited = {**FILES, name: FILES[name] + b"\nEDITED = 1.0\n"}
    assert digest(kernel_files(edited)) != digest(kernel_files(FILES))


@pytest.mark.parametrize("name", ["media/data/oils.csv", "laws/data/surfaces_j_f.csv"])
def test_data_frozen_into_a_kernel_compiles_again(name: str) -> None:
    assert digest(kernel_files({**FILES, name: FILES[name] + b"\n"})) != digest(kernel_files(FILES))


@pytest.mark.parametrize("name", ["doors/verbs/check.py", "study/questions/check.py", "report/citations.py"])
def test_what_no_kernel_calls_compiles_nothing(name: str) -> None:
    assert digest(kernel_files({**FILES, name: FILES[name] + b"\n#"})) == digest(kernel_files(FILES))


def test_of_kit_kernels_know_records_only() -> None:
    """Why the walk may stop at `kit`: no compiled function there, and only record classes are taken from it."""
    for name, tree in TREES.items():
        if name.startswith(FROZEN_NOWHERE):
            assert not holds_compiled(tree), name
    taken = {pair for name in REACHED for pair in imports(name) if pair[0].startswith("heatproof.kit")}
    assert taken
    for module, word in taken:
        record = getattr(importlib.import_module(module), word)
        assert isinstance(record, type), (module, word)
        assert not issubclass(record, tuple), "a named tuple can be held by a compiled function"


def test_edits_in_a_copy_of_the_package(tmp_path: Path) -> None:
    """Through the file system: a study file changes answers, not kernels; a callee of a kernel changes both."""
    copy = tmp_path / "heatproof"
    shutil.copytree(PACKAGE, copy, ignore=shutil.ignore_patterns("__pycache__", "results", "static"))

    def hashes() -> tuple[str, str]:
        answers_hash.cache_clear(), kernel_hash.cache_clear()
        return answers_hash(copy), kernel_hash(copy)

    def edit(name: str) -> None:
        (copy / name).write_bytes((copy / name).read_bytes() + b"\n#\n")

    answers, kernels = hashes()
    (copy / "__pycache__").mkdir()
    (copy / "__pycache__" / "_files.pyc").write_bytes(b"byte code")
    (copy / "examples" / "hatchback" / "results").mkdir()
    (copy / "examples" / "hatchback" / "results" / "check.json").write_bytes(b"{}")
    assert hashes() == (answers, kernels), "byte code and results are no program"
    for name in ("study/questions/check.py", "examples/pickup/car.yaml", "report/document.typ"):
        edit(name)
        before, (answers, after) = answers, hashes()
        assert after == kernels, name
        assert answers != before, name
    edit("assembly/duties/full_load.py")
    assert hashes()[0] != answers
    assert hashes()[1] != kernels


def test_the_cache_folder_carries_the_hash(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("HEATPROOF_CACHE", str(tmp_path))
    monkeypatch.delenv("NUMBA_CACHE_DIR", raising=False)
    monkeypatch.setattr(numba.config, "CACHE_DIR", numba.config.CACHE_DIR)
    use_user_cache()
    assert os.environ["NUMBA_CACHE_DIR"] == numba.config.CACHE_DIR
    assert Path(os.environ["NUMBA_CACHE_DIR"]) == tmp_path / "kernels" / kernel_hash()
