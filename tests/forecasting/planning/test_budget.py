"""Budget: money that adds to the cent, who is in the fleet, what inspections and pairs do."""

from dataclasses import replace

import numpy as np
import pytest

from forecasting.planning.failing import BreakageRate
from forecasting.planning.ledger import fiscal_years
from tests.forecasting.planning.fleets import TEN_YEARS, fleet, policy, prices, project
from tests.forecasting.planning.rigs import one, table, weibull

# -- money


def test_means_add_to_the_cent_over_boats_bases_and_years():
    standing = table(fleet(7, 5))
    odd = np.arange(standing.parts.size) * 333 + 12_345
    cost = prices(standing, planned=odd, unplanned=2 * odd + 1, growth=0.031)
    model = weibull(3, 14, covariance=np.diag([0.02, 0.02]))
    found = project(fleet(7, 5), model, cost=cost)
    assert found.boat.mean.dtype == found.fleet.percentiles.dtype == np.int64
    assert (found.boat.mean.sum(axis=0) == found.fleet.mean[0]).all()
    assert (found.base.mean.sum(axis=0) == found.fleet.mean[0]).all()
    at_base = [found.boat.mean[[0, 3, 6]], found.boat.mean[[1, 4]], found.boat.mean[[2, 5]]]
    assert (found.base.mean == [m.sum(axis=0) for m in at_base]).all()
    for lines in (found.boat, found.base, found.fleet):
        assert (lines.mean[:, :-1].sum(axis=1) == lines.mean[:, -1]).all()
        assert (lines.costs.sum(axis=0) == lines.mean).all()
    assert found.fleet.mean[0, -1] > 0


def test_each_percentile_is_of_its_own_total_and_does_not_add():
    found = project(fleet(6, 6), draws=400)
    p10, p50, p90 = found.fleet.percentiles[:, 0, :-1]
    assert (p10 <= p50).all()
    assert (p50 <= p90).all()
    boats_p90 = found.boat.percentiles[2, :, :-1].sum(axis=0)
    assert (boats_p90 > p90).any()  # boats do not all have their bad year together


def test_the_same_seed_gives_the_same_budget_and_another_seed_another():
    first, again, other = (project(fleet(), seed=seed) for seed in (1, 1, 2))
    assert (first.boat.percentiles == again.boat.percentiles).all()
    assert list(first.rows()) == list(again.rows())
    assert (first.fleet.mean != other.fleet.mean).any()


def test_rows_in_another_order_give_the_same_budget():
    rows = fleet()
    assert (project(rows).boat.mean == project(rows[::-1]).boat.mean).all()


def test_prices_grow_year_by_year():
    rows = one(age=0.0)
    standing = table(rows)
    plan = policy(standing, renew_at=np.array([2.0]), levels=())
    grown = project(rows, weibull(3, 1e6), plan=plan, cost=prices(standing, growth=0.1))
    expected = [0, 0, 30_000 * 1.1**2, 0, 30_000 * 1.1**4, 0, 30_000 * 1.1**6, 0]
    assert grown.fleet.mean[0, :8] == pytest.approx(np.rint(expected))


