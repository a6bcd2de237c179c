"""The age at which renewing costs least in the long run (Barlow and Proschan 1965).

Renewing at age T, or when condemned before, costs per year in the long run

    g(T) = (Cp S(T) + Cu F(T)) / integral_0^T S

Cp a planned renewal, Cu an unplanned one. Over the draws of a life model the mean of g is
minimised: the true life is one of them, for ever. Where the life does not wear out (Weibull shape
1 or less) there is no such age: inspect and keep.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import scipy

Survival = Callable[[np.ndarray], np.ndarray]

FLAT = 0.02  # ages within 2 % of the least cost are as good
MAY_NOT_WEAR = 0.05  # share of draws without an optimum from which we say there is none
LEAST_GAIN = 1e-4  # a saving smaller than this over never renewing is none
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(96)
_SCAN = 240


@dataclass(frozen=True, eq=False)
class RenewalAge:
    """age       of least cost, None where there is none: inspect and keep
    cost_rate    cost per year at that age, or of keeping until condemned where age is None
    keep_rate    cost per year of keeping every part until condemned
    flat         (from, to) ages within 2 % of the least; `to` is inf where keeping is too
    ages, rates  the cost curve, for a chart
    share_without  share of the draws in which no age is best
    beyond_observed  the age lies beyond the oldest age observed
    """

    age: float | None
    cost_rate: float
    keep_rate: float
    flat: tuple[float, float] | None
    ages: np.ndarray
    rates: np.ndarray
    share_without: float
    beyond_observed: bool


def renewal_age(
    survival: Survival,
    planned: float,
    unplanned: float,
    *,
    oldest_observed: float = np.inf,
) -> RenewalAge:
    """Economic renewal age of parts that survive to `ages` (q,) with chance `survival(ages)`.

    survival: (q,) -> (q,) or, under D draws, (D, q). planned, unplanned: Cp, Cu > 0 in one
    currency. ValueError unless both are above 0.
    """
    if planned <= 0 or unplanned <= 0:
        raise ValueError("The cost of a renewal, planned and unplanned, must be above 0.")
    cost = _CostRate(survival, planned, unplanned)
    top = _practically_all_gone(cost.survival)
    ages = top * (np.arange(1, _SCAN + 1) / _SCAN) ** 2
    by_draw = np.column_stack([cost.by_draw(age) for age in ages])
    rates = by_draw.mean(axis=0)
    share = float(np.mean(by_draw.min(axis=1) > by_draw[:, -1] * (1 - LEAST_GAIN)))
    if rates.min() > rates[-1] * (1 - LEAST_GAIN) or share > MAY_NOT_WEAR:
        return RenewalAge(None, rates[-1], rates[-1], None, ages, rates, share, False)
    age = _refined(cost, ages, int(np.argmin(rates)))
    least = cost(age)
    flat = _flat_band(cost, age, least * (1 + FLAT), ages[0], top)
    beyond = bool(age > oldest_observed)
    return RenewalAge(age, least, rates[-1], flat, ages, rates, share, beyond)


class _CostRate:
    """g(T), its mean over the draws, and its slope."""

    def __init__(self, survival: Survival, planned: float, unplanned: float) -> None:
        self._survival = survival
        self._planned, self._unplanned = planned, unplanned

    def survival(self, ages: np.ndarray) -> np.ndarray:
        """(D, q)."""
        return np.atleast_2d(self._survival(ages))

    def by_draw(self, age: float) -> np.ndarray:
        """(D,) g at one age."""
        at_age = self.survival(np.array([age]))[:, 0]
        cost = self._unplanned - (self._unplanned - self._planned) * at_age
        return cost / self._time_in_service(age)

    def __call__(self, age: float) -> float:
        return float(self.by_draw(age).mean())

    def _time_in_service(self, age: float) -> np.ndarray:
        """(D,) integral_0^age S by Gauss-Legendre in the square root of age.

        The root takes the kink of t^k at 0 away, where a shape that is no integer slows the rule.
        """
        u = (_NODES + 1) / 2
        return self.survival(age * u**2) @ (_WEIGHTS * u * age)

    def slope(self, age: float) -> float:
        """dg/dT by the five-point rule; its error, 1e-12, leaves the optimum exact to 9 digits."""
        h = 1e-3 * age
        near = self(age + h) - self(age - h)
        far = self(age + 2 * h) - self(age - 2 * h)
        return (8 * near - far) / (12 * h)


def _practically_all_gone(survival: Survival) -> float:
    """An age by which fewer than one in a million survive, in whatever unit ages come."""
    age = 1.0
    while survival(np.array([age])).mean() > 1e-6:
        age *= 2
    while survival(np.array([age / 2])).mean() <= 1e-6:
        age /= 2
    return age


def _refined(cost: _CostRate, ages: np.ndarray, i: int) -> float:
    below, above = ages[max(i - 1, 0)], ages[min(i + 1, ages.size - 1)]
    if i == 0 or cost.slope(below) >= 0 or cost.slope(above) <= 0:
        return float(ages[i])
    return float(scipy.optimize.brentq(cost.slope, below, above, xtol=1e-12 * above, rtol=1e-13))


def _flat_band(
    cost: _CostRate, age: float, level: float, youngest: float, oldest: float
) -> tuple[float, float]:
    def over(t: float) -> float:
        return cost(t) - level

    begins = scipy.optimize.brentq(over, youngest, age) if over(youngest) > 0 else youngest
    ends = scipy.optimize.brentq(over, age, oldest) if over(oldest) > 0 else np.inf
    return float(begins), float(ends)
