"""Where the fuel is cut: one edge, on either side of which everything fits."""

import numpy as np
import pytest

from heatproof.network import signals as S
from heatproof.network.rates import rates
from heatproof.network.solve import make_work


@pytest.mark.parametrize("speed", [30.0, 60.0, 95.55])  # rev/s
def test_a_firing_engine_gives_what_is_asked_for_down_to_the_cut(case, speed):
    """Past the edge it fires for good, every 20 W more ask for more fuel, and demand is met within 0.2 % of friction.

    Were pumping asked about at the edge, cut and firing would take turns there and fuel would follow the pumping of
    whichever came before: less of it for more demand.
    """
    c = case("track_session")
    work = make_work(c.network, c.around)
    sample = np.array([speed, 25.0, 0.0, 1.0, 0.0])
    fired, used = [], []
    for demand in np.arange(-20e3, 4e3, 20.0):
        sample[2] = demand
        rates(c.network.model, c.around, sample, c.start, c.fans, work)
        fuel, power, friction = (float(work.sig[k]) for k in (S.FUEL, S.BRAKE_POWER, S.FRICTION_HEAT))
        fired.append(fuel > 0.0)
        if fired[-1]:
            assert abs(power - demand) < 2e-3 * friction, demand
            used.append(fuel)
    assert fired == sorted(fired)
    assert np.all(np.diff(used) > 0.0)
    assert any(fired)
    assert not all(fired)
