"""Boats that differ: the spread is found where there is one, and intervals by profile."""

import numpy as np
import pytest
from scipy.optimize import minimize, minimize_scalar

from forecasting.survival import FAMILIES, Lives, fit
from forecasting.survival.boat_likelihood import BoatLikelihood
from forecasting.survival.families import family_named
from forecasting.survival.likelihood import Likelihood
from forecasting.survival.profile import profile_intervals

from .fleets import wires
from .samples import mixed_lives

DROP = 1.920729  # half the 95 % point of chi-squared with one degree of freedom (any table)


def fleet(seed: int, spread: float, boats: int = 60, parts: int = 12) -> Lives:
    """Weibull 3, half-yearly looks, boats whose log life differs by that much."""
    rng = np.random.default_rng(seed)
    boat = np.repeat(np.arange(boats), parts)
    harsh = rng.normal(size=boat.size)
    location = 2.5 - 0.2 * harsh + rng.normal(0, spread, boats)[boat]
    age = np.exp(location + np.log(rng.exponential(size=boat.size)) / 3)
    last = rng.uniform(3, 12, boat.size)
    return Lives(
        entry=np.zeros(boat.size),
        good=np.where(age > last, last, np.floor(np.minimum(age, last) * 2) / 2),
        condemned=np.where(age > last, np.inf, np.floor(age * 2) / 2 + 0.5),
        cluster=boat,
        X=harsh[:, None],
        names=("severity",),
    )


def test_the_spread_between_boats_is_found_on_average_over_fleets():
    found = [fit(fleet(seed, 0.25), boat_effect=True) for seed in range(8)]
    spreads = np.array([model.boat_spread for model in found])
    assert spreads.mean() == pytest.approx(0.25, abs=3 * spreads.std(ddof=1) / np.sqrt(8) + 0.01)
    shapes = np.array([1 / model.sigma for model in found])
    assert shapes.mean() == pytest.approx(3, abs=3 * shapes.std(ddof=1) / np.sqrt(8))
    assert all(low < 0.25 < high for low, high in (m.boat_spread_band for m in found[:4]))


def test_leaving_it_out_makes_lives_look_more_scattered_and_errors_too_small():
    lives = fleet(1, 0.3)
    alike, differ = fit(lives), fit(lives, boat_effect=True)
    assert differ.sigma < 0.95 * alike.sigma
    assert differ.log_likelihood > alike.log_likelihood + DROP
    assert differ.se[0] > 1.2 * alike.se[0]
    assert alike.se_by_cluster[0] == pytest.approx(differ.se[0], rel=0.25)


def test_boats_that_do_not_differ_give_the_plain_fit():
    models = [(fit(fleet(s, 0.0)), fit(fleet(s, 0.0), boat_effect=True)) for s in range(6)]
    none = [(alike, differ) for alike, differ in models if differ.boat_spread == 0]
    assert none
    for alike, differ in none:
        assert differ.estimate == pytest.approx(alike.estimate)
        assert differ.log_likelihood == alike.log_likelihood
        assert differ.boat_spread_band is None


@pytest.mark.parametrize("family", FAMILIES)
def test_the_maximum_with_boats_is_one(family):
    lives = fleet(2, 0.25)
    model = fit(lives, family, boat_effect=True)
    theta = np.append(model.estimate, np.log(model.boat_spread))
    likelihood = BoatLikelihood(family_named(family), lives)
    assert likelihood(theta).value == pytest.approx(model.log_likelihood, rel=1e-9)
    lower = minimize(lambda t: -likelihood.centred(theta).value(t), theta, method="Nelder-Mead")
    assert -lower.fun <= model.log_likelihood + 1e-5


def test_one_boat_alone_has_no_spread():
    lives = fleet(1, 0.2)
    alone = Lives(
        entry=lives.entry, good=lives.good, condemned=lives.condemned, cluster=np.zeros(len(lives))
    )
    assert fit(alone, boat_effect=True).boat_spread == 0


