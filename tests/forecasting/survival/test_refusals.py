"""What cannot be fitted is refused by name; what can is not refused."""

from dataclasses import replace

import numpy as np
import pytest

from forecasting.survival import FAMILIES, LifeModel, Lives, Refusal, fit

from .samples import mixed_lives

every_family = pytest.mark.parametrize("family", FAMILIES)


def fleet(n: int = 60, seed: int = 5, **columns) -> Lives:
    """Inspected yearly up to 12 years; columns become covariates of no effect."""
    rng = np.random.default_rng(seed)
    life = 9 * rng.weibull(3, n)
    good = np.floor(np.minimum(life, 12))
    return Lives(
        np.zeros(n),
        good,
        np.where(life < 12, good + 1, np.inf),
        X=np.column_stack(list(columns.values())) if columns else None,
        names=tuple(columns),
    )


def refused(outcome, code, *columns) -> Refusal:
    assert isinstance(outcome, Refusal), outcome
    assert outcome.reason_code == code, outcome
    assert all(column in outcome.sentence for column in columns)
    assert set(columns) <= set(outcome.columns)
    return outcome


@every_family
def test_a_fleet_where_nothing_was_condemned_is_refused(family):
    refused(fit(Lives(np.zeros(180), np.full(180, 12.0)), family), "no_deaths")


@every_family
def test_parts_never_seen_again_leave_nothing_to_fit_and_are_counted(family):
    lives = Lives([0.0, 3.0], [0.0, 3.0], weight=[1.0, 2.5])
    outcome = refused(fit(lives, family), "nothing_left")
    assert dict(outcome.left_out) == {"never_seen_since_entry": 3.5}


def test_no_lives_at_all_is_refused():
    refused(fit(Lives([], [])), "nothing_left")


@every_family
@pytest.mark.parametrize(
    "lives",
    [
        pytest.param(Lives(np.zeros(9), np.zeros(9), failed=np.full(9, 7.0)), id="same day"),
        pytest.param(Lives(np.zeros(9), np.full(9, 4.0), np.full(9, 5.0)), id="same interval"),
        pytest.param(
            Lives(np.zeros(3), [4.0, 5.0, 6.0], [np.inf, np.inf, 7.0]), id="one death, the oldest"
        ),
        pytest.param(
            Lives(np.zeros(2), [0.0, 0.0], failed=[5.0, 8.0], X=[0.0, 1.0], names=("rod",)),
            id="as many deaths as coefficients",
        ),
    ],
)
def test_lives_that_one_age_explains_are_refused(lives, family):
    refused(fit(lives, family), "no_spread")


@every_family
def test_parts_all_condemned_at_their_first_sight_are_refused(family):
    refused(fit(Lives(np.zeros(8), np.zeros(8), np.arange(1.0, 9.0)), family), "separation")


@every_family
def test_a_column_that_never_changes_is_refused_by_name(family):
    refused(fit(fleet(rod=np.ones(60)), family), "constant_column", "rod")


def test_a_column_that_changes_only_where_nothing_was_seen_is_constant():
    lives = Lives([0, 0, 0, 2], [4, 6, 8, 2], [5, 8, np.inf, np.inf], X=[1, 1, 1, 0], names=("a",))
    refused(fit(lives), "constant_column", "a")


@every_family
def test_a_column_that_repeats_another_is_refused_by_name(family):
    celsius = np.linspace(150.0, 220.0, 60)
    lives = fleet(celsius=celsius, fahrenheit=32 + 1.8 * celsius)
    refused(fit(lives, family), "repeated_column", "fahrenheit", "celsius")


def test_a_column_that_is_the_sum_of_two_others_is_refused_by_name():
    rng = np.random.default_rng(0)
    a, b = rng.normal(size=60), 1e6 * rng.normal(size=60)
    refused(fit(fleet(a=a, b=b, both=a + b / 1e6)), "repeated_column", "both", "a", "b")


def test_dummies_that_always_sum_to_one_repeat_the_intercept():
    swaged = np.arange(60) % 2
    refused(fit(fleet(swaged=swaged, mechanical=1 - swaged)), "repeated_column", "mechanical")


@every_family
def test_a_column_that_separates_the_dead_from_the_living_is_refused_by_name(family):
    lives = fleet()
    sheltered = replace(lives, X=(~lives.died).astype(float), names=("sheltered",))
    refused(fit(sheltered, family), "separation", "sheltered")


@every_family
def test_a_group_without_a_death_separates(family):
    lives = fleet(120)
    group = np.arange(120) % 3
    condemned = np.where(group == 2, np.inf, lives.condemned)
    X = np.column_stack([group == 1, group == 2, np.random.default_rng(1).normal(size=120)])
    outcome = fit(
        Lives(lives.entry, lives.good, condemned, X=X, names=("run", "upper", "miles")), family
    )
    assert refused(outcome, "separation", "upper").columns == ("upper",)


