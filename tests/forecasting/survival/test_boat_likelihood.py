"""The likelihood when boats differ, against plain quadrature by scipy, and its exact laws."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import kstest, norm

from forecasting.survival import FAMILIES, Lives
from forecasting.survival.boat_effects import effects, values
from forecasting.survival.boat_likelihood import BoatLikelihood
from forecasting.survival.families import family_named
from forecasting.survival.likelihood import Likelihood

from .samples import THETA, mixed_lives
from .test_likelihood import differences

every_family = pytest.mark.parametrize("family", FAMILIES)
SPREAD = 0.3
WITH_SPREAD = np.append(THETA, np.log(SPREAD))


def boats(family: str, lives: Lives) -> BoatLikelihood:
    return BoatLikelihood(family_named(family), lives)


def log_of_one_boat(family: str, lives: Lives, spread: float = SPREAD) -> float:
    """The definition: the plain likelihood at each effect, integrated by scipy's quad."""
    plain = Likelihood(family_named(family), lives)

    def at(effect: float) -> float:
        return plain(THETA + np.array([effect, 0, 0, 0])).value

    top = max(at(u) for u in np.linspace(-1.5, 1.5, 61))

    def integrand(u: float) -> float:
        return np.exp(at(u) - top) * norm.pdf(u, scale=spread)

    return top + np.log(quad(integrand, -3, 3, points=[0], limit=200, epsrel=1e-11)[0])


@every_family
def test_each_boat_adds_the_integral_over_its_effect(family):
    lives = mixed_lives()
    one_by_one = [
        log_of_one_boat(family, lives.take(lives.cluster == boat))
        for boat in np.unique(lives.cluster)
    ]
    assert boats(family, lives)(WITH_SPREAD).value == pytest.approx(sum(one_by_one), rel=1e-7)


@every_family
@pytest.mark.parametrize("seed", [1, 2])
def test_score_and_hessian_are_the_slopes_while_the_nodes_are_held(family, seed):
    held = boats(family, mixed_lives(seed)).centred(WITH_SPREAD)
    at = held(WITH_SPREAD)
    score = differences(lambda theta: held(theta).value, WITH_SPREAD, 1e-6)
    hessian = differences(lambda theta: held(theta).score, WITH_SPREAD, 1e-6)
    assert at.score == pytest.approx(score, rel=1e-6, abs=1e-6)
    assert at.hessian == pytest.approx(hessian, rel=1e-6, abs=1e-5)
    assert held.value(WITH_SPREAD) == pytest.approx(at.value, rel=1e-13)
    assert held.boat_scores(WITH_SPREAD).sum(axis=0) == pytest.approx(at.score)


@every_family
def test_boats_that_hardly_differ_give_the_plain_likelihood(family):
    lives = mixed_lives()
    plain = Likelihood(family_named(family), lives)(THETA)
    with_boats = boats(family, lives)
    tiny = 1e-4
    at = with_boats(np.append(THETA, np.log(tiny)))
    assert at.value == pytest.approx(plain.value, abs=1e-4)
    gain = (with_boats(np.append(THETA, np.log(0.01))).value - plain.value) / 0.01**2
    assert with_boats.gain_of_spread(THETA) == pytest.approx(gain, rel=0.02)


@every_family
def test_relabelled_boats_and_permuted_rows_change_nothing(family):
    lives = mixed_lives()
    rng = np.random.default_rng(3)
    names = rng.permutation(100)[:12]
    relabelled = replace(lives, cluster=names[lives.cluster])
    shuffled = relabelled.take(rng.permutation(len(lives)))
    before = boats(family, lives)(WITH_SPREAD)
    after = boats(family, shuffled)(WITH_SPREAD)
    assert after.value == pytest.approx(before.value, rel=1e-12)
    assert after.score == pytest.approx(before.score, rel=1e-9, abs=1e-9)


@every_family
def test_a_row_split_at_a_good_inspection_changes_nothing(family):
    lives = mixed_lives()
    alive = np.flatnonzero(~lives.died & (lives.good > lives.entry + 0.2))[0]
    middle = (lives.entry[alive] + lives.good[alive]) / 2
    first, second = lives.good.copy(), lives.entry.copy()
    first[alive], second[alive] = middle, middle
    rest = replace(lives, good=first)
    later = replace(lives, entry=second).take(np.array([alive]))
    split = Lives(
        **{
            part: np.concatenate([getattr(rest, part), getattr(later, part)])
            for part in ("entry", "good", "condemned", "failed", "weight", "X")
        },
        cluster=np.append(rest.cluster, rest.cluster[alive]),
        names=lives.names,
    )
    assert boats(family, split)(WITH_SPREAD).value == pytest.approx(
        boats(family, lives)(WITH_SPREAD).value, rel=1e-12
    )


@every_family
def test_rescaled_ages_move_only_the_intercept(family):
    lives = mixed_lives()
    moved = WITH_SPREAD + np.array([np.log(12), 0, 0, 0, 0])
    exact = float(lives.weight[lives.exact].sum())  # a density per month is a twelfth
    before = boats(family, lives)(WITH_SPREAD).value
    after = boats(family, lives.rescaled(12))(moved).value
    assert after == pytest.approx(before - exact * np.log(12), rel=1e-9)


@every_family
def test_doubled_rows_equal_weight_2(family):
    lives = mixed_lives()
    twice = lives.take(np.tile(np.arange(len(lives)), 2))
    heavy = replace(lives, weight=2 * lives.weight)
    assert boats(family, twice)(WITH_SPREAD).value == pytest.approx(
        boats(family, heavy)(WITH_SPREAD).value, rel=1e-12
    )


@every_family
def test_many_draws_at_once_give_what_one_by_one_does(family):
    likelihood = boats(family, mixed_lives())
    draws = WITH_SPREAD + 0.2 * np.random.default_rng(1).normal(size=(20, 5))
    one_by_one = [likelihood(theta).value for theta in draws]
    assert values(likelihood, draws) == pytest.approx(one_by_one, rel=1e-7)


@every_family
def test_a_drawn_effect_follows_the_boats_own_distribution(family):
    """Kolmogorov's test against the density by plain quadrature, one boat, a fixed seed."""
    lives = mixed_lives()
    alone = lives.take(lives.cluster == 3)
    plain = Likelihood(family_named(family), alone)
    grid = np.linspace(-1.5, 1.5, 601)
    log_density = np.array(
        [plain(THETA + np.array([u, 0, 0, 0])).value - u**2 / 2 / SPREAD**2 for u in grid]
    )
    below = np.cumsum(np.exp(log_density - log_density.max()))
    thetas = np.tile(WITH_SPREAD, (400, 1))
    drawn = effects(boats(family, alone), thetas, np.random.default_rng(5))[0]
    assert kstest(drawn, lambda u: np.interp(u, grid, below / below[-1])).pvalue > 0.01


def test_a_boat_without_deaths_is_thought_better_and_one_with_early_deaths_worse():
    stood = Lives(entry=np.zeros(8), good=np.full(8, 12.0), cluster=np.zeros(8, dtype=int))
    theta = np.array([np.log(15.0), np.log(1 / 3), np.log(SPREAD)])
    likelihood = boats("weibull", stood)
    assert likelihood.modes(theta)[0][0] > 0.3
    gone = replace(stood, good=np.full(8, 3.0), condemned=np.full(8, 4.0))
    assert boats("weibull", gone).modes(theta)[0][0] < -1
