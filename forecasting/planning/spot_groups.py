"""Spots of a unit that race each other: seen by the same looks, so that one life stands for all.

A cycle ends at the first look that sees a condemnable spot: of spots seen by the same looks, the
earliest decides. The least of Weibull lives of one shape is a Weibull life at the sum of their
rates, also given that all of them were good at one age; so such spots need one random number, not
one each. In other families every spot stays by itself.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, eq=False)
class Futures:
    """Units and draws that go on: unit (M,) and draw (M,), or (U, 1) and (1, D) for all of them."""

    unit: np.ndarray
    draw: np.ndarray

    @property
    def shape(self) -> tuple[int, ...]:
        return np.broadcast_shapes(self.unit.shape, self.draw.shape)

    def take(self, keep: np.ndarray) -> "Futures":
        """Those of some units (first axis)."""
        return Futures(self.unit[keep], self.draw if self.unit.ndim > 1 else self.draw[keep])


@dataclass(frozen=True, eq=False)
class SpotGroups:
    """G groups of spots, sorted by unit; each of the U units has at least one.

    row           (G,) one of its spots, as a place among the rows of the units
    starts, size  (U,) first group of each unit, and how many it has
    location      (G, D) of the log of the group's life, the least of its spots'
    renew_at      (G,) least age of renewal by rule
    seen          level -> (G,) bool: an inspection of that level sees the spots
    """

    row: np.ndarray
    starts: np.ndarray
    size: np.ndarray
    location: np.ndarray
    renew_at: np.ndarray
    seen: Mapping[str, np.ndarray]

    def slots(self, futures: Futures) -> Iterator[tuple[np.ndarray | slice, Futures, np.ndarray]]:
        """The units' first groups, then their second ones, and so on: which of the futures have
        one, those futures, and their group."""
        for j in range(int(self.size.max(initial=0))):
            keep, some = slice(None), futures
            if self.size.min() <= j:
                keep = np.flatnonzero(self.size[futures.unit.ravel()] > j)
                some = futures.take(keep)
            if some.unit.size:
                yield keep, some, self.starts[some.unit] + j


def grouped(
    unit: np.ndarray,
    location: np.ndarray,
    sigma: np.ndarray,
    renew_at: np.ndarray,
    seen: Mapping[str, np.ndarray],
    apart: tuple[np.ndarray, ...],
) -> SpotGroups:
    """Group rows (n,) of units by what sees them, those apart that differ in any of `apart` (n,).

    unit: (n,) ascending; location: (n, D); sigma: (D,); renew_at: (n,).
    """
    keys = (unit, *seen.values(), *apart)
    order = np.lexsort(keys[::-1])
    new = np.ones(unit.size, dtype=bool)
    new[1:] = False
    for key in keys:
        new[1:] |= key[order][1:] != key[order][:-1]
    starts = np.flatnonzero(new)
    row, of_group = order[starts], unit[order][starts]
    of_unit = np.flatnonzero(np.diff(of_group, prepend=-1))
    return SpotGroups(
        row,
        of_unit,
        np.diff(np.append(of_unit, row.size)),
        _least(location, sigma, order, starts),
        np.minimum.reduceat(renew_at[order], starts) if row.size else renew_at,
        {level: mask[row] for level, mask in seen.items()},
    )


def _least(
    location: np.ndarray, sigma: np.ndarray, order: np.ndarray, starts: np.ndarray
) -> np.ndarray:
    """(G, D) location of the least of Weibull lives: -sigma log sum exp(-location / sigma)."""
    size = np.diff(np.append(starts, order.size))
    if size.max(initial=1) == 1:
        return location[order]
    lowest = location[order[starts]]
    for more, other in _others(order, starts, size):
        lowest[more] = np.minimum(lowest[more], location[other])
    rates = np.exp((lowest - location[order[starts]]) / sigma)
    for more, other in _others(order, starts, size):
        rates[more] += np.exp((lowest[more] - location[other]) / sigma)
    return lowest - sigma * np.log(rates)


def _others(
    order: np.ndarray, starts: np.ndarray, size: np.ndarray
) -> Iterator[tuple[np.ndarray, np.ndarray]]:
    """The groups that have a second row, and that row; then those that have a third; and so on."""
    for j in range(1, int(size.max())):
        more = np.flatnonzero(size > j)
        yield more, order[starts[more] + j]
