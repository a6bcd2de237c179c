"""The second opinion: lifelines, with work-arounds for what its 0.30.3 gets wrong here.

- Its starting point comes from a one-variable interval fit that fails for the log-normal and is
  slow: we start from zero, which standardised data make a fair start.
- Its interval likelihood clips S(good) - S(condemned) at 1e-25, log-normal and log-logistic
  survival at 1e-12, and treats "never" as age 1e25. `_IntervalLikelihood` writes the same
  likelihood from lifelines' own cumulative hazard, without clips; hazards, derivatives (autograd)
  and the search stay lifelines'.
- SLSQP stops early for the log-logistic: BFGS instead.

lifelines takes a second and 140 MB to import, so it is imported where it is used.
"""

import warnings
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np

from .lives import Lives

FOR_EVER = 1e25  # what lifelines puts in place of an infinite upper bound
CLASS_NAMES = {
    "weibull": "WeibullAFTFitter",
    "lognormal": "LogNormalAFTFitter",
    "loglogistic": "LogLogisticAFTFitter",
}


@dataclass(frozen=True)
class SecondOpinion:
    """lifelines' own optimum and its likelihood at our maximum, both of the lives it was given.

    theta: (k,), its optimum as (intercept, slopes, log sigma). converged: its search from its own
    start ended well; if not, optimum is the best it reached from our maximum, or -inf.
    """

    optimum: float
    at_ours: float
    theta: np.ndarray
    converged: bool


def second_opinion(family: str, lives: Lives, ours: np.ndarray) -> SecondOpinion:
    """Fit the same standardised lives with lifelines and judge our maximum by its likelihood."""
    fitter = fitter_class(family)()
    frame = frame_of(lives)
    with warnings.catch_warnings(), np.errstate(all="ignore"):
        warnings.simplefilter("ignore")
        converged = _search(fitter, frame)
        if converged or _search(fitter, frame, _as_lifelines(family, fitter, ours)):
            optimum = float(fitter.log_likelihood_)
            theta = _from_lifelines(family, fitter.params_, lives)
        else:
            optimum, theta = -np.inf, ours
        at_ours = _likelihood_at(family, fitter, frame, ours)
    return SecondOpinion(optimum, at_ours, theta, converged)


def second_likelihood(family: str, lives: Lives, theta: np.ndarray) -> float:
    """lifelines' log-likelihood of these lives at theta (k,), without its looking for a maximum:
    for lives that have none."""
    fitter, frame = fitter_class(family)(), frame_of(lives)
    fitter._scipy_fit_options = {"maxiter": 1}
    with warnings.catch_warnings(), np.errstate(all="ignore"):
        warnings.simplefilter("ignore")
        _search(fitter, frame)
        return _likelihood_at(family, fitter, frame, theta)


@cache
def fitter_class(family: str) -> type:
    """lifelines' fitter of that family with the work-arounds of this module mixed in."""
    import lifelines

    shipped = getattr(lifelines, CLASS_NAMES[family])
    return type(f"Careful{shipped.__name__}", (_IntervalLikelihood, shipped), {})


class _IntervalLikelihood:
    """Mixed into a lifelines accelerated failure time fitter, before it."""

    _scipy_fit_method = "BFGS"
    _scipy_fit_options = {"gtol": 1e-6, "maxiter": 500}

    def _create_initial_point(self, Ts, E, entries, weights, Xs):
        groups = Xs.columns.groupby(Xs.columns.get_level_values(0))
        return {parameter: np.zeros(len(columns)) for parameter, columns in groups.items()}

    def _check_values_pre_fitting(self, *args) -> None:
        """The lives were looked at when made; lifelines also turns away a part that let go at the
        very age it was first watched."""

    def _check_values_post_fitting(self, *args) -> None:
        """The gates have looked already; lifelines' own look only words its failure."""

    def _log_likelihood_interval_censoring(self, params, Ts, E, W, entries, Xs):
        from autograd import numpy as anp

        exact, fresh, joined, first, later = self._sorts(Ts, E, W, entries, Xs)

        def hazard(of, ages):
            return self._cumulative_hazard(params, ages, of.X)

        total = anp.sum(exact.weight * self._log_hazard(params, exact.stop, exact.X))
        total = total - anp.sum(fresh.weight * hazard(fresh, fresh.until))
        # Row by row: far out both hazards are 1e10 and more, and rounding would outlast the sums.
        watched = hazard(joined, joined.until) - hazard(joined, joined.entry)
        total = total - anp.sum(joined.weight * watched)
        drop = hazard(later, later.stop) - hazard(later, later.start)
        total = total + anp.sum(later.weight * anp.log(-anp.expm1(-drop)))
        gone = hazard(first, first.stop)
        total = total + anp.sum(first.weight * anp.log(-anp.expm1(-gone)))
        return total / anp.sum(W)

    def _sorts(self, Ts, E, W, entries, Xs):
        """The rows by how they enter. A search asks a thousand times with the same columns:
        cutting the frame each time took most of it."""
        if self.__dict__.get("_sorted_from") is not Xs:
            start, stop = Ts
            until = np.where(E, stop, start)
            ended, late = ~E & (stop < FOR_EVER), entries > 0
            sorts = (E, (until > 0) & ~late, late, ended & (start == 0), ended & (start > 0))
            self._sorted_from = Xs
            self._sorted = [_Rows(rows, start, stop, until, entries, W, Xs) for rows in sorts]
        return self._sorted


