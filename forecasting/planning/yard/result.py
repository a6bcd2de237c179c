"""What the planner of weeks answers, and how a chosen week of each boat becomes that."""

from dataclasses import dataclass, field

import numpy as np

from .problem import (
    Work,
    Yard,
    held_weeks,
    hindrance,
    is_late,
    uses,
    waiting,
    weeks_open_to,
)

LEAST_OVER = 1e-6


@dataclass(frozen=True)
class Placed:
    """A boat and its first week, None where it has none.

    cost: of waiting until it is done, minor units. next_cost: what a week later costs more, None
    where it may not begin later. late: not ready before it sails with guests in the new season.
    hindered: by what, most of all, where it has no week. kept: by hand.
    """

    boat: int
    week: int | None
    cost: float = 0.0
    next_cost: float | None = None
    held: int = 0
    late: bool = False
    kept: bool = False
    hindered: str = ""


@dataclass(frozen=True)
class Lack:
    """A limit that is gone over in a week: what it is, by how much, what opening it would cost."""

    kind: str
    week: int
    limit: float
    over: float
    cost: float


@dataclass(frozen=True)
class Full:
    """A limit for which boats come later than they would: how many, and what that costs them.

    held: how many of them are condemned or held, and lie longer for it."""

    kind: str
    week: int
    limit: float
    boats: int
    cost: float
    held: int = 0


@dataclass(frozen=True)
class YardAnswer:
    """The weeks of one base. cost, bound: of what waits, minor units; nothing can cost less than
    bound. unproven: of the questions before that, what was not proven to be needed. lacks: where
    the plan goes over a limit. wish: the cheapest opening for every boat that can be in time."""

    base: int
    placed: tuple[Placed, ...]
    cost: float = 0.0
    bound: float = 0.0
    unproven: float = 0.0
    lacks: tuple[Lack, ...] = ()
    wish: tuple[Lack, ...] = ()
    full: tuple[Full, ...] = ()
    used: dict[str, np.ndarray] = field(default_factory=dict)

    @property
    def gap(self) -> float:
        """Share of the cost that is not proven to be needed."""
        return max(0.0, self.cost - self.bound) / self.cost if self.cost > self.bound else 0.0

    @property
    def opening(self) -> float:
        return sum(each.cost for each in self.lacks)

    @property
    def feasible(self) -> bool:
        return not self.lacks


def used_by(yard: Yard, weeks: dict[int, int]) -> dict[str, np.ndarray]:
    """Return what the works of these boats take, begun in these weeks: kind to (weeks,)."""
    used = {kind: np.zeros(yard.left.days.size) for kind in ("hours", "masts", "berths")}
    for work in yard.works:
        if work.boat in weeks:
            for kind, week, amount in uses(work, weeks[work.boat]):
                used[kind][week] += amount
    return used


def answer_of(
    yard: Yard, weeks: dict[int, int], bound: float | None = None, unproven: float = 0.0,
    wish: tuple[Lack, ...] = (),
) -> YardAnswer:  # fmt: skip
    """Return what these weeks come to, of boats by code. bound: None where nothing is proven."""
    placed = tuple(placed_at(yard, work, weeks.get(work.boat)) for work in yard.works)
    used = used_by(yard, weeks)
    cost = sum(each.cost for each in placed)
    return YardAnswer(
        yard.base, placed, cost, cost if bound is None else max(0.0, min(bound, cost)), unproven,
        lacks_of(yard, weeks), wish, tuple(_full(yard, weeks, used)), used,
    )  # fmt: skip


def placed_at(yard: Yard, work: Work, week: int | None) -> Placed:
    if week is None:
        return Placed(work.boat, None, kept=work.kept is not None, hindered=_hindered(yard, work))
    return Placed(
        work.boat, week, waiting(work, week), _later(yard, work, week), held_weeks(work, week),
        is_late(work, week), work.kept is not None,
    )  # fmt: skip


def _later(yard: Yard, work: Work, week: int) -> float | None:
    """Return what the next week it may begin in costs more; None where none is, or in time."""
    for later in range(week + 1, yard.closes):
        if not hindrance(yard, work, later):
            late = is_late(work, later) and not is_late(work, week)
            return None if late else waiting(work, later) - waiting(work, week)
    return None


def _hindered(yard: Yard, work: Work) -> str:
    """Return what keeps it out of most weeks that the base is open."""
    if work.kept is not None:
        return ""
    said = [hindrance(yard, work, week) for week in range(yard.opens, yard.closes)]
    return max(sorted(set(said)), key=said.count, default="closed")


def lacks_of(yard: Yard, weeks: dict[int, int]) -> tuple[Lack, ...]:
    """Return the limits that these weeks go over, by how much."""
    return tuple(_lacks(yard, used_by(yard, weeks)))


def _lacks(yard: Yard, used: dict[str, np.ndarray]):
    for kind, amounts in used.items():
        for week in np.flatnonzero(amounts > yard.left[kind] + LEAST_OVER).tolist():
            over = float(amounts[week] - yard.left[kind][week])
            limit = float(yard.left[kind][week])
            yield Lack(kind, week, limit, over, over * getattr(yard.prices, kind))


def _full(yard: Yard, weeks: dict[int, int], used: dict[str, np.ndarray]):
    """Yield the limits without room for boats that cost less there, all others as they are."""
    waits: dict[tuple[str, int], list[tuple[float, bool]]] = {}
    for work in yard.works:
        now = weeks.get(work.boat)
        if now is None or work.kept is not None:
            continue
        best = min(weeks_open_to(yard, work), key=lambda w: _order(work, w))
        if _order(work, best) >= _order(work, now):
            continue
        own = {(kind, week): amount for kind, week, amount in uses(work, now)}
        for kind, week, amount in uses(work, best):
            taken = used[kind][week] - own.get((kind, week), 0.0)
            if taken + amount > yard.left[kind][week] + LEAST_OVER:
                saves = waiting(work, now) - waiting(work, best)
                held = held_weeks(work, now) > held_weeks(work, best)
                waits.setdefault((kind, week), []).append((saves, held))
    for (kind, week), saved in sorted(waits.items(), key=lambda item: (-len(item[1]), item[0])):
        costs, held = zip(*saved, strict=True)
        limit = float(yard.left[kind][week])
        yield Full(kind, week, limit, len(saved), sum(costs), sum(held))


def _order(work: Work, week: int) -> tuple[bool, int, float]:
    return is_late(work, week), held_weeks(work, week), waiting(work, week)
