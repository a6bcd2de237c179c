"""Where no plan keeps the limits: by how much which of them must give, the cheapest way.

Everything but the excess is nearly free here, so that the excess alone decides, each at what one
more of it would cost (`MoneyRules.over_*`, money at its own worth); the cost of the work only
chooses among ways that cost the same to open.
"""

from dataclasses import replace

import numpy as np

from .problem import MoneyRules
from .solving import Solution, Tell, solve
from .tableau import Tableau

NEARLY_FREE = 1e-4
EXACT_ENOUGH = 1e-4


def cheapest_relaxation(t: Tableau, rules: MoneyRules, tell: Tell) -> Solution:
    """The plan that asks least of the limits; its `excess` (rows, Y) is what they must give."""
    costs = {name: getattr(t, name) * NEARLY_FREE for name in ("up", "down", "never", "set_up")}
    return solve(replace(t, **costs), EXACT_ENOUGH, tell, penalty=over_prices(t, rules))


def over_prices(t: Tableau, rules: MoneyRules) -> np.ndarray:
    """(rows, Y) what one more unit of each limit costs, in the tableau's money."""
    kinds = np.array([rules.over_hours, rules.over_crane, rules.over_yard]) / t.scale
    return np.r_[t.unit / t.scale, np.repeat(kinds, t.bases)][:, None] * np.ones(t.seasons)


def raised(t: Tableau, excess: np.ndarray) -> Tableau:
    """The same with the limits raised by what they lack."""
    return replace(t, caps=np.where(excess > 0, t.caps + excess * (1 + 1e-9) + 1e-9, t.caps))
