"""One life drawn for several spots obeys the law of the earliest of their lives."""

import numpy as np
import pytest
from scipy import stats

from forecasting.planning import renewals
from forecasting.planning.spot_groups import Futures, grouped
from tests.forecasting.planning.fleets import ALWAYS, policy, project
from tests.forecasting.planning.renewal_theory import renewal_function
from tests.forecasting.planning.rigs import table, weibull, wire

SHAPE, SCALE = 2.5, 9.0
SLOPES = {"run": -0.4, "upper": 0.25}
LIFE = weibull(SHAPE, SCALE, SLOPES)


def test_new_wires_found_at_once_follow_the_renewal_function_of_their_earliest_spot():
    """Ratios of scales e^b: the least of three Weibull lives, its renewals by the integral
    equation (Xie 1989), which draws nothing."""
    rates = sum(np.exp(-SHAPE * b) for b in (0.0, *SLOPES.values()))
    least = stats.weibull_min(SHAPE, scale=SCALE * rates ** (-1 / SHAPE))
    draws = 20_000
    found = project(wire(age=0.0), LIFE, every=ALWAYS, draws=draws)
    got = np.cumsum(found.fleet.renewed[1, 0, :10])
    exact = renewal_function(least.cdf, 10.0)[1][200::200]
    assert got == pytest.approx(exact, abs=4 * 0.6 / np.sqrt(draws))


def test_spots_drawn_together_cost_what_spots_drawn_one_by_one_cost(monkeypatch):
    """Wires seen at different dates, pairs of different age, an age rule, looks of three levels."""
    rows = [
        row
        for part in range(8)
        for row in wire(part, part // 4, 6.0 + part % 2, (0.2, 1.0 + part % 3, 1.0 + part % 3))
    ]
    standing, draws = table(rows), 5000
    plan = policy(
        standing, every=1.3, renew_at=np.full(8, 11.0), renewed_with=np.arange(8) // 2,
        leaves=np.array([np.inf, 8.0]),
    )  # fmt: skip
    together = project(rows, LIFE, plan=plan, draws=draws, seed=2)

    def by_itself(unit, location, sigma, renew_at, seen, apart):
        return grouped(unit, location, sigma, renew_at, seen, (*apart, np.arange(unit.size)))

    monkeypatch.setattr(renewals, "grouped", by_itself)
    alone = project(rows, LIFE, plan=plan, draws=draws, seed=3)
    assert together.fleet.renewed == pytest.approx(alone.fleet.renewed, abs=0.1, rel=0.03)
    totals = [found.fleet.percentiles[:, 0, -1] for found in (together, alone)]
    assert totals[0] == pytest.approx(totals[1], abs=80_000)  # one renewal of a pair
    assert together.remaining == pytest.approx(alone.remaining, abs=0.15)


def test_only_spots_seen_alike_and_known_alike_are_drawn_together():
    unit = np.array([0, 0, 0, 1, 1])
    seen = {"deck": np.array([True, False, False, True, False])}
    since = np.array([1.0, 2.0, 2.0, 1.0, 3.0])
    location = np.log(np.array([[8.0], [5.0], [7.0], [6.0], [4.0]]))
    shape = 3.0
    found = grouped(unit, location, np.array([1 / shape]), np.arange(5.0), seen, (since,))
    assert sorted(found.row.tolist()) == [0, 1, 3, 4]
    assert found.size.tolist() == [2, 2]
    both = (5.0**-shape + 7.0**-shape) ** (-1 / shape)
    assert np.exp(found.location[found.row == 1]) == pytest.approx(both)
    assert found.renew_at[found.row == 1] == 1.0
    slots = list(found.slots(Futures(np.array([1, 0, 1]), np.zeros(3, dtype=int))))
    assert [group.tolist() for _, _, group in slots] == [[2, 0, 2], [3, 1, 3]]
