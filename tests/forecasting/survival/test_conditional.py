"""Survival from one age to another, with its interval: by formula, simulation and quadrature."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm, weibull_min

from forecasting.survival import LifeModel, Prior, posterior, rule_of_thumb
from forecasting.survival.conditional import survival_given
from forecasting.survival.question import Question, Unclear

from .fleets import wires


def ml(**more) -> LifeModel:
    """Weibull 3 / 18 (Nelson's notation), error of the intercept .1, of log sigma .2."""
    covariance = np.diag([0.1**2, 0.05**2, 0.2**2])
    return LifeModel(
        family="weibull", names=("intercept", "rod", "log_sigma"),
        estimate=np.array([np.log(18), 0.15, -np.log(3)]), covariance=covariance,
        covariance_by_cluster=np.full((3, 3), np.nan), **more,
    )  # fmt: skip


def test_the_chance_of_the_next_five_years():
    # Weibull 3 / 18 at ages 0, 10 and 20: gone within 5 years .021205, .334513, .729489; computed.
    for age, gone in ((0, 0.021205), (10, 0.334513), (20, 0.729489)):
        (point,) = survival_given(ml(), [age + 5], age)
        assert 1 - point.estimate == pytest.approx(gone, abs=5e-7)
        assert 0 < point.lower < point.estimate < point.upper < 1


def test_the_interval_is_the_delta_method_on_log_minus_log():
    # log(-log S(t)) = (log t - mu) / sigma, so its variance is in closed form.
    (point,) = survival_given(ml(), [12.0], x={"rod": 1.0})
    z = 3 * (np.log(12 / 18) - 0.15)
    error = np.sqrt((3 * 0.1) ** 2 + (3 * 0.05) ** 2 + (z * 0.2) ** 2)
    bounds = np.exp(-np.exp(z + np.array([1.959964, -1.959964]) * error))
    assert [point.lower, point.upper] == pytest.approx(bounds, rel=1e-5)


def test_nothing_is_unsure_where_nothing_can_happen():
    points = survival_given(ml(), [0.0, 7.0], 0.0)
    assert (points[0].lower, points[0].estimate, points[0].upper) == (1, 1, 1)
    (same,) = survival_given(ml(), [7.0], 7.0)
    assert (same.lower, same.estimate, same.upper) == (1, 1, 1)
    (late,) = survival_given(ml(), [1e6])
    assert 0 <= late.lower <= late.upper < 1e-9


def test_with_boats_that_differ_it_is_the_mean_over_boats():
    model = ml(boat_spread=0.3, boat_spread_band=(0.15, 0.5))

    def over_boats(age: float) -> float:
        def at(u: float) -> float:
            return weibull_min.sf(age, 3, scale=18 * np.exp(u)) * norm.pdf(u, 0, 0.3)

        return quad(at, -2.5, 2.5)[0]

    (point,) = survival_given(model, [15.0], 8.0)
    assert point.estimate == pytest.approx(over_boats(15) / over_boats(8), rel=1e-6)
    (sure,) = survival_given(replace(model, boat_spread_band=None), [15.0], 8.0)
    assert point.upper - point.lower > sure.upper - sure.lower
    assert model.survival_across_boats(15.0, np.zeros(1))[0] == pytest.approx(over_boats(15))


def test_a_posterior_answers_with_its_own_quantiles():
    model = posterior(wires(np.random.default_rng(2), 15), Prior())
    (point,) = survival_given(model, [9.0], 5.0, {"severity": 1.0})
    x = model.design({"severity": np.array([1.0])})[0]
    drawn = []
    for row in model.draws_with_spread(600, 0):
        effects = row[-1] * norm.ppf((np.arange(400) + 0.5) / 400)
        scale = np.exp(row[0] + row[1:-2] @ x + effects)
        shape = np.exp(-row[-2])
        stands = [weibull_min.sf(age, shape, scale=scale).mean() for age in (9.0, 5.0)]
        drawn.append(stands[0] / stands[1])
    assert point.estimate == pytest.approx(np.mean(drawn), abs=2e-4)
    assert point.lower == pytest.approx(np.quantile(drawn, 0.025), abs=1e-3)
    assert point.upper == pytest.approx(np.quantile(drawn, 0.975), abs=1e-3)


def test_the_rule_of_thumb_answers_with_the_priors_own_width():
    (point,) = survival_given(rule_of_thumb(kind="turnbuckle"), [18.0])
    rng = np.random.default_rng(8)
    boats = rng.normal(0, np.abs(rng.normal(0, 0.25, 200_000)))
    b10 = 18 * np.exp(rng.normal(0, 0.5, 200_000) + boats)
    expected = (0.9 ** ((18 / b10) ** (3 * np.exp(rng.normal(0, 0.35, 200_000))))).mean()
    assert point.estimate == pytest.approx(expected, abs=0.02)  # .80: the mean lies below .9
    assert point.lower < 0.5
    assert point.upper > 0.95


# -- the question


def test_a_question_is_read():
    found = Question.read("5, 10,15.5", "2", "rod=1, severity=-1", ("severity", "rod"))
    assert found == Question((5.0, 10.0, 15.5), 2.0, (("rod", 1.0), ("severity", -1.0)))
    assert Question.read(None, None, None, ()) == Question()


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        (("5,x", None, None), "'x' is not an age"),
        (("", None, None), "'' is not an age"),
        (("-1", None, None), "'-1' is not an age"),
        (("inf", None, None), "'inf' is not an age"),
        (("nan", None, None), "'nan' is not an age"),
        (("1_0", None, None), "'1_0' is not an age"),
        (("5", "-2", None), "--given: '-2' is not an age"),
        (("5,3", "4", None), "3 lies before --given 4"),
        ((None, "4", None), "without --survival-at"),
        ((None, None, "rod=1"), "without --survival-at"),
        (("5", None, "miles=1"), "no covariate 'miles'; it has severity, rod"),
        (("5", None, "rod"), "'rod' is not of the form name=number"),
        (("5", None, "rod=much"), "not of the form"),
        (("5", None, "rod=inf"), "not of the form"),
        (("5", None, ""), "not of the form"),
        (("5", None, "rod=1,rod=2"), "rod is given twice"),
    ],
)
def test_an_unclear_question_is_answered_with_what_would_be_right(asked, says):
    with pytest.raises(Unclear, match=says.replace("'", ".").replace("(", ".")):
        Question.read(*asked, ("severity", "rod"))


def test_far_out_the_mean_of_a_posterior_stays_inside_its_interval():
    """The mean rests on the few long-lived draws, beyond their 97.5 % quantile."""
    model = rule_of_thumb()
    for point in survival_given(model, [20.0, 60.0, 200.0, 1000.0]):
        assert 0 <= point.lower <= point.estimate <= point.upper <= 1
