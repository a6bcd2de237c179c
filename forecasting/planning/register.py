"""The component register: cost, straight-line depreciation, lives reviewed, derecognition.

After IAS 16 (paragraph numbers from memory save 12 to 14, 43): parts are components with costs of
their own (43); cost leaves recoverable tax out (16); depreciation begins when a part is in place
and ends when it is derecognised (55); straight line, nothing left over at the end (50, 62); the
life is reviewed at least every year end, and a change spreads what is carried over what remains
(51); a replaced part is derecognised (13, 67); gain or loss is proceeds less carrying amount (71).

Months count whole: from the month in which a part is placed in service up to, but without, the one
in which it comes off. Every amount is an integer of minor units, depreciation to date rounded half
up once, so that the years' charges add to the cost.
"""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass, fields


@dataclass(frozen=True)
class Review:
    """From the first of this month on, depreciated until the other."""

    on: dt.date
    ends: dt.date


@dataclass(frozen=True)
class Component:
    """One part as the books see it. cost, proceeds: minor units; ends: by its first life.

    Raises ValueError where a life ends in the month it begins or before.
    """

    cost: int
    since: dt.date
    ends: dt.date
    reviews: tuple[Review, ...] = ()
    gone: dt.date | None = None
    proceeds: int = 0

    def __post_init__(self) -> None:
        spans = [(self.since, self.ends), *((each.on, each.ends) for each in self.reviews)]
        if any(months(end) <= months(start) for start, end in spans):
            raise ValueError("A life has to end at least a month after it begins or is reviewed.")

    def depreciated(self, on: dt.date) -> int:
        """Return depreciation accumulated before the month of that day; stops when it is gone."""
        until = min(months(on), months(self.gone)) if self.gone else months(on)
        start, base, end = months(self.since), self.cost, months(self.ends)
        for review in self.reviews:
            at = months(review.on)
            if not start < at <= until:
                continue
            start, base, end = at, base - worn(base, start, at, end), months(review.ends)
        return self.cost - base + worn(base, start, max(until, start), end)

    def carrying(self, on: dt.date) -> int:
        """Return cost less depreciation, whether or not it is still on the boat that day."""
        return self.cost - self.depreciated(on)

    def life_ends(self, on: dt.date) -> dt.date:
        """Return until when it is expected to serve, by the reviews before that day."""
        ends = [review.ends for review in self.reviews if months(review.on) <= months(on)]
        return ends[-1] if ends else self.ends


def months(day: dt.date) -> int:
    return day.year * 12 + day.month - 1


def month_after(day: dt.date, count: int) -> dt.date:
    """Return the first of the month so many months after that day's."""
    year, month = divmod(months(day) + count, 12)
    return dt.date(year, month + 1, 1)


def life_in_months(years: float) -> int:
    """Return whole months of a life, at least one."""
    return max(1, round(years * 12))


def worn(base: int, start: int, until: int, end: int) -> int:
    """Return what of `base` is depreciated from month `start` to `until`, all of it by `end`."""
    elapsed, life = min(until, end) - start, end - start
    return (2 * base * elapsed + life) // (2 * life)


@dataclass(frozen=True)
class Movement:
    """What a year does to cost and depreciation (IAS 16.73(e), from memory); minor units.

    gain: proceeds less carrying amount of what was derecognised, negative for a loss.
    """

    cost_opening: int = 0
    added: int = 0
    cost_gone: int = 0
    worn_opening: int = 0
    charge: int = 0
    worn_gone: int = 0
    proceeds: int = 0

    @property
    def cost_closing(self) -> int:
        return self.cost_opening + self.added - self.cost_gone

    @property
    def worn_closing(self) -> int:
        return self.worn_opening + self.charge - self.worn_gone

    @property
    def carrying_opening(self) -> int:
        return self.cost_opening - self.worn_opening

    @property
    def carrying_closing(self) -> int:
        return self.cost_closing - self.worn_closing

    @property
    def carrying_gone(self) -> int:
        return self.cost_gone - self.worn_gone

    @property
    def gain(self) -> int:
        return self.proceeds - self.carrying_gone

    @property
    def loss_or_gain(self) -> int:
        """Return the gain or loss without its sign, for a sentence that says which."""
        return abs(self.gain)


def movement(component: Component, first: dt.date, after: dt.date) -> Movement:
    """Return what the year from `first` up to, but without, `after` does to a component."""
    since, gone = component.since, component.gone
    if since >= after or (gone and gone < first):
        return Movement()
    before = since < first
    leaves = gone is not None and gone < after
    opening = component.depreciated(first) if before else 0
    closing = component.depreciated(after)
    return Movement(
        cost_opening=component.cost if before else 0,
        added=0 if before else component.cost,
        cost_gone=component.cost if leaves else 0,
        worn_opening=opening,
        charge=closing - opening,
        worn_gone=closing if leaves else 0,
        proceeds=component.proceeds if leaves else 0,
    )


def together(movements: Iterable[Movement]) -> Movement:
    """Return the sum of movements, field by field."""
    rows = list(movements)
    return Movement(*(sum(getattr(row, each.name) for row in rows) for each in fields(Movement)))
