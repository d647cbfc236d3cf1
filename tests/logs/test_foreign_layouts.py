"""Eight layouts met in public logs, each a small file made by hand here in the same shape; figures are our own.

Every file says the same drive: engine speed 800 to 2,350 rpm, coolant 60 to 75.5 °C, one row a second.
"""

from pathlib import Path

import numpy as np
import pytest

from heatproof.logs.reading.read import read_log

FILES = Path(__file__).parent / "layouts"
COOLANT = 60.0 + 0.5 * np.arange(32)
ENGINE = 800.0 + 50.0 * np.arange(32)


@pytest.mark.parametrize("path", sorted(FILES.glob("*")), ids=lambda p: p.stem)
def test_layout(path):
    log = read_log(path)
    coolant, engine = log.need("coolant_temperature"), log.need("engine_speed")
    at = np.arange(32.0)
    measured = coolant.measured
    assert coolant.time_s[measured][-1] - coolant.time_s[measured][0] == pytest.approx(31.0, abs=1.01)
    seen = np.interp(coolant.time_s[measured] - coolant.time_s[0], at, COOLANT)
    assert coolant.values[measured] - 273.15 == pytest.approx(seen, abs=0.51)
    seen = np.interp(engine.time_s[engine.measured] - coolant.time_s[0], at, ENGINE)
    assert engine.values[engine.measured] * 60 == pytest.approx(seen, abs=51)


def test_there_are_at_least_eight():
    assert len(list(FILES.glob("*"))) >= 8
