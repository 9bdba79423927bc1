"""What a travel costs is its time on the machine, and every form of that sum gives the same."""

import numpy as np
import pytest

from underdraw.machine.timing import rest_to_rest
from underdraw_stages.order.compiled import local_search, shortest_path
from underdraw_stages.order.search.travel_cost import TravelCost


@pytest.mark.parametrize(("speed", "acceleration"), [(50.0, 300.0), (200.0, 100.0), (8.0, 4000.0)])
def test_a_travel_costs_the_time_that_the_machine_takes_for_it(speed: float, acceleration: float) -> None:
    cost = TravelCost(speed, acceleration)
    mm = np.concatenate([[0.0, 1e-6], np.geomspace(0.001, 3000.0, 200), [cost.knee, np.nextafter(cost.knee, 0.0)]])
    seconds = rest_to_rest(mm, speed, acceleration)
    assert cost.of_steps(np.stack([0.6 * mm, 0.8 * mm], axis=1)) == pytest.approx(seconds * speed, rel=1e-12)
    for form in (local_search.cost, shortest_path.cost):
        assert [form(each, cost.knee) for each in mm.tolist()] == pytest.approx((seconds * speed).tolist(), rel=1e-12)
