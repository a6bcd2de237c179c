"""What an hour buys, on fleets small enough to work out by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from forecasting.planning.hours import plan, steps

HOURS = {"deck": 0.5, "aloft": 2.5, "mast_down": 8.0}


def looks(chance, deck, aloft, mast_down, hours=HOURS, **options):
    after = {"deck": np.array(deck), "aloft": np.array(aloft), "mast_down": np.array(mast_down)}
    return steps(np.array(chance), after, hours, **options)


def test_the_boat_and_look_that_buy_most_an_hour_come_first():
    # Boat 0: deck takes .10 off in half an hour, .20 an hour; aloft .20 more for 2 h, .10 an hour;
    # mast down .05 more for 5.5 h. Boat 1: deck .02 (.04 an hour), but aloft .30 in 2.5 h: .12.
    found = looks([0.4, 0.5], [0.3, 0.48], [0.1, 0.2], [0.05, 0.0])
    assert found.boat.tolist() == [0, 1, 0, 1, 0]
    assert found.level.tolist() == ["deck", "aloft", "aloft", "mast_down", "mast_down"]
    assert found.instead_of.tolist() == ["", "", "deck", "aloft", "aloft"]
    assert found.an_hour == pytest.approx([0.2, 0.12, 0.1, 0.2 / 5.5, 0.05 / 5.5])
    assert found.hours == pytest.approx([0.5, 2.5, 2.0, 5.5, 5.5])


def test_five_hours_are_two_boats_looked_at_from_aloft():
    chance = np.array([0.4, 0.5])
    found = looks(chance, [0.3, 0.48], [0.1, 0.2], [0.05, 0.0])
    done = plan(found, chance, 5.0)
    assert [(look.boat, look.level, look.hours) for look in done.looks] == [
        (0, "aloft", 2.5),
        (1, "aloft", 2.5),
    ]
    assert (done.before, done.after) == (pytest.approx(0.9), pytest.approx(0.3))
    assert [look.left for look in done.looks] == pytest.approx([0.6, 0.3])
    assert done.next_hour == pytest.approx(0.2 / 5.5)


def test_three_hours_leave_the_second_look_of_a_boat_for_later():
    chance = np.array([0.4, 0.5])
    done = plan(looks(chance, [0.3, 0.48], [0.1, 0.2], [0.05, 0.0]), chance, 3.0)
    assert [(look.boat, look.level) for look in done.looks] == [(0, "deck"), (1, "aloft")]
    assert done.hours == pytest.approx(3.0)
    assert done.after == pytest.approx(0.5)


def test_a_look_that_does_not_fit_leaves_room_for_a_smaller_one():
    chance = np.array([0.5, 0.1])
    done = plan(looks(chance, [0.5, 0.05], [0.1, 0.05], [0.1, 0.05]), chance, 1.0)
    assert [(look.boat, look.level) for look in done.looks] == [(1, "deck")]
    assert done.next_hour == pytest.approx(0.16)


def test_the_list_ends_where_an_hour_buys_too_little():
    found = looks([0.4, 0.5], [0.3, 0.48], [0.1, 0.2], [0.05, 0.0], least=0.05)
    assert found.level.tolist() == ["deck", "aloft", "aloft"]
    assert looks([0.001], [0.0], [0.0], [0.0]).boat.size == 0


def test_hours_are_the_fleets_own():
    slow = looks([0.4], [0.3], [0.1], [0.1], {"deck": 2.0, "aloft": 2.5, "mast_down": 8.0})
    assert slow.level.tolist() == ["aloft"]
    with pytest.raises(ValueError, match="above 0"):
        looks([0.4], [0.3], [0.1], [0.1], {"deck": 0.0, "aloft": 2.5, "mast_down": 8.0})


def test_no_boats_need_no_hours():
    none = plan(looks([], [], [], []), np.empty(0), 10.0)
    assert none.looks == ()
    assert (none.before, none.after, none.next_hour) == (0, 0, 0)


chances = st.lists(st.tuples(*[st.floats(0, 1, allow_subnormal=False)] * 4), min_size=1, max_size=6)


def one_after_the_other(left, hours, least):
    """The greedy list as one would draw it up by hand: best step now, then look again."""
    at, done = [0] * len(left), []
    long = [0.0, *hours]
    while True:
        offers = [
            ((left[b][at[b]] - left[b][to]) / (long[to] - long[at[b]]), -b, -to)
            for b in range(len(left))
            for to in range(4)
            if long[to] > long[at[b]] and left[b][to] < left[b][at[b]]
        ]
        if not offers or max(offers)[0] < least:
            return done
        gain, b, to = max(offers)
        done.append((gain, -b, -to))
        at[-b] = -to


@given(chances, st.tuples(*[st.floats(0.25, 4)] * 3))
def test_putting_steps_in_order_at_once_is_choosing_them_one_after_the_other(rows, extra):
    left = [sorted(row, reverse=True) for row in rows]
    hours = np.cumsum(extra).tolist()
    columns = np.array(left).T
    found = looks(*columns, dict(zip(HOURS, hours, strict=True)), least=0.01)
    by_hand = one_after_the_other(left, hours, 0.01)
    assert found.an_hour == pytest.approx([gain for gain, _, _ in by_hand], abs=1e-9)


@given(chances, st.randoms(use_true_random=False))
def test_boats_in_another_order_make_the_same_list(rows, random):
    left = [sorted(row, reverse=True) for row in rows]
    order = list(range(len(left)))
    random.shuffle(order)
    here = looks(*np.array(left).T)
    there = looks(*np.array([left[b] for b in order]).T)
    assert there.an_hour == pytest.approx(here.an_hour)
    assert sorted(order[b] for b in there.boat) == sorted(here.boat.tolist())
