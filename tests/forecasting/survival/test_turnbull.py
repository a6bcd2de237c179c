"""The curve without a model: published values, an independent library, and what must hold."""

import numpy as np
import pytest
from lifelines.fitters.npmle import npmle

from forecasting.survival import Lives, log_survival
from forecasting.survival.turnbull import turnbull
from tests.forecasting.survival.published import from_file
from tests.forecasting.survival.samples import mixed_lives


def row_log_likelihood(lives: Lives, steps, hazard: np.ndarray) -> float:
    """The likelihood of the rows under hazards of the cells, written out from its definition."""
    fallen = np.concatenate([[0.0], np.cumsum(-np.log1p(-np.minimum(hazard, 1 - 1e-10)))])

    def at(age, side):
        return fallen[np.searchsorted(steps.right, age, side=side)]

    exact = lives.exact
    sight = np.where(exact, at(lives.failed, "left"), at(lives.good, "right"))
    upper = np.where(exact, lives.failed, np.where(lives.between, lives.condemned, np.inf))
    gap = at(upper, "right") - sight
    entry = np.where(lives.entry > 0, at(lives.entry, "right"), 0.0)
    gone = np.where(lives.died, np.log(-np.expm1(-np.where(lives.died, gap, 1.0))), 0.0)
    return float(lives.weight @ (gone - sight + entry))


def test_breast_cosmesis_under_radiotherapy():
    """Finkelstein and Wolfe 1985, Biometrics 41; steps as in R `interval::icfit` of `bcos`."""
    lives = from_file("breast_cosmesis")
    steps = turnbull(lives.take(lives.X[:, 0] == 0).keep(()))
    mass = -np.diff(np.concatenate([[1.0], steps.survival]))
    found = [
        (left, right, round(float(m), 4))
        for left, right, m in zip(steps.left, steps.right, mass, strict=True)
        if m > 1e-6
    ]
    assert found == [
        (4, 5, 0.0463), (6, 7, 0.0334), (7, 8, 0.0887), (11, 12, 0.0708),
        (24, 25, 0.0926), (33, 34, 0.0818), (38, 40, 0.1209), (46, 48, 0.4656),
    ]  # fmt: skip


def test_turnbull_1974():
    """Turnbull 1974, J. American Statistical Association 69: doubly censored, times 1 to 4."""
    counts = {1: (12, 3, 2), 2: (6, 2, 4), 3: (2, 0, 2), 4: (3, 3, 5)}
    rows = []
    for time, (exact, right, left) in counts.items():
        rows += [
            (time, np.inf, time, exact),
            (time, np.inf, np.nan, right),
            (0, time, np.nan, left),
        ]
    rows = [row for row in rows if row[3]]
    good, condemned, failed, weight = np.array(rows).T
    steps = turnbull(Lives(np.zeros(len(rows)), good, condemned, failed, weight))
    assert steps.bounds(np.arange(1.0, 5.0))[1] == pytest.approx(
        [0.538, 0.295, 0.210, 0.095], abs=5e-4
    )


def test_channing_house_with_delayed_entry():
    """Hyde 1980; data `boot::channing`, women; Kaplan-Meier of R `survival`, ages in months."""
    lives = from_file("channing_house")
    women = lives.take(lives.X[:, lives.names.index("male")] == 0).keep(())
    low, high = turnbull(women).bounds(np.array([850.0, 900, 950, 1000, 1050, 1100]))
    assert low == pytest.approx(
        [0.876692, 0.823275, 0.718586, 0.577334, 0.367340, 0.203285], abs=5e-7
    )
    assert (low == high).all()


def test_aml_maintained_with_greenwoods_error():
    """Miller 1981, Survival Analysis, p. 49; data `survival::aml`, maintained group."""
    failed = [9, 13, 18, 23, 31, 34, 48]
    alive = [13, 28, 45, 161]
    lives = Lives(
        entry=np.zeros(11),
        good=np.array([0] * 7 + alive),
        failed=np.array(failed + [np.nan] * 4, dtype=float),
    )
    steps = turnbull(lives)
    assert steps.right.tolist() == failed
    assert steps.survival == pytest.approx(
        [0.909091, 0.818182, 0.715909, 0.613636, 0.490909, 0.368182, 0.184091], abs=5e-7
    )
    assert steps.se == pytest.approx(
        [0.086678, 0.116291, 0.139665, 0.152632, 0.164193, 0.162669, 0.153493], abs=5e-7
    )


