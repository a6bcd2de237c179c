"""A boat's own clock: how many years of reference use have passed by each day."""

import math
from bisect import bisect_right
from collections.abc import Mapping
from datetime import date

from .truth import DAYS


class Wear:
    """Years of reference use, growing at each calendar year's own rate.

    ``log_factors``: log factor on life for each year, without gaps. Before the first and after the
    last year their rates go on.
    """

    def __init__(self, log_factors: Mapping[int, float]) -> None:
        years = sorted(log_factors)
        self._starts = [date(year, 1, 1).toordinal() for year in years]
        self._rates = [math.exp(-log_factors[year]) / DAYS for year in years]
        self._done = [0.0]
        for i in range(len(years) - 1):
            span = self._starts[i + 1] - self._starts[i]
            self._done.append(self._done[-1] + span * self._rates[i])

    def at(self, day: float) -> float:
        """Years of reference use from the clock's origin to that day (an ordinal)."""
        i = max(bisect_right(self._starts, day) - 1, 0)
        return self._done[i] + (day - self._starts[i]) * self._rates[i]

    def reach(self, since: float, amount: float) -> float:
        """The day (an ordinal) by which that many years of reference use have passed."""
        goal = self.at(since) + amount
        i = max(bisect_right(self._done, goal) - 1, 0)
        return self._starts[i] + (goal - self._done[i]) / self._rates[i]
