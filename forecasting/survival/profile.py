"""Profile-likelihood intervals: what the data allow when everything else is free to adapt.

A value of one parameter is inside while the highest log-likelihood with it held is within half a
chi-squared quantile of the maximum (Cox and Oakes 1984, Analysis of Survival Data, 3.3). They keep
their level where an estimate is not nearly normal: few deaths, a spread near 0, B10.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

import numpy as np
import scipy
from scipy.special import ndtri

from .boat_likelihood import BoatLikelihood
from .families import family_named
from .likelihood import Evaluation, Likelihood
from .lives import Lives
from .model import LifeModel, part_ages
from .newton import maximise
from .prior import SPOTS
from .scaling import Scaling

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
    order = [*model.names, *([LOG_SPREAD] if model.boat_spread else [])]
    free = np.array([name not in model.fixed for name in order])
    # Half the quantile of chi-squared with one degree of freedom, a squared normal's.
    counted, drop = lives.take(~lives.never_seen), ndtri((1 + level) / 2) ** 2 / 2
    centred = Scaling.of(counted)
    frames = [
        _Frame.of(counted, model, scaling) for scaling in (centred, _about_zero(centred, model))
    ]
    found = {}
    for name in names:
        if name in model.fixed or name not in (*order, LOG_B10):
            raise ValueError(f"{name!r} has no profile in this model.")
        frame = frames[name in ("intercept", LOG_B10)]
        function, start, place = frame.likelihood, frame.theta, 0
        if name == LOG_B10:
            function = _InTermsOfB10(function, model)
            start = start.copy()
            start[0] += function.log_b10_from(start)
        else:
            place = order.index(name)
        ends = _interval(_Sliced(function, start, place, free), drop)
        found[name] = frame.on_file_scale(name, ends)
    return found


@dataclass(frozen=True, eq=False)
class _Frame:
    """The lives standardised, the likelihood of them, and the model's parameters there.

    On raw miles or hours a climb along one parameter would lose itself in rounding.
    """

    scaling: Scaling
    columns: tuple[str, ...]
    likelihood: Callable
    theta: np.ndarray

    @classmethod
    def of(cls, lives: Lives, model: LifeModel, scaling: Scaling) -> "_Frame":
        family, standard = family_named(model.family), scaling.apply(lives)
        shifted = model.estimate - np.log(scaling.unit) * (np.arange(len(model.names)) == 0)
        theta = np.linalg.solve(scaling.jacobian(), shifted)
        if not model.boat_spread:
            return cls(scaling, model.columns, Likelihood(family, standard), theta)
        theta = np.append(theta, np.log(model.boat_spread))
        boats = BoatLikelihood(family, standard).centred(theta)
        return cls(scaling, model.columns, boats, theta)

    def on_file_scale(self, name: str, ends: Interval) -> Interval:
        if name in ("intercept", LOG_B10):
            return ends[0] + np.log(self.scaling.unit), ends[1] + np.log(self.scaling.unit)
        if name not in self.columns:
            return ends
        spread = float(self.scaling.spread[self.columns.index(name)])
        return ends[0] / spread, ends[1] / spread


def _about_zero(scaling: Scaling, model: LifeModel) -> Scaling:
    """Covariates stay where they are: intercept and B10 speak of zeros, and of whole spots."""
    spots = np.isin(model.columns, SPOTS)
    return replace(
        scaling, mean=np.zeros_like(scaling.mean), spread=np.where(spots, 1.0, scaling.spread)
    )


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
        with np.errstate(invalid="ignore"):
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
        with np.errstate(all="ignore"):
            climbed = maximise(self, self.held[self.others])
        if np.isfinite(climbed.at.value):
            self.held[self.others] = climbed.theta
        return self.top - climbed.at.value


def _interval(sliced: _Sliced, drop: float) -> Interval:
    return _end(sliced, drop, -1), _end(sliced, drop, 1)


def _end(sliced: _Sliced, drop: float, side: int) -> float:
    """Where the profile has fallen by drop, that side of the maximum; nan if that has no error."""
    sliced.held = sliced.summit.copy()
    middle = sliced.summit[sliced.place]
    if not sliced.error > 0:
        return np.nan
    inner, outer = 0.0, np.sqrt(2 * drop)
    while sliced.fall(middle + side * outer * sliced.error) < drop:
        inner, outer = outer, 1.5 * outer
        if outer > FARTHEST:
            return side * np.inf

    def above(errors: float) -> float:
        return sliced.fall(middle + side * errors * sliced.error) - drop

    if inner and above(inner) >= 0:  # the climb from there went higher: no further out than this
        return float(middle + side * sliced.error * inner)
    reached = outer if above(outer) <= 0 else scipy.optimize.brentq(above, inner, outer, xtol=1e-4)
    return float(middle + side * sliced.error * reached)
