"""Inspect-by date and the level worth most an hour, against closed forms."""

import numpy as np
import pytest
from scipy import stats

from forecasting.planning.crossing import first_crossing
from forecasting.planning.inspect_by import inspect_by
from tests.forecasting.planning.rigs import one, table, weibull, wire

LAW = stats.weibull_min(3, scale=18)


def when(rows, model=None, **options):
    models = {"wire": model or weibull(3, 18), "chainplate": weibull(3, 18)}
    return inspect_by(models, table(rows), draws=2, **options)


def test_the_date_is_when_the_limit_is_reached():
    found = when(one(age=10.0, since=0.5))
    # S(10 + t) = .85 S(9.5)
    assert found.years[0] == pytest.approx(LAW.isf(0.85 * LAW.sf(9.5)) - 10, abs=2e-3)
    assert found.chance[0] == pytest.approx(0.15, abs=1e-4)


def test_the_limit_is_the_boats_not_the_parts():
    many = when([r for part in range(12) for r in one(part=part, age=10.0, since=0.5)])
    alone = when(one(age=10.0, since=0.5))
    assert many.years[0] == 0  # twelve parts: passed already
    assert alone.years[0] > 1


def test_a_boat_beyond_the_limit_is_due_now():
    found = when(one(age=15.0, since=6.0))
    assert found.years[0] == 0
    assert found.chance[0] == pytest.approx(1 - LAW.sf(15) / LAW.sf(9))


def test_a_young_boat_has_no_date_within_the_horizon():
    found = when(one(age=1.0), model=weibull(3, 60))
    assert found.years[0] == np.inf
    assert found.chance[0] == pytest.approx(1 - np.exp(-(6**3 - 1) / 60**3), rel=1e-6)


def test_what_a_level_does_not_see_keeps_its_chance():
    found = when(wire(age=10.0, since=(1.0, 3.0, 3.0)) + chainplate())
    at = found.years[0]
    alive = LAW.sf(10 + at) / LAW.sf([9.0, 7.0, 7.0])
    plate = LAW.sf(10 + at) / LAW.sf(4.0)
    assert found.after["deck"][0] == pytest.approx(1 - alive[1] * alive[2] * plate)
    assert found.after["aloft"][0] == pytest.approx(1 - plate)
    assert found.after["mast_down"][0] == pytest.approx(0, abs=1e-12)


def chainplate():
    return one(part=2, age=10.0, since=6.0, spot="chainplate", kind="chainplate")


@pytest.mark.parametrize(
    ("since", "level"),
    [((4.0, 0.1, 0.1), "deck"), ((0.1, 4.0, 4.0), "aloft")],
)
def test_the_level_is_the_one_that_lowers_the_chance_most_an_hour(since, level):
    assert when(wire(age=9.0, since=since)).level.tolist() == [level]


def test_hours_decide_between_levels():
    rows = wire(age=9.0, since=(2.0, 3.0, 3.0))
    dear = when(rows, hours={"deck": 5.0, "aloft": 2.5, "mast_down": 8.0})
    assert dear.level.tolist() == ["aloft"]


def test_a_part_condemned_already_does_not_call_for_an_inspection():
    found = when(one(part=1, age=1.0) + one(part=2, age=17.0, since=9.0, condemned=True))
    assert found.years[0] > 4


def test_an_empty_fleet_and_a_limit_that_is_no_chance():
    assert when([]).years.size == 0
    with pytest.raises(ValueError, match="between 0 and 1"):
        when(one(), limit=1.5)
    with pytest.raises(ValueError, match="above 0"):
        when(one(), hours={"deck": 0.0})


def test_crossings_of_curves_of_every_shape():
    shape, scale = np.array([0.8, 1.5, 3.0, 8.0, 3.0]), np.array([9.0, 4.0, 20.0, 12.0, 500.0])
    found = first_crossing(lambda t: np.exp(-((t / scale) ** shape)), 0.5, 60.0, 5)
    median = scale * np.log(2) ** (1 / shape)
    assert found[:4] == pytest.approx(median[:4], abs=2e-3)
    assert found[4] == np.inf
