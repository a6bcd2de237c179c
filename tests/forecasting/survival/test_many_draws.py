"""Likelihoods at many draws at once are those of one at a time, far out as well."""

import numpy as np
import pytest

from forecasting.survival import FAMILIES, Lives, Prior, engines
from forecasting.survival.alike import AlikeLikelihood
from forecasting.survival.boat_likelihood import BoatLikelihood
from forecasting.survival.boat_values import WeibullBoats
from forecasting.survival.families import WEIBULL
from forecasting.survival.likelihood import Likelihood

from .fleets import good_wires
from .samples import THETA, mixed_lives


@pytest.mark.parametrize("family", FAMILIES)
def test_boats_alike(family):
    lives = mixed_lives(3)
    thetas = THETA + np.random.default_rng(1).normal(0, 0.3, (40, 4))
    one = Likelihood(FAMILIES[family], lives)
    expected = [one(theta).value for theta in thetas]
    assert AlikeLikelihood(FAMILIES[family], lives).values(thetas) == pytest.approx(expected)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_boats_that_differ(seed):
    boats = BoatLikelihood(WEIBULL, mixed_lives(seed))
    rng = np.random.default_rng(seed)
    thetas = np.append(THETA, -1.2) + rng.normal(0, 0.3, (30, 5))
    expected = [boats(theta).value for theta in thetas]
    # Each has its nodes about modes found its own way.
    assert WeibullBoats(boats).values(thetas) == pytest.approx(expected, abs=1e-4)


def test_a_draw_does_not_depend_on_those_beside_it():
    many = WeibullBoats(BoatLikelihood(WEIBULL, mixed_lives(4)))
    thetas = np.append(THETA, -1.2) + np.random.default_rng(4).normal(0, 2, (60, 5))
    alone = np.array([many.values(theta[None])[0] for theta in thetas])
    assert np.array_equal(np.isfinite(alone), np.isfinite(many.values(thetas)))
    assert many.values(thetas[::-1])[::-1] == pytest.approx(alone, rel=1e-12)


def test_rounding_is_never_taken_for_a_density():
    """Dead between entry and first sight: a chance, so its logarithm is at most 0, wherever."""
    lives = Lives(
        entry=np.array([8.3, 2.5, 8.5, 0.0]), good=np.array([8.3, 4.3, 9.0, 1.0]),
        condemned=np.array([8.31, 4.31, 9.02, np.inf]), cluster=np.array([0, 0, 1, 1]),
    )  # fmt: skip
    thetas = np.random.default_rng(5).normal(0, 6, (400, 3))
    for values in (
        WeibullBoats(BoatLikelihood(WEIBULL, lives)).values(thetas),
        AlikeLikelihood(WEIBULL, lives).values(thetas[:, :2]),
    ):
        assert (values <= 1e-9).all()
        assert np.isfinite(values).any()


# -- the second engine where there is no maximum


@pytest.mark.parametrize("rows", [1, 30])
def test_the_engines_agree_on_lives_that_have_no_maximum(rows):
    lives = good_wires(10, 12.0).take(np.arange(rows))
    theta = Prior().parameters(("intercept", *lives.names, "log_sigma"))
    assert engines.refuse_disagreement("weibull", lives, theta) is None


def test_engines_that_disagree_are_refused_by_name(monkeypatch):
    monkeypatch.setattr(engines, "AGREE", -1.0)  # nothing is as near as that
    lives = good_wires(10, 12.0)
    theta = Prior().parameters(("intercept", *lives.names, "log_sigma"))
    refused = engines.refuse_disagreement("weibull", lives, theta)
    assert refused.reason_code == "engines_disagree"
    assert "by the closed form" in refused.sentence
