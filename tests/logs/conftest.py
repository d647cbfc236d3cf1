"""The two real logs (CC BY 4.0, see tests/data/logs/README.md), read and cleaned once."""

import gzip

import pytest
from real_logs import SUMMER, WINTER

from heatproof.logs.clean import CleanLog, clean
from heatproof.logs.read import read_log
from heatproof.logs.records import Log


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
