"""Profile-likelihood intervals: what the data allow when everything else is free to adapt.

A value of one parameter is inside while the highest log-likelihood with it held is within half a
chi-squared quantile of the maximum (Cox and Oakes 1984, Analysis of Survival Data, 3.3). They keep
their level where an estimate is not nearly normal: few deaths, a spread near 0, B10.
"""

from collections.abc import Callable, Iterable

import numpy as np
from scipy.optimize import brentq
from scipy.stats import chi2

from .boat_likelihood import BoatLikelihood
from .families import family_named
from .likelihood import Evaluation, Likelihood
from .lives import Lives
from .model import LifeModel, part_ages
from .newton import maximise

LOG_B10, LOG_SPREAD = "log_b10", "log_spread"
FARTHEST = 8.0  # standard errors: an end beyond this is open
STEP = 1e-4  # of the differences that give the slopes of log B10
Interval = tuple[float, float]


def profile_intervals(
    lives: Lives, model: LifeModel, names: Iterable[str], level: float = 0.95
) -> dict[str, Interval]:
    """Name -> (low, high) for a maximum-likelihood model of these lives.

    names: of the model's coefficients, "log_b10" (of a part on the reference boat) or "log_spread"
    (of boats, where the model has one). An open end is -inf or inf. The nodes of a boat effect stay
    where the maximum has them. Raises ValueError for a name that is unknown or was held fixed.
    """
    likelihood, theta = _likelihood(lives, model)
    order = [*model.names, *([LOG_SPREAD] if model.boat_spread else [])]
    drop = chi2.ppf(level, 1) / 2
    found = {}
    for name in names:
        if name in model.fixed or name not in (*order, LOG_B10):
            raise ValueError(f"{name!r} has no profile in this model.")
        function, start, place = likelihood, theta, 0
        if name == LOG_B10:
            function = _InTermsOfB10(likelihood, model)
            start = theta.copy()
            start[0] += function.log_b10_from(theta)
        else:
            place = order.index(name)
        free = np.array([n not in model.fixed for n in order])
        found[name] = _interval(_Sliced(function, start, place, free), drop)
    return found


def _likelihood(lives: Lives, model: LifeModel) -> tuple[Callable, np.ndarray]:
    counted, family = lives.take(~lives.never_seen), family_named(model.family)
    if not model.boat_spread:
        return Likelihood(family, counted), model.estimate
    theta = np.append(model.estimate, np.log(model.boat_spread))
    return BoatLikelihood(family, counted).centred(theta), theta


class _InTermsOfB10:
    """The same likelihood with log B10 in the place of the intercept.

    The intercept moves every age alike, so log B10 = intercept + h(the other parameters).
    """

    def __init__(self, likelihood: Callable, model: LifeModel) -> None:
        self.likelihood, self.family, self.names = likelihood, model.family, model.names

    def log_b10_from(self, theta: np.ndarray) -> float:
        """h: log B10 with the intercept taken as 0."""
        return float(self._h(theta[None])[0])

    def __call__(self, at: np.ndarray) -> Evaluation:
        value, slope, bend = self._derivatives(at)
        theta = at.copy()
        theta[0] -= value
        found = self.likelihood(theta)
        jacobian = np.eye(len(at))
        jacobian[0] -= slope
        return Evaluation(
            found.value,
            jacobian.T @ found.score,
            jacobian.T @ found.hessian @ jacobian - found.score[0] * bend,
        )

    def _h(self, points: np.ndarray) -> np.ndarray:
        k = len(self.names)
        points = points[:, :k].copy()
        points[:, 0] = 0.0
        return np.log(part_ages(self.family, self.names, points, 0.1, {}))

    def _derivatives(self, at: np.ndarray) -> tuple[float, np.ndarray, np.ndarray]:
        """h, its slope and its second derivatives, by central differences."""
        axes = STEP * np.eye(len(at))
        pairs = [(a, b) for a in axes for b in axes]
        corners = [at + i * a + j * b for a, b in pairs for i, j in _CORNERS]
        h = self._h(np.array([at, *(at + axes), *(at - axes), *corners]))
        k = len(at)
        slope = (h[1 : 1 + k] - h[1 + k : 1 + 2 * k]) / (2 * STEP)
        bend = h[1 + 2 * k :].reshape(k, k, 4) @ np.array([1, -1, -1, 1]) / (4 * STEP**2)
        return float(h[0]), slope, bend


_CORNERS = ((1, 1), (1, -1), (-1, 1), (-1, -1))


class _Sliced:
    """The highest log-likelihood with one parameter held, the other free ones climbing."""

    def __init__(
        self, likelihood: Callable, summit: np.ndarray, place: int, free: np.ndarray
    ) -> None:
        self.likelihood, self.summit, self.place = likelihood, summit, place
        others = free.copy()
        others[place] = False
        self.others = np.flatnonzero(others)
        at = likelihood(summit)
        self.top = at.value
        information = -at.hessian[np.ix_(np.flatnonzero(free), np.flatnonzero(free))]
        within = int(np.flatnonzero(free).tolist().index(place))
        self.error = float(np.sqrt(np.linalg.inv(information)[within, within]))
        self.held = summit.copy()

    def __call__(self, reduced: np.ndarray) -> Evaluation:
        theta = self.held.copy()
        theta[self.others] = reduced
        found = self.likelihood(theta)
        square = np.ix_(self.others, self.others)
        return Evaluation(found.value, found.score[self.others], found.hessian[square])

    def fall(self, value: float) -> float:
        """How far below the maximum the profile is with the parameter at that value."""
        self.held[self.place] = value
        climbed = maximise(self, self.held[self.others])
        if np.isfinite(climbed.at.value):
            self.held[self.others] = climbed.theta
        return self.top - climbed.at.value


def _interval(sliced: _Sliced, drop: float) -> Interval:
    return _end(sliced, drop, -1), _end(sliced, drop, 1)


def _end(sliced: _Sliced, drop: float, side: int) -> float:
    """Where the profile has fallen by drop, that side of the maximum."""
    sliced.held = sliced.summit.copy()
    middle = sliced.summit[sliced.place]
    inner, outer = 0.0, np.sqrt(2 * drop)
    while sliced.fall(middle + side * outer * sliced.error) < drop:
        inner, outer = outer, 1.5 * outer
        if outer > FARTHEST:
            return side * np.inf

    def above(errors: float) -> float:
        return sliced.fall(middle + side * errors * sliced.error) - drop

    return float(middle + side * sliced.error * brentq(above, inner, outer, xtol=1e-4))
