"""The life of a whole part as a curve: checked against scipy and against the model's own B10."""

import numpy as np
import pytest
from scipy.stats import weibull_min

from forecasting import curves
from forecasting.survival import LifeModel, rule_of_thumb, spots_of

AGES = np.array([0.0, 1.0, 5.0, 9.0, 15.0, 25.0])


def fitted(fixed: tuple[str, ...] = (), kind: str = "wire", sd: float = 0.05) -> LifeModel:
    """A fleet's own model, with errors small enough for its bounds to be narrow."""
    spots = ("run", "upper") if kind == "wire" else ()
    names = ("intercept", *spots, "severity", "rod", "log_sigma")
    values = {"intercept": 2.9, "run": 0.5, "upper": 0.3, "severity": -0.2, "rod": 0.15,
              "log_sigma": -1.0}  # fmt: skip
    spread = np.diag([0.0 if name in fixed else sd**2 for name in names])
    return LifeModel(
        family="weibull", names=names, estimate=np.array([values[name] for name in names]),
        covariance=spread, covariance_by_cluster=spread, clusters=80, fixed=fixed,
    )  # fmt: skip


def by_scipy(model: LifeModel, ages: np.ndarray) -> np.ndarray:
    """Survival of a whole part: the product over its spots of scipy's Weibull survival."""
    at = model.coefficients
    shape = 1 / np.exp(at["log_sigma"])
    scales = [
        np.exp(at["intercept"] + sum(at[name] for name in spot)) for spot in spots_of(model.names)
    ]
    return np.prod([weibull_min.sf(ages, shape, scale=scale) for scale in scales], axis=0)


@pytest.mark.parametrize("model", [fitted(), rule_of_thumb(), fitted(kind="turnbuckle")])
def test_a_whole_part_stands_while_each_of_its_spots_does(model: LifeModel):
    found = curves.stands(model, model.estimate[None, :], AGES)[0]
    assert found == pytest.approx(by_scipy(model, AGES), rel=1e-9)


def test_a_wire_goes_sooner_than_its_lower_end_alone():
    wire, one_spot = fitted(), fitted(kind="turnbuckle")
    whole = curves.stands(wire, wire.estimate[None, :], AGES[1:])[0]
    lower = curves.stands(one_spot, one_spot.estimate[None, :], AGES[1:])[0]
    assert (whole < lower).all()


@pytest.mark.parametrize("model", [fitted(), rule_of_thumb()])
def test_the_curve_crosses_ninety_percent_at_the_age_in_the_headline(model: LifeModel):
    b10 = curves.headline(model)["b10"]
    assert b10 == pytest.approx(model.part_age(0.1))
    assert by_scipy(model, np.array([b10]))[0] == pytest.approx(0.9)
    rows = curves.whole_part(model)
    middle = np.interp(b10, [row["age"] for row in rows], [row["middle"] for row in rows])
    assert middle == pytest.approx(90, abs=0.2)


@pytest.mark.parametrize("model", [fitted(), rule_of_thumb()])
def test_the_chance_of_the_first_years_is_what_the_curve_leaves(model: LifeModel):
    found = curves.gone_within(model, (1.0, 5.0))
    assert found == pytest.approx(1 - by_scipy(model, np.array([1.0, 5.0])))
    assert found[0] < found[1]


@pytest.mark.parametrize("model", [fitted(), rule_of_thumb(), rule_of_thumb(kind="chainplate")])
def test_the_bounds_hold_the_curve_between_them_and_all_three_only_fall(model: LifeModel):
    rows = curves.whole_part(model)
    assert rows[0] == {"age": 0.0, "middle": 100.0, "low": 100.0, "high": 100.0}
    for row in rows:
        assert row["low"] <= row["middle"] <= row["high"]
    for name in ("low", "middle", "high"):
        falling = [row[name] for row in rows]
        assert falling == sorted(falling, reverse=True)
        assert falling[-1] < 100
    headline = curves.headline(model)
    assert headline["low"] < headline["b10"] < headline["high"]


def test_the_rule_of_thumb_is_far_wider_than_a_record_of_ones_own():
    def width(model: LifeModel) -> float:
        return max(row["high"] - row["low"] for row in curves.whole_part(model))

    assert width(rule_of_thumb()) > 3 * width(fitted())


def test_the_same_model_gives_the_same_curve_again():
    assert curves.whole_part(fitted()) == curves.whole_part(fitted())


def test_factors_are_times_as_long_with_their_bounds():
    rows = {row["name"]: row for row in curves.factors(fitted(sd=0.1))}
    assert set(rows) == {"run", "upper", "severity", "rod"}
    assert rows["severity"]["factor"] == pytest.approx(np.exp(-0.2))
    # Five and ninety-five percent of a normal lie 1.645 standard errors out.
    assert rows["severity"]["low"] == pytest.approx(np.exp(-0.2 - 0.1645), rel=0.03)
    assert rows["severity"]["high"] == pytest.approx(np.exp(-0.2 + 0.1645), rel=0.03)
    assert not any(row["held"] for row in rows.values())


def test_a_factor_held_at_common_practice_says_so_and_claims_no_bounds_of_its_own():
    rows = {row["name"]: row for row in curves.factors(fitted(fixed=("rod",)))}
    assert rows["rod"]["held"]
    assert rows["rod"]["low"] == rows["rod"]["high"] == pytest.approx(rows["rod"]["factor"])
    assert not rows["severity"]["held"]
    assert all(row["held"] for row in curves.factors(rule_of_thumb()))