def test_the_mast_comes_down_once_for_all_wires_of_a_boat_and_year():
    rows = [r for p in range(12) for r in one(part=p, boat=p // 6, age=1.0)]
    standing = table(rows)
    plan = policy(standing, renew_at=np.full(12, 3.5), levels=())
    cost = prices(standing, mast_down=np.ones(12, bool))
    found = project(rows, weibull(3, 1e6), plan=plan, cost=cost)
    assert found.boat.costs[3, :, 2].tolist() == [80_000, 80_000]
    assert found.boat.costs[0, :, 2].tolist() == [6 * 30_000] * 2
    assert found.fleet.mean[0, 2] == 2 * (80_000 + 6 * 30_000)
    assert found.fleet.percentiles[:, 0, 2].tolist() == [found.fleet.mean[0, 2]] * 3


def test_turnbuckles_leave_the_mast_up():
    assert project(fleet()).fleet.costs[3].sum() == 0


def test_planned_and_condemned_renewals_are_kept_apart():
    standing = table(fleet())
    n = standing.parts.size
    by_rule = project(fleet(), weibull(3, 1e6), plan=policy(standing, renew_at=np.full(n, 12.0)))
    on_condition = project(fleet(), weibull(3, 12))
    assert by_rule.fleet.costs[0].sum() > 0
    assert by_rule.fleet.costs[1].sum() == 0
    assert on_condition.fleet.costs[0].sum() == 0
    found = on_condition.fleet
    assert found.costs[1, 0, -1] == pytest.approx(50_000 * found.renewed[1, 0, -1], abs=50)


def test_the_rows_to_store_are_plain_and_name_every_scope():
    rows = list(project(fleet(4)).rows())
    assert len(rows) == (1 + 3 + 4) * 11
    assert {type(row["p90"]) for row in rows} == {int}
    total = next(r for r in rows if r["scope"] == "fleet" and r["year"] == "all")
    boats = [r for r in rows if r["scope"] == "boat" and r["year"] != "all"]
    assert sum(r["mean"] for r in boats) == total["mean"]
    assert total["mean"] == sum(total[k] for k in ("planned", "condemned", "failed", "set_up"))


# -- who is in the fleet, and what is known today


def test_a_boat_that_leaves_costs_nothing_after_it_left():
    rows = fleet(2)
    standing = table(rows)
    plan = policy(standing, leaves=np.array([2.0, np.inf]))
    found = project(rows, weibull(3, 8), plan=plan)
    assert (found.boat.mean[0, :2] > 0).all()
    assert (found.boat.mean[0, 2:10] == 0).all()
    assert (found.boat.mean[1, :10] > 0).all()
    assert (found.boat.percentiles[:, 0, 2:10] == 0).all()


def test_a_boat_that_joins_later_costs_nothing_before_and_brings_its_arrears():
    rows = fleet(2, age=16.0)
    standing = table(rows)
    plan = policy(standing, renew_at=np.full(12, 12.0), joins=np.array([3.0, 0.0]))
    found = project(rows, plan=plan)
    assert (found.boat.mean[0, :3] == 0).all()
    assert found.boat.costs[0, 0, 3] == 6 * 30_000  # over age on the day it joins
    assert found.boat.mean[1, 0] == 6 * 30_000


def test_a_condemned_part_is_renewed_at_the_coming_refit_at_its_planned_price():
    rows = one(part=1, age=2.0, condemned=True) + one(part=2, age=2.0)
    standing = table(rows)
    plan = policy(standing, first_refit=np.array([1.4]))
    found = project(rows, weibull(3, 1e6), plan=plan)
    assert found.fleet.costs[1, 0].tolist() == [0, 30_000] + [0] * 8 + [30_000]
    assert found.fleet.renewed[1, 0, 1] == 1


def test_parts_on_the_refit_list_are_renewed_at_the_coming_refit():
    rows = one(part=1, age=2.0) + one(part=2, age=2.0)
    standing = table(rows)
    found = project(rows, weibull(3, 1e6), plan=policy(standing, booked=np.array([True, False])))
    assert found.fleet.costs[0, 0, 0] == 30_000
    assert found.fleet.mean[0, -1] == 30_000


def test_a_fleet_all_condemned_pays_for_all_of_it_first():
    rows = [{**row, "condemned": True} for row in fleet(3, 4)]
    found = project(rows, weibull(3, 1e6))
    assert found.fleet.mean[0].tolist() == [12 * 30_000] + [0] * 9 + [12 * 30_000]


def test_an_empty_fleet_costs_nothing():
    found = project([])
    assert found.fleet.mean.tolist() == [[0] * 11]
    assert found.fleet.percentiles.shape == (3, 1, 11)
    assert found.boat.mean.shape == (0, 11)


def test_one_boat_is_the_fleet():
    found = project(fleet(1))
    assert (found.boat.mean == found.fleet.mean).all()
    assert (found.boat.percentiles == found.fleet.percentiles).all()


def test_the_years_outside_the_budget_are_not_counted():
    later = fiscal_years(4.0, ["2030", "2031"])
    whole = project(fleet(), draws=300)
    part = project(fleet(), draws=300, years=later)
    assert part.fleet.mean[0, :2] == pytest.approx(whole.fleet.mean[0, 4:6], rel=0.15)


def test_bad_lengths_and_ages_are_refused():
    standing = table(fleet(1))
    with pytest.raises(ValueError, match="each of the 6 parts"):
        project(fleet(1), cost=prices(standing, planned=np.array([1])))
    with pytest.raises(ValueError, match="above 0"):
        policy(standing, renew_at=np.zeros(6))
    with pytest.raises(ValueError, match="interval of the deck inspection"):
        policy(standing, every=0.0)
    with pytest.raises(ValueError, match="rising bounds"):
        replace(TEN_YEARS, bounds=np.zeros(11))


# -- pairs, inspections, breakages


def test_a_pair_goes_together_and_only_the_found_side_is_dearer():
    rows = one(part=1, age=9.0) + one(part=2, age=9.0)
    apart = project(rows, weibull(3, 12), draws=3000)
    standing = table(rows)
    plan = policy(standing, renewed_with=np.array([5, 5]))
    together = project(rows, weibull(3, 12), plan=plan, draws=3000)
    first = apart.fleet.renewed[1, 0, 0] / 2
    assert together.fleet.renewed[1, 0, 0] == pytest.approx(2 * (1 - (1 - first) ** 2), rel=0.05)
    ends = together.fleet.renewed[1, 0, -1] / 2
    assert together.fleet.mean[0, -1] == pytest.approx(ends * (50_000 + 30_000), abs=50)


def test_what_no_inspection_sees_is_not_found():
    rows = one(spot="chainplate", age=20.0, since=19.0)
    standing = table(rows)
    unseen = project(rows, weibull(3, 10), plan=policy(standing, levels=("deck", "aloft")))
    drawn = project(rows, weibull(3, 10), plan=policy(standing, levels=("mast_down",)))
    assert unseen.fleet.mean[0, -1] == 0
    assert drawn.fleet.mean[0, 0] > 0


def test_a_breakage_ends_what_nobody_looks_at_and_costs_its_failure():
    rows = one(age=20.0, since=19.0)
    standing = table(rows)
    plan = policy(standing, levels=(), breakage=BreakageRate(1000.0, 2000.0))
    found = project(
        rows, weibull(8, 12), plan=plan, cost=prices(standing, failure=900_000), draws=4000
    )
    broken = 1 - np.exp(-0.5)  # condemned all along, breaking at .5 a season
    assert found.fleet.renewed[2, 0, 0] == pytest.approx(broken, abs=4 * 0.0077)
    assert found.fleet.costs[2, 0, 0] == pytest.approx(found.fleet.renewed[2, 0, 0] * 950_000)


def test_inspections_leave_little_to_break():
    rows = fleet(4, 6, age=12.0)
    standing = table(rows)
    often = project(rows, plan=policy(standing, every=0.25, breakage=BreakageRate()), draws=500)
    seldom = project(rows, plan=policy(standing, every=4.0, breakage=BreakageRate()), draws=500)
    assert often.fleet.renewed[2, 0, -1] < seldom.fleet.renewed[2, 0, -1] / 4
