"""Draws of a density known up to a constant: importance sampling from a multivariate t.

Weights tell how good the proposal was: the effective sample size (sum w)^2 / sum w^2 (Kong 1992)
is checked, and a poor proposal is fitted to its own weighted draws and tried again. For that fit
the weights are truncated (Ionides 2008, J. Computational and Graphical Statistics 17), so that one
lucky draw does not become the whole of the next proposal.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

DEGREES = 5  # of freedom: tails heavier than any posterior here
ENOUGH = 0.15  # share of the draws that the effective sample size has to reach
POOR = 0.02  # below that share after the last round there is no answer
ROUNDS = 3
MORE = 2  # times the draws in a round of mending
WIDER = 1.2  # variance of a refitted proposal against that of the draws


@dataclass(frozen=True, eq=False)
class Weighted:
    """u (D, m) with weights (D,) that sum to 1; rounds: how often the proposal was mended."""

    u: np.ndarray
    weight: np.ndarray
    rounds: int

    @property
    def ess(self) -> float:
        return effective(self.weight)

    @property
    def poor(self) -> bool:
        return not self.ess >= POOR * len(self.weight)

    def mean(self, values: np.ndarray) -> np.ndarray:
        return self.weight @ values

    def resampled(self, n: int, rng: np.random.Generator) -> np.ndarray:
        """(n,) indices by systematic resampling, in random order."""
        at = (np.arange(n) + rng.random()) / n
        picked = np.searchsorted(np.cumsum(self.weight), at, side="right")
        return rng.permutation(np.minimum(picked, len(self.weight) - 1))


def effective(weight: np.ndarray) -> float:
    return float(weight.sum() ** 2 / (weight @ weight))


def importance(
    log_density: Callable[[np.ndarray], np.ndarray],
    centre: np.ndarray,
    covariance: np.ndarray,
    draws: int,
    rng: np.random.Generator,
) -> Weighted:
    """The best of the first proposal and up to ROUNDS mended ones.

    log_density: (D, m) -> (D,), -inf allowed. centre (m,), covariance (m, m): the first proposal's.
    """
    best = _tried(log_density, centre, covariance, draws, rng, 0)
    for each in range(1, ROUNDS + 1):
        if best.ess >= ENOUGH * draws:
            break
        most = np.sqrt(len(best.weight)) * best.weight.mean()
        cut = np.minimum(best.weight, most)
        centre = np.average(best.u, axis=0, weights=cut)
        covariance = WIDER * np.cov(best.u, rowvar=False, aweights=cut, ddof=0)
        again = _tried(log_density, centre, np.atleast_2d(covariance), MORE * draws, rng, each)
        best = again if again.ess > best.ess else best
    return best


def _tried(
    log_density: Callable[[np.ndarray], np.ndarray],
    centre: np.ndarray,
    covariance: np.ndarray,
    draws: int,
    rng: np.random.Generator,
    rounds: int,
) -> Weighted:
    m = len(centre)
    root = np.linalg.cholesky(covariance + 1e-10 * np.diag(np.diag(covariance) + 1e-12))
    z = rng.standard_normal((draws, m))
    scale = rng.chisquare(DEGREES, draws) / DEGREES
    u = centre + (z / np.sqrt(scale)[:, None]) @ root.T
    log_proposal = -0.5 * (DEGREES + m) * np.log1p((z**2).sum(axis=1) / scale / DEGREES)
    log_weight = log_density(u) - log_proposal
    top = log_weight.max()
    if not np.isfinite(top):
        return Weighted(u, np.full(draws, 1 / draws) * np.nan, rounds)
    weight = np.exp(log_weight - top)
    return Weighted(u, weight / weight.sum(), rounds)
