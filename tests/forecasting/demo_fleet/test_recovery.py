"""A right reading of the demo fleet finds the truth that made it, and a wrong one does not."""

import math

import numpy as np
import pytest

from forecasting.demo_fleet.generate import FleetRecord, generate
from forecasting.demo_fleet.plans import CHARTER_PLAN
from forecasting.demo_fleet.truth import Truth
from forecasting.survival.fit import fit
from forecasting.survival.lives import Lives
from forecasting.survival.model import LifeModel
from tests.forecasting.demo_fleet.reading import read

# No bad batch, and boats alike: every life from the one Weibull law.
PLAIN = Truth(flawed=0.0, boat_spread=0.0)
SEEDS = range(1, 9)  # the first ones, not chosen


@pytest.fixture(scope="module")
def fits() -> list[LifeModel]:
    fleets = [generate(seed, PLAIN, (CHARTER_PLAN,))[0] for seed in SEEDS]
    return [_fitted(read(fleet, "wire")) for fleet in fleets]


def test_many_fleets_together_find_every_coefficient(fits: list[LifeModel]):
    """Within three Monte Carlo errors of the mean, computed from the spread over the seeds' own
    standard errors: with eight fleets, about a third of one fleet's error."""
    truth = _truth(fits[0], PLAIN)
    miss = np.mean([model.estimate - truth for model in fits], axis=0)
    error = np.sqrt(np.mean([model.se**2 for model in fits], axis=0) / len(fits))
    assert np.all(np.abs(miss) < 3 * error), dict(zip(fits[0].names, miss / error, strict=True))


def test_many_fleets_together_find_the_rule_of_thumb_age(fits: list[LifeModel]):
    """log B10 of a whole wire on the reference boat: three spots, Weibull, closed form."""
    found = np.array([_log_b10(dict(zip(m.names, m.estimate, strict=True))) for m in fits])
    error = found.std(ddof=1) / math.sqrt(len(found))
    assert abs(found.mean() - math.log(9)) < 3 * error
    assert error < 0.05


def test_the_standard_errors_are_those_of_the_spread_between_fleets(fits: list[LifeModel]):
    """Chi-squared, eight fleets: the ratio of variances lies in (0.1, 3.5) with chance .998."""
    spread = np.var([model.estimate for model in fits], axis=0, ddof=1)
    stated = np.mean([model.se**2 for model in fits], axis=0)
    ratio = dict(zip(fits[0].names, spread / stated, strict=True))
    assert all(0.1 < value < 3.5 for value in ratio.values()), ratio


def test_age_renewals_read_as_deaths_miss_the_truth(charter: FleetRecord):
    wrong = _fitted(read(charter, "wire", deaths=("age_rule", "with_set")))
    found = dict(zip(wrong.names, wrong.estimate, strict=True))
    error = dict(zip(wrong.names, wrong.se, strict=True))
    truth = charter.truth.coefficients("wire")
    assert found["intercept"] < truth["intercept"] - 3 * error["intercept"]


def _fitted(lives: Lives) -> LifeModel:
    model = fit(lives)
    assert isinstance(model, LifeModel), model
    return model


def _truth(model: LifeModel, truth: Truth) -> np.ndarray:
    known = truth.coefficients("wire")
    return np.array([known[name] for name in model.names])


def _log_b10(found: dict[str, float]) -> float:
    shape = math.exp(-found["log_sigma"])
    scales = [found["intercept"] + found.get(spot, 0.0) for spot in ("lower", "run", "upper")]
    hazard = sum(math.exp(-shape * scale) for scale in scales)
    return (math.log(-math.log(0.9)) - math.log(hazard)) / shape
