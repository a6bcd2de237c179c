"""After a watch: closed forms, and what a part and a boat make of it."""

import numpy as np
import pytest

from forecasting.condition.delay import Delay, Reports
from forecasting.condition.foreseen import AHEAD
from forecasting.condition.outlook import chance_by, factor, fate, foreseen
from forecasting.condition.panel import Law, Panel, panel
from forecasting.condition.posterior import Condition
from forecasting.planning.inspect_by import inspect_by
from forecasting.planning.outlook import outlook
from tests.forecasting.condition.spots import drawn, spots
from tests.forecasting.planning.rigs import table, weibull, wire

from dataclasses import replace  # isort: skip

CERTAIN = Condition(np.array([[0.9, 0.7, 1e-9]] * 8), 100, 50, 40, 30, 1.0)
DOUBTFUL = Condition(np.array([[0.9, 0.7, 0.01]] * 8), 100, 50, 40, 30, 1.0)


def test_after_a_watch_a_constant_hazard_is_condemned_at_the_delays_rate_and_its_own():
    """Density exp(-t / eta) tilted by exp(-t / m): exponential again, rate 1/m + 1/eta."""
    one = panel(
        [4.0], [np.inf], (np.array([0]), np.array([4.0]), np.array([True])),
        Law("weibull", np.array([np.log(12.0)]), 1.0),
    )  # fmt: skip
    for ahead in (0.1, 0.5, 1.0, 3.0):
        chance = chance_by(CERTAIN, one, np.array([4.0 + ahead]))[0]
        assert chance == pytest.approx(-np.expm1(-ahead * (1 / 0.9 + 1 / 12)), rel=1e-3)


def test_after_a_watch_the_chance_is_that_of_simulated_spots():
    """Sound at 6, watched at 6.5, not condemnable then: 600,000 spots, four standard errors."""
    rng, n = np.random.default_rng(3), 600_000
    goes = 9 * rng.weibull(3, n)
    begins = np.maximum(goes - rng.exponential(0.9, n), 0)
    says = [rng.uniform(size=n) < np.where(begins <= age, 0.7, 0.01) for age in (6.0, 6.5)]
    like_it = (goes > 6.5) & ~says[0] & says[1]
    one = spots((np.inf, [(6.0, False), (6.5, True)]), scale=9.0)
    for ahead in (0.25, 1.0, 2.0):
        share = (goes[like_it] <= 6.5 + ahead).mean()
        error = np.sqrt(share * (1 - share) / like_it.sum())
        told = chance_by(DOUBTFUL, one, np.array([6.5 + ahead]))[0]
        assert told == pytest.approx(share, abs=4 * error)


def test_reports_sort_spots_and_leave_the_sum_of_those_that_go():
    """What a watch adds is what looks that found nothing take away: 40,000 spots, one year on."""
    rng = np.random.default_rng(11)
    n, ages = 40_000, np.array([7.0, 7.5, 8.0])
    goes = 10 * rng.weibull(3, n)
    begins = np.maximum(goes - rng.exponential(0.9, n), 0)
    watch = rng.uniform(size=(n, 3)) < np.where(begins[:, None] <= ages, 0.7, 0.01)
    up = np.flatnonzero(goes > 8.0)
    row, look = np.repeat(np.arange(up.size), 3), np.tile(np.arange(3), up.size)
    law = Law("weibull", np.full(up.size, np.log(10.0)), 1 / 3)
    reports = row, ages[look], watch[up].ravel()
    standing = panel(np.full(up.size, 8.0), np.full(up.size, np.inf), reports, law)
    chance = chance_by(DOUBTFUL, standing, np.full(up.size, 9.0))
    went, watched = goes[up] <= 9.0, np.isfinite(standing.watched)
    life_alone = law.gone(standing.good, np.ones((up.size, 1)))[:, 0]
    for group in (watched, ~watched, np.ones(up.size, dtype=bool)):
        error = np.sqrt((chance[group] * (1 - chance[group])).sum())
        assert went[group].sum() == pytest.approx(chance[group].sum(), abs=4 * error)
    assert went[watched].sum() > 2.5 * life_alone[watched].sum()
    assert went[~watched].sum() < 0.8 * life_alone[~watched].sum()


