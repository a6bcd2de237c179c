"""The model answers for survival, chances and whole parts, with intervals that mean something."""

import json
from dataclasses import replace

import numpy as np
import pytest

from forecasting.survival import FAMILIES, FITTED, LifeModel, Lives, fit, log_survival, part_ages
from forecasting.survival.model import BASELINE_FITTED

from .samples import mixed_lives

every_family = pytest.mark.parametrize("family", FAMILIES)


def weibull(shape: float, scale: float, **fields) -> LifeModel:
    return LifeModel(
        "weibull",
        ("intercept", "log_sigma"),
        np.log([scale, 1 / shape]),
        np.zeros((2, 2)),
        np.zeros((2, 2)),
        **fields,
    )


def test_the_chance_is_counted_from_the_last_sight():
    # Method: Weibull 3/18, last sight at 11, inspection at 13: .1380; counted from today's 11.8
    # it would be .0906.
    model = weibull(3, 18)
    assert model.chance_between(11, 13, [])[0] == pytest.approx(0.1380, abs=5e-5)
    assert model.chance_between(11.8, 13, [])[0] == pytest.approx(0.0906, abs=5e-5)


@pytest.mark.parametrize(("age", "within_five"), [(0, 0.021205), (10, 0.334513), (20, 0.729489)])
def test_conditional_chances_of_a_weibull_part(age, within_five):
    # Weibull 3/18; computed by two independent programs.
    chance = weibull(3, 18).chance_between(age, age + 5, [])
    assert chance == pytest.approx([within_five], abs=1e-6)


def test_survival_broadcasts_over_ages_and_parts():
    model = fit(mixed_lives())
    X = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
    assert model.survival(4.0, X).shape == (3,)
    assert model.survival([1.0, 2.0, 3.0], X).shape == (3,)
    assert model.survival([1.0, 2.0, 3.0, 4.0], X[0]).shape == (4,)
    assert model.survival(0.0, X).tolist() == [1.0, 1.0, 1.0]
    assert model.survival(4.0, model.design({"rod": [0, 0, 1], "severity": [0, 1, 0]})) == (
        pytest.approx(model.survival(4.0, X))
    )


def test_a_covariate_the_model_does_not_know_is_refused():
    model = fit(mixed_lives())
    with pytest.raises(ValueError, match="'charter'"):
        model.design({"charter": 1.0})
    with pytest.raises(ValueError, match="2 columns"):
        model.survival(4.0, [[1.0, 2.0, 3.0]])


@every_family
def test_the_band_is_the_delta_method_where_the_fit_is_sharp(family):
    lives = mixed_lives(n=1500)
    model = fit(replace(lives, cluster=None), family)
    x = np.array([0.5, -0.5])
    band = model.survival_band(4.0, x, level=0.9, draws=20000, seed=3)

    def curve(theta):
        location = theta[0] + theta[1:-1] @ x
        return float(np.exp(log_survival(family, 4.0, location, np.exp(theta[-1]))))

    step = 1e-5 * np.eye(4)
    slope = np.array([(curve(model.estimate + h) - curve(model.estimate - h)) / 2e-5 for h in step])
    half = 1.6449 * np.sqrt(slope @ model.interval_covariance @ slope)
    assert band.high[0] - band.low[0] == pytest.approx(2 * half, rel=0.04)
    assert band.low[0] < band.middle[0] < band.high[0]


def test_a_chance_has_a_band_too_and_it_stays_a_chance():
    model = fit(mixed_lives())
    band = model.chance_between_band(3.0, 5.0, [[0.0, 0.0], [1.0, 1.0]])
    assert band.middle == pytest.approx(model.chance_between(3.0, 5.0, [[0.0, 0.0], [1.0, 1.0]]))
    assert (band.low >= 0).all()
    assert (band.low < band.middle).all()
    assert (band.middle < band.high).all()
    assert (band.high <= 1).all()


