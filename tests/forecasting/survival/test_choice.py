"""Which family: by boats not seen, with boats that differ scored as boats nobody knows."""

from dataclasses import replace

import numpy as np
import pytest

from forecasting.survival import Lives
from forecasting.survival.boat_likelihood import BoatLikelihood
from forecasting.survival.choice import boat_scores, choose_family
from forecasting.survival.families import WEIBULL


def fleet(seed: int, spread: float, boats: int = 60, family: str = "weibull") -> Lives:
    """Six parts a boat, looked at once a year, up to 25 years."""
    rng = np.random.default_rng(seed)
    boat = np.repeat(np.arange(boats), 6)
    weibull, normal = np.log(rng.exponential(size=len(boat))), rng.normal(size=len(boat))
    z = weibull if family == "weibull" else normal
    life = np.exp(2.3 + 0.35 * z + rng.normal(0, spread, boats)[boat])
    good = np.floor(np.minimum(life, 25))
    return Lives(np.zeros(len(boat)), good, np.where(life < 25, good + 1, np.inf), cluster=boat)


def test_boats_that_differ_are_scored_by_their_marginal_likelihood():
    """Over boats that differ by half again a score with boats alike is far below the right one."""
    lives = fleet(1, spread=0.45)
    alike, differ = boat_scores("weibull", lives), boat_scores("weibull", lives, True)
    gain = differ - alike
    assert gain.mean() > 2 * gain.std(ddof=1) / np.sqrt(len(gain))
    truth = np.array([2.3, np.log(0.35), np.log(0.45)])
    best = BoatLikelihood(WEIBULL, lives).boat_values(truth)
    assert differ.sum() == pytest.approx(best.sum(), abs=12)


def test_boats_alike_lose_nothing_by_being_allowed_to_differ():
    lives = fleet(2, spread=0.0)
    alike, differ = boat_scores("weibull", lives), boat_scores("weibull", lives, True)
    assert differ.sum() == pytest.approx(alike.sum(), abs=3)


@pytest.mark.parametrize("boat_effect", [False, True])
def test_neither_names_of_boats_nor_order_of_rows_move_the_scores(boat_effect):
    lives = fleet(3, spread=0.3, boats=20)
    order = np.random.default_rng(0).permutation(len(lives))
    names = np.random.default_rng(1).permutation(20)
    moved = replace(lives.take(order), cluster=names[lives.cluster[order]])
    before, after = (boat_scores("weibull", each, boat_effect) for each in (lives, moved))
    assert after[names] == pytest.approx(before, abs=1e-6)


def test_a_spread_of_boats_does_not_pass_for_another_family():
    """Weibull lives of boats that differ by half look log-normal when boats are taken as alike."""
    lives = fleet(4, spread=0.5, boats=40)
    assert choose_family(lives, boat_effect=True)[0] == "weibull"


def test_log_normal_lives_of_boats_that_differ_are_found_to_be_no_weibull():
    chosen, why = choose_family(fleet(5, 0.3, boats=80, family="lognormal"), boat_effect=True)
    assert chosen in ("lognormal", "loglogistic")
    assert "boats left out" in why


def test_at_150_deaths_a_family_is_chosen_and_just_below_it_is_not():
    lives = fleet(6, spread=0.0, boats=30)
    share = 150 / lives.deaths
    enough = replace(lives, weight=np.where(lives.died, share, 1.0))
    fewer = replace(enough, weight=enough.weight * 0.999)
    assert "cannot tell" not in choose_family(enough)[1]
    assert "cannot tell" in choose_family(fewer)[1]
