"""Do the two engines agree on these lives? Asked at every refit, with prior and boat effect off."""

from dataclasses import replace

import numpy as np

from .families import family_named
from .fit import AGREE
from .likelihood import Likelihood
from .lives import Lives
from .refusal import Refusal
from .scaling import Scaling
from .second_engine import second_likelihood

DISAGREE = "engines_disagree"


def refuse_disagreement(family: str, lives: Lives, theta: np.ndarray) -> Refusal | None:
    """Compare both likelihoods at theta (k,): for lives that have no plain maximum of their own.

    Covariates enter as each row's own unit of age, so that no column can be in the way.
    """
    counted = lives.take(~lives.never_seen)
    if not len(counted):
        return None
    slopes = theta[1:-1]
    aged = counted.keep(()).rescaled(np.exp(-(counted.X @ slopes)))
    if len(aged) == 1:  # lifelines does not take a table of one row: the same life in two halves
        aged = replace(aged.take(np.array([0, 0])), weight=np.tile(aged.weight / 2, 2))
    scaling = Scaling.of(aged)
    standard = scaling.apply(aged)
    at = np.array([theta[0] - np.log(scaling.unit), theta[-1]])
    ours = Likelihood(family_named(family), standard)(at).value
    theirs = second_likelihood(family, standard, at)
    if abs(ours - theirs) <= AGREE * max(1.0, abs(ours)):
        return None
    return Refusal(
        DISAGREE,
        "The two engines disagree, so neither is believed: at the model found, the log-likelihood "
        f"is {ours:.10g} by the closed form and {theirs:.10g} by lifelines.",
    )
