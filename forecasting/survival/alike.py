"""The plain likelihood in the calling convention of the one with boat effects: all boats alike."""

import numpy as np

from .families import Family, log_one_minus_exp
from .likelihood import Evaluation, Likelihood
from .lives import Lives

CELLS = 2_000_000  # rows times draws held at once


class AlikeLikelihood:
    """Boats that do not differ. theta = (intercept, slopes, log sigma), (k,)."""

    def __init__(self, family: Family, lives: Lives) -> None:
        self.plain = Likelihood(family, lives)

    def __call__(self, theta: np.ndarray) -> Evaluation:
        """Value, score and Hessian at theta, (k,)."""
        return self.plain(theta)

    def values(self, thetas: np.ndarray) -> np.ndarray:
        """(D,) log-likelihoods at thetas (D, k); -inf where one underflows."""
        rows = max(1, len(self.plain.weight))
        pieces = np.array_split(thetas, max(1, -(-len(thetas) * rows // CELLS)))
        return np.concatenate([self._values(piece) for piece in pieces])

    def _values(self, thetas: np.ndarray) -> np.ndarray:
        plain, family = self.plain, self.plain.family
        location = thetas[:, :-1] @ plain.design.T
        sigma = np.exp(thetas[:, -1:])

        def z(log_age: np.ndarray, rows: np.ndarray) -> np.ndarray:
            return (log_age - location[:, rows]) / sigma

        with np.errstate(over="ignore", invalid="ignore", divide="ignore", under="ignore"):
            rows = np.zeros(location.shape)
            exact = family.log_density(z(plain.log_failed, plain.exact))
            rows[:, plain.exact] = exact - np.log(sigma) - plain.log_failed
            lower = z(plain.log_lower, plain.between)
            drop = family.survival_drop(lower, z(plain.log_upper, plain.between))
            rows[:, plain.between] = family.log_survival(lower) + log_one_minus_exp(drop)
            rows[:, plain.alive] = family.log_survival(z(plain.log_good, plain.alive))
            rows[:, plain.late] -= family.log_survival(z(plain.log_entry, plain.late))
            value = rows @ plain.weight
        return np.where(np.isfinite(value), value, -np.inf)