def test_draws_have_the_mean_and_covariance_of_the_fit_and_repeat_by_seed():
    model = fit(mixed_lives())
    draws = model.draws(40000, seed=5)
    assert draws.shape == (40000, 4)
    assert draws.mean(axis=0) == pytest.approx(model.estimate, abs=5 * model.se.max() / 200)
    assert np.cov(draws, rowvar=False) == pytest.approx(model.covariance, rel=0.1, abs=3e-4)
    assert np.array_equal(model.draws(10, seed=5), model.draws(10, seed=5))
    assert not np.array_equal(model.draws(10, seed=5), model.draws(10, seed=6))


def test_intervals_rest_on_errors_by_boat_from_forty_boats_on():
    lives = mixed_lives(n=400)
    many = fit(replace(lives, cluster=np.arange(400) % 40))
    few = fit(replace(lives, cluster=np.arange(400) % 39))
    assert np.array_equal(many.interval_covariance, many.covariance_by_cluster)
    assert np.array_equal(few.interval_covariance, few.covariance)


def three_spots(family: str = "weibull", sigma: float = 0.4) -> LifeModel:
    names = ("intercept", "run", "upper", "severity", "log_sigma")
    theta = np.array([2.9, 0.5, 0.3, -0.2, np.log(sigma)])
    return LifeModel(family, names, theta, np.eye(5) * 1e-4, np.eye(5) * 1e-4)


@every_family
def test_a_wire_lives_as_the_product_of_its_three_spots(family):
    model = three_spots(family)
    for chance in (0.1, 0.5, 0.9):
        age = model.part_age(chance, {"severity": 1.0})
        X = model.design({"run": [0, 1, 0], "upper": [0, 0, 1], "severity": [1, 1, 1]})
        assert np.prod(model.survival(age, X)) == pytest.approx(1 - chance, rel=1e-10)


def test_a_weibull_wire_is_again_weibull():
    # S_part = exp(-sum_s (t / eta_s)^k): closed form.
    model = three_spots()
    k = 1 / model.sigma
    eta = np.exp([2.9, 3.4, 3.2])
    whole = (eta**-k).sum() ** (-1 / k)
    assert model.part_age(0.1) == pytest.approx(whole * (-np.log(0.9)) ** model.sigma)


def test_a_single_spot_part_needs_no_product():
    # Shape 3 with B10 of 9 years means scale 9 / (-log .9)^(1/3).
    model = weibull(3, 9 / (-np.log(0.9)) ** (1 / 3))
    assert model.part_age(0.1) == pytest.approx(9.0)
    assert part_ages("weibull", model.names, model.estimate[None], 0.1, {}).shape == (1,)


def test_part_ages_have_a_band_and_a_chance_must_be_one():
    model = three_spots()
    band = model.part_age_band(0.1, draws=4000, seed=1)
    assert band.low < band.middle < band.high
    assert float(band.middle) == model.part_age(0.1)
    for wrong in (0.0, 1.0, -0.1):
        with pytest.raises(ValueError, match="between 0 and 1"):
            model.part_age(wrong)


@every_family
def test_a_stored_model_comes_back_whole(family):
    model = fit(mixed_lives(), family)
    stored = json.loads(json.dumps(model.to_dict(), allow_nan=False))
    again = LifeModel.from_dict(stored)
    assert again.to_dict() == model.to_dict()
    assert np.array_equal(again.draws(5, 1), model.draws(5, 1))


def test_errors_that_cannot_be_given_are_stored_as_nothing():
    lives = replace(mixed_lives(), cluster=np.zeros(80))
    model = fit(lives)
    stored = json.loads(json.dumps(model.to_dict(), allow_nan=False))
    assert stored["covariance_by_cluster"][0][0] is None
    assert np.isnan(LifeModel.from_dict(stored).se_by_cluster).all()


@every_family
def test_a_slope_held_at_its_estimate_gives_the_same_fit(family):
    lives = mixed_lives()
    free = fit(lives, family)
    held = fit(lives, family, fixed={"rod": free.coefficients["rod"]})
    assert held.names == free.names
    assert held.estimate == pytest.approx(free.estimate, rel=1e-7)
    assert held.log_likelihood == pytest.approx(free.log_likelihood, rel=1e-12)
    assert held.se[2] == 0.0
    assert held.standing == BASELINE_FITTED
    assert free.standing == FITTED
    assert held.aic == pytest.approx(free.aic - 2)


