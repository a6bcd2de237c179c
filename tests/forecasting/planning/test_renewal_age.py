"""Economic renewal age against grid searches in print, closed forms and each other."""

import numpy as np
import pytest
from scipy import stats
from scipy.integrate import quad

from forecasting.planning.renewal_age import renewal_age
from forecasting.planning.renewal_ages import renewal_ages
from tests.forecasting.planning.rigs import one, table, weibull, wire


def weibull_survival(shape, scale):
    return lambda ages: np.exp(-((ages / scale) ** shape))


def test_a_weibull_example_in_print():
    # Shape 2.5, scale 1000, planned 1, unplanned 5: a grid search in the documentation of a
    # reliability library prints 493.19; the exact optimum is 493.046958.
    best = renewal_age(weibull_survival(2.5, 1000), 1, 5)
    assert best.age == pytest.approx(493.046958, abs=5e-7)
    assert best.cost_rate == pytest.approx(0.00346204, abs=5e-9)


@pytest.mark.parametrize(
    ("shape", "ages"),
    [
        (1.5, (2.174641, 0.675492, 0.378144)),
        (2.0, (1.090797, 0.510655, 0.336451)),
        (3.0, (0.810342, 0.502610, 0.382456)),
    ],
)
def test_a_table_of_optima_for_costs_two_five_and_ten(shape, ages):
    # Computed by two independent programs.
    found = [renewal_age(weibull_survival(shape, 1), 1, cost).age for cost in (2, 5, 10)]
    assert found == pytest.approx(ages, abs=6e-7)


def test_the_closed_form_of_a_uniform_life():
    # Uniform (0, b): T* = b(-r + sqrt(r^2 + 2r)), r = Cp / (Cu - Cp); b 10, costs 1 and 5.
    best = renewal_age(stats.uniform(0, 10).sf, 1, 5)
    assert best.age == pytest.approx(5, abs=1e-6)
    assert best.cost_rate == pytest.approx(0.8, abs=1e-9)


@pytest.mark.parametrize("shape", [0.7, 1.0])
def test_a_part_that_does_not_wear_out_is_inspected_and_kept(shape):
    # Barlow and Proschan 1965 (from memory): no finite optimum without a rising hazard.
    kept = renewal_age(weibull_survival(shape, 10), 1, 5)
    assert kept.age is None
    assert kept.flat is None
    mean_life = stats.weibull_min(shape, scale=10).mean()
    assert kept.cost_rate == pytest.approx(5 / mean_life, rel=2e-3)


def test_an_unplanned_end_no_dearer_than_a_planned_one_has_no_best_age():
    assert renewal_age(weibull_survival(3, 10), 5, 5).age is None


def test_where_some_draws_do_not_wear_out_none_is_given():
    shapes = np.array([3.0] * 17 + [0.9] * 3)[:, None]
    kept = renewal_age(lambda ages: np.exp(-((ages / 10) ** shapes)), 1, 5)
    assert kept.age is None
    assert kept.share_without == pytest.approx(0.15)


def test_over_the_draws_the_mean_cost_is_least():
    scales = np.array([8.0, 10.0, 15.0])[:, None]
    best = renewal_age(lambda ages: np.exp(-((ages / scales) ** 3)), 1, 5)

    def mean_cost(age):
        rates = []
        for scale in scales[:, 0]:
            alive = weibull_survival(3, scale)
            cost = alive(age) + 5 * (1 - alive(age))
            rates.append(cost / quad(alive, 0, age)[0])
        return np.mean(rates)

    assert best.cost_rate == pytest.approx(mean_cost(best.age), rel=1e-10)
    assert mean_cost(best.age) < min(mean_cost(best.age * 0.99), mean_cost(best.age * 1.01))


def test_the_flat_band_ends_two_percent_above_the_least():
    alive = weibull_survival(3, 10)
    best = renewal_age(alive, 1, 5)
    for age in best.flat:
        rate = (5 - 4 * alive(age)) / quad(alive, 0, age)[0]
        assert rate == pytest.approx(1.02 * best.cost_rate, rel=1e-9)
    assert best.flat[0] < best.age < best.flat[1]


def test_a_band_may_have_no_upper_end():
    assert renewal_age(weibull_survival(1.5, 10), 1, 2).flat[1] == np.inf


def test_an_age_beyond_the_oldest_observed_is_flagged():
    assert renewal_age(weibull_survival(3, 10), 1, 5, oldest_observed=4.0).beyond_observed
    assert not renewal_age(weibull_survival(3, 10), 1, 5, oldest_observed=14.0).beyond_observed


def test_costs_must_be_above_zero():
    with pytest.raises(ValueError, match="above 0"):
        renewal_age(weibull_survival(3, 10), 0, 5)


def test_the_ages_of_all_parts_agree_with_the_one_by_one():
    slopes = {"run": 0.4, "upper": 0.2, "severity": -0.19}
    model = weibull(3, 18, slopes, np.diag([0.03, 0, 0, 0, 0.01]))
    rows = wire(part=1, severity=0.0) + wire(part=2, severity=2.0) + one(part=3, severity=2.0)
    standing = table(rows, columns=("run", "upper", "severity"))
    planned, unplanned = np.array([300, 300, 200]), np.array([900, 1500, 260])
    found = renewal_ages({"wire": model}, standing, planned, unplanned, draws=100, seed=3)
    for p, (spots, severity) in enumerate(((3, 0), (3, 2), (1, 2))):
        best = renewal_age(survival_of(model, spots, severity), planned[p], unplanned[p])
        assert found.age[p] == pytest.approx(best.age, rel=0.005)
        assert found.cost_rate[p] == pytest.approx(best.cost_rate, rel=0.001)
        assert (found.flat_from[p], found.flat_until[p]) == pytest.approx(best.flat, rel=0.01)


def survival_of(model, spots, severity):
    """(D, q) survival of a part of so many spots under the draws `renewal_ages` takes."""
    seed = np.random.SeedSequence([3, *b"wire"]).generate_state(1)[0]
    theta = model.draws(100, int(seed))
    location = theta[:, :1] + np.array([0.0, 0.4, 0.2])[:spots] - 0.19 * severity

    def survival(ages):
        z = (np.log(ages) - location[:, :, None]) / np.exp(theta[:, -1])[:, None, None]
        return np.exp(-np.exp(z).sum(axis=1))

    return survival


def test_all_parts_at_once_also_say_inspect_and_keep():
    standing = table(one(part=1))
    found = renewal_ages({"wire": weibull(0.9, 18)}, standing, np.array([1]), np.array([5]))
    assert found.age.tolist() == [np.inf]
