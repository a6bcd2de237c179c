"""Many parameter draws at once: the likelihood of each, and a draw of every boat's effect under it.

The log-likelihood of a boat at an effect u is needed at hundreds of draws times a few nodes. For
the Weibull that is quick (`boat_values`); other families take the general way, a draw at a time.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from .boat_likelihood import BoatLikelihood, Nodes
from .boat_values import Record, WeibullBoats
from .families import WEIBULL

GRID = 33  # points at which a boat's density is held to draw from it
GRID_REACH = 5.0  # standard deviations either side of the mode
CELLS = 50_000  # rows x draws worked on at once, so that a small fleet's draws cost little each


def values(likelihood: BoatLikelihood, thetas: np.ndarray) -> np.ndarray:
    """(D,) log-likelihood at each row of thetas (D, k + 1), nodes centred anew for each."""
    if likelihood.plain.family is WEIBULL:
        return WeibullBoats(likelihood).values(thetas)
    return np.array([_General(likelihood, theta).value() for theta in thetas])


def effects(likelihood: BoatLikelihood, thetas: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """(G, D): for each boat and each row of thetas one draw of its effect u given its record.

    By inversion of the distribution function on a grid about the boat's mode.
    """
    found = []
    reach = np.linspace(-GRID_REACH, GRID_REACH, GRID)
    for record in _records(likelihood, thetas):
        with np.errstate(all="ignore"):
            centre, scale = record.modes()
            z = centre[..., None] + scale[..., None] * reach
            density = record.log_boat(z) - z**2 / 2
        density = np.exp(density - density.max(axis=-1, keepdims=True))
        shares = [rng.random(likelihood.boats) for _ in range(centre.shape[1])]
        place = _inverted(density.reshape(-1, GRID), np.stack(shares, axis=1).ravel())
        found.append(centre + scale * (reach[0] + place.reshape(centre.shape)))
    return np.concatenate(found, axis=1) * np.exp(thetas[:, -1])


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
    """Each boat's record at one theta, of any family: a `boat_values.Record` of one draw."""

    likelihood: BoatLikelihood
    theta: np.ndarray

    def modes(self) -> tuple[np.ndarray, np.ndarray]:
        """(G, 1), (G, 1)."""
        centre, scale = self.likelihood.modes(self.theta)
        return centre[:, None], scale[:, None]

    def log_boat(self, z: np.ndarray) -> np.ndarray:
        """(G, 1, Q) log-likelihood of each boat at its z, (G, 1, Q)."""
        of = self.likelihood
        columns = [of.per_boat(of.weight * of.rows(self.theta, at).value) for at in z[:, 0].T]
        return np.stack(columns, axis=1)[:, None]

    def value(self) -> float:
        """The log-likelihood, the effect of each boat integrated out."""
        centre, scale = self.likelihood.modes(self.theta)
        nodes = Nodes.about(centre, scale, self.likelihood.nodes)
        log_boat = self.log_boat(nodes.z[:, None])[:, 0] + nodes.log_weight
        top = log_boat.max(axis=1)
        return float((top + np.log(np.exp(log_boat - top[:, None]).sum(axis=1))).sum())


def _records(likelihood: BoatLikelihood, thetas: np.ndarray) -> Iterator["Record | _General"]:
    """The record at the rows of thetas: many at once where the family allows."""
    if likelihood.plain.family is not WEIBULL:
        yield from (_General(likelihood, theta) for theta in thetas)
        return
    boats = WeibullBoats(likelihood)
    most = max(1, CELLS // max(likelihood.weight.size, GRID * likelihood.boats))
    for start in range(0, len(thetas), most):
        with np.errstate(all="ignore"):
            record = boats.record(thetas[start : start + most])
        yield record
