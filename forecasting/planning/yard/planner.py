"""Weeks for the boats of one base: questions in turn, each without giving up those before it.

First the limits. Can they all be kept with every boat ready before it sails with guests in the new
season, where its own parts, bookings and the yard's days allow that? If not, the cheapest opening
for it is sought, and told; the plan itself keeps the limits with as few boats late as can be. Only
where even that fails are they opened in the plan, the cheapest way. Then the boats that are
condemned or held: as few weeks lying as can be. Then all others: the least expected cost.
"""

from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np

from .problem import Yard
from .programme import Answer, AtMost, Programme, in_time, programme, solve
from .result import YardAnswer, answer_of, lacks_of

GAP = 2e-3
NEARLY_FREE = 1e-4  # share of an opening's least price at which waiting chooses among equal ones
EXACT = 1e-6

Tell = Callable[[str], None]


@dataclass(eq=False)
class _Search:
    """The programme, the best plan so far, sums to be kept, and what was not proven on the way."""

    p: Programme
    gap: float
    taken: np.ndarray
    kept: list[AtMost] = field(default_factory=list)
    unproven: float = 0.0


def plan_yard(yard: Yard, *, gap: float = GAP, tell: Tell = lambda step: None) -> YardAnswer:
    """Return the weeks of the boats of one base with the proven gap.

    tell: called between the steps with a line; may raise to stop.
    """
    everything = programme(yard)
    if not everything.boat.size:
        return answer_of(yard, {})
    tell("Limits")
    p, wish = in_time(everything), ()
    found = solve(p, np.zeros(p.boat.size), gap=gap)
    if found.taken is not None:
        s = _Search(p, gap, found.taken)
    else:
        tell("Cheapest opening of the limits")
        wish = lacks_of(yard, _weeks(yard, p, _opened(p, gap).taken))
        s = _fewest_late(everything, gap)
    tell("Condemned and held boats")
    _as_few(s, s.p.held)
    tell("Expected cost of what waits")
    best = solve(s.p, s.p.cost, s.kept, gap=gap)
    taken = s.taken if best.taken is None else best.taken
    return answer_of(yard, _weeks(yard, s.p, taken), best.bound, s.unproven, wish)


def _fewest_late(p: Programme, gap: float) -> _Search:
    """Return a plan with as few late as can be, its limits opened where no plan keeps them."""
    found = solve(p, p.late, gap=gap)
    if found.taken is None:
        found = _opened(p, gap)
        p = replace(p, limit=np.maximum(p.limit, p.use @ found.taken + 1e-9))
        s = _Search(p, gap, found.taken)
        over = found.value - found.bound
        s.unproven += over if over > gap * found.value else 0.0
    else:
        s = _Search(p, gap, found.taken)
    _as_few(s, p.late)
    return s


def _opened(p: Programme, gap: float) -> Answer:
    """Return the plan that asks least of the limits."""
    free = p.cost + p.cost.max(initial=0) * (p.held + p.late)
    free *= NEARLY_FREE * p.price.min(initial=1) / max(1.0, free.max())
    found = solve(p, free, gap=gap, price=p.price)
    return found if found.taken is not None else anywhere(p)


def anywhere(p: Programme) -> Answer:
    """Return every boat in the week that costs it least, whatever room there is; nothing proven."""
    order = np.lexsort((p.cost, p.held, p.late, p.boat))
    taken = np.zeros(p.boat.size, dtype=bool)
    taken[order[np.r_[True, np.diff(p.boat[order]) != 0]]] = True
    over = np.maximum(p.use @ taken - p.limit, 0)
    return Answer(taken, float(over @ p.price), 0.0)


def _as_few(s: _Search, counted: np.ndarray) -> None:
    """Find how small this sum of whole numbers can be, and keep it so from here on.

    What does not count may be split in two at first: quick, and the bound holds. Only where no
    whole plan comes with it is nothing split.
    """
    if not counted.any():
        return
    first = solve(s.p, counted, s.kept, gap=0.0, whole=counted > 0)
    known = counted @ s.taken
    if first.taken is not None and known > first.bound + EXACT:
        at_most = AtMost(counted, round(first.value) + 0.5)
        plan = solve(s.p, np.zeros(counted.size), [*s.kept, at_most], gap=s.gap)
        if plan.taken is None:
            plan = solve(s.p, counted, s.kept, gap=0.0)
        s.taken = plan.taken if plan.taken is not None else s.taken
    known = round(float(counted @ s.taken))
    s.kept.append(AtMost(counted, known + 0.5))
    s.unproven += max(0.0, known - max(0.0, np.ceil(first.bound - EXACT)))


def _weeks(yard: Yard, p: Programme, taken: np.ndarray) -> dict[int, int]:
    pairs = zip(p.boat[taken].tolist(), p.week[taken].tolist(), strict=True)
    return {yard.works[b].boat: week for b, week in pairs}
