"""What the papers know of the day a part was fitted: new parts have an invoice, old may not."""

from collections.abc import Callable
from datetime import date
from random import Random

from .boats import Boat
from .parts import Part

Dated = tuple[date | int | None, str]


def papers(boat: Boat, rng: Random) -> Callable[[Part], Dated]:
    """A function giving (date, year or None; certainty) of each part of one boat.

    What was fitted on one day before the record began is known, or not, together.
    """
    known: dict[int, Dated] = {}

    def dated(part: Part) -> Dated:
        if part.fitted >= boat.record_since - 7:
            return date.fromordinal(part.fitted), "day"
        return known.setdefault(part.fitted, _old(boat, part.fitted, rng))

    return dated


def _old(boat: Boat, day: int, rng: Random) -> Dated:
    drawn, on = rng.random(), date.fromordinal(day)
    before = on.year < date.fromordinal(boat.record_since).year
    guess = day + rng.randint(-700, 700)
    if drawn < 0.42 and before:
        return on.year, "year"
    if drawn < 0.76 or not before:
        return on, "day"
    if drawn < 0.88 and boat.built <= guess < boat.record_since:
        return date.fromordinal(guess), "estimated"
    return None, "unknown"
