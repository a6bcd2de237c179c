"""Which family of life distributions foretells boats it has not seen.

Ten folds of whole boats: each family is fitted to nine and scored by its log-likelihood on the
tenth. Below 150 deaths no criterion can tell them apart, and a wrong log-normal errs on the unsafe
side, so the Weibull stays unless another is better by two standard errors of the difference.
"""

import numpy as np

from .boat_fit import maximise_with_boats
from .boat_likelihood import BoatLikelihood
from .families import FAMILIES, family_named
from .likelihood import Likelihood
from .lives import Lives
from .newton import maximise
from .scaling import Scaling, typical_age

FOLDS = 10
FEWEST_DEATHS = 150
CLEARLY = 2.0  # standard errors of the mean difference in log score per boat
USUAL = "weibull"
DUST = 1e-6  # of deaths shared over several spots


def choose_family(lives: Lives, boat_effect: bool = False) -> tuple[str, str]:
    """The family to use, and a sentence that says why.

    boat_effect: whether boats may differ in the fits to the folds and in the scores.
    """
    counted = lives.take(~lives.never_seen)
    if counted.deaths < FEWEST_DEATHS - DUST:
        return USUAL, (
            f"Family: weibull; {counted.deaths:g} deaths cannot tell families apart "
            f"({FEWEST_DEATHS} could)."
        )
    scores = {name: boat_scores(name, counted, boat_effect) for name in FAMILIES}
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


def boat_scores(family: str, lives: Lives, boat_effect: bool = False) -> np.ndarray:
    """(G,) log-likelihood of each boat under the fit to the folds it is not in; nan without one.

    With a boat effect that fit has one where its boats differ, and a boat left out is scored by
    its record's marginal likelihood over the effect, of which nothing is known.
    """
    boats = int(lives.cluster.max()) + 1
    fold = _folds(lives, boats)
    scores = np.full(boats, np.nan)
    for each in range(fold.max() + 1):
        out = fold[lives.cluster] == each
        theta = _fitted(family, lives.take(~out), boat_effect)
        if theta is not None:
            scores[fold == each] = _scored(family, lives.take(out), theta)
    return scores


def _folds(lives: Lives, boats: int) -> np.ndarray:
    """(G,) the fold of each boat: by the size of its record, so that no name or order counts."""
    age, died = typical_age(lives), lives.weight * lives.died
    told = (lives.weight * age, lives.weight * age**2, died, died * age, died * age**2)
    sizes = [np.bincount(lives.cluster, weights=each, minlength=boats) for each in told]
    fold = np.empty(boats, dtype=int)
    fold[np.lexsort(np.round(sizes, 9))] = np.arange(boats) % min(FOLDS, boats)
    return fold


def _scored(family: str, lives: Lives, theta: np.ndarray) -> np.ndarray:
    """(G,) each boat's log-likelihood, boats in the order of their codes."""
    if len(theta) == len(lives.names) + 3:
        return BoatLikelihood(family_named(family), lives).boat_values(theta)
    rows = Likelihood(family_named(family), lives).row_values(theta)
    return np.bincount(lives.cluster, weights=lives.weight * rows)


def _fitted(family: str, lives: Lives, boat_effect: bool) -> np.ndarray | None:
    """The maximum-likelihood theta on the file's scale, with log spread last where boats differ.

    None where the fold has no maximum.
    """
    if not lives.died.any():
        return None
    scaling = Scaling.of(lives)
    standard = scaling.apply(lives)
    likelihood = Likelihood(family_named(family), standard)
    plain = maximise(likelihood, np.zeros(likelihood.design.shape[1] + 1))
    if not plain.settled:
        return None
    boats = maximise_with_boats(family, standard, plain.theta) if boat_effect else None
    if boats is None:
        return scaling.undo(plain.theta)
    if not boats.maximum.settled:
        return None
    return np.append(scaling.undo(boats.maximum.theta[:-1]), boats.maximum.theta[-1])
