"""Which family of life distributions foretells boats it has not seen.

Ten folds of whole boats: each family is fitted to nine and scored by its log-likelihood on the
tenth. Below 150 deaths no criterion can tell them apart, and a wrong log-normal errs on the unsafe
side, so the Weibull stays unless another is better by two standard errors of the difference.
"""

import numpy as np

from .families import FAMILIES, family_named
from .likelihood import Likelihood
from .lives import Lives
from .newton import maximise
from .scaling import Scaling

FOLDS = 10
FEWEST_DEATHS = 150
CLEARLY = 2.0  # standard errors of the mean difference in log score per boat
USUAL = "weibull"


def choose_family(lives: Lives, boat_effect: bool = False) -> tuple[str, str]:
    """The family to use, and a sentence that says why.

    boat_effect: accepted for the fit that follows; the folds are scored with boats alike, since a
    boat never seen has no effect of its own to be told.
    """
    counted = lives.take(~lives.never_seen)
    if counted.deaths < FEWEST_DEATHS:
        return USUAL, (
            f"Family: weibull; {counted.deaths:g} deaths cannot tell families apart "
            f"({FEWEST_DEATHS} could)."
        )
    scores = {name: boat_scores(name, counted) for name in FAMILIES}
    usual = scores[USUAL]
    best, lead = USUAL, 0.0
    for name, score in scores.items():
        gain = score - usual
        if name == USUAL or not np.isfinite(gain).all():
            continue
        error = gain.std(ddof=1) / np.sqrt(len(gain))
        if gain.mean() > CLEARLY * error and gain.mean() > lead:
            best, lead = name, float(gain.mean())
    if best == USUAL:
        return USUAL, "Family: weibull; no other foretells boats left out clearly better."
    return best, (
        f"Family: {best}; on boats left out its log score is better than the Weibull's by "
        f"{lead:.3g} a boat, more than {CLEARLY:g} standard errors."
    )


def boat_scores(family: str, lives: Lives) -> np.ndarray:
    """(G,) log-likelihood of each boat under the fit to the folds it is not in; nan without one."""
    boats = int(lives.cluster.max()) + 1
    fold = np.arange(boats) % min(FOLDS, boats)
    scores = np.full(boats, np.nan)
    for each in range(fold.max() + 1):
        out = fold[lives.cluster] == each
        theta = _fitted(family, lives.take(~out))
        if theta is not None:
            scores[fold == each] = _scored(family, lives.take(out), theta)
    return scores


def _scored(family: str, lives: Lives, theta: np.ndarray) -> np.ndarray:
    """Summed over each boat's rows, boats in the order of their codes."""
    likelihood = Likelihood(family_named(family), lives)
    return np.bincount(lives.cluster, weights=lives.weight * likelihood.row_values(theta))


def _fitted(family: str, lives: Lives) -> np.ndarray | None:
    """The maximum-likelihood theta on the file's scale; None where the fold has no maximum."""
    if not lives.died.any():
        return None
    scaling = Scaling.of(lives)
    likelihood = Likelihood(family_named(family), scaling.apply(lives))
    found = maximise(likelihood, np.zeros(likelihood.design.shape[1] + 1))
    return scaling.undo(found.theta) if found.settled else None
