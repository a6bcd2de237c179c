"""The interval of looks that costs least.

Christer and Waller 1984: defects begin at a constant rate, and a defect begun within an interval T
is caught by a look unless its delay ends first. With an exponential delay of rate m and looks that
find everything, the share that is not caught is B(T) = 1 - (1 - exp(-mT)) / (mT).

Here the delay ends when the spot is condemnable, which is not yet a failure: it then stands
condemned, unseen, until the next look, which finds it, unless it breaks first. With a breaking rate
without bound that is the textbook's failure at the end of the delay.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

NODES, WEIGHTS = np.polynomial.legendre.leggauss(32)
NODES, WEIGHTS = 0.5 * (NODES + 1), 0.5 * WEIGHTS
SHORTEST, LONGEST, STEPS = 1 / 24, 10.0, 400  # years: the intervals that are tried
TRIED = np.geomspace(SHORTEST, LONGEST, STEPS)
WITHIN = 1.02


@dataclass(frozen=True)
class Costs:
    """Money: one look; a renewal planned after a watch; one found condemned; a failure."""

    look: float
    planned: float
    late: float
    failure: float


@dataclass(frozen=True)
class Stakes:
    """One draw of what is at stake on one boat. Rates per year; `breaking` while condemned."""

    arrivals: float
    delay_rate: float
    detection: float = 1.0
    breaking: float = np.inf


def missed(interval: np.ndarray, delay_rate: float, detection: float = 1.0) -> np.ndarray:
    """Share of defects that become condemnable before a look has found them.

    1 - r g / (1 - (1 - r) exp(-mT)), g = (1 - exp(-mT)) / (mT): found at the nth look after it
    began with chance r (1 - r)^(n - 1) if its delay lasts that long.
    """
    mt = np.asarray(interval, dtype=float) * delay_rate
    lasts = -np.expm1(-mt) / mt
    return 1 - detection * lasts / (1 - (1 - detection) * np.exp(-mt))


def broken(interval: np.ndarray, stakes: Stakes) -> np.ndarray:
    """Share of defects that end in a failure in service.

    Condemnable, unseen, at s after a look with density (1 - exp(-ms)) / T + u m exp(-ms), u the
    share left over at a look; then broken by the next one with chance 1 - exp(-q (T - s)).
    """
    if np.isinf(stakes.breaking):
        return missed(interval, stakes.delay_rate, stakes.detection)
    T = np.atleast_1d(np.asarray(interval, dtype=float))
    m, r = stakes.delay_rate, stakes.detection
    lasts = -np.expm1(-m * T) / (m * T)
    left = (1 - r) * lasts / (1 - (1 - r) * np.exp(-m * T))
    s = T[:, None] * NODES
    density = -np.expm1(-m * s) / T[:, None] + left[:, None] * m * np.exp(-m * s)
    breaks = -np.expm1(-stakes.breaking * (T[:, None] - s))
    return (density * breaks) @ WEIGHTS * T


def cost_rate(interval: np.ndarray, stakes: Stakes, costs: Costs) -> np.ndarray:
    """Cost a year of looking every `interval` years."""
    return Ends.of(interval, stakes).cost(costs).sum(axis=0)


@dataclass(frozen=True, eq=False)
class Ends:
    """How defects end a year, under D draws of the stakes, by the interval of looks (n,) in years.

    found, late, failed   (n,) or (D, n): renewed after a watch; found condemned; failed in service
    """

    interval: np.ndarray
    found: np.ndarray
    late: np.ndarray
    failed: np.ndarray

    @classmethod
    def of(cls, interval: np.ndarray, *draws: Stakes) -> "Ends":
        T = np.atleast_1d(np.asarray(interval, dtype=float))
        rates = np.array([each.arrivals for each in draws])[:, None]
        late = np.array([missed(T, each.delay_rate, each.detection) for each in draws])
        fails = np.array([broken(T, each) for each in draws])
        ends = rates * (1 - late), rates * (late - fails), rates * fails
        return cls(T, *(each[0] if len(draws) == 1 else each for each in ends))

    def cost(self, costs: Costs) -> np.ndarray:
        """(4, ...) cost a year of looks, of what is found in time, found late, and of failures."""
        looks = np.broadcast_to(costs.look / self.interval, self.found.shape)
        return np.stack(
            (looks, self.found * costs.planned, self.late * costs.late, self.failed * costs.failure)
        )


@dataclass(frozen=True)
class Interval:
    """The interval that costs least, in years. low, middle, high: 5, 50, 95 % points over draws.

    flat_from, flat_until: where the expected cost a year is within 2 % of the least. bounded: the
    least lies within the intervals tried, from half a month to ten years.
    """

    low: float
    middle: float
    high: float
    flat_from: float
    flat_until: float
    cost: float
    bounded: bool


def best_interval(stakes: Stakes, costs: Costs) -> tuple[float, float]:
    """(T*, cost a year) for one set of stakes: the grid's best, then golden-section search."""
    i = int(np.argmin(cost_rate(TRIED, stakes, costs)))
    low, high = TRIED[max(i - 1, 0)], TRIED[min(i + 1, STEPS - 1)]
    golden = (np.sqrt(5) - 1) / 2
    for _ in range(60):
        left, right = high - golden * (high - low), low + golden * (high - low)
        costs_of = cost_rate(np.array([left, right]), stakes, costs)
        low, high = (low, right) if costs_of[0] < costs_of[1] else (left, high)
    best = 0.5 * (low + high)
    return best, float(cost_rate(best, stakes, costs)[0])


def band(draws: Sequence[Stakes], costs: Costs) -> Interval:
    """The least-cost interval over draws of the stakes, and the flat bottom of the mean cost."""
    return band_of(Ends.of(TRIED, *draws), costs)


def band_of(ends: Ends, costs: Costs) -> Interval:
    """`band` of ends worked out already, over the intervals they were worked out for."""
    tried, curves = ends.interval, np.atleast_2d(ends.cost(costs).sum(axis=0))
    best = tried[curves.argmin(axis=1)]
    mean = curves.mean(axis=0)
    flat = tried[mean <= mean.min() * WITHIN]
    low, middle, high = np.quantile(best, (0.05, 0.5, 0.95))
    bounded = tried[1] < low and high < tried[-2]
    return Interval(
        *(float(each) for each in (low, middle, high, flat[0], flat[-1], mean.min())), bool(bounded)
    )
