"""What is behind a budget's totals: its parts, who pays, what is expensed, when each part ends."""

import numpy as np
import pytest

from forecasting.planning.budget import budget
from forecasting.planning.failing import BreakageRate
from tests.forecasting.planning.fleets import ALWAYS, TEN_YEARS, fleet, policy, prices
from tests.forecasting.planning.rigs import table, weibull, wire

PAYERS = np.array([2, 7, 7, 2])


def run(standing, plan=None, draws=150, payers=None, **cost):
    plan = plan or policy(standing)
    models = {"wire": weibull(3, 18)}
    paid = prices(standing, **cost)
    return budget(models, standing, plan, paid, TEN_YEARS, draws=draws, seed=5, payers=payers)


@pytest.fixture(scope="module")
def found():
    standing = table(fleet(boats=4, wires=6))
    down = np.arange(standing.parts.size) % 2 == 0
    return standing, run(standing, payers=PAYERS, mast_down=down, growth=0.03, failure=1_000_000)


def test_the_parts_of_a_boat_and_its_set_ups_add_to_the_boat_to_the_cent(found):
    standing, money = found
    of_boats = np.zeros((4, 10), dtype=np.int64)
    np.add.at(of_boats, standing.boat_of_part, money.parts)
    set_ups = money.boat.costs[3, :, :10]
    assert (of_boats + set_ups == money.boat.mean[:, :10]).all()
    assert (money.parts >= 0).all()


def test_an_old_wire_costs_more_of_the_first_years_than_a_new_one_beside_it():
    standing = table([*wire(part=1, age=17.0), *wire(part=2, age=1.0)])
    first = run(standing).parts[:, :3].sum(axis=1)
    assert first[0] > 3 * first[1]


def test_what_each_payer_pays_is_the_draws_of_the_boats_it_pays_for(found):
    _, money = found
    assert money.payers.tolist() == [2, 7]
    mean = money.payer_draws.mean(axis=1)
    own = [money.boat.mean[payer == PAYERS, :10].sum(axis=0) for payer in (2, 7)]
    assert mean == pytest.approx(np.array(own), abs=8)  # rounded a boat, a sort of cost and a draw
    together = np.percentile(money.payer_draws.sum(axis=0), 90, axis=0)
    assert together == pytest.approx(money.fleet.percentiles[2, 0, :10], abs=3)


def test_a_renewal_on_plan_is_capitalised_and_what_an_unplanned_end_adds_is_expensed():
    standing = table(wire(age=9.0))
    by_rule = policy(standing, renew_at=np.array([10.0]), every=1e6)
    assert run(standing, by_rule).expensed.sum() == 0
    found_at_once = policy(standing, every=ALWAYS)
    money = run(standing, found_at_once)
    extra = 20_000 * money.fleet.renewed[:, 0, -1].sum()
    assert money.expensed.sum() == pytest.approx(extra, abs=6)


def test_below_the_threshold_a_renewal_is_expensed_whole():
    standing = table(wire(age=9.0))
    money = run(standing, capital_from=30_001)
    assert money.expensed.sum() == money.fleet.mean[0, -1] - money.fleet.costs[3, 0, -1]


def test_a_part_renewed_by_rule_alone_remains_until_the_age_of_the_rule():
    standing = table(wire(age=7.5))
    by_rule = policy(standing, renew_at=np.array([12.0]), every=1e6)
    assert run(standing, by_rule).remaining.tolist() == pytest.approx([4.5])


def test_a_pair_remains_equally_long_and_shares_its_cost_by_price():
    standing = table([*wire(part=1, age=9.0), *wire(part=2, age=9.0)])
    pair = policy(standing, renewed_with=np.array([1, 1]))
    money = run(
        standing, pair, planned=np.array([30_000, 10_000]), unplanned=np.array([30_000, 10_000])
    )
    assert money.remaining[0] == money.remaining[1]
    large, small = money.parts.sum(axis=1)
    assert large == pytest.approx(3 * small, abs=20)


def test_stays_that_fail_in_service_are_counted_draw_by_draw():
    standing = table(fleet(boats=2, wires=4, age=20))
    often = policy(standing, every=5.0, breakage=BreakageRate().updated(30, 10))
    money = run(standing, often)
    assert money.failures.shape == (150, 10)
    assert money.failures.sum() / 150 == pytest.approx(money.fleet.renewed[2, 0, -1], rel=1e-9)
    assert money.failures.sum() > 0
