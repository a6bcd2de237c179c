"""What an hour buys: which boats to look at first, and from where, for the hours there are.

A look leaves a boat the chance that a part it does not see stands condemned. What it buys is what
it takes off that chance; over a fleet, off the expected number of boats on which something stands
condemned that nobody has seen. A deeper look sees all that a shorter one does and takes its place,
for the extra hours alone. Each step is the one that buys most an hour, of all boats, given those
before it: the steps of a boat buy less and less, so they can be put in order all at once.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

LEAST_AN_HOUR = 0.005  # boats: from there on an hour buys less than 1 in 200


@dataclass(frozen=True, eq=False)
class Steps:
    """(S,) steps, the one that buys most an hour first.

    boat: index of the boat; level, instead_of: names, the latter "" for a first look; hours: extra;
    before, after: the boat's chance; an_hour: boats taken off by an hour of it.
    """

    boat: np.ndarray
    level: np.ndarray
    instead_of: np.ndarray
    hours: np.ndarray
    before: np.ndarray
    after: np.ndarray
    an_hour: np.ndarray


@dataclass(frozen=True)
class Look:
    """One boat of a plan: from where, the hours it takes, its chance before and after, and the
    expected number of boats left when it and those before it are done."""

    boat: int
    level: str
    hours: float
    before: float
    after: float
    left: float


@dataclass(frozen=True)
class Plan:
    """Looks that fit some hours. before, after: expected boats with something unseen; next_hour:
    boats taken off by an hour of the best step left out, 0 where none is worth it."""

    looks: tuple[Look, ...]
    hours: float
    before: float
    after: float
    next_hour: float


def steps(
    chance: np.ndarray,
    after: Mapping[str, np.ndarray],
    hours: Mapping[str, float],
    *,
    least: float = LEAST_AN_HOUR,
) -> Steps:
    """Steps worth at least `least` boats an hour.

    chance: (B,) that a part of each boat stands condemned unseen; after: level -> (B,) what a look
    leaves of it; hours: level -> of one look. ValueError unless all hours are above 0.
    """
    if min(hours.values()) <= 0:
        raise ValueError("The hours of an inspection must be above 0.")
    levels = np.array(["", *after])
    long = np.array([0.0, *(hours[level] for level in after)])
    left = np.column_stack((chance, *after.values()))
    at = np.zeros(len(left), dtype=np.int64)
    found = [next_step for _ in after if (next_step := _next(left, long, at)).shape[1]]
    boat, came_from, goes_to = np.concatenate((np.empty((3, 0), int), *found), axis=1)
    extra = long[goes_to] - long[came_from]
    before, then = left[boat, came_from], left[boat, goes_to]
    an_hour = (before - then) / np.where(extra > 0, extra, 1)
    order = np.lexsort((long[goes_to], boat, -an_hour))
    order = order[an_hour[order] >= least]
    columns = boat, levels[goes_to], levels[came_from], extra, before, then, an_hour
    return Steps(*(column[order] for column in columns))


def _next(left: np.ndarray, long: np.ndarray, at: np.ndarray) -> np.ndarray:
    """(3, m): boats, the level each is at and the one that buys most an hour from there; moves on.

    left: (B, levels) chance by level, the first none; long: (levels,) hours; at: (B,) level.
    """
    boats = np.arange(len(left))
    gain, extra = left[boats, at][:, None] - left, long - long[at][:, None]
    possible = (extra > 0) & (gain > 0)
    an_hour = np.where(possible, gain / np.where(possible, extra, 1), 0)
    best = an_hour.argmax(axis=1)
    moves = np.flatnonzero(possible.any(axis=1))
    step = np.stack((moves, at[moves], best[moves]))
    at[moves] = best[moves]
    return step


def plan(found: Steps, chance: np.ndarray, hours: float) -> Plan:
    """The steps that fit so many hours, a boat's put together, in the order to do them.

    A step that does not fit leaves room for smaller ones; later steps of its boat wait with it.
    """
    looks: dict[int, Look] = {}
    waiting: set[int] = set()
    room, next_hour = hours, 0.0
    columns = (found.boat, found.level, found.hours, found.before, found.after, found.an_hour)
    for boat, level, extra, before, after, an_hour in zip(
        *(column.tolist() for column in columns), strict=True
    ):
        if boat in waiting or extra > room + 1e-9:
            waiting.add(boat)
            next_hour = max(next_hour, an_hour)
            continue
        room -= extra
        first = looks.get(boat)
        spent, was = (first.hours, first.before) if first else (0.0, before)
        looks[boat] = Look(boat, level, spent + extra, was, after, 0.0)
    total = float(np.sum(chance))
    done = _counted_down(list(looks.values()), total)
    return Plan(done, hours - room, total, done[-1].left if done else total, next_hour)


def _counted_down(looks: list[Look], total: float) -> tuple[Look, ...]:
    left = total - np.cumsum([look.before - look.after for look in looks])
    return tuple(
        Look(look.boat, look.level, look.hours, look.before, look.after, float(rest))
        for look, rest in zip(looks, left, strict=True)
    )
