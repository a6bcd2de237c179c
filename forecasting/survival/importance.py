"""Draws of a density known up to a constant: importance sampling from multivariate t's.

Weights tell how good the proposal was: the effective sample size (sum w)^2 / sum w^2 (Kong 1992)
is checked, and a poor proposal is fitted to the weighted draws so far and tried again. Every draw
counts against the mixture of all proposals tried (Cornuet, Marin, Mira and Robert 2012,
Scandinavian J. of Statistics 39), so that no draw is lost and one far out of a single proposal
cannot outweigh the rest. For the refit weights are truncated (Ionides 2008, J. Computational and
Graphical Statistics 17).
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import scipy

DEGREES = 5  # of freedom: tails heavier than any posterior here
ENOUGH = 0.15  # share of the draws asked for that the effective sample size has to reach
POOR = 0.1  # below that share after the last round another way is needed
ROUNDS = 8
MORE = 2  # times the draws in a round of mending
WIDER = 1.2  # variance of a refitted proposal against that of the draws


@dataclass(frozen=True, eq=False)
class Weighted:
    """u (D, m) with weights (D,) that sum to 1; asked: draws wanted, D if the first did.

    rounds: how often the proposal was mended. worth: how many independent draws a chain's are
    worth; None where the weights tell.
    """

    u: np.ndarray
    weight: np.ndarray
    rounds: int
    asked: int
    worth: float | None = None

    @property
    def ess(self) -> float:
        return effective(self.weight) if self.worth is None else self.worth

    @property
    def poor(self) -> bool:
        return not self.ess >= POOR * self.asked

    def mean(self, values: np.ndarray) -> np.ndarray:
        return self.weight @ values

    def resampled(self, n: int, rng: np.random.Generator) -> np.ndarray:
        """(n,) indices by systematic resampling, in random order."""
        at = (np.arange(n) + rng.random()) / n
        picked = np.searchsorted(np.cumsum(self.weight), at, side="right")
        return rng.permutation(np.minimum(picked, len(self.weight) - 1))


def effective(weight: np.ndarray) -> float:
    return float(weight.sum() ** 2 / (weight @ weight))


@dataclass(frozen=True, eq=False)
class Proposal:
    """A multivariate t: centre (m,), root (m, m) lower triangular."""

    centre: np.ndarray
    root: np.ndarray

    @classmethod
    def about(cls, centre: np.ndarray, covariance: np.ndarray) -> "Proposal":
        ridge = 1e-10 * np.diag(np.diag(covariance) + 1e-12)
        return cls(centre, np.linalg.cholesky(covariance + ridge))

    def draws(self, n: int, rng: np.random.Generator) -> np.ndarray:
        """(n, m)."""
        z = rng.standard_normal((n, len(self.centre)))
        scale = rng.chisquare(DEGREES, n) / DEGREES
        return self.centre + (z / np.sqrt(scale)[:, None]) @ self.root.T

    def log_density(self, u: np.ndarray) -> np.ndarray:
        """(D,) at u (D, m), up to a constant that all proposals share."""
        z = scipy.linalg.solve_triangular(self.root, (u - self.centre).T, lower=True)
        tail = 0.5 * (DEGREES + len(z)) * np.log1p((z**2).sum(axis=0) / DEGREES)
        return -tail - np.log(np.diag(self.root)).sum()


def importance(
    log_density: Callable[[np.ndarray], np.ndarray],
    centre: np.ndarray,
    covariance: np.ndarray,
    draws: int,
    rng: np.random.Generator,
) -> Weighted:
    """Weighted draws of the first proposal and, while it covers poorly, of up to ROUNDS mended.

    log_density: (D, m) -> (D,), -inf allowed. centre (m,), covariance (m, m): the first proposal's.
    """
    proposals = [Proposal.about(centre, covariance)]
    u = proposals[0].draws(draws, rng)
    value, sizes = log_density(u), [draws]
    while True:
        found = Weighted(u, _weights(value, u, proposals, sizes), len(proposals) - 1, draws)
        if found.ess >= ENOUGH * draws or found.rounds == ROUNDS or np.isnan(found.ess):
            return found
        proposals.append(refitted(found))
        sizes.append(MORE * draws)
        more = proposals[-1].draws(sizes[-1], rng)
        u, value = np.vstack([u, more]), np.append(value, log_density(more))


def _weights(
    value: np.ndarray, u: np.ndarray, proposals: list[Proposal], sizes: list[int]
) -> np.ndarray:
    """(D,) against the mixture of the proposals, each by its share of the draws; nan if none."""
    mixed = np.full(len(u), -np.inf)
    for proposal, size in zip(proposals, sizes, strict=True):
        mixed = np.logaddexp(mixed, np.log(size / len(u)) + proposal.log_density(u))
    log_weight = value - mixed
    top = log_weight.max()
    if not np.isfinite(top):
        return np.full(len(u), np.nan)
    weight = np.exp(log_weight - top)
    return weight / weight.sum()


def refitted(found: Weighted) -> Proposal:
    """About the draws, none of which may become the whole of it."""
    cut = np.minimum(found.weight, found.weight.mean() * np.sqrt(len(found.weight)))
    centre = np.average(found.u, axis=0, weights=cut)
    covariance = WIDER * np.cov(found.u, rowvar=False, aweights=cut, ddof=0)
    return Proposal.about(centre, np.atleast_2d(covariance))
