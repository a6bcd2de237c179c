"""The curve beside what was seen: close where the model is right, apart where it is not."""

import numpy as np
import pytest

from forecasting.survival import LifeModel, Lives
from forecasting.survival.goodness import beside_steps, cox_snell, expected_curve
from tests.studies.fleets import COVARIATES, World, lives, sail


def model_of(world: World, **changed: float) -> LifeModel:
    truth = world.parameters | changed
    names = ("intercept", "run", "upper", *COVARIATES, "log_sigma")
    k = len(names)
    estimate = np.array([truth[name] for name in names])
    return LifeModel("weibull", names, estimate, np.zeros((k, k)), np.full((k, k), np.nan))


@pytest.fixture(scope="module")
def fleet() -> tuple[World, Lives]:
    world = World(boats=120)
    return world, lives(sail(world, 1))


def lower_ends(rows: Lives) -> Lives:
    return rows.take((rows.X[:, 0] == 0) & (rows.X[:, 1] == 0))


def test_the_true_curve_follows_what_was_seen(fleet):
    world, rows = fleet
    found = beside_steps(model_of(world), lower_ends(rows))
    assert found.gap < max(0.03, 3 * found.error)
    residual = cox_snell(model_of(world), rows)
    assert residual.gap < max(0.03, 3 * residual.error)


@pytest.mark.parametrize(
    ("changed", "above"), [({"intercept": 3.7}, True), ({"log_sigma": 0.0}, False)]
)
def test_a_wrong_curve_does_not(fleet, changed, above):
    """Lives 1.6 times as long stand above; a shape of 1 falls too early."""
    world, rows = fleet
    found = beside_steps(model_of(world, **changed), lower_ends(rows))
    assert found.gap > 0.08
    assert found.gap > 4 * found.error
    assert found.above == above
    assert cox_snell(model_of(world, **changed), rows).gap > 0.03


def test_the_curve_of_lives_alike_is_the_models_own():
    world = World()
    model = model_of(world)
    n = 40
    X = np.tile([0.0, 0, 1, 0, 0, 0, 0, 0], (n, 1))
    rows = Lives(np.full(n, 2.0), np.linspace(3, 20, n), X=X, names=model.columns)
    ages = np.linspace(2, 19, 200)
    own = np.array([model.survival(age, X[0])[0] for age in ages])
    assert expected_curve(model, rows, ages) == pytest.approx(own / own[0], abs=1e-9)


def test_too_few_to_compare_is_said_by_nothing(fleet):
    world, rows = fleet
    assert beside_steps(model_of(world), rows.take(np.arange(9))) is None
    assert cox_snell(model_of(world), rows.take(np.arange(9))) is None
