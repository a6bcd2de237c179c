"""Which model the deaths allow, at its borders; and every odd fleet gets an answer."""

from dataclasses import replace

import numpy as np
import pytest

from forecasting.survival import (
    FITTED,
    POSTERIOR,
    RULE_OF_THUMB,
    RULE_SO_FAR,
    LifeModel,
    Lives,
    Prior,
    Refusal,
    importance,
    model_by_deaths,
)

from .fleets import NAMES, good_wires, wires


def fleet(boats: int = 60, seed: int = 1, **truth) -> Lives:
    return wires(np.random.default_rng(seed), boats, **truth)


def with_deaths(number: float) -> Lives:
    """A fleet with exactly so many deaths: the weights of its dead share them."""
    lives = fleet(12)
    weight = np.where(lives.died, number / lives.died.sum(), 1.0)
    return replace(lives, weight=weight)


@pytest.mark.parametrize(
    ("deaths", "standing"),
    [(0.5, RULE_SO_FAR), (4.9, RULE_SO_FAR), (5, POSTERIOR), (29, POSTERIOR), (149.5, POSTERIOR),
     (150, FITTED)],
)  # fmt: skip
def test_the_deaths_decide_the_model(deaths, standing):
    model = model_by_deaths(with_deaths(deaths), Prior(), boat_effect=False).outcome
    assert isinstance(model, LifeModel), model
    assert model.standing == standing
    assert model.deaths == pytest.approx(deaths)
    assert (model.sample is None) == (standing == FITTED)


def test_before_five_deaths_slopes_are_the_priors_and_shares_are_not_slopes():
    model = model_by_deaths(with_deaths(4), Prior()).outcome
    assert set(model.fixed) == set(NAMES) - {"run", "upper"}
    assert model.coefficients["severity"] == pytest.approx(-0.19)
    assert np.ptp(model.sample[:, model.names.index("run")]) > 0


def test_before_five_deaths_a_kind_takes_the_slopes_of_the_wires():
    slopes = {"severity": -0.4, "run": 9.0}
    model = model_by_deaths(with_deaths(4), Prior(), slopes=slopes).outcome
    assert model.coefficients["severity"] == pytest.approx(-0.4)
    assert model.coefficients["log2_miles"] == pytest.approx(-0.10)
    assert model.coefficients["run"] < 1
    five = model_by_deaths(with_deaths(6), Prior(), slopes=slopes).outcome
    assert five.coefficients["severity"] > -0.35


def test_good_wires_count_before_anything_was_condemned():
    model = model_by_deaths(good_wires(180, 12.0), Prior()).outcome
    assert model.standing == RULE_SO_FAR
    assert model.part_age(0.1) > 18


def test_no_rows_at_all_are_the_rule_of_thumb():
    nothing = good_wires(1, 12.0).take(np.array([], dtype=int))
    model = model_by_deaths(nothing, Prior()).outcome
    assert model.standing == RULE_OF_THUMB
    assert model.part_age(0.1) == pytest.approx(9)


def test_from_thirty_deaths_the_log_normal_stands_beside():
    few = model_by_deaths(with_deaths(20), Prior()).outcome
    more = model_by_deaths(with_deaths(40), Prior()).outcome
    assert few.evidence.lognormal is None
    assert more.evidence.lognormal["b10"] == pytest.approx(more.part_age(0.1), rel=0.25)
    assert 0 < more.evidence.lognormal["chance"] < 1
    assert 0 < more.evidence.weibull_chance < 1


def test_one_base_and_separation_cost_no_fleet_its_forecast():
    lives = fleet(20, one_base=True, wires=6)
    X = lives.X.copy()
    X[:, NAMES.index("rod")] = lives.died  # only rods died
    chosen = model_by_deaths(replace(lives, X=X), Prior())
    assert isinstance(chosen.outcome, LifeModel)
    assert "severity" in chosen.held
    assert "rod" in chosen.held
    severity = chosen.outcome.names.index("severity")
    assert chosen.outcome.estimate[severity] == pytest.approx(-0.19, abs=0.03)
    assert chosen.outcome.se[severity] == pytest.approx(0.15, rel=0.15)


