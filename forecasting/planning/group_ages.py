"""One renewal age for a group of parts together, with its cost curve.

Renewing every part of a group at one age T, or when condemned before, costs a part and year the
mean over its parts of g_p(T) (`renewal_age`): parts differ by use, spots and boat, and in price.
The mean is taken over the draws too. Of a large group some parts stand for the rest: they are put
in order of how long they last, cut into slices of equal size, and the middle part of each slice
lends it its life; prices are those of all.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from .lifetimes import LifeDraws
from .renewal_ages import DRAWS, least, locations, longest_life, means, profiles
from .spots import Standing

SLICES = 40
GRID = 160


@dataclass(frozen=True, eq=False)
class GroupCurve:
    """The cost of renewing a group at one age, for each of K costs of an unplanned end.

    ages   (G,) years; rates: (K, G) cost a part and year of renewing at that age
    age, cost_rate, flat_from, flat_until   (K,) as `RenewalAges` has them, for the group
    keep   (K,) cost a part and year of keeping every part until condemned
    """

    ages: np.ndarray
    rates: np.ndarray
    age: np.ndarray
    cost_rate: np.ndarray
    flat_from: np.ndarray
    flat_until: np.ndarray

    @property
    def keep(self) -> np.ndarray:
        return self.rates[:, -1]

    def rate_at(self, age: float) -> np.ndarray:
        """(K,) cost a part and year of renewing at `age` (years), linear between the ages."""
        return np.array([np.interp(age, self.ages, rates) for rates in self.rates])


def group_curves(
    lives: Mapping[str, LifeDraws],
    standing: Standing,
    group: np.ndarray,
    planned: np.ndarray,
    unplanned: np.ndarray,
) -> dict[int, GroupCurve]:
    """Return the curve of each group of parts.

    group: (P,) int code, parts in the order of `standing.parts`, all of a group of one kind; below
    0: in none. planned: (P,), unplanned: (K, P) cost of either renewal. ValueError unless above 0.
    """
    planned, unplanned = np.asarray(planned, float), np.atleast_2d(np.asarray(unplanned, float))
    if (planned <= 0).any() or (unplanned <= 0).any():
        raise ValueError("The cost of a renewal, planned and unplanned, must be above 0.")
    thinned = {kind: life.thinned(DRAWS) for kind, life in lives.items()}
    group_of_row = np.asarray(group)[standing.part_of_row]
    found = {}
    for code in np.unique(group[group >= 0]).tolist():
        parts = np.flatnonzero(group == code)
        own = standing.take(group_of_row == code)
        life = thinned[str(own.kind[0])]
        found[code] = _curve(life, own, planned[parts], unplanned[:, parts])
    return found


def _curve(
    life: LifeDraws, own: Standing, planned: np.ndarray, unplanned: np.ndarray
) -> GroupCurve:
    location, piece = _slices(life, own)
    pieces = len(location)
    longest = np.full(pieces, longest_life(life, location).max())
    ages, one, alive = means(life, location, longest, GRID)
    late = np.array([np.bincount(piece, each, pieces) for each in unplanned])
    soon = np.bincount(piece, planned, pieces)
    rates = (late @ one - (late - soon) @ alive) / planned.size
    found = least(life, np.broadcast_to(ages[0], rates.shape), rates)
    return GroupCurve(ages[0], rates, *found)


def _slices(life: LifeDraws, own: Standing) -> tuple[np.ndarray, np.ndarray]:
    """(C, spots, D) locations of the parts that stand for the others, and (P,) the one of each."""
    first, profile = profiles(life, own)
    location = locations(life, own, life.design(own), first)
    if first.size <= SLICES:
        return location, profile
    order = np.argsort(location.min(axis=1).mean(axis=1)[profile], kind="stable")
    piece = np.empty(order.size, dtype=np.int64)
    piece[order] = np.arange(order.size) * SLICES // order.size
    middle = order[((np.arange(SLICES) + 0.5) * order.size / SLICES).astype(int)]
    return location[profile[middle]], piece
