"""Budget: renewals against renewal theory, exact counts and published forecasts."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from forecasting.planning import budget as budget_module
from forecasting.planning.budget import budget
from forecasting.planning.ledger import fiscal_years
from forecasting.planning.outlook import outlook
from forecasting.planning.renewal_age import renewal_age
from forecasting.survival import Life, Lives, fit, rule_of_thumb
from tests.forecasting.planning.fleets import ALWAYS, TEN_YEARS, fleet, policy, prices, project
from tests.forecasting.planning.renewal_theory import poisson_binomial, renewal_function
from tests.forecasting.planning.rigs import one, table, weibull


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
