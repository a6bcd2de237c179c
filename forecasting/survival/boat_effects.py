"""Many parameter draws at once: the likelihood of each, and a draw of every boat's effect under it.

The log-likelihood of a boat at an effect u is needed at hundreds of draws times a few nodes. For
the Weibull the rows that only stood share exp(-u / sigma), so they collapse to one number a boat
and only the deaths are looked at node by node; other families take the general way.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from .boat_likelihood import LEAST_CURVATURE, LONGEST_STEP, BoatLikelihood, Nodes
from .families import WEIBULL, log_one_minus_exp

CENTRING_STEPS = 6
GRID = 33  # points at which a boat's density is held to draw from it
GRID_REACH = 5.0  # standard deviations either side of the mode
CELLS = 50_000  # rows x draws worked on at once, so that a small fleet's draws cost little each


def values(likelihood: BoatLikelihood, thetas: np.ndarray) -> np.ndarray:
    """(D,) log-likelihood at each row of thetas (D, k + 1), nodes centred anew for each."""
    found = []
    for record in _records(likelihood, thetas):
        centre, scale = record.modes()
        nodes = Nodes.about(centre, scale, likelihood.nodes)
        log_boat = record.log_boat(nodes.z) + nodes.log_weight
        top = log_boat.max(axis=1)
        log_boat = top + np.log(np.exp(log_boat - top[:, None]).sum(axis=1))
        found.append(log_boat.reshape(-1, likelihood.boats).sum(axis=1))
    return np.concatenate(found)


def effects(likelihood: BoatLikelihood, thetas: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """(G, D): for each boat and each row of thetas one draw of its effect u given its record.

    By inversion of the distribution function on a grid about the boat's mode.
    """
    found = []
    reach = np.linspace(-GRID_REACH, GRID_REACH, GRID)
    for record in _records(likelihood, thetas):
        centre, scale = record.modes()
        z = centre[:, None] + scale[:, None] * reach
        density = record.log_boat(z) - z**2 / 2
        density = np.exp(density - density.max(axis=1, keepdims=True))
        shares = [rng.random(likelihood.boats) for _ in range(z.shape[0] // likelihood.boats)]
        place = _inverted(density, np.concatenate(shares))
        z = (centre + scale * reach[0] + scale * place).reshape(-1, likelihood.boats)
        found.append(z)
    return (np.concatenate(found) * np.exp(thetas[:, -1:])).T


def _inverted(density: np.ndarray, share: np.ndarray) -> np.ndarray:
    """(G,) distance from the grid's first point, in steps of its spacing made 1 scale unit."""
    step = 2 * GRID_REACH / (GRID - 1)
    below = np.zeros_like(density)
    np.cumsum((density[:, 1:] + density[:, :-1]) / 2, axis=1, out=below[:, 1:])
    target = share * below[:, -1]
    cell = np.minimum((below <= target[:, None]).sum(axis=1) - 1, density.shape[1] - 2)
    boats = np.arange(len(density))
    left, right = below[boats, cell], below[boats, cell + 1]
    within = (target - left) / np.maximum(right - left, np.finfo(float).tiny)
    return step * (cell + np.clip(within, 0.0, 1.0))


@dataclass(frozen=True)
class _General:
    """Each boat's record at one theta, of any family."""

    likelihood: BoatLikelihood
    theta: np.ndarray

    def modes(self) -> tuple[np.ndarray, np.ndarray]:
        return self.likelihood.modes(self.theta)

    def log_boat(self, z: np.ndarray) -> np.ndarray:
        """(G, Q) log-likelihood of each boat at its z, (G, Q)."""
        of = self.likelihood
        columns = [of.per_boat(of.weight * of.rows(self.theta, at).value) for at in z.T]
        return np.stack(columns, axis=1)


