"""Standardising: ages near 1, covariates with mean 0 and spread 1; and the way back.

With log T = log(unit) + log T', x = mean + spread x', a model a' + sum b' x' for log T' is
b = b' / spread and a = a' + log(unit) - sum b mean on the scale of the file. Raw miles or hours
leave an optimiser with slopes six orders of magnitude apart; this removes that.
"""

from dataclasses import dataclass, replace

import numpy as np

from .lives import Lives


@dataclass(frozen=True)
class Scaling:
    """unit: age that becomes 1; mean, spread: (p,) of the covariates."""

    unit: float
    mean: np.ndarray
    spread: np.ndarray

    @classmethod
    def of(cls, lives: Lives) -> "Scaling":
        """Weighted means; a column without spread keeps spread 1 for the gates to find."""
        weight = lives.weight / lives.weight.sum()
        mean = weight @ lives.X
        reach = np.abs(lives.X - mean).max(axis=0, initial=0.0)
        reach = np.where(reach > 0, reach, 1.0)  # squares of 1e-200 would all be 0
        spread = reach * np.sqrt(weight @ ((lives.X - mean) / reach) ** 2)
        return cls(
            unit=float(np.exp(weight @ np.log(typical_age(lives)))),
            mean=mean,
            spread=np.where(spread > 0, spread, 1.0),
        )

    def apply(self, lives: Lives) -> Lives:
        return replace(lives.rescaled(1 / self.unit), X=(lives.X - self.mean) / self.spread)

    def jacobian(self) -> np.ndarray:
        """(k, k): d(theta on the file's scale) / d(theta standardised)."""
        k = len(self.mean) + 2
        matrix = np.eye(k)
        matrix[range(1, k - 1), range(1, k - 1)] = 1 / self.spread
        matrix[0, 1:-1] = -self.mean / self.spread
        return matrix

    def undo(self, theta: np.ndarray) -> np.ndarray:
        """theta on the file's scale."""
        file_scale = self.jacobian() @ theta
        file_scale[0] += np.log(self.unit)
        return file_scale


def typical_age(lives: Lives) -> np.ndarray:
    """(n,) one positive age per row: failed, the middle of the interval, or last seen good."""
    middle = np.where(lives.between, 0.5 * (lives.good + lives.condemned), lives.good)
    age = np.where(lives.exact, lives.failed, middle)
    return np.where(age > 0, age, 1.0)