def test_a_spot_without_reports_is_left_to_the_life_model():
    one = spots((np.inf, [(4.0, None)]))
    told = factor(one, Reports(one), Delay(1.0, 0.7, 0.002), np.array([[4.0, 5.0, 9.0]]))
    assert told == pytest.approx(np.ones((1, 3)))


def test_a_watch_long_ago_fades_where_watches_are_at_times_mistaken():
    fresh = spots((np.inf, [(6.0, True)]))
    old = spots((np.inf, [(1.0, True), (6.0, None)]))
    soon = np.array([6.5])
    assert chance_by(DOUBTFUL, old, soon)[0] < 0.3 * chance_by(DOUBTFUL, fresh, soon)[0]


def test_the_fate_of_the_watched_rises_and_says_when_it_reaches_one_in_four():
    found = fate(DOUBTFUL, drawn(400, 4, 0.9, 0.7, 0.01), np.arange(0, 61) / 12)
    assert np.all(np.diff(found.chance, axis=1) >= 0)
    assert found.chance[:, 0] == pytest.approx(np.zeros(3), abs=1e-12)
    soonest, middle, latest = found.when(0.25)
    assert 0.1 < soonest <= middle <= latest < 1.0
    assert found.when(0.9999)[1] == np.inf


MODELS = {"wire": weibull(3, 18)}


def _boat(said: Panel, of_spot: int):
    """A boat of one wire nine years old, seen half a year ago; the panel speaks of one spot."""
    standing = table(wire(part=0, age=9.0, since=(0.5, 0.5, 0.5)))
    row = np.full(3, -1)
    row[of_spot] = 0
    return replace(standing, foreseen=foreseen(DOUBTFUL, said, np.array([9.0]), row))


def test_a_watched_spot_asks_for_an_earlier_look_than_a_clean_one():
    watched = _boat(spots((np.inf, [(8.5, True)]), scale=18.0), 0)
    clean = _boat(spots((np.inf, [(8.5, False)]), scale=18.0), 0)
    unsaid = table(wire(part=0, age=9.0, since=(0.5, 0.5, 0.5)))
    years = [inspect_by(MODELS, each, limit=0.15).years[0] for each in (watched, clean, unsaid)]
    assert years[0] < years[2] <= years[1]
    now = [outlook(MODELS, each).boat_condemned.mean[0, 0] for each in (watched, clean, unsaid)]
    assert now[0] > 5 * now[2]
    assert now[1] < now[2]


def test_a_look_that_cannot_see_the_watched_spot_leaves_its_chance():
    watched = _boat(spots((np.inf, [(8.5, True)]), scale=18.0), 2)
    found = inspect_by(MODELS, watched, limit=0.15)
    assert found.after["deck"][0] > 0.8 * found.chance[0]
    assert found.after["aloft"][0] < 1e-9
    assert found.level[0] == "aloft"


def test_the_chance_rises_with_time_whatever_was_reported():
    for said in ((8.5, True), (8.5, False)):
        boat = _boat(spots((np.inf, [said]), scale=18.0), 0)
        found = outlook(MODELS, boat, horizons=tuple(AHEAD[:-2]))
        chance = found.part_condemned.mean[0]
        assert np.all(np.diff(chance) > 0)
        assert np.all((chance >= 0) & (chance <= 1))


def test_a_table_of_standing_parts_cut_and_joined_keeps_what_is_foreseen():
    watched = _boat(spots((np.inf, [(8.5, True)]), scale=18.0), 1)
    again = watched.take(np.array([2, 1, 0]))
    whole = outlook(MODELS, watched).boat_condemned.mean
    assert outlook(MODELS, again).boat_condemned.mean == pytest.approx(whole)
