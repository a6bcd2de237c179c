"""Chance of failing in service: prior, update and order of magnitude."""

import numpy as np
import pytest
from scipy import stats

from forecasting.planning.failing import BreakageRate, chance_of_failing, seasons_condemned
from forecasting.planning.outlook import outlook
from forecasting.survival import rule_of_thumb
from tests.forecasting.planning.rigs import life, table, weibull, wire


def test_before_the_fleet_has_breakages_one_in_thirty_seasons_breaks():
    # Common practice, no source: ten breakages in 300 condemned seasons as prior weight.
    assert BreakageRate().mean == pytest.approx(1 / 30)


def test_the_fleets_own_breakages_count():
    assert BreakageRate().updated(5, 60).mean == pytest.approx(15 / 360)
    with pytest.raises(ValueError, match="negative"):
        BreakageRate().updated(-1, 10)


def test_draws_of_the_rate_are_gamma():
    drawn = BreakageRate().draws(20_000, np.random.default_rng(0))
    assert stats.kstest(drawn, stats.gamma(10, scale=1 / 300).cdf).pvalue > 0.01


def test_the_chance_is_the_mean_chance_condemned_times_the_rate():
    unseen = np.array([[0.1, 0.2, 0.3], [0.0, 0.0, 0.0]])
    assert chance_of_failing(unseen, BreakageRate()) == pytest.approx([0.2 / 30, 0.0])


def test_it_never_exceeds_the_chance_of_being_condemned():
    wild = BreakageRate().updated(900, 0)
    assert chance_of_failing(np.array([[0.4]]), wild) == pytest.approx([0.4])


def test_dismastings_of_a_plausible_boat_are_of_the_published_order():
    # 15 dismastings among about 350 inspected sail vessels in 8 years: 0.54 % per vessel-year (US
    # Coast Guard inspector training, July 2014). Twelve wires, 8 years old, run and upper end seen
    # half a year ago, lower end last month; the rule of thumb of common practice.
    model = rule_of_thumb(kind="wire")
    rows = [r for p in range(12) for r in wire(part=p, age=8.0, since=(0.1, 0.5, 0.5))]
    standing = table(rows, ("run", "upper", *model.names[3:-1]))
    season = outlook({"wire": model}, standing, horizons=(0.0, 0.25, 0.5), draws=400)
    failing = chance_of_failing(season.boat_condemned.mean, BreakageRate())[0]
    assert 0.0054 / 4 < failing < 0.0054 * 4


def test_seasons_stood_condemned_are_half_the_gap_for_a_constant_hazard_over_a_short_gap():
    model = life("weibull", np.log(500.0), 1.0)
    X, good, ended = np.zeros((3, 0)), np.array([2.0, 5.0, 8.0]), np.array([3.0, 7.0, 8.5])
    stood = seasons_condemned(model, (), X, good, ended, draws=2)
    assert stood == pytest.approx((ended - good).sum() / 2, rel=0.01)


def test_a_part_that_wears_out_fast_stood_condemned_for_less():
    X, good, ended = np.zeros((1, 0)), np.array([4.0]), np.array([12.0])
    stood = seasons_condemned(weibull(3, 12), (), X, good, ended, draws=2)
    law = stats.weibull_min(3, scale=12)
    mean = law.expect(lambda t: t, lb=4, ub=12, conditional=True)
    assert stood == pytest.approx(12 - mean, rel=0.005)


def test_a_part_never_found_has_no_seasons_condemned():
    with pytest.raises(ValueError, match="age at which it was found"):
        seasons_condemned(weibull(3, 12), (), np.zeros((1, 0)), np.array([4.0]), np.array([np.inf]))
