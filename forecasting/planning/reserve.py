"""The reserve for renewals: what is laid aside, earned and spent, year by year.

The money comes and goes evenly over a year, so that interest is earned on the opening balance and
on half of what the year adds; a balance below nothing earns none. Interest is rounded to the minor
unit once, half up, as a spreadsheet's ROUND does: a workbook of formulas gives the same cents.

The schedule follows the mean of the expenditure. Whether the reserve runs dry is asked of every
draw of it: a level contribution is found that leaves no more than a chosen share of the draws below
nothing at the end of any year. Percent funded is the balance by the fully funded one, the sum over
the parts of current cost x age / life (reserve studies' component method; from memory).

A reserve is money laid aside by choice. It is no liability: a future renewal of one's own boat is
none (IAS 37, illustrative examples 11A and 11B), unless a contract obliges to give her back in a
condition.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

import numpy as np

MOST = 2**48  # minor units: beyond any contribution, and safe in doubled integers


@dataclass(frozen=True)
class Terms:
    """How a reserve is kept.

    opening      minor units in it today
    rates        (Y,) interest of each year as a fraction, of a year under way only what is left
    Raises ValueError for a rate outside of 0 to 1.
    """

    opening: int
    rates: tuple[Decimal, ...]

    def __post_init__(self) -> None:
        if any(not 0 <= rate < 1 for rate in self.rates):
            raise ValueError("Interest is a fraction of 0 or more and below 1.")


@dataclass(frozen=True)
class Line:
    """One year, in minor units; closing = opening + contribution + interest - expenditure."""

    year: str
    opening: int
    contribution: int
    rate: Decimal
    interest: int
    expenditure: int
    closing: int


def schedule(
    terms: Terms, years: Sequence[str], contribution: Sequence[int], expenditure: Sequence[int]
) -> tuple[Line, ...]:
    """Return the lines of these years. ValueError where the lengths differ."""
    lines, balance = [], terms.opening
    for year, paid, rate, spent in zip(years, contribution, terms.rates, expenditure, strict=True):
        earned = interest(balance, paid - spent, rate)
        closing = balance + paid + earned - spent
        lines.append(Line(year, balance, paid, rate, earned, spent, closing))
        balance = closing
    return tuple(lines)


def interest(opening: int, added: int, rate: Decimal) -> int:
    """Return a year's interest in minor units, half up; 0 on a balance below nothing."""
    half_way = Decimal(2 * opening + added) / 2
    return int((max(half_way, Decimal(0)) * rate).quantize(Decimal(1), ROUND_HALF_UP))


def closings(terms: Terms, contribution: np.ndarray, expenditure: np.ndarray) -> np.ndarray:
    """Return (D, Y) int closing balances of draws; contribution (D, 1) or (D, Y), spent (D, Y)."""
    spent = np.asarray(expenditure, dtype=np.int64)
    paid = np.broadcast_to(np.asarray(contribution, dtype=np.int64), spent.shape)
    found = np.empty_like(spent)
    balance = np.full(len(spent), terms.opening, dtype=np.int64)
    for y, rate in enumerate(terms.rates):
        doubled = np.maximum(2 * balance + paid[:, y] - spent[:, y], 0)
        earned = np.floor(doubled * (float(rate) / 2) + 0.5).astype(np.int64)
        balance = balance + paid[:, y] + earned - spent[:, y]
        found[:, y] = balance
    return found


def dry_by(terms: Terms, contribution: int, expenditure: np.ndarray) -> np.ndarray:
    """Return (Y,) the share of the draws that have been below nothing at a year end by then."""
    below = closings(terms, np.array([[contribution]]), expenditure) < 0
    return np.logical_or.accumulate(below, axis=1).mean(axis=0)


def level_contribution(terms: Terms, expenditure: np.ndarray, chance: float) -> int:
    """Return the least yearly contribution, minor units, for which no more than `chance` run dry.

    expenditure: (D, Y) joint draws. Every draw has a contribution of its own from which on it never
    does, found by halving; the answer is the one that enough of them are content with. ValueError
    for a chance outside of 0 to 1, or no draws.
    """
    if not 0 <= chance < 1 or not len(expenditure):
        raise ValueError("A level contribution needs draws, and a chance of 0 or more and below 1.")
    low = np.full(len(expenditure), -1, dtype=np.int64)
    high = np.maximum(np.asarray(expenditure, dtype=np.int64).sum(axis=1), 0) + max(
        -terms.opening, 0
    )
    while (high - low > 1).any():
        middle = (low + high) // 2
        dry = (closings(terms, middle[:, None], expenditure) < 0).any(axis=1)
        low, high = np.where(dry, middle, low), np.where(dry, high, middle)
    may_run_dry = int(np.floor(chance * len(high) + 1e-9))
    return int(np.sort(high)[len(high) - 1 - may_run_dry])


def fully_funded(cost: np.ndarray, age: np.ndarray, life: np.ndarray) -> int:
    """Return the sum of cost x age / life over the parts, minor units, rounded half up once a part.

    cost: minor units at current prices; age and life in years, life above 0. A part past its life
    counts in full; one of unknown age (NaN) or endless life (inf) not at all.
    """
    worn = np.where(np.isfinite(age) & np.isfinite(life), age / life, 0.0)
    return int(np.floor(cost * np.clip(worn, 0.0, 1.0) + 0.5).sum())