class _Rows:
    """Some rows: ages, weights, and the columns of each parameter as lifelines asks for them.

    until: the age up to which the row is known to have been whole.
    """

    def __init__(self, rows, start, stop, until, entries, W, Xs) -> None:
        self.start, self.stop, self.entry = start[rows], stop[rows], entries[rows]
        self.until = until[rows]
        self.weight = W[rows]
        self.X = {name: Xs[name][rows] for name in Xs.df.columns.get_level_values(0).unique()}


def frame_of(lives: Lives) -> Any:
    """The lives as the data frame lifelines expects: lower == upper marks an exact death.

    It cannot read a single row, so that one is given in two halves.
    """
    import pandas as pd

    if len(lives) == 1:
        lives = replace(lives.take(np.array([0, 0])), weight=np.full(2, lives.weight[0] / 2))
    covariates = {f"x{j:04d}": column for j, column in enumerate(lives.X.T)}
    ages = {
        "lower": np.where(lives.exact, lives.failed, lives.good),
        "upper": np.where(lives.exact, lives.failed, lives.condemned),
        "weight": lives.weight,
        "entry": lives.entry,
    }
    return pd.DataFrame({**covariates, **ages})


def _search(fitter: Any, frame: Any, start: np.ndarray | None = None) -> bool:
    """Whether lifelines' search ended well; its result is then in the fitter."""
    from lifelines.exceptions import ConvergenceError

    try:
        fitter.fit_interval_censoring(
            frame,
            lower_bound_col="lower",
            upper_bound_col="upper",
            weights_col="weight",
            entry_col="entry",
            initial_point=start,
        )
    except ConvergenceError:
        return False
    return True


def _likelihood_at(family: str, fitter: Any, frame: Any, theta: np.ndarray) -> float:
    """lifelines' log-likelihood of the lives at a theta of ours."""
    import pandas as pd

    index = fitter._norm_std.index
    fitter.params_ = pd.Series(_in_its_order(family, index, theta), index=index)
    return float(fitter.score(frame) * frame["weight"].sum())


def _as_lifelines(family: str, fitter: Any, theta: np.ndarray) -> np.ndarray:
    """theta as the starting point of lifelines' search, which runs on columns over their spread."""
    return _in_its_order(family, fitter._norm_std.index, theta) * fitter._norm_std.to_numpy()


def _in_its_order(family: str, index: Any, theta: np.ndarray) -> np.ndarray:
    return np.array([theta[_place(key, len(theta))] * _sign(family, key) for key in index])


def _from_lifelines(family: str, params: Any, lives: Lives) -> np.ndarray:
    theta = np.empty(lives.X.shape[1] + 2)
    for key, value in params.items():
        theta[_place(key, len(theta))] = value * _sign(family, key)
    return theta


def _is_ancillary(key: tuple[str, str]) -> bool:
    return key[0] in ("rho_", "sigma_", "beta_")


def _place(key: tuple[str, str], k: int) -> int:
    if _is_ancillary(key):
        return k - 1
    return 0 if key[1] == "Intercept" else 1 + int(key[1][1:])


def _sign(family: str, key: tuple[str, str]) -> float:
    """lifelines carries log shape = -log sigma, except for the log-normal."""
    return -1.0 if _is_ancillary(key) and family != "lognormal" else 1.0
