"""Every script in `examples/`, run on two duties of the shipped example (or the small project), spreads left out.

What is checked: energy and sums that must close, and trends any engineer would expect (common practice, no source).
"""

import runpy
import shutil
import sys
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import heatproof
from heatproof.kit.project import Project
from heatproof.kit.read import read_project

EXAMPLES = Path(__file__).parents[2] / "examples"
HATCHBACK = Path(heatproof.__file__).parent / "examples" / "hatchback"
SMALL = Path(__file__).parents[1] / "kit" / "small"


@pytest.fixture(scope="module")
def project(tmp_path_factory: pytest.TempPathFactory) -> Project:
    """The shipped example with its two shortest duties."""
    folder = tmp_path_factory.mktemp("scripts") / "hatchback"
    shutil.copytree(HATCHBACK, folder, ignore=shutil.ignore_patterns("results", "logs"))
    for path in (folder / "duties").glob("*.yaml"):
        if path.stem not in ("ten_pulls", "flat_out"):
            path.unlink()
    return read_project(folder)


def main_of(name: str) -> Callable[..., Any]:
    """The script's `main`."""
    return names_of(name)["main"]


def names_of(name: str) -> dict[str, Any]:
    """What a script defines, loaded as if it stood alone."""
    sys.path.insert(0, str(EXAMPLES))
    try:
        return runpy.run_path(str(EXAMPLES / f"{name}.py"))
    finally:
        sys.path.remove(str(EXAMPLES))


def test_every_script_is_named_here_and_in_the_readme() -> None:
    scripts = {path.stem for path in EXAMPLES.glob("*.py")} - {"shared"}
    tested = Path(__file__).read_text()
    readme = (EXAMPLES / "README.md").read_text()
    checked = tomllib.loads((EXAMPLES.parent / "pyproject.toml").read_text())["tool"]["mypy"]["modules"]
    assert set(checked) == scripts | {"shared"}
    for name in scripts:
        assert f'"{name}"' in tested
        assert f"`{name}.py`" in readme


def test_check_a_kit(project: Project, capsys: pytest.CaptureFixture[str]) -> None:
    limits, causes = main_of("check_a_kit")(project, spreads=False)
    assert np.allclose(limits["limit_degC"] - limits["margin_K"], limits["peak_degC"], atol=60.0)
    held = limits["state"] == "holds"
    assert (limits["margin_K"][held] >= 0.0).all()
    part, duty = limits.index[0]
    assert causes["rise_K"].sum() > 0.0
    assert part
    assert duty in project.duties
    assert "Caution: A prediction is not proof" in capsys.readouterr().out


def test_size_a_charge_cooler(project: Project) -> None:
    (small, charge_small, _), (large, charge_large, _) = main_of("size_a_charge_cooler")(
        project, (0.12, 0.24)
    )
    assert large > small
    assert charge_large < charge_small - 1.0


def test_where_to_return_the_water(project: Project) -> None:
    found = main_of("where_to_return_the_water")(project, ("engine_in", "tank"))
    assert not found["engine_in"][1]  # lower than the turbo: nothing drives the water there
    assert found["tank"][1]


def test_is_a_blanket_enough(project: Project) -> None:
    found = main_of("is_a_blanket_enough")(project, only=("nothing", "both"))
    assert found["both"]["turbine_housing"] < found["nothing"]["turbine_housing"]  # a blanket keeps heat in
    assert found["both"]["brake_line"] > found["nothing"]["brake_line"]


def test_which_gap_matters(project: Project) -> None:
    found = main_of("which_gap_matters")(project)
    lost = [one[1] for one in found]
    assert lost == sorted(lost, reverse=True)
    assert len(found) >= 3


def test_after_key_off(project: Project, tmp_path: Path) -> None:
    data = main_of("after_key_off")(project, tmp_path / "soak.png")
    assert data.temperature.attrs["units"] == "K"
    assert {"time", "mass"} == set(data.temperature.dims)
    assert (tmp_path / "soak.png").read_bytes().startswith(b"\x89PNG")
    after = data.temperature.sel(mass="engine_cover", time=slice(data.attrs["key_off_s"], None))
    assert float(after.max()) > float(after[0])  # heat soak: covers get hotter after key-off


def test_read_a_messy_log(tmp_path: Path) -> None:
    script = names_of("read_a_messy_log")
    true = script["write_invented"](tmp_path / "run.csv")
    found = script["main"](tmp_path / "run.csv")
    charge = found.log.need("charge_out_temperature")
    assert np.nanmax(charge.values) - 273.15 == pytest.approx(true, abs=1.0)
    assert sum(one.count for one in found.dropped) > 0


def test_papers(tmp_path: Path) -> None:
    shutil.copytree(SMALL, tmp_path / "small", ignore=shutil.ignore_patterns("results"))
    paths = main_of("papers")(read_project(tmp_path / "small"), tmp_path / "out")
    assert len(paths) == 7
    assert all(path.stat().st_size > 1000 for path in paths)
