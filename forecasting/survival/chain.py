"""Draws of a density that no proposal covers: a chain of walkers, by emcee.

The walkers move by differences of one another (ter Braak 2006, Statistics and Computing 16), so
narrow and slanting densities cost no more than round ones; one move in ten is a whole difference,
which leads from one summit to another. How many independent draws a chain is worth is told by its
integrated autocorrelation time (Goodman and Weare 2010, Comm. Applied Math. and Computational
Science 5). emcee's snooker move is left out: as shipped in 3.1.6 it draws spreads 6 to 10 % short.
"""

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from .importance import Weighted, refitted

if TYPE_CHECKING:
    import emcee

WALKERS = 64
SETTLING = 1000  # steps to forget where the walkers set out
BLOCK, BLOCKS = 1000, 12
LONG_ENOUGH = 30  # times the autocorrelation time; shorter, its estimate is not to be trusted
ENOUGH = 400  # independent draws
APART = 0.1  # of one another the walkers set out, in the last proposal's root


def chain(
    log_density: Callable[[np.ndarray], np.ndarray], found: Weighted, rng: np.random.Generator
) -> Weighted:
    """Draws (found.asked, m) of equal weight, from where importance sampling got to.

    log_density: (D, m) -> (D,), -inf allowed. The result is `poor` where the chain did not settle.
    """
    import emcee

    walkers = max(WALKERS, 4 * found.u.shape[1])
    sampler = emcee.EnsembleSampler(
        walkers,
        found.u.shape[1],
        log_density,
        vectorize=True,
        moves=[(emcee.moves.DEMove(), 0.9), (emcee.moves.DEMove(gamma0=1.0), 0.1)],
    )
    start = _start(log_density, found, walkers, rng)
    worth = 0.0
    if emcee.ensemble.walkers_independent(start):
        seeded = np.random.RandomState(rng.integers(2**32)).get_state()
        worth = _walk(sampler, emcee.State(start, random_state=seeded))
    if not worth:
        return Weighted(found.u, found.weight, found.rounds, found.asked, worth=0.0)
    walked = sampler.get_chain(flat=True)
    kept = walked[rng.choice(len(walked), found.asked, replace=False)]
    return Weighted(kept, np.full(len(kept), 1 / len(kept)), found.rounds, found.asked, worth)


def _start(
    log_density: Callable[[np.ndarray], np.ndarray],
    found: Weighted,
    walkers: int,
    rng: np.random.Generator,
) -> np.ndarray:
    """(walkers, m): draws by their weight, a little apart where that is still within."""
    picked = found.u[found.resampled(walkers, rng)]
    root = refitted(found).root
    moved = picked + APART * rng.standard_normal(picked.shape) @ root.T
    return np.where(np.isfinite(log_density(moved))[:, None], moved, picked)


def _walk(sampler: "emcee.EnsembleSampler", start: "emcee.State") -> float:
    """Walk until there are enough draws; return how many independent ones, 0 if they never come."""
    at = sampler.run_mcmc(start, SETTLING)
    sampler.reset()
    for _ in range(BLOCKS):
        at = sampler.run_mcmc(at, BLOCK, skip_initial_state_check=True)
        with np.errstate(all="ignore"):  # of walkers that ran off nothing is told: nan, no draws
            longest = float(sampler.get_autocorr_time(quiet=True, tol=0).max())
        worth = sampler.nwalkers * sampler.iteration / longest
        if sampler.iteration >= LONG_ENOUGH * longest and worth >= ENOUGH:
            return worth
    return 0.0
