"""Maximum likelihood with a boat effect, from the plain maximum on."""

from dataclasses import dataclass

import numpy as np
import scipy
from scipy.special import ndtri

from .boat_likelihood import BoatLikelihood, HeldNodes
from .families import family_named
from .likelihood import Evaluation
from .lives import Lives
from .newton import Maximum, maximise

FIRST_SPREAD = 0.2
MOST_ROUNDS = 20
SAME = 1e-7  # largest move of theta between two placings of the nodes
NEXT_TO_NONE = 0.005  # a spread of half a percent of life is none
NORMAL_95 = float(ndtri(0.975))
DROP_95 = NORMAL_95**2 / 2  # of a log-likelihood at the ends of a 95 % interval
SHARP = 0.2  # an error of log spread below which its likelihood is as good as normal
STRIDE = 0.7  # of log spread, in search of an end
GREATEST_SPREAD = 3.0  # boats whose lives differ by a factor of 20 either way: no record says more
PLACINGS = 3  # of the nodes at a spread that is held


@dataclass(frozen=True)
class BoatMaximum:
    """theta (k + 1,) with log spread last, standardised; scores (G, k + 1), each boat's."""

    likelihood: BoatLikelihood
    maximum: Maximum
    boat_scores: np.ndarray


def maximise_with_boats(family: str, lives: Lives, plain: np.ndarray) -> BoatMaximum | None:
    """The maximum over theta and the spread of boats, or None where it is highest without any.

    plain: (k,) the maximum without a boat effect. The nodes of the quadrature are placed about each
    boat's mode, held while climbing, and placed anew until nothing moves.
    """
    likelihood = BoatLikelihood(family_named(family), lives)
    if likelihood.boats < 2 or likelihood.gain_of_spread(plain) <= 0:
        return None
    theta, centre, found = np.append(plain, np.log(FIRST_SPREAD)), None, None
    for _ in range(MOST_ROUNDS):
        held = likelihood.centred(theta, centre)
        found = maximise(held, theta)
        moved = np.abs(found.theta - theta).max()
        theta, centre = found.theta, held.centre
        if theta[-1] < np.log(NEXT_TO_NONE):
            return None
        if moved < SAME:
            break
    return BoatMaximum(likelihood, found, held.boat_scores(theta))


def spread_band(found: BoatMaximum, alike: float) -> tuple[float, float]:
    """The 95 % interval of the spread: normal on its logarithm where that is sharp, else profile.

    alike: the highest log-likelihood without a spread. Where it is within reach the interval begins
    at 0: the logarithm of a spread that may be none has no lower end and a meaningless error.
    """
    maximum = found.maximum
    middle = float(maximum.theta[-1])
    variance = np.linalg.inv(-maximum.at.hessian)[-1, -1]
    if 0 < variance < SHARP**2:
        reach = NORMAL_95 * np.sqrt(variance)
        return float(np.exp(middle - reach)), float(np.exp(middle + reach))
    profile = _Profile(found.likelihood, maximum)
    low = 0.0 if maximum.at.value - alike < DROP_95 else profile.end(-1)
    return low, profile.end(1)


class _Profile:
    """How far the likelihood falls with the spread held elsewhere and all else free to adapt."""

    def __init__(self, likelihood: BoatLikelihood, maximum: Maximum) -> None:
        self.likelihood, self.maximum = likelihood, maximum

    def end(self, side: int) -> float:
        """The spread where it has fallen by DROP_95, below (-1) or above (1) the maximum."""
        middle = float(self.maximum.theta[-1])
        inner, outer = middle, middle + side * STRIDE
        while self.fall(outer) < DROP_95:
            if not np.log(NEXT_TO_NONE) < outer < np.log(GREATEST_SPREAD):
                return GREATEST_SPREAD if side > 0 else 0.0
            inner, outer = outer, outer + side * STRIDE
        if self.fall(inner) >= DROP_95:
            return float(np.exp(inner))
        return float(
            np.exp(
                scipy.optimize.brentq(lambda at: self.fall(at) - DROP_95, inner, outer, xtol=1e-4)
            )
        )

    def fall(self, log_spread: float) -> float:
        """From the maximum, at that log spread; infinite where nothing is found."""
        theta, centre = np.append(self.maximum.theta[:-1], log_spread), None
        with np.errstate(all="ignore"):
            for _ in range(PLACINGS):
                held = self.likelihood.centred(theta, centre)
                found = maximise(_HeldSpread(held, log_spread), theta[:-1])
                theta, centre = np.append(found.theta, log_spread), held.centre
        return self.maximum.at.value - found.at.value


@dataclass(frozen=True)
class _HeldSpread:
    """The likelihood of all but the spread."""

    held: HeldNodes
    log_spread: float

    def __call__(self, reduced: np.ndarray) -> Evaluation:
        found = self.held(np.append(reduced, self.log_spread))
        return Evaluation(found.value, found.score[:-1], found.hessian[:-1, :-1])