@every_family
def test_held_slopes_are_rescaled_ages(family):
    lives = mixed_lives()
    slopes = {"severity": -0.19, "rod": 0.15}
    held = fit(lives, family, fixed=slopes)
    plain = fit(lives.rescaled(np.exp(-lives.X @ [-0.19, 0.15])).keep([]), family)
    assert held.estimate == pytest.approx([plain.estimate[0], -0.19, 0.15, plain.estimate[1]])
    assert held.log_likelihood < fit(lives, family).log_likelihood
    assert np.unique(held.draws(20, 1)[:, 1]) == pytest.approx([-0.19])


def test_a_constant_column_may_be_held():
    lives = mixed_lives()
    lives = replace(lives, X=np.column_stack([lives.X[:, 0], np.ones(80)]))
    model = fit(lives, fixed={"rod": 0.15})
    assert isinstance(model, LifeModel)
    assert model.estimate[0] == pytest.approx(fit(lives.keep(["severity"])).estimate[0] - 0.15)


def test_the_truth_is_found_in_simulated_inspections():
    # Known truth: shape 3, scale 20, slope -.2; yearly looks, two fifths joined late. 4,000 lives.
    rng = np.random.default_rng(20)
    x = rng.normal(size=4000)
    life = 20 * np.exp(-0.2 * x) * rng.weibull(3, 4000)
    entry = np.where(rng.random(4000) < 0.4, rng.uniform(0, 8, 4000), 0.0)
    x, life, entry = (values[life > entry] for values in (x, life, entry))
    until = entry + 14
    good = entry + np.floor(np.minimum(life, until) - entry)
    lives = Lives(entry, good, np.where(life < until, good + 1, np.inf), X=x, names=("severity",))
    model = fit(lives)
    truth = np.array([np.log(20), -0.2, -np.log(3)])
    assert (np.abs(model.estimate - truth) < 3.5 * model.se).all()
    assert (model.se < 0.03).all()


# -- boats that differ


def with_boats(spread: float, band: tuple[float, float] | None) -> LifeModel:
    return LifeModel(
        family="weibull", names=("intercept", "log_sigma"), estimate=np.array([2.9, -1.0]),
        covariance=np.diag([0.01, 0.01]), covariance_by_cluster=np.full((2, 2), np.nan),
        boat_spread=spread, boat_spread_band=band,
    )  # fmt: skip


def test_draws_of_the_boats_spread_fill_its_band():
    tau = with_boats(0.3, (0.15, 0.6)).draws_with_spread(40_000, 1)[:, -1]
    assert np.quantile(tau, [0.025, 0.5, 0.975]) == pytest.approx([0.15, 0.3, 0.6], rel=0.04)


def test_a_spread_that_may_be_nothing_is_never_drawn_far_beyond_its_upper_end():
    for band in ((0.0, 0.4), (1e-9, 0.4)):
        tau = with_boats(0.05, band).draws_with_spread(40_000, 1)[:, -1]
        assert (tau >= 0).all()
        assert np.quantile(tau, 0.975) == pytest.approx(0.4, rel=0.08)
        assert tau.max() < 1.0
    assert set(with_boats(0.0, None).draws_with_spread(50, 1)[:, -1]) == {0.0}


def test_draws_with_and_without_the_spread_are_the_same_rows():
    model = with_boats(0.3, (0.15, 0.6))
    assert np.array_equal(model.draws(20, 3), model.draws_with_spread(20, 3)[:, :-1])


def test_a_boats_own_effect_stretches_time():
    model = with_boats(0.3, (0.15, 0.6))
    X = np.zeros((1, 0))
    assert model.survival(10.0, X, boat=0.4) == pytest.approx(model.survival(10 * np.exp(-0.4), X))
