"""Compiled kernels are kept in the user's folder, never in the package; a read-only package works."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import heatproof

PACKAGE = Path(heatproof.__file__).parent
USE = "from heatproof.laws.soak import lumped_temperature as f; print(round(f(1800.0, 873.15, 298.15, 3000.0), 1))"


@pytest.fixture(scope="module")
def read_only_package(tmp_path_factory) -> Path:
    """The parent of a copy of the package in which nothing may be written."""
    parent = tmp_path_factory.mktemp("installed")
    skip = shutil.ignore_patterns("__pycache__", "examples", "static")
    shutil.copytree(PACKAGE, parent / "heatproof", skip)
    for path in (parent / "heatproof").rglob("*"):
        path.chmod(0o555 if path.is_dir() else 0o444)
    return parent


def use_kernel(parent: Path, cache: Path, first: str = "") -> str:
    environment = os.environ | {
        "PYTHONPATH": str(parent),
        "PYTHONDONTWRITEBYTECODE": "1",
        "HEATPROOF_CACHE": str(cache),
    }
    environment.pop("NUMBA_CACHE_DIR", None)
    done = subprocess.run(
        [sys.executable, "-c", first + USE], env=environment, capture_output=True, text=True, timeout=120
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


def files_in(folder: Path) -> set[Path]:
    return {p for p in folder.rglob("*") if p.is_file()}


@pytest.mark.parametrize(
    "first", [pytest.param("", id="heatproof first"), pytest.param("import numba; ", id="numba first")]
)
def test_read_only_package(read_only_package, tmp_path, first):
    """CA-11: 340.6 degC after 1800 s (Incropera eq. 5.6), compiled into the given cache, read from it again."""
    before = files_in(read_only_package)
    assert use_kernel(read_only_package, tmp_path, first) == "613.7"
    assert files_in(read_only_package) == before
    compiled = {p: p.stat().st_mtime_ns for p in files_in(tmp_path)}
    assert any(p.suffix == ".nbi" for p in compiled)
    assert use_kernel(read_only_package, tmp_path, first) == "613.7"
    assert {p: p.stat().st_mtime_ns for p in files_in(tmp_path)} == compiled, "nothing compiled again"
