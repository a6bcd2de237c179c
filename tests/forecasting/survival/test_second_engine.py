"""Two engines that must agree, and what lifelines 0.30.3 does here as it is shipped.

Each trap is shown on the shipped fitter first, then that ours does not fall into it.
"""

import inspect
import warnings
from dataclasses import replace

import lifelines
import numpy as np
import pytest
from lifelines.exceptions import ConvergenceError

from forecasting.survival import FAMILIES, LifeModel, Lives, Refusal, fit
from forecasting.survival import likelihood as likelihood_module
from forecasting.survival.likelihood import Likelihood
from forecasting.survival.newton import maximise
from forecasting.survival.scaling import Scaling
from forecasting.survival.second_engine import CLASS_NAMES, fitter_class, frame_of, second_opinion

from . import published
from .samples import mixed_lives

every_family = pytest.mark.parametrize("family", FAMILIES)


def shipped(family: str, lives: Lives, frame=None):
    """lifelines' own fit, without any work-around."""
    fitter = getattr(lifelines, CLASS_NAMES[family])()
    with warnings.catch_warnings(), np.errstate(all="ignore"):
        warnings.simplefilter("ignore")
        return fitter.fit_interval_censoring(
            frame_of(lives) if frame is None else frame,
            lower_bound_col="lower",
            upper_bound_col="upper",
            weights_col="weight",
            entry_col="entry",
        )


def inspected(n: int = 90, seed: int = 4) -> Lives:
    rng = np.random.default_rng(seed)
    life = 9 * rng.weibull(3, n)
    good = np.floor(np.minimum(life, 12))
    lives = Lives(np.zeros(n), good, np.where(life < 12, good + 1, np.inf))
    return replace(lives, X=rng.normal(size=n), names=("miles",))


@every_family
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_both_engines_agree_at_our_maximum_and_neither_finds_a_higher(family, seed):
    lives = mixed_lives(seed)
    standard = Scaling.of(lives).apply(lives)
    ours = maximise(Likelihood(FAMILIES[family], standard), np.zeros(4))
    opinion = second_opinion(family, standard, ours.theta)
    assert ours.settled
    assert opinion.converged
    assert opinion.at_ours == pytest.approx(ours.at.value, rel=1e-11)
    assert opinion.optimum <= ours.at.value + 1e-9
    assert opinion.theta == pytest.approx(ours.theta, abs=1e-4)


@every_family
def test_on_ordinary_lives_the_work_around_is_the_shipped_likelihood(family):
    lives, ours = inspected(), np.array([2.0, 0.1, -0.5])
    careful = second_opinion(family, lives, ours).at_ours
    frame, fitter = frame_of(lives), fitter_class(family)()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        fitter.fit_interval_censoring(
            frame, "lower", "upper", weights_col="weight", entry_col="entry"
        )
    log_spread = ours[2:] * (1 if family == "lognormal" else -1)
    params = {
        fitter._primary_parameter_name: ours[[1, 0]],
        fitter._ancillary_parameter_name: log_spread,
    }
    design = lifelines.utils.DataframeSlicer(fitter.regressors.transform_df(frame))
    ages = np.maximum(lives.good, 1e-30), np.minimum(lives.condemned, 1e25)
    zero = np.zeros(len(lives))
    as_shipped = getattr(lifelines, CLASS_NAMES[family])._log_likelihood_interval_censoring
    mean = as_shipped(fitter, params, ages, zero.astype(bool), lives.weight, zero, design)
    assert fitter.params_.index[0][1] == "x0000"
    assert mean * len(lives) == pytest.approx(careful, rel=1e-8)


def test_trap_the_shipped_log_normal_fails_on_intervals_from_zero():
    lives = published.from_file("breast_cosmesis")
    with pytest.raises(ConvergenceError):
        shipped("lognormal", lives)
    assert isinstance(fit(lives, "lognormal"), LifeModel)


def test_trap_the_shipped_log_logistic_stops_early():
    lives = published.from_file("rats")
    short = fit(lives, "loglogistic").log_likelihood - shipped("loglogistic", lives).log_likelihood_
    assert short > 1e-5


def test_trap_raw_scales_do_not_converge():
    lives = published.from_file("channing_house")  # ages in months, near 1,000
    with pytest.raises(ConvergenceError):
        shipped("weibull", lives)
    assert isinstance(fit(lives), LifeModel)


