"""The two real logs (CC BY 4.0, see tests/data/logs/README.md), read and cleaned once; one invented test day."""

import gzip

import numpy as np
import pytest
from proving import PATHS, Truth, drive, hidden, read_run, small_project, small_variant, true_run, write_logs
from real_logs import SUMMER, WINTER

from heatproof.logs.cleaning.clean import CleanLog, clean
from heatproof.logs.correcting.correct import correct
from heatproof.logs.correcting.parameters import chosen_parameters
from heatproof.logs.reading.read import read_log
from heatproof.logs.reading.records import Log


@pytest.fixture(scope="session")
def summer() -> Log:
    return read_log(SUMMER)


@pytest.fixture(scope="session")
def winter() -> Log:
    return read_log(WINTER)


@pytest.fixture(scope="session")
def clean_summer(summer: Log) -> CleanLog:
    return clean(summer)


@pytest.fixture(scope="session")
def clean_winter(winter: Log) -> CleanLog:
    return clean(winter)


@pytest.fixture(scope="session")
def summer_head() -> bytes:
    """First 600 lines of the summer log, as in the file."""
    return b"\n".join(gzip.decompress(SUMMER.read_bytes()).split(b"\n")[:600]) + b"\n"


@pytest.fixture(scope="session")
def day(tmp_path_factory):
    """One test day of a car with hidden values: the two files of its loggers, and what was read from them."""
    folder = tmp_path_factory.mktemp("day")
    project = small_project(folder / "small")
    variant = small_variant(project)
    parameters = chosen_parameters(variant, PATHS)
    rng = np.random.default_rng(41)
    x = rng.normal(size=len(parameters))
    solved = true_run(hidden(variant, parameters, x), drive(rng, 1500), 480.0)
    files = write_logs(project / "logs", solved, Truth(x), rng)
    run, joined = read_run(variant, *files)
    return {
        "project": project,
        "variant": variant,
        "parameters": parameters,
        "x": x,
        "solved": solved,
        "files": files,
        "run": run,
        "joined": joined,
    }


@pytest.fixture(scope="session")
def correction(day):
    """The hidden values fitted."""
    return correct(day["variant"], day["parameters"], [day["run"]])