def test_a_combination_of_columns_may_separate_where_neither_does():
    lives = fleet(200)
    rng = np.random.default_rng(3)
    a = rng.normal(size=200)
    b = np.where(lives.died, a, a + rng.uniform(0.1, 2, 200))
    lives = replace(lives, X=np.column_stack([a, b]), names=("a", "b"))
    assert isinstance(fit(lives.keep(["a"])), LifeModel)
    refused(fit(lives), "separation", "a", "b")


def test_almost_separated_lives_are_fitted():
    lives = fleet(120)
    sheltered = (~lives.died).astype(float)
    sheltered[np.flatnonzero(lives.died)[0]] = 1.0
    outcome = fit(replace(lives, X=sheltered, names=("sheltered",)))
    assert isinstance(outcome, LifeModel)
    assert outcome.estimate[1] > 0.5


@every_family
def test_deaths_that_get_rarer_with_age_fix_no_spread(family):
    # Six of ten dead at the first sight, two of ten at a later one: sigma wants to be infinite.
    condemned = np.concatenate([np.full(6, 1.0), np.full(2, 5.0), np.full(12, np.inf)])
    good = np.concatenate([np.zeros(8), np.full(4, 1.0), np.full(8, 5.0)])
    outcome = refused(fit(Lives(np.zeros(20), good, condemned), family), "no_convergence")
    assert "grows without end" in outcome.sentence


def test_left_out_rows_are_counted_in_a_fit_too():
    lives = mixed_lives()
    unseen = Lives(
        np.append(lives.entry, 4.0),
        np.append(lives.good, 4.0),
        np.append(lives.condemned, np.inf),
        np.append(lives.failed, np.nan),
        np.append(lives.weight, 2.0),
        np.append(lives.cluster, 99),
        np.vstack([lives.X, [9.0, 9.0]]),
        lives.names,
    )
    with_it, without = fit(unseen), fit(lives)
    assert with_it.left_out == {"never_seen_since_entry": 2.0}
    assert with_it.log_likelihood == without.log_likelihood
    assert with_it.clusters == without.clusters
    assert (with_it.lives, with_it.deaths) == (without.lives, without.deaths)


def test_an_unknown_family_or_held_column_is_a_mistake_of_the_caller():
    with pytest.raises(ValueError, match="weibull, lognormal, loglogistic"):
        fit(mixed_lives(), "gamma")
    with pytest.raises(ValueError, match="'charter' is held fixed"):
        fit(mixed_lives(), fixed={"charter": 0.1})
    with pytest.raises(ValueError, match="not a number"):
        fit(mixed_lives(), fixed={"rod": np.nan})


@every_family
@pytest.mark.parametrize("scale", [1e-3, 1.0, 1e6])
def test_wild_scales_are_no_reason_to_refuse(family, scale):
    rng = np.random.default_rng(11)
    temperature, miles = rng.uniform(150, 220, 60), 1e6 + 1e5 * rng.normal(size=60)
    lives = fleet(temperature=temperature, miles=miles).rescaled(scale)
    assert isinstance(fit(lives, family), LifeModel)


@pytest.mark.parametrize("clusters", [1, 5, 39, 40])
def test_errors_by_boat_come_with_a_warning_below_forty_boats(clusters):
    lives = fleet(200)
    model = fit(replace(lives, cluster=np.arange(200) % clusters))
    warned = any("boat" in warning for warning in model.warnings)
    assert warned == (clusters < 40)
    assert np.isnan(model.se_by_cluster).all() == (clusters == 1)


def test_two_summits_of_late_entry_lives_do_not_lead_the_climb_astray():
    # With late entry a second, empty summit lies where location and sigma both run away; from a
    # plain start the log-logistic climb went there.
    lives = Lives(
        entry=[0.3095, 0.8037, 0.3093, 0.2302, 1.0106],
        good=[0.3095, 0.8037, 0.7756, 0.2302, 1.0106],
        condemned=[1.9388, np.inf, 2.5517, np.inf, np.inf],
        failed=[np.nan, 0.9071, np.nan, 0.5508, 1.0571],
        weight=[1.2029, 1.9904, 1.0, 1.0, 1.0],
        X=[
            [-2.279, 210.8986],
            [1.100, 168.5618],
            [-0.073, 213.1871],
            [1.600, 209.3711],
            [0.654, 151.3294],
        ],
        names=("a", "b"),
    )
    assert isinstance(fit(lives, "loglogistic"), LifeModel)
