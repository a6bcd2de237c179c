"""What an hour buys, for one fleet: which boats to look at in the hours there are, from where."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fleet.models import Base, Fleet
from inspections.models import Inspection

from . import reads
from .planning.hours import LEAST_AN_HOUR, Plan, plan, steps
from .planning.spots import LEVELS
from .steps.schedule import look_hours

HOURS, MOST_HOURS = 10.0, 2000.0
EACH = ("pk", "name", "base__name", "held", "outlook__chance_now", "outlook__after_level")


@dataclass(frozen=True)
class BoatLook:
    """One row of the list: a boat, the look it gets, and what that buys."""

    place: int
    pk: int
    boat: str
    base: str
    held: bool
    level: str
    hours: float
    before: float
    after: float
    left: float

    @property
    def look(self) -> str:
        return str(Inspection.Level(self.level).label)


@dataclass(frozen=True)
class HoursList:
    """The looks that fit the hours asked for. ``forecast``: boats that have an outlook at all."""

    asked: float
    base: str
    looks: tuple[BoatLook, ...]
    plan: Plan
    forecast: int


def hours_list(fleet: Fleet, hours: float = HOURS, base: Base | None = None) -> HoursList:
    """Return which boats to look at in so many hours, of the fleet or of one base."""
    boats = reads.boats(fleet, fleet.today()).filter(outlook__isnull=False)
    if base is not None:
        boats = boats.filter(base=base)
    rows = list(boats.order_by("name", "pk").values(*EACH))
    chance, after = _chances(rows)
    found = plan(steps(chance, after, look_hours(fleet)), chance, hours)
    looks = tuple(
        BoatLook(place, *(rows[look.boat][key] for key in EACH[:4]), look.level, look.hours,
                 look.before, look.after, look.left)
        for place, look in enumerate(found.looks, start=1)
    )  # fmt: skip
    return HoursList(hours, base.name if base else "", looks, found, len(rows))


def _chances(rows: Sequence[dict]) -> tuple[np.ndarray, dict[str, np.ndarray]]:
    chance = np.array([row["outlook__chance_now"] for row in rows], dtype=float)
    left = [row["outlook__after_level"] for row in rows]
    after = {level: [levels.get(level, now) for levels, now in zip(left, chance, strict=True)]
             for level in LEVELS}  # fmt: skip
    return chance, {level: np.array(values, dtype=float) for level, values in after.items()}


def answer(found: HoursList) -> str:
    """Return the title: which hours, how many boats."""
    boats = len({look.pk for look in found.looks})
    if not boats:
        return f"No look of {_hours(found.asked)} is worth it today"
    these = "this boat" if boats == 1 else f"these {boats} boats"
    at = f" at {found.base}" if found.base else ""
    return f"The next {_hours(found.asked)}{at}: {these}"


def what_it_buys(found: HoursList) -> str:
    """Return what the looks do, and what the next hour would."""
    before, after = found.plan.before, found.plan.after
    if not found.looks:
        return (
            f"Something stands condemned, unseen, on about {before:.1f} boats, but no look that "
            f"fits takes {LEAST_AN_HOUR:.1%} of a boat off that for an hour's work."
        )
    said = (
        "They take the boats on which something stands condemned that nobody has seen from about "
        f"{before:.1f} to {after:.1f}."
    )
    if found.plan.next_hour < LEAST_AN_HOUR:
        return f"{said} After that no hour takes off as much as {LEAST_AN_HOUR:.1%} of a boat."
    return f"{said} The next hour would take off {found.plan.next_hour:.2f} more."


def _hours(hours: float) -> str:
    return f"{hours:g} hour" if hours == 1 else f"{hours:g} hours"
