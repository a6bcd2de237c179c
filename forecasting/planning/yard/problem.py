"""The question put to the planner of weeks: the work of boats, and what a base has for it."""

from collections.abc import Iterator
from dataclasses import dataclass

from .capacity import Left

OUT = -1  # kept by hand: not in this off season
IDLE = (
    0.1  # of a week's expected cost, while the boat lies in its berth: common practice, no source
)
LEAST = 1.0  # minor units a week: of two boats with nothing to lose the earlier week still counts

PARTS, AWAY, CONTRACTOR, SHUT, CLOSED, LATE = (
    "parts",
    "away",
    "contractor",
    "shut",
    "closed",
    "late",
)


@dataclass(frozen=True)
class Work:
    """What is to be done on one boat. Weeks count from 0 on the axis of the plan.

    hours: riggers', the same in each of its `weeks`. must: condemned or held, so it does not sail.
    week_cost: expected cost (minor units) of a week sailed with guests before it is done. ready:
    the first week with its parts. guests: weeks booked; contractor: weeks others work on it.
    before: the first week of the new season with guests, None where none is known.
    kept: the week somebody moved it to, OUT, or None.
    """

    boat: int
    hours: float
    weeks: int = 1
    mast_down: bool = False
    must: bool = False
    week_cost: float = 0.0
    ready: int = 0
    guests: frozenset[int] = frozenset()
    contractor: frozenset[int] = frozenset()
    before: int | None = None
    kept: int | None = None

    def __post_init__(self) -> None:
        if self.weeks < 1 or self.hours < 0 or self.week_cost < 0:
            raise ValueError("A boat's work takes a week or more, and no hours or cost below 0.")


@dataclass(frozen=True)
class Prices:
    """What opening a limit by one would cost, minor units: an hour, a mast, a berth for a week."""

    hours: float = 8_000.0
    masts: float = 60_000.0
    berths: float = 20_000.0


@dataclass(frozen=True)
class Yard:
    """One base: open from week `opens` up to, not including, `closes`; what is left of each."""

    base: int
    opens: int
    closes: int
    left: Left
    works: tuple[Work, ...]
    prices: Prices = Prices()

    def __post_init__(self) -> None:
        boats = [work.boat for work in self.works]
        if len(boats) != len(set(boats)):
            raise ValueError("A boat is given twice.")
        if not 0 <= self.opens <= self.closes <= self.left.days.size:
            raise ValueError("A base opens and closes within the weeks of the plan.")


def hindrance(yard: Yard, work: Work, week: int) -> str:
    """Return what keeps the boat from being begun in that week whatever room there is, or blank."""
    stands = range(week, week + work.weeks)
    if week < yard.opens or stands.stop > yard.closes:
        return CLOSED
    if week < work.ready:
        return PARTS
    if any(yard.left.days[w] == 0 for w in stands):
        return SHUT
    if any(w in work.contractor for w in stands):
        return CONTRACTOR
    if not work.must and any(w in work.guests for w in stands):
        return AWAY
    return ""


def is_late(work: Work, week: int) -> bool:
    """Return whether it would not be ready before it sails with guests in the new season."""
    return work.before is not None and week + work.weeks > work.before


def weeks_open_to(yard: Yard, work: Work) -> dict[int, bool]:
    """Return the weeks it may begin in, and of each whether it is late there though it need not be.

    A week chosen by hand is the only one, and nobody's lateness but its own.
    """
    if work.kept is not None:
        return {} if work.kept == OUT else {work.kept: False}
    possible = [w for w in range(yard.opens, yard.closes) if not hindrance(yard, work, w)]
    avoidable = not all(is_late(work, w) for w in possible)
    return {w: avoidable and is_late(work, w) for w in possible}


def waiting(work: Work, week: int) -> float:
    """Return the expected cost (minor units) of the weeks until it is done, begun in that week."""
    cost = max(work.week_cost, LEAST)
    return cost * sum(1.0 if w in work.guests else IDLE for w in range(week + work.weeks))


def held_weeks(work: Work, week: int) -> int:
    """Return the weeks a held boat lies until it is done, those with guests lost counted twice."""
    return sum(1 + (w in work.guests) for w in range(week + work.weeks)) if work.must else 0


def uses(work: Work, week: int) -> Iterator[tuple[str, int, float]]:
    """Yield (kind, week, amount) of what it takes of the base, begun in that week."""
    for w in range(week, week + work.weeks):
        yield "hours", w, work.hours / work.weeks
        if work.mast_down:
            yield "berths", w, 1.0
    if work.mast_down:
        yield "masts", week, 1.0
