"""Amounts shared out in whole minor units, so that the shares add to the amount."""

from collections.abc import Sequence

import numpy as np


def shared(amount: int, weights: Sequence[int]) -> list[int]:
    """Return `amount` shared by whole `weights`; what rounding leaves goes to the heaviest.

    Of weights alike the first. Every share is rounded down, so that the rest is less than one unit
    a line. ValueError for no weights, a negative one, or none above 0.
    """
    if not weights or min(weights) < 0 or not sum(weights):
        raise ValueError("An amount is shared by weights of 0 or more, one of them above 0.")
    total = sum(weights)
    shares = [amount * weight // total for weight in weights]
    shares[weights.index(max(weights))] += amount - sum(shares)
    return shares


def split(totals: np.ndarray, lines: np.ndarray, whole: np.ndarray) -> np.ndarray:
    """Return (P, Y) whole units in proportion to `lines` (P, Y) that add to `totals` (B, Y).

    whole: (P,) to which total each line belongs, ascending. A line is rounded where the running sum
    of its total is; the unit or two by which the total was itself rounded goes to its largest line.
    """
    if not whole.size:
        return np.zeros(lines.shape, dtype=np.int64)
    starts = np.flatnonzero(np.diff(whole, prepend=whole[0] - 1))
    sums = np.add.reduceat(lines, starts, axis=0)
    scale = np.divide(totals[whole[starts]], sums, out=np.zeros_like(sums), where=sums > 0)
    index = np.cumsum(np.isin(np.arange(whole.size), starts)) - 1
    running = np.cumsum(lines * scale[index], axis=0)
    before = np.where(starts[:, None] > 0, running[starts - 1], 0.0)
    rounded = np.rint(running - before[index]).astype(np.int64)
    amounts = np.diff(rounded, axis=0, prepend=0)
    amounts[starts] = rounded[starts]
    _give_rest(amounts, totals[whole[starts]], starts, lines)
    return amounts


def _give_rest(
    amounts: np.ndarray, totals: np.ndarray, starts: np.ndarray, lines: np.ndarray
) -> None:
    rest = totals - np.add.reduceat(amounts, starts, axis=0)
    ends = np.append(starts[1:], len(lines))
    for i, year in np.argwhere(rest != 0):
        largest = starts[i] + lines[starts[i] : ends[i], year].argmax()
        amounts[largest, year] += rest[i, year]
