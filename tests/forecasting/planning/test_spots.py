"""The table of standing spots: its order, its refusals, ages that are not known."""

from dataclasses import replace

import numpy as np
import pytest

from tests.forecasting.planning.rigs import one, table, wire


def test_rows_in_any_order_make_the_same_table():
    rows = wire(part=7, boat=2) + wire(part=3, boat=1) + one(part=9, boat=1)
    standing = table(rows[::-1])
    assert standing.boats.tolist() == [1, 2]
    assert standing.parts.tolist() == [3, 9, 7]
    assert standing.boat_of_part.tolist() == [0, 0, 1]
    assert np.diff(np.append(standing.part_starts, standing.part.size)).tolist() == [3, 1, 3]


@pytest.mark.parametrize(
    ("rows", "sentence"),
    [
        (one(age=-1.0), "negative age"),
        (one(age=5.0, since=6.0), "before it was fitted"),
        (one(since=-0.5), "in the future"),
        (one(age=np.nan), "not a number"),
        (one(spread=-1.0), "negative spread"),
        (one(part=1, boat=1) + one(part=1, boat=2), "two boats"),
        (one(part=1, base=1) + one(part=2, base=2), "two bases"),
        (one(part=1, age=4.0) + one(part=1, age=5.0), "differ in age"),
        (one(part=1, condemned=True) + one(part=1), "differ in condemned"),
    ],
)
def test_a_contradiction_is_refused_with_a_sentence(rows, sentence):
    with pytest.raises(ValueError, match=sentence):
        table(rows)


def test_a_column_of_another_length_is_refused():
    standing = table(wire())
    with pytest.raises(ValueError, match="3 rows are expected"):
        replace(standing, age=np.array([1.0, 2.0]))


def test_a_part_is_at_least_as_old_as_its_oldest_sight():
    # Boat of 14 years, fitting date unknown, the run seen good eight years ago.
    rows = wire(age=7.0, since=(0.5, 8.0, 7.0), spread=7.0)
    standing = table(rows)
    youngest, oldest = standing.age_range
    assert youngest.tolist() == [8.0] * 3
    assert oldest.tolist() == [14.0] * 3
    assert standing.never_seen.tolist() == [False, False, True]
    assert standing.good_age(np.full(3, 9.0), slice(None)).tolist() == [8.5, 1.0, 0.0]


def test_never_seen_may_be_said_as_infinity():
    standing = table(one(age=6.0, since=np.inf))
    assert standing.since_good.tolist() == [6.0]
    assert standing.never_seen.all()


def test_chunks_hold_whole_boats_and_lose_none():
    rows = [
        r for boat in range(7) for part in (0, 1) for r in wire(part=10 * boat + part, boat=boat)
    ]
    standing = table(rows)
    pieces = list(standing.chunks(13))
    assert [piece.boats.tolist() for piece, _, _ in pieces] == [[0, 1], [2, 3], [4, 5], [6]]
    together = np.concatenate([standing.parts[parts] for _, parts, _ in pieces])
    assert together.tolist() == standing.parts.tolist()


def test_a_boat_larger_than_the_chunk_still_comes_whole():
    standing = table([r for part in range(5) for r in wire(part=part)])
    assert [piece.part.size for piece, _, _ in standing.chunks(2)] == [15]
