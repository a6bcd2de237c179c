"""A back-test finds a bad forecast out, and only that."""

import numpy as np
import pytest

from forecasting.survival import LifeModel, Lives, fit
from forecasting.survival.back_test import (
    Predicted,
    Record,
    Trials,
    gain,
    predict,
    scores,
    tallies,
    tally,
)
from forecasting.survival.rivals import age_alone, hazards
from tests.forecasting.survival.test_goodness import model_of
from tests.studies import backtest
from tests.studies.fleets import World, lives, sail, trials

WORLD = World(boats=150)


@pytest.fixture(scope="module")
def log():
    return sail(WORLD, 1)


@pytest.fixture(scope="module")
def looks(log) -> Trials:
    return trials(log, -4.0, 0.0)


def chance(model: LifeModel, looks: Trials) -> np.ndarray:
    return predict(model, looks, draws=2).chance


# -- the small form of the study


def test_the_right_reading_expects_what_is_found_and_each_shortcut_does_not():
    """Bars of the method for many fleets of 250 boats; here one fleet, so wider ones."""
    found = {}
    for name in backtest.BARS:
        ratios = [backtest.ratio(backtest.Case(seed, 250, name)) for seed in (1,)]
        found[name] = sum(r.observed for r in ratios) / sum(r.expected for r in ratios)
    assert 0.88 < found["right"] < 1.14
    assert found["found on the day, alive today"] > 1.15
    assert found["truncation ignored"] > 1.15
    assert found["age renewals as deaths"] < 0.8


def test_an_interval_of_the_count_holds_it_about_as_often_as_it_says():
    """Of ten 90 % intervals on the true model fewer than six would be a 1 in 6,000 chance."""
    held = 0
    for seed in range(1, 11):
        log = sail(World(boats=60, wires=4), seed)
        looks = trials(log, -1.0, 0.0)
        low, high = predict(model_of(World()), looks, draws=400, seed=seed).interval()
        held += low <= looks.outcome.sum() <= high
    assert held >= 6


# -- chances and counts


def test_a_chance_is_that_of_going_between_two_sights():
    """Weibull 3/18: by closed form 1 - exp((L/18)^3 - (U/18)^3)."""
    names = ("intercept", "log_sigma")
    model = LifeModel(
        "weibull", names, [np.log(18), -np.log(3)], np.zeros((2, 2)), np.zeros((2, 2))
    )
    looks = Trials(np.array([1, 2]), np.array([0.0, 11]), np.array([5.0, 13]), np.zeros(2),
                   np.zeros((2, 0)), ())  # fmt: skip
    expected = 1 - np.exp(np.array([0, 11 / 18]) ** 3 - np.array([5 / 18, 13 / 18]) ** 3)
    assert chance(model, looks) == pytest.approx(expected, abs=1e-12)


def test_a_look_not_after_the_sight_before_it_is_refused():
    with pytest.raises(ValueError, match="after the sight"):
        Trials(np.array([1]), np.array([2.0]), np.array([2.0]), np.zeros(1), np.zeros((1, 0)), ())


def test_what_the_model_does_not_know_widens_the_count(log, looks):
    known = lives(log, as_of=-4.0)
    model = fit(known)
    sure = LifeModel(model.family, model.names, model.estimate, 0 * model.covariance,
                     0 * model.covariance)  # fmt: skip
    wide, narrow = predict(model, looks, draws=600), predict(sure, looks, draws=600)
    assert wide.counts.std() > 1.15 * narrow.counts.std()
    low, high = wide.interval()
    assert low < wide.counts.mean() < high


def test_a_boat_is_forecast_with_its_own_effect_given_its_record():
    world = World(boats=80, spread=0.5)
    log = sail(world, 3)
    known = lives(log, as_of=-3.0)
    boats = log.boat[np.repeat(np.flatnonzero(log.fitted <= -3.0), 3)]
    model = model_of(world)
    spread = LifeModel(**{**{f: getattr(model, f) for f in model.__dataclass_fields__},
                          "boat_spread": 0.5})  # fmt: skip
    looks = trials(log, -3.0, 0.0)
    own = predict(spread, looks, Record(known, boats), draws=100).chance
    anybody = predict(spread, looks, None, draws=100).chance
    assert gain(looks, own, anybody).total > 0
    assert gain(looks, own, anybody).verdict == "better"


# -- tallies and gains


def test_looks_in_any_order_and_boats_by_any_name_count_the_same(looks):
    p = chance(model_of(WORLD), looks)
    order = np.random.default_rng(1).permutation(len(looks))
    renamed = looks.take(order)
    renamed = Trials(9000 - 7 * renamed.boat, *(getattr(renamed, name) for name in
                     ("start", "end", "outcome", "X", "names")))  # fmt: skip
    one, other = tally(looks, p), tally(renamed, p[order])
    assert (one.observed, one.boats) == (other.observed, other.boats)
    assert other.z == pytest.approx(one.z)
    assert gain(renamed, p[order], p[order] / 2).total == pytest.approx(gain(looks, p, p / 2).total)