class _Weibull:
    """Each boat's record at some thetas, (T, k + 1): what stood as one number, the deaths one by
    one. A boat at a theta is one row of T x G, the boats of the first theta first.

    With e = exp(-u / sigma) a boat's log-likelihood is -stood e, plus for every death between h0
    and h1 (cumulative hazards since entry at u = 0) log(exp(-h0 e) - exp(-h1 e)), plus for every
    exact one log(e) - h e and what does not depend on u.
    """

    def __init__(self, of: BoatLikelihood, thetas: np.ndarray) -> None:
        plain, weight = of.plain, of.weight
        location, sigma = thetas[:, :-2] @ of.design.T, np.exp(thetas[:, -2:-1])
        self.rows = len(thetas) * of.boats
        self.rate = np.repeat(np.exp(thetas[:, -1]) / sigma[:, 0], of.boats)
        owner = of.boat + of.boats * np.arange(len(thetas))[:, None]

        def hazard(log_age: np.ndarray, rows: np.ndarray) -> np.ndarray:
            return np.exp((log_age - location[:, rows]) / sigma)

        def total(rows: np.ndarray, values: np.ndarray) -> np.ndarray:
            weighted = (weight[rows] * values).ravel()
            return np.bincount(owner[:, rows].ravel(), weighted, minlength=self.rows)

        entered = np.zeros_like(location)
        entered[:, plain.late] = hazard(plain.log_entry, plain.late)
        log_hazard = (plain.log_failed - location[:, plain.exact]) / sigma
        # Row by row first: the difference of two large sums would keep no digit of a small one.
        self.stood = total(
            plain.alive, hazard(plain.log_good, plain.alive) - entered[:, plain.alive]
        ) + total(plain.exact, np.exp(log_hazard) - entered[:, plain.exact])
        self.exact = total(plain.exact, np.ones_like(log_hazard))
        self.fixed = total(plain.exact, log_hazard - np.log(sigma) - plain.log_failed)
        seen = hazard(plain.log_lower, plain.between)
        self.gap = (hazard(plain.log_upper, plain.between) - seen).ravel()
        self.lower = (seen - entered[:, plain.between]).ravel()
        self.owner = owner[:, plain.between].ravel()  # in order of boat
        self.times = np.tile(weight[plain.between], len(thetas))
        self.first = np.flatnonzero(np.diff(self.owner, prepend=-1))

    def log_boat(self, z: np.ndarray) -> np.ndarray:
        """(T G, Q) log-likelihood of each boat at its z, (T G, Q)."""
        with np.errstate(divide="ignore", over="ignore", under="ignore"):
            log_e = -self.rate[:, None] * z
            e = np.exp(log_e)
            found = self.fixed[:, None] + self.exact[:, None] * log_e - self.stood[:, None] * e
            at = e[self.owner]
            deaths = log_one_minus_exp(self.gap[:, None] * at) - self.lower[:, None] * at
        return found + self._by_boat(self.times[:, None] * deaths)

    def modes(self) -> tuple[np.ndarray, np.ndarray]:
        """(T G,), (T G,): mode and its standard deviation, in u / spread."""
        z, rate = np.zeros(self.rows), self.rate
        for _ in range(CENTRING_STEPS):
            e = np.exp(-rate * z)
            h = self.gap * e[self.owner]
            with np.errstate(over="ignore", invalid="ignore"):
                fallen = np.where(h > 1e-8, h / np.expm1(h), 1.0)  # h S1 / (S0 - S1)
                steep = fallen * (1 - h - fallen)
            first = self.times * (fallen - self.lower * e[self.owner])
            second = self.times * (np.nan_to_num(steep) - self.lower * e[self.owner])
            slope = -rate * (self.exact - self.stood * e + self._by_boat(first)) - z
            bend = rate**2 * (-self.stood * e + self._by_boat(second)) - 1
            curvature = np.maximum(-bend, LEAST_CURVATURE)
            z = z + np.clip(slope / curvature, -LONGEST_STEP, LONGEST_STEP)
        return z, 1 / np.sqrt(curvature)

    def _by_boat(self, values: np.ndarray) -> np.ndarray:
        """Sums over each boat's deaths: (deaths, ...) -> (T G, ...)."""
        found = np.zeros((self.rows, *values.shape[1:]))
        if len(values):
            found[self.owner[self.first]] = np.add.reduceat(values, self.first)
        return found


def _records(likelihood: BoatLikelihood, thetas: np.ndarray) -> Iterator["_Weibull | _General"]:
    """The record at the rows of thetas: many at once where the family allows."""
    if likelihood.plain.family is not WEIBULL:
        yield from (_General(likelihood, theta) for theta in thetas)
        return
    most = max(1, CELLS // max(likelihood.weight.size, GRID * likelihood.boats))
    for start in range(0, len(thetas), most):
        yield _Weibull(likelihood, thetas[start : start + most])
