"""Budget: money that adds to the cent, and renewals against renewal theory and exact counts."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from forecasting.planning import budget as budget_module
from forecasting.planning.budget import Prices, budget
from forecasting.planning.failing import BreakageRate
from forecasting.planning.ledger import fiscal_years
from forecasting.planning.outlook import outlook
from forecasting.planning.renewal_age import renewal_age
from forecasting.planning.renewals import Policy
from forecasting.survival import Life, Lives, fit, rule_of_thumb
from tests.forecasting.planning.renewal_theory import poisson_binomial, renewal_function
from tests.forecasting.planning.rigs import one, table, weibull, wire

TEN_YEARS = fiscal_years(0.0, [str(year) for year in range(2026, 2036)])
ALWAYS = 1e-4  # an interval so short that a condemned part is found at once


def policy(standing, every=0.5, levels=("deck", "aloft", "mast_down"), **given):
    p, b = standing.parts.size, standing.boats.size
    usual = {
        "renew_at": np.full(p, np.inf),
        "booked": np.zeros(p, bool),
        "renewed_with": standing.parts,
        "joins": np.zeros(b),
        "leaves": np.full(b, np.inf),
        "first_refit": np.full(b, 0.3),
        "inspections": {level: (np.full(b, every), np.full(b, every)) for level in levels},
    }
    return Policy(**{**usual, **given})


def prices(standing, **given):
    p, b = standing.parts.size, standing.boats.size
    usual = {
        "planned": np.full(p, 30_000),
        "unplanned": np.full(p, 50_000),
        "mast_down": np.zeros(p, bool),
        "set_up": np.full(b, 80_000),
    }
    return Prices(**{**usual, **given})


def project(rows, model=None, *, plan=None, cost=None, years=TEN_YEARS, draws=200, seed=1, **given):
    standing = table(rows)
    models = {"wire": model or weibull(3, 18)}
    plan = plan or policy(standing, **given)
    return budget(models, standing, plan, cost or prices(standing), years, draws=draws, seed=seed)


def fleet(boats=4, wires=6, age=9.0):
    return [
        row
        for boat in range(boats)
        for w in range(wires)
        for row in wire(part=100 * boat + w, boat=boat, age=age + w / 3, base=boat % 3)
    ]


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


# -- against theory


def within(simulated, exact, sd, draws, sigmas=4.0):
    """The simulated mean lies within so many Monte Carlo errors of the exact one."""
    return abs(simulated - exact) < sigmas * sd / np.sqrt(draws)


def test_new_parts_found_at_once_follow_the_renewal_function():
    # Weibull, mean 4, squared cv .25: Tijms 2003 table 8.1.1 at t = 1, 2, 2.5 mean lives.
    law = stats.weibull_min(2.101349, scale=4 / stats.weibull_min(2.101349).mean())
    draws = 40_000
    found = project(one(age=0.0), weibull(2.101349, law.kwds["scale"]), every=ALWAYS, draws=draws)
    renewals = np.cumsum(found.fleet.renewed[1, 0, :10])
    for years, tijms in ((4, 0.6091), (8, 1.627), (10, 2.125)):
        assert within(renewals[years - 1], tijms, 0.6, draws)
    exact = renewal_function(law.cdf, 10.0)[1][200::200]
    assert renewals == pytest.approx(exact, abs=4 * 0.6 / np.sqrt(draws))


def test_the_first_cycle_is_conditioned_on_the_last_sight():
    # Spot seen good at 11, today 11.8, first inspection at 13: condemned with chance .1380
    # (check of the outlook); conditioned on today it would be .0906.
    years = fiscal_years(0.0, ["first"])
    rows = [r for p in range(50) for r in one(part=p, age=11.8, since=0.8)]
    found = project(rows, every=1.2, draws=1000, years=replace(years, bounds=np.array([0, 1.21])))
    share = found.fleet.renewed[1, 0, 0] / 50
    assert within(share, 0.1380, np.sqrt(0.138 * 0.862), 50_000)
    assert abs(share - 0.0906) > 0.03


def test_counts_of_the_first_year_agree_with_the_exact_law():
    # One look at the year's end: the parts are independent given the draw, so the number found is
    # Poisson-binomial with the chances of the outlook.
    rows = fleet(3, 8, age=7.0)
    years, draws = fiscal_years(0.0, ["2026"]), 20_000
    found = project(rows, every=0.99, draws=draws, years=years)
    chances = (
        outlook({"wire": weibull(3, 18)}, table(rows), inspections={"aloft": 0.99}, draws=1)
        .part_found["aloft"]
        .mean
    )
    pmf = poisson_binomial(chances)
    assert within(found.fleet.renewed[1, 0, 0], chances.sum(), chances.sum() ** 0.5, draws)
    tenth, median, ninetieth = np.searchsorted(np.cumsum(pmf), (0.1, 0.5, 0.9))
    assert found.fleet.renewed_percentiles[:, 0, 0].tolist() == [tenth, median, ninetieth]


# Abernethy 1983, Weibull Analysis Handbook (AFWAL-TR-83-2079): 1,703 bearing cages, hours in
# service of those that stand and hours at which six failed (data as reprinted in Meeker and
# Escobar 1998, from memory; they give the published fit and forecast).
CAGES = {50: 288, 150: 148, 250: 124, 350: 111, 450: 106, 550: 99, 650: 110, 750: 114, 850: 119}
CAGES |= {950: 127, 1050: 123, 1150: 93, 1250: 47, 1350: 41, 1450: 27, 1550: 11, 1650: 6}
CAGES |= {1850: 1, 2050: 2}
FAILED_AT = (230, 334, 423, 990, 1009, 1510)
CAGE_AGES = np.repeat(list(CAGES), list(CAGES.values())).astype(float)
NEXT_300 = replace(fiscal_years(0.0, ["next 300 h"]), bounds=np.array([0.0, 300.0]))


def cages(model, draws):
    rows = [
        {"part": i, "boat": i // 50, "spot": "lower", "age": age, "since": 0.0}
        for i, age in enumerate(CAGE_AGES)
    ]
    return project(rows, model, every=299.9999, years=NEXT_300, draws=draws)


def test_the_bearing_cages_of_the_next_300_hours():
    # Expected 5.0582; plug-in 90 % bounds [2, 9] (two independent programs).
    law = stats.weibull_min(2.035319, scale=11792.178)
    chances = 1 - law.sf(CAGE_AGES + 300) / law.sf(CAGE_AGES)
    assert chances.sum() == pytest.approx(5.0582, abs=5e-5)
    found = cages(weibull(2.035319, 11792.178), draws=2000)
    assert within(found.fleet.renewed[1, 0, 0], 5.0582, 5.0582**0.5, 2000)
    pmf = poisson_binomial(chances)
    assert np.searchsorted(np.cumsum(pmf), (0.05, 0.95)).tolist() == [2, 9]
    tenth, ninetieth = np.searchsorted(np.cumsum(pmf), (0.1, 0.9))
    assert found.fleet.renewed_percentiles[[0, 2], 0, 0].tolist() == [tenth, ninetieth]


def test_the_draws_of_a_fit_widen_the_bounds_of_a_count():
    # Six failures leave the forecast less sure than the plug-in says: calibrated bounds [1, 12]
    # against [2, 9] (two independent programs).
    lives = [Life.good_until(age) for age in CAGE_AGES] + [Life.failed_at(age) for age in FAILED_AT]
    model = fit(Lives.of(lives))
    assert 1 / model.sigma == pytest.approx(2.035319, abs=1e-5)
    assert np.exp(model.estimate[0]) == pytest.approx(11792.178, rel=1e-6)
    sure = cages(weibull(2.035319, 11792.178), draws=1000).fleet.renewed_percentiles[:, 0, 0]
    unsure = cages(model, draws=1000).fleet.renewed_percentiles[:, 0, 0]
    assert unsure[2] > sure[2]
    assert unsure[2] - unsure[0] > sure[2] - sure[0]


def test_renewing_at_the_best_age_costs_in_the_long_run_what_theory_says():
    # g* of renewal_age (Barlow and Proschan 1965) against 300 simulated years.
    best = renewal_age(lambda ages: np.exp(-((ages / 12) ** 3)), 30_000, 90_000)
    rows, years = one(age=0.0), fiscal_years(0.0, [str(i) for i in range(300)])
    standing = table(rows)
    plan = policy(standing, every=ALWAYS, renew_at=np.array([best.age]))
    cost = prices(standing, unplanned=np.array([90_000]))
    found = project(rows, weibull(3, 12), plan=plan, cost=cost, years=years, draws=4000)
    yearly = found.fleet.mean[0, 100:300].mean()
    assert yearly == pytest.approx(best.cost_rate, rel=0.006)  # Monte Carlo error .0019


def test_an_unknown_age_is_drawn_within_its_range():
    rows = [r for p in range(20) for r in one(part=p, age=6.0, since=6.0, spread=6.0)]
    years = fiscal_years(0.0, ["2026"])
    found = project(rows, every=ALWAYS, years=years, draws=2000)
    law = stats.weibull_min(3, scale=18)
    expected = 20 * np.mean(law.cdf(np.linspace(1, 13, 1001)))
    assert within(found.fleet.renewed[1, 0, 0], expected, expected**0.5, 2000)


def test_draws_of_the_model_are_carried_into_every_total():
    rows = fleet(10, 6, age=6.0)
    sure = project(rows, weibull(3, 18), draws=500)
    unsure = project(rows, weibull(3, 18, covariance=np.diag([0.04, 0.0])), draws=500)
    spread = [b.fleet.percentiles[2, 0, -1] - b.fleet.percentiles[0, 0, -1] for b in (sure, unsure)]
    assert spread[1] > 1.5 * spread[0]


def test_small_chunks_only_change_the_random_numbers(monkeypatch):
    rows = fleet(12, 6)
    whole = project(rows, draws=800)
    monkeypatch.setattr(budget_module, "_CELLS", 800 * 40)
    pieces = project(rows, draws=800)
    assert pieces.fleet.mean[0, -1] == pytest.approx(whole.fleet.mean[0, -1], rel=0.02)
    assert (pieces.boat.mean.sum(axis=0) == pieces.fleet.mean[0]).all()


def test_a_fleet_without_history_gets_its_budget_from_the_rule_of_thumb():
    model = rule_of_thumb(kind="wire")
    rows = fleet(2)
    standing = table(rows, ("run", "upper", *model.names[3:-1]))
    found = budget(
        {"wire": model}, standing, policy(standing), prices(standing), TEN_YEARS, draws=100
    )
    assert (found.fleet.mean > 0).all()