def test_trap_far_tails_are_clipped():
    # Parts that entered far beyond the typical life: S below 1e-25 there.
    rng = np.random.default_rng(2)
    entry = np.full(80, 6.0)
    life = (6.0**5 + 5.0**5 * rng.exponential(size=80)) ** (1 / 5)
    good = np.maximum(6.0, np.floor(life * 20) / 20)
    lives = Lives(entry, good, good + 0.05).rescaled(1 / 1.5)
    theta = np.array([0.0, np.log(0.2)])
    exact = Likelihood(FAMILIES["weibull"], lives)(theta).value
    fitter = shipped("weibull", inspected().keep([]))
    fitter.params_[:] = [0.0, -np.log(0.2)]
    with np.errstate(all="ignore"):
        clipped = fitter.score(frame_of(lives)) * len(lives)
    assert abs(clipped - exact) > 1
    assert second_opinion("weibull", lives, theta).at_ours == pytest.approx(exact, rel=1e-10)


def test_trap_a_part_seen_good_before_its_entry_passes_without_a_word():
    lives = inspected()
    frame = frame_of(lives)
    frame.loc[0, "entry"] = frame.loc[0, "lower"] + 0.5
    assert np.isfinite(shipped("weibull", lives, frame).log_likelihood_)
    with pytest.raises(ValueError, match="before its entry age"):
        replace(lives, entry=frame["entry"].to_numpy())


def test_trap_no_deaths_still_give_a_fit():
    alive = inspected().take(~inspected().died)
    assert np.isfinite(shipped("weibull", alive).log_likelihood_)
    assert fit(alive).reason_code == "no_deaths"


def test_trap_perfect_separation_still_gives_a_slope():
    lives = replace(inspected(), X=inspected().died.astype(float), names=("tired",))
    assert np.isfinite(shipped("weibull", lives).params_).all()
    assert fit(lives).reason_code == "separation"


def test_trap_a_repeated_column_still_gives_slopes():
    lives = inspected()
    lives = replace(lives, X=np.column_stack([lives.X, 2 * lives.X]), names=("miles", "again"))
    assert np.isfinite(shipped("weibull", lives).params_).all()
    assert fit(lives).reason_code == "repeated_column"


def test_a_wrong_closed_form_is_refused_because_the_engines_disagree(monkeypatch):
    # Our density without its 1/age: the fit still converges, to a likelihood that is not one.
    right = likelihood_module.exact_terms

    def wrong(family, z, log_age, sigma):
        return (
            right(family, z, log_age, sigma)[0] + log_age,
            *right(family, z, log_age, sigma)[1:],
        )

    monkeypatch.setattr(likelihood_module, "exact_terms", wrong)
    outcome = fit(mixed_lives())
    assert isinstance(outcome, Refusal)
    assert outcome.reason_code == "engines_disagree"


@every_family
def test_trap_a_part_that_let_go_at_the_age_it_was_first_watched_stops_the_shipped_fitter(family):
    lives = Lives([5.0, 0, 0, 0], [5.0, 0, 0, 0], failed=[5.0, 6.0, 9.0, 11.0])
    with pytest.raises(ValueError, match="entry"):
        shipped(family, lives)
    assert isinstance(fit(lives, family), LifeModel)


def test_trap_penalising_is_no_prior():
    """lifelines' penalizer draws the logarithm of the shape to 0, a part that does not age."""
    lives = inspected()
    shapes = []
    for penalizer in (0.0, 1.0):
        with warnings.catch_warnings(), np.errstate(all="ignore"):
            warnings.simplefilter("ignore")
            fitter = lifelines.WeibullAFTFitter(penalizer=penalizer).fit_interval_censoring(
                frame_of(lives), "lower", "upper", weights_col="weight", entry_col="entry"
            )
        shapes.append(float(np.exp(fitter.params_["rho_"].iloc[0])))
    assert shapes[0] > 2.5
    assert shapes[1] < 0.9 * shapes[0]


def test_trap_no_late_entry_in_the_shipped_turnbull():
    lives = inspected()
    with pytest.raises(NotImplementedError, match="entry"):
        lifelines.KaplanMeierFitter().fit_interval_censoring(
            lives.good, lives.condemned, entry=np.minimum(lives.good, 4.0)
        )


def test_trap_no_clusters_with_intervals():
    fitter = lifelines.WeibullAFTFitter
    assert "cluster_col" not in inspect.signature(fitter.fit_interval_censoring).parameters