def test_many_deaths_without_a_maximum_still_get_the_posterior():
    """Every part dead at its first sight: life could be arbitrarily short but for the prior."""
    lives = fleet(60)
    dead = lives.take(lives.died)
    never = replace(dead, good=dead.entry, weight=np.full(len(dead), 200 / len(dead)))
    model = model_by_deaths(never, Prior(), boat_effect=False).outcome
    assert isinstance(model, LifeModel), model
    assert model.standing == POSTERIOR
    assert model.deaths == pytest.approx(200)


def test_a_posterior_that_no_draws_cover_is_refused_by_name(monkeypatch):
    monkeypatch.setattr(importance, "POOR", 2.0)  # ask for more than any draws can give
    monkeypatch.setattr("forecasting.survival.chain.SETTLING", 20)  # nor a short walk
    monkeypatch.setattr("forecasting.survival.chain.BLOCK", 50)
    monkeypatch.setattr("forecasting.survival.chain.BLOCKS", 1)
    refused = model_by_deaths(with_deaths(6), Prior()).outcome
    assert isinstance(refused, Refusal)
    assert refused.reason_code == "posterior_poor"
    assert "common practice" in refused.sentence


def test_maximum_likelihood_finds_the_truth_and_says_what_it_rests_on():
    model = model_by_deaths(fleet(100, wires=9), Prior(), boat_effect=False).outcome
    assert model.standing == FITTED
    assert model.part_age(0.1) == pytest.approx(9, rel=0.2)
    low, middle, high = model.evidence.b10
    assert low < middle < high
    assert middle == pytest.approx(model.part_age(0.1))
    assert model.evidence.own_share > 0.9


# -- fuzz


def odd_fleet(rng: np.random.Generator) -> Lives:
    """Few rows, any weights, first sights dead, intervals of days or decades, columns stuck."""
    n = int(rng.integers(1, 40))
    entry = np.where(rng.random(n) < 0.4, rng.uniform(0, 15, n), 0.0)
    seen = rng.exponential(rng.choice([0.2, 3, 20]), n)
    good = entry + np.where(rng.random(n) < 0.3, 0.0, seen)
    died = rng.random(n) < rng.choice([0, 0.1, 0.5, 1.0])
    gap = rng.exponential(rng.choice([0.01, 1, 30]), n) + 1e-3
    spot = rng.integers(0, 3, n)
    severity = rng.integers(-2, 3, n) * (rng.random() < 0.7)
    yes = rng.random((2, n)) < rng.random((2, 1))
    return Lives(
        entry=entry, good=good, condemned=np.where(died, good + gap, np.inf),
        weight=rng.choice([1.0, 0.4, 2.0], n), cluster=rng.integers(0, int(rng.integers(1, 8)), n),
        X=np.column_stack([spot == 1, spot == 2, severity, rng.normal(0, 1, n), *yes]) * 1.0,
        names=("run", "upper", "severity", "log2_miles", "rod", "charter"),
    )  # fmt: skip


@pytest.mark.parametrize("seed", range(3))
def test_any_fleet_gets_a_model_without_a_nonsense_number(seed):
    """Ten fleets a seed; any with known dates must be fitted. `tests.studies fuzz` tries 2,000."""
    rng = np.random.default_rng(seed)
    for _ in range(10):
        lives = odd_fleet(rng)
        model = model_by_deaths(lives, Prior()).outcome
        assert isinstance(model, LifeModel), (lives, model)
        assert np.isfinite(model.estimate).all()
        assert np.linalg.eigvalsh(model.covariance).min() > -1e-9
        draws = model.draws_with_spread(100, 0)
        assert np.isfinite(draws).all()
        assert (draws[:, -1] >= 0).all()
        low, middle, high = model.evidence.b10
        assert 0 < low < middle < high < np.inf
        band = model.part_age_band(0.1)
        assert 0 < band.low <= band.middle * 1.001
        survival = model.survival_across_boats(5.0, np.zeros(len(lives.names)))
        assert 0 <= survival[0] <= 1
