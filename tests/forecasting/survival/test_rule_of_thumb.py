"""A fleet without history is forecast by common practice, labelled, with honest spread.

Every number of the prior is common practice, no source (or from memory, said so).
"""

import json
from dataclasses import replace

import numpy as np
import pytest

from forecasting.survival import COMMON_PRACTICE, RULE_OF_THUMB, LifeModel, Prior, rule_of_thumb

SLOPES = ("severity", "log2_miles", "rod", "mechanical", "unstepped", "charter")


def test_a_wire_on_the_reference_boat_has_the_rule_of_thumb_as_its_b10():
    model = rule_of_thumb()
    assert model.standing == RULE_OF_THUMB
    assert model.names == ("intercept", "run", "upper", *SLOPES, "log_sigma")
    assert model.part_age(0.1) == pytest.approx(9.0)
    assert 1 / model.sigma == pytest.approx(3.0)
    assert (model.lives, model.deaths) == (0, 0)


def test_the_spots_share_the_hazard_as_practice_says():
    # Weibull hazards (t / eta_s)^k: shares .60 lower end, .15 run, .25 upper end.
    model = rule_of_thumb()
    X = model.design({"run": [0, 1, 0], "upper": [0, 0, 1]})
    hazards = -np.log(model.survival(9.0, X))
    assert hazards / hazards.sum() == pytest.approx([0.60, 0.15, 0.25])
    assert hazards.sum() == pytest.approx(-np.log(0.9))


def test_draws_come_from_the_prior_itself():
    model = rule_of_thumb()
    draws = model.draws(40000, seed=2)
    shape = np.exp(-draws[:, -1])
    assert np.median(shape) == pytest.approx(3.0, rel=0.02)
    assert np.log(shape).std() == pytest.approx(0.35, rel=0.03)
    band = model.part_age_band(0.1, level=0.9, draws=40000, seed=2)
    # log B10 is normal with sd 0.5 whatever the shape and the shares.
    assert band.low == pytest.approx(9 * np.exp(-1.6449 * 0.5), rel=0.03)
    assert band.high == pytest.approx(9 * np.exp(1.6449 * 0.5), rel=0.03)
    severity = draws[:, model.names.index("severity")]
    assert severity.mean() == pytest.approx(-0.19, abs=0.005)
    assert severity.std() == pytest.approx(0.15, rel=0.03)


def test_every_draw_shares_out_the_whole_hazard():
    draws = rule_of_thumb().draws(500, seed=1)
    sigma = np.exp(draws[:, -1])
    location = draws[:, :1] + np.column_stack([np.zeros(500), draws[:, 1], draws[:, 2]])
    hazard_at_one = np.exp(-location / sigma[:, None])
    shares = hazard_at_one / hazard_at_one.sum(axis=1, keepdims=True)
    assert np.median(shares, axis=0) == pytest.approx([0.6, 0.15, 0.25], abs=0.04)
    assert shares.std(axis=0).min() > 0.04


@pytest.mark.parametrize(("kind", "b10"), [("turnbuckle", 18.0), ("chainplate", 25.0)])
def test_parts_with_one_spot_have_no_spot_columns(kind, b10):
    model = rule_of_thumb(kind=kind)
    assert model.names == ("intercept", *SLOPES, "log_sigma")
    assert model.part_age(0.1) == pytest.approx(b10)
    assert "from memory" in model.warnings[0]


def test_the_summary_covariance_is_that_of_the_prior():
    model = rule_of_thumb()
    assert model.se[model.names.index("rod")] == pytest.approx(0.15, rel=0.05)
    assert model.se[-1] == pytest.approx(0.35, rel=0.05)


def test_a_harder_ground_shortens_life_by_its_slope():
    model = rule_of_thumb()
    assert model.part_age(0.1, {"severity": 1.0}) == pytest.approx(9 * np.exp(-0.19))
    assert model.part_age(0.1, {"rod": 1.0}) == pytest.approx(9 * np.exp(0.15))


def test_a_fleet_may_set_its_own_rule():
    own = replace(COMMON_PRACTICE["wire"], b10=12.0, shares=(0.5, 0.2, 0.3))
    assert rule_of_thumb(own).part_age(0.1) == pytest.approx(12.0)


def test_the_rule_of_thumb_is_stored_and_comes_back_with_its_prior():
    model = rule_of_thumb()
    again = LifeModel.from_dict(json.loads(json.dumps(model.to_dict(), allow_nan=False)))
    assert again.prior == model.prior
    assert np.array_equal(again.draws(20, 4), model.draws(20, 4))


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"b10": 0.0}, "above 0"),
        ({"shape": np.inf}, "above 0"),
        ({"b10_log_sd": 0.39}, "nobody knows it better"),
        ({"slope_sd": -0.1}, "negative"),
        ({"shares": (0.5, 0.2, 0.2)}, "sum to 1"),
        ({"shares": (0.8, 0.0, 0.2)}, "sum to 1"),
    ],
)
def test_a_prior_that_makes_no_sense_is_refused(wrong, says):
    with pytest.raises(ValueError, match=says):
        Prior(**wrong)


def test_an_unknown_kind_of_part_is_refused():
    with pytest.raises(ValueError, match="wire, turnbuckle, chainplate"):
        rule_of_thumb(kind="halyard")
