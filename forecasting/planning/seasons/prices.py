"""Season prices: what one more unit of each limit is worth, by climbing the Lagrangian bound.

The bound is concave and piecewise linear in the prices; with many boats it is nearly smooth, so
L-BFGS-B climbs it quickly (Byrd, Lu, Nocedal, Zhu 1995). Whatever prices come out, the bound they
give is a bound: what is proven does not rest on how well the climb went.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import scipy

from .patterns import BoatPlans, best_plans, priced, totals
from .tableau import Tableau

MOST_LOOKS = 50  # with the rule of few wires mast up left out, which is quicker to look at
LAST_LOOKS = 5  # and then with it
ENOUGH = 2e-5  # of the bound: a climb that gains less in a round leaves the rest to the columns


@dataclass(frozen=True, eq=False)
class Bound:
    """prices (rows, Y), the bound they prove, the boats' plans at them and the excess over caps."""

    prices: np.ndarray
    value: float
    plans: BoatPlans
    excess: np.ndarray
    reduced: np.ndarray  # (B,) priced cost of each boat's best plan


Keep = Callable[[Bound], None]


def bound_at(t: Tableau, prices: np.ndarray) -> Bound:
    reduced, plans = best_plans(t, priced(t, prices))
    limited = np.isfinite(t.caps)
    excess = np.where(limited, totals(t, plans.use) - np.where(limited, t.caps, 0.0), 0.0)
    worth = float((prices[limited] * t.caps[limited]).sum())
    return Bound(prices, float(reduced.sum()) - worth, plans, excess, reduced)


def climb(
    t: Tableau, keep: Keep, loosely: Keep, most: np.ndarray, looks: int = MOST_LOOKS
) -> Bound:
    """Return the best bound found from prices 0, no price above `most` (rows, Y); deterministic.

    keep: handed every bound on the way; it may raise to stop. loosely: the same for bounds whose
    plans do without the rule of few wires with the mast up.
    """
    if not np.isfinite(t.most_singles):
        return _climb(t, keep, most, np.zeros_like(t.caps), looks)
    loose = replace(t, most_singles=np.inf)
    near = _climb(loose, loosely, most, np.zeros_like(t.caps), looks)
    return _climb(t, keep, most, near.prices, LAST_LOOKS)


def _climb(t: Tableau, keep: Keep, most: np.ndarray, start: np.ndarray, looks: int) -> Bound:
    limited = np.isfinite(t.caps)
    size = np.maximum(t.caps[limited], 1e-3 * t.caps[limited].mean() + 1e-9)
    best: list[Bound] = []

    def look(at: np.ndarray) -> tuple[float, np.ndarray]:
        prices = np.zeros_like(t.caps)
        prices[limited] = at / size
        bound = bound_at(t, prices)
        keep(bound)
        if not best or bound.value > best[0].value:
            best[:] = [bound]
        return -bound.value, -bound.excess[limited] / size

    room = np.minimum(most[limited] * size, 1e12)
    scipy.optimize.minimize(
        look,
        start[limited] * size,
        jac=True,
        method="L-BFGS-B",
        bounds=np.column_stack((0 * room, room)),
        options={"maxfun": looks, "maxiter": looks, "ftol": ENOUGH / 20, "maxls": 10},
    )
    return best[0]