@pytest.mark.parametrize("seed", range(1, 5))
def test_without_late_entry_it_is_the_one_of_lifelines(seed):
    rng = np.random.default_rng(seed)
    good = rng.uniform(0, 12, 60)
    condemned = np.where(rng.random(60) < 0.6, good + rng.uniform(1, 6, 60), np.inf)
    lives = Lives(np.zeros(60), good, condemned)
    theirs, cells = npmle(good, condemned, tol=1e-11, max_iter=100000)
    steps = turnbull(lives)
    keep = theirs > 1e-6
    survival = 1 - np.cumsum(theirs)
    ends = np.array([cell.right for cell in cells])
    finite = keep & np.isfinite(ends)
    assert steps.bounds(ends[finite])[1] == pytest.approx(survival[finite], abs=2e-5)


@pytest.mark.parametrize("seed", range(1, 7))
def test_no_move_of_mass_makes_the_record_likelier(seed):
    """A concave likelihood: the score of every step is 0, or below where the step is 0."""
    lives = mixed_lives(seed, 60)
    lives = lives.take(~lives.never_seen)
    steps = turnbull(lives)
    hazard = steps.deaths / steps.at_risk
    best = row_log_likelihood(lives, steps, hazard)
    assert best == pytest.approx(steps.log_likelihood, abs=1e-6)
    for cell in np.flatnonzero(hazard < 0.999):
        for nudge in (1e-4, -1e-4):
            moved = hazard.copy()
            moved[cell] = np.clip(moved[cell] + nudge, 0, 1)
            assert row_log_likelihood(lives, steps, moved) <= best + 1e-7


def test_rows_in_any_order_and_weights_for_copies_give_the_same_curve():
    lives = mixed_lives(3, 50)
    lives = lives.take(~lives.never_seen)
    order = np.random.default_rng(1).permutation(len(lives))
    ages = np.linspace(0.1, 9, 40)
    curve = turnbull(lives).bounds(ages)
    np.testing.assert_allclose(turnbull(lives.take(order)).bounds(ages), curve, atol=1e-6)
    plain = Lives(lives.entry, lives.good, lives.condemned, lives.failed)
    double = Lives(lives.entry, lives.good, lives.condemned, lives.failed, np.full(len(lives), 2.0))
    twice = plain.take(np.repeat(np.arange(len(plain)), 2))
    np.testing.assert_allclose(
        turnbull(double).bounds(ages), turnbull(twice).bounds(ages), atol=1e-6
    )


def test_it_begins_where_enough_are_watched_and_an_early_death_does_not_end_it():
    """One life watched from 1 and dead by 2, twenty from 5: the plain estimate is 0 ever after."""
    rng = np.random.default_rng(2)
    entry = np.concatenate([[1.0], np.full(20, 5.0)])
    good = np.concatenate([[1.5], rng.uniform(6, 9, 20)])
    condemned = np.concatenate([[2.0], np.where(rng.random(20) < 0.5, good[1:] + 1, np.inf)])
    lives = Lives(entry, good, condemned)
    assert turnbull(lives).bounds(np.array([4.0]))[1] == pytest.approx(0, abs=1e-9)
    enough = turnbull(lives, least_at_risk=10)
    assert enough.start == 5.0
    assert 0.2 < enough.bounds(np.array([8.0]))[1][0] < 1
    assert turnbull(lives, least_at_risk=30) is None


def test_late_entry_is_not_forgotten():
    """Mutation: entry dropped. Lives of a Weibull 3/10, watched only from a late age on."""
    rng = np.random.default_rng(5)
    ends = 10 * rng.exponential(size=4000) ** (1 / 3)
    entry = rng.uniform(0, 12, 4000)
    seen = ends > entry
    entry, ends = entry[seen], ends[seen]
    lower, upper = np.maximum(np.floor(ends), entry), np.floor(ends) + 1
    steps = turnbull(Lives(entry, lower, upper), least_at_risk=10)
    ages = np.arange(3.0, 15.0)
    truth = np.exp(log_survival("weibull", ages, np.log(10), 1 / 3))
    truth /= np.exp(log_survival("weibull", steps.start, np.log(10), 1 / 3))
    assert steps.bounds(ages)[1] == pytest.approx(truth, abs=0.05)
    forgotten = turnbull(Lives(np.zeros(len(lower)), lower, upper))
    assert np.abs(forgotten.bounds(ages)[1] - truth).max() > 0.1