def test_groups_add_to_the_whole(looks):
    p = chance(model_of(WORLD), looks)
    bands = np.where(looks.end < 10, "young", "old")
    parts = tallies(looks, p, {"age": bands})["age"]
    assert set(parts) == {"young", "old"}
    assert sum(each.expected for each in parts.values()) == pytest.approx(p.sum())
    assert sum(each.observed for each in parts.values()) == looks.outcome.sum()


def test_nothing_found_where_little_was_expected_is_no_scandal():
    """60 looks at .05 on 60 boats, none condemned: by the boats' own spread alone z were -7.7."""
    looks = Trials(np.arange(60), np.zeros(60), np.ones(60), np.zeros(60), np.zeros((60, 0)), ())
    assert tally(looks, np.full(60, 0.05)).z == pytest.approx(-3 / np.sqrt(60 * 0.05 * 0.95))


def test_boats_that_go_together_make_the_same_surplus_less_sure():
    boat = np.repeat(np.arange(20), 10)
    outcome = (boat < 6).astype(float)
    together = Trials(boat, np.zeros(200), np.ones(200), outcome, np.zeros((200, 0)), ())
    apart = Trials(np.arange(200), together.start, together.end, together.outcome, together.X, ())
    p = np.full(200, 0.2)
    assert tally(apart, p).z > 2 * tally(together, p).z


def test_a_fleet_of_sixty_boats_shows_a_fifth_too_many_only_now_and_then():
    """About 41 expected a check: by the method's own simulations 29 % of the time."""
    looks = Trials(
        np.arange(410), np.zeros(410), np.ones(410), np.zeros(410), np.zeros((410, 0)), ()
    )
    assert 0.2 < tally(looks, np.full(410, 0.1)).power < 0.35


# -- a bad forecast does not beat


def test_the_truth_beats_its_simpler_rivals_and_a_planted_bad_model_does_not(log, looks):
    known = lives(log, as_of=-4.0)
    truth = chance(model_of(WORLD), looks)
    rule = hazards(known, cut=12.0).chance(looks)
    constant = hazards(known).chance(looks)
    for rival in (rule, constant, chance(age_alone(known, model_of(WORLD)), looks)):
        assert gain(looks, truth, rival).verdict == "better"
        assert scores(looks, truth).brier < scores(looks, rival).brier
    assert gain(looks, rule, constant).total > 0
    bad = chance(model_of(WORLD, intercept=WORLD.parameters["intercept"] + 0.5), looks)
    assert gain(looks, bad, truth).verdict == "worse"
    assert gain(looks, bad, rule).verdict != "better"
    assert tally(looks, bad).z > 3


def test_few_boats_settle_nothing(looks):
    few = looks.take(looks.boat < 5)
    p = chance(model_of(WORLD), few)
    assert gain(few, p, p / 5).verdict == "no telling"


def test_a_constant_hazard_is_deaths_over_years():
    """Exact lives: the maximum is deaths over time at risk; the half death is told apart."""
    rng = np.random.default_rng(3)
    ends = rng.exponential(20, 4000)
    stopped = ends > 15
    exact = Lives(
        np.zeros(4000), np.where(stopped, 15.0, 0.0), failed=np.where(stopped, np.nan, ends)
    )
    rate = ((~stopped).sum() + 0.5) / (np.minimum(ends, 15).sum() + 25)
    assert hazards(exact).rates[0, 0] == pytest.approx(rate, rel=1e-6)
    split = hazards(exact, cut=6.0)
    young = ((ends <= 6).sum() + 0.5) / (np.minimum(ends, 6).sum() + 25)
    assert split.rates[0, 0] == pytest.approx(young, rel=1e-6)


def test_intervals_give_the_same_hazards_as_the_lives_in_them():
    rng = np.random.default_rng(4)
    ends = rng.exponential(8, 20000)
    yearly = Lives(np.zeros(20000), np.floor(ends), np.floor(ends) + 1)
    assert hazards(yearly).rates[0, 0] == pytest.approx(1 / 8, rel=0.02)
    assert hazards(yearly, cut=5.5).rates[0] == pytest.approx([1 / 8, 1 / 8], rel=0.04)


def test_an_interval_holds_at_least_its_share_of_the_counts():
    told = Predicted(np.zeros(1), np.arange(100.0), np.arange(100.0))
    low, high = told.interval(0.9)
    assert np.mean((told.counts >= low) & (told.counts <= high)) >= 0.9


def test_years_put_together_share_what_the_model_did_not_know():
    """Two years whose mean is 10 or 30 by the draw: together 20 or 60, never mixed to 40."""
    rng = np.random.default_rng(1)
    years = [
        Predicted(np.zeros(1), m, m + 0.0) for m in rng.permuted([[10.0, 30] * 50] * 2, axis=1)
    ]
    together = Predicted.together(years)
    assert together.interval() == (20, 60)
    assert set(together.counts) == {20, 60}
