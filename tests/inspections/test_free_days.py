"""What bookings leave free before a due date: days in, a day and a sentence out."""

import datetime as dt
import random

from inspections.bookings.free_days import DAY, advice, around, grounded, joined

TODAY = dt.date(2026, 10, 14)


def day(number: int) -> dt.date:
    return TODAY + number * DAY


def away(*spans: tuple[int, int]) -> list:
    return joined((day(first), day(last)) for first, last in spans)


def test_a_date_on_a_free_day_needs_no_advice():
    assert advice(day(10), TODAY, away((2, 9), (11, 20))) is None
    assert advice(day(10), TODAY, []) is None


def test_a_date_in_a_booking_is_answered_by_the_last_free_day_before_it():
    found = advice(day(10), TODAY, away((8, 12)))
    assert found.on == day(7)
    assert (
        found.words
        == "Booked 22 Oct 2026 to 26 Oct 2026: the last free day before it is 21 Oct 2026."
    )


def test_bookings_one_after_the_other_leave_no_day_between_them():
    assert advice(day(10), TODAY, away((8, 12), (5, 7))).on == day(4)
    assert advice(day(10), TODAY, away((8, 12), (5, 6))).on == day(7)


def test_where_no_day_is_free_before_it_nothing_later_is_proposed():
    found = advice(day(3), TODAY, away((0, 6)))
    assert found.on is None
    assert "no day is free before it; free again from 21 Oct 2026. The date stands." in found.words


def test_what_is_late_says_until_when_the_boat_is_away_and_proposes_no_day():
    found = advice(day(-30), TODAY, away((-2, 4)))
    assert (found.on, found.words) == (
        None,
        "Late, and booked to 18 Oct 2026: free from 19 Oct 2026.",
    )
    assert advice(day(-30), TODAY, away((1, 4))) is None


def test_a_held_boat_with_a_booking_does_not_sail():
    assert grounded(TODAY, away((3, 5))).words.endswith("a held boat does not sail.")
    assert grounded(TODAY, away((-9, -5))) is None


def test_a_proposed_day_is_free_in_time_and_the_latest_of_those():
    draw = random.Random(1)
    for _ in range(500):
        firsts = [draw.randint(-20, 60) for _ in range(draw.randint(0, 8))]
        taken = away(*((first, first + draw.randint(0, 20)) for first in firsts))
        on = draw.randint(-5, 60)
        found = advice(day(on), TODAY, taken)
        free = [day(n) for n in range(on + 1) if around(day(n), taken) is None]
        if on < 0:
            assert found is None or found.on is None
        elif free and free[-1] == day(on):
            assert found is None
        else:
            assert found.on == (free[-1] if free else None)
