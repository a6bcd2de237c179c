"""Off seasons, fiscal years and planned looks, as a calendar gives them."""

import datetime as dt

import numpy as np
import pytest

from forecasting import life_data
from forecasting.steps.schedule import fiscal_years, off_season, planned_looks

from .history import AS_OF, History

D = dt.date


@pytest.mark.parametrize(
    ("months", "today", "starts", "ends", "next_starts", "label"),
    [
        ((11, 3), D(2026, 10, 14), D(2026, 11, 1), D(2027, 3, 31), D(2027, 11, 1), "2026/27"),
        ((11, 3), D(2027, 2, 10), D(2027, 2, 10), D(2027, 3, 31), D(2027, 11, 1), "2026/27"),
        ((11, 3), D(2027, 4, 1), D(2027, 11, 1), D(2028, 3, 31), D(2028, 11, 1), "2027/28"),
        ((6, 10), D(2026, 10, 31), D(2026, 10, 31), D(2026, 10, 31), D(2027, 6, 1), "2026"),
        ((6, 10), D(2026, 11, 1), D(2027, 6, 1), D(2027, 10, 31), D(2028, 6, 1), "2027"),
        ((10, 12), D(2026, 12, 31), D(2026, 12, 31), D(2026, 12, 31), D(2027, 10, 1), "2026"),
        ((11, 2), D(2024, 1, 5), D(2024, 1, 5), D(2024, 2, 29), D(2024, 11, 1), "2023/24"),
    ],
)
def test_the_off_season_at_hand_or_to_come(months, today, starts, ends, next_starts, label):
    found = off_season(*months, today)
    assert (found.starts, found.ends) == (starts, ends)
    assert (found.next_starts, found.label) == (next_starts, label)


@pytest.mark.parametrize(
    ("first_month", "today", "first_year"),
    [
        (1, D(2026, 5, 1), 2026),
        (1, D(2026, 11, 1), 2027),
        (11, D(2026, 10, 14), 2026),
        (11, D(2027, 3, 1), 2026),
        (4, D(2026, 3, 31), 2026),
    ],
)
@pytest.mark.parametrize("count", [10, 15])
def test_fiscal_years_from_the_one_at_hand(first_month, today, first_year, count):
    years, bounds = fiscal_years(first_month, today, count)
    assert years == list(range(first_year, first_year + count))
    assert bounds[0] <= 0 < bounds[1]
    assert np.diff(bounds[1:]) == pytest.approx(np.full(count - 1, 1.0), abs=0.004)


@pytest.mark.django_db
def test_a_deeper_look_does_for_those_above_it():
    history = History(deck_check_months=6, aloft_months=12, mast_down_months=48)
    seen, new = history.boat("Alder"), history.boat("Birch", joined=D(2026, 10, 1))
    history.look("2024-03-31", level="mast_down", boat=seen)
    history.look("2026-05-31", level="aloft", boat=seen)
    history.look("2026-08-31", level="deck", boat=seen)
    records = life_data.read(history.fleet, AS_OF)
    looks = planned_looks(history.fleet, records, records.boats.index)
    assert looks.loc[seen.pk].to_dict() == {
        "deck": D(2027, 2, 28),
        "aloft": D(2027, 5, 31),
        "mast_down": D(2028, 3, 31),
    }
    assert looks.loc[new.pk, "deck"] == D(2027, 4, 1)
