"""The coordinates people know, and the way from them to the likelihood's parameters.

Common practice speaks of the age by which one whole wire in ten is condemned, of its spots' shares
of the hazard, of shape and slopes; the likelihood of intercept, spot columns, slopes and log sigma.
A spot with share s of the cumulated hazard at B10 survives that age with chance .9^s, so

    location of the spot = log B10 - sigma * point(.9^s),   point(q): the z at which S(z) = q,

for every family. Prior and search live on phi, where the prior is normal (the boats' spread apart);
`theta` and `jacobian` lead to the likelihood.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from .families import Family
from .likelihood import Evaluation

ALIVE_AT_B10 = 0.9
STEP = 1e-5
LEAST_SHARE = 1e-12  # below, .9^s would round to 1


@dataclass(frozen=True, eq=False)
class Coordinates:
    """A prior on phi, m coordinates named as theta's: (intercept, columns, log_sigma[, log_spread])

    phi is log B10 in the intercept's place, log(share / share of the lower end) in that of a
    spot's column, and theta itself elsewhere. B10 speaks of a boat with covariates `about` (m,), in
    their places. centre (m,), precision (m, m): of the normal part. With `spread` the last
    coordinate is log tau, tau half-normal with standard deviation spread_sd.
    """

    family: Family
    names: tuple[str, ...]
    spots: tuple[int, ...]
    centre: np.ndarray
    precision: np.ndarray
    about: np.ndarray
    spread_sd: float
    spread: bool

    @property
    def log_sigma(self) -> int:
        return len(self.names) - 1 - self.spread

    def with_boats_alike(self) -> "Coordinates":
        """The same without the spread."""
        m = len(self.names) - self.spread
        return replace(
            self,
            names=self.names[:m],
            centre=self.centre[:m],
            precision=self.precision[:m, :m],
            about=self.about[:m],
            spread=False,
        )

    def __call__(self, phi: np.ndarray) -> Evaluation:
        """Log density at phi (m,), with score and Hessian."""
        off = phi - self.centre
        score = -self.precision @ off
        hessian = -self.precision.copy()
        if self.spread:
            bent = np.exp(2 * phi[-1]) / self.spread_sd**2
            score[-1] = 1 - bent
            hessian[-1, -1] = -2 * bent
        return Evaluation(float(self.values(phi[None])[0]), score, hessian)

    def values(self, phis: np.ndarray) -> np.ndarray:
        """(D,) log densities at phis (D, m)."""
        off = phis - self.centre
        m = len(self.names) - self.spread
        block = self.precision[:m, :m]
        value = -0.5 * np.einsum("di,ij,dj->d", off[:, :m], block, off[:, :m])
        value += 0.5 * np.linalg.slogdet(block)[1] - 0.5 * m * np.log(2 * np.pi)
        if self.spread:
            z = np.exp(phis[:, -1]) / self.spread_sd
            value += 0.5 * np.log(2 / np.pi) - 0.5 * z * z + np.log(z)
        return value

    def draws(self, n: int, rng: np.random.Generator) -> np.ndarray:
        """(n, m) phis of the prior itself."""
        m = len(self.names) - self.spread
        root = np.linalg.cholesky(np.linalg.inv(self.precision[:m, :m]))
        phis = self.centre[:m] + rng.standard_normal((n, m)) @ root.T
        if not self.spread:
            return phis
        tau = np.abs(rng.normal(0.0, self.spread_sd, n))
        return np.column_stack([phis, np.log(np.maximum(tau, 1e-12))])

    def theta(self, phis: np.ndarray) -> np.ndarray:
        """(D, m) parameters of the likelihood at phis (D, m)."""
        theta = phis.copy()
        sigma = np.exp(phis[:, self.log_sigma])
        z = self.family.point(ALIVE_AT_B10 ** self._shares(phis))
        theta[:, 0] = phis[:, 0] - sigma * z[:, 0] - phis @ self.about
        for place, column in enumerate(self.spots, start=1):
            theta[:, column] = sigma * (z[:, 0] - z[:, place])
        return theta

    def phi(self, theta: np.ndarray) -> np.ndarray:
        """(D, m), the inverse of `theta`: B10 by the hazards, shares by each spot's part of it.

        Only for Weibull, whose spots keep their shares at every age. Raises ValueError otherwise.
        """
        if self.family.name != "weibull":
            raise ValueError("Only the Weibull's shares are the same at every age.")
        phis = theta.copy()
        sigma = np.exp(theta[:, self.log_sigma])
        for column in self.spots:
            phis[:, column] = -theta[:, column] / sigma
        total = np.log1p(np.exp(phis[:, list(self.spots)]).sum(axis=1))
        of_reference = theta[:, 0] + theta @ self.about
        phis[:, 0] = of_reference + sigma * (np.log(-np.log(ALIVE_AT_B10)) - total)
        return phis

    def jacobian(self, phi: np.ndarray) -> np.ndarray:
        """(m, m): d theta / d phi at phi (m,)."""
        jacobian = np.eye(len(phi))
        jacobian[0] -= self.about
        sigma = np.exp(phi[self.log_sigma])
        shares = self._shares(phi[None])[0]
        z = self.family.point(ALIVE_AT_B10**shares)
        steep = shares * np.log(ALIVE_AT_B10) / self.family.survival_slope(z)  # dz / d log share
        bend = steep[:, None] * (np.eye(len(shares)) - shares[None, :])  # dz / d contrast
        jacobian[0, self.log_sigma] = -sigma * z[0]
        for place, column in enumerate(self.spots, start=1):
            jacobian[column, self.log_sigma] = sigma * (z[0] - z[place])
            jacobian[0, column] = -sigma * bend[0, place]
            for other, row in enumerate(self.spots, start=1):
                jacobian[row, column] = sigma * (bend[0, place] - bend[other, place])
        return jacobian

    def carried(self, phi: np.ndarray, at: Evaluation) -> Evaluation:
        """A likelihood's value, score and Hessian in theta, carried to phi by the chain rule.

        The second derivatives of the map are differences of its exact first ones: the map is
        smooth and cheap, and they steer a search; no result rests on them.
        """
        jacobian = self.jacobian(phi)
        hessian = jacobian.T @ at.hessian @ jacobian
        for j in (self.log_sigma, *self.spots):
            step = np.zeros(len(phi))
            step[j] = STEP
            ahead, behind = self.jacobian(phi + step), self.jacobian(phi - step)
            hessian[:, j] += (ahead - behind).T @ at.score / (2 * STEP)
        return Evaluation(at.value, jacobian.T @ at.score, (hessian + hessian.T) / 2)

    def _shares(self, phis: np.ndarray) -> np.ndarray:
        """(D, spots) shares of the hazard, the lower end (or the whole part) first."""
        raised = np.column_stack([np.zeros(len(phis)), phis[:, list(self.spots)]])
        raised = np.exp(raised - raised.max(axis=1, keepdims=True))
        return np.maximum(raised / raised.sum(axis=1, keepdims=True), LEAST_SHARE)


def contrast_covariance(sd: float, count: int) -> np.ndarray:
    """(count, count) of log share differences to the first, each log share independent with sd."""
    return sd**2 * (np.eye(count) + np.ones((count, count)))


def block_precision(blocks: Sequence[tuple[Sequence[int], np.ndarray]], m: int) -> np.ndarray:
    """(m, m) from the covariances of disjoint groups of coordinates; 0 where no group speaks."""
    precision = np.zeros((m, m))
    for where, covariance in blocks:
        precision[np.ix_(where, where)] = np.linalg.inv(np.atleast_2d(covariance))
    return precision