def ends_by_hand(lives: Lives, model, place: int) -> tuple[float, float]:
    """The definition with scipy's searches alone: hold, maximise the other, find the crossings."""
    likelihood = Likelihood(family_named(model.family), lives)

    def fall(value: float) -> float:
        def below(other: float) -> float:
            theta = np.array([value, other] if place == 0 else [other, value])
            return -likelihood(theta).value

        other = model.estimate[1 - place]
        return model.log_likelihood + minimize_scalar(below, (other - 0.1, other + 0.1)).fun

    at, error = model.estimate[place], model.se[place]
    offsets = np.linspace(1.2, 3.0, 73) * error
    low = np.interp(DROP, [fall(at - o) for o in offsets], at - offsets)
    high = np.interp(DROP, [fall(at + o) for o in offsets], at + offsets)
    return float(low), float(high)


def test_profile_ends_are_where_the_profile_has_fallen_by_half_a_chi_squared():
    rng = np.random.default_rng(4)
    age = 9 * rng.weibull(2.5, 12)
    lives = Lives(entry=np.zeros(12), good=np.zeros(12), failed=age)
    model = fit(lives)
    found = profile_intervals(lives, model, ("intercept", "log_sigma"))
    for place, name in enumerate(("intercept", "log_sigma")):
        assert found[name] == pytest.approx(ends_by_hand(lives, model, place), abs=1e-3)


def test_the_profile_of_b10_is_that_of_the_model_written_in_b10():
    """Without covariates log B10 = intercept + sigma log(-log .9): held so by hand."""
    rng = np.random.default_rng(4)
    age = 9 * rng.weibull(2.5, 12)
    lives = Lives(entry=np.zeros(12), good=np.zeros(12), failed=age)
    model = fit(lives)
    low, high = profile_intervals(lives, model, ("log_b10",))["log_b10"]
    b10 = np.log(model.part_age(0.1))
    likelihood = Likelihood(family_named("weibull"), lives)

    def fall(value: float) -> float:
        shift = np.log(-np.log(0.9))

        def below(s: float) -> float:
            return -likelihood(np.array([value - np.exp(s) * shift, s])).value

        return model.log_likelihood + minimize_scalar(below, (-1.5, -0.5)).fun

    assert fall(low) == pytest.approx(DROP, abs=2e-3)
    assert fall(high) == pytest.approx(DROP, abs=2e-3)
    assert b10 - low > high - b10  # early ages are the open side


def test_the_profile_of_the_spread_agrees_with_its_errors_on_a_large_fleet():
    lives = fleet(3, 0.25, boats=120)
    model = fit(lives, boat_effect=True)
    found = profile_intervals(lives, model, ("log_spread", "severity"))
    assert np.exp(found["log_spread"]) == pytest.approx(model.boat_spread_band, rel=0.08)
    at, error = model.coefficients["severity"], model.se[1]
    assert found["severity"] == pytest.approx((at - 1.96 * error, at + 1.96 * error), abs=0.01)


def test_a_profile_of_what_is_not_in_the_model_is_refused_by_name():
    lives = fleet(1, 0.0)
    model = fit(lives, fixed={"severity": -0.2})
    with pytest.raises(ValueError, match="'severity' has no profile"):
        profile_intervals(lives, model, ("severity",))
    with pytest.raises(ValueError, match="'log_spread' has no profile"):
        profile_intervals(lives, model, ("log_spread",))


def test_a_spread_that_may_be_none_has_an_interval_from_nothing_up():
    """Wald's on the logarithm would reach from 1e-16 to 1e13 here."""
    lives = mixed_lives(7, 60)
    plain = fit(lives)
    model = next(
        found
        for seed in range(1, 30)
        if (found := fit(mixed_lives(seed, 60), boat_effect=True)).boat_spread
    )
    low, high = model.boat_spread_band
    assert low == 0
    assert model.boat_spread < high <= 3
    assert plain.boat_spread_band is None


def test_a_wide_spreads_interval_is_where_the_profile_has_fallen():
    lives = wires(np.random.default_rng(5), 25, spread=0.5)
    lives = lives.keep(["run", "upper"])
    model = fit(lives, boat_effect=True)
    low, high = model.boat_spread_band
    assert 0 < low < model.boat_spread < high
    ends = np.exp(profile_intervals(lives, model, ["log_spread"])["log_spread"])
    assert (low, high) == pytest.approx(tuple(ends), rel=0.04)  # nodes held there, placed anew here
