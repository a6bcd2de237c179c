"""Each boat is forecast with its own effect, drawn from its record where it has one."""

from dataclasses import replace

import numpy as np
import pytest

from forecasting.planning.inspect_by import inspect_by_of
from forecasting.planning.lifetimes import BoatRecords, LifeDraws, draw_lives
from forecasting.planning.outlook import outlook_of
from forecasting.survival import COMMON_PRACTICE, Lives, model_by_deaths, rule_of_thumb
from forecasting.survival.model import LifeModel
from tests.forecasting.planning.rigs import one, table, weibull, wire

DRAWS = 400


def draws(spread: float, boats=(), effects=(), shape=3.0, scale=18.0) -> LifeDraws:
    """A Weibull known exactly, of boats that differ by `spread`."""
    known = np.full(DRAWS, np.log(scale))
    points = np.random.default_rng(1).standard_normal(DRAWS)
    return LifeDraws(
        "weibull", (), known, np.empty((DRAWS, 0)), np.full(DRAWS, 1 / shape),
        np.full(DRAWS, spread), points, np.array(boats, dtype=np.int64),
        np.array(effects, dtype=float).reshape(len(boats), DRAWS),
    )  # fmt: skip


def model(spread: float) -> LifeModel:
    return replace(weibull(3, 18), boat_spread=spread)


def chances(lives: LifeDraws, rows, **options) -> np.ndarray:
    found = outlook_of({"wire": lives}, table(rows, ()), **options)
    return found.part_condemned.mean[:, -1]


def test_boats_that_do_not_differ_are_forecast_as_before():
    rows = [r for boat in (1, 2) for r in wire(part=boat, boat=boat, since=(0.5, 2.0, 2.0))]
    alike, plain = draws(0.0), replace(draws(0.0), spread=None, stranger=None)
    assert not alike.boats_differ
    np.testing.assert_array_equal(chances(alike, rows), chances(plain, rows))


def test_an_effect_stretches_the_life_of_every_part_of_its_boat():
    shorter = np.full(DRAWS, np.log(0.8))
    lives = draws(0.2, boats=[7], effects=[shorter])
    found = chances(lives, one(part=1, boat=7, age=10.0, since=1.0), horizons=(0.0,))
    by_hand = 1 - np.exp((9 / 14.4) ** 3 - (10 / 14.4) ** 3)
    assert found[0] == pytest.approx(by_hand, rel=1e-9)


def test_parts_are_multiplied_inside_the_average_over_the_effect():
    # Two parts of one boat share its effect: E[S(u)^2], not E[S(u)]^2.
    lives = draws(0.4)
    rows = one(part=1, age=14.0, since=14.0) + one(part=2, age=14.0, since=14.0)
    found = outlook_of({"wire": lives}, table(rows, ()), horizons=(0.0,))
    alive = np.exp(-((14 / 18) ** 3) * np.exp(-3 * 0.4 * lives.stranger))
    assert found.boat_condemned.mean[0, 0] == pytest.approx(1 - np.mean(alive**2), rel=1e-9)
    assert found.boat_condemned.mean[0, 0] < 1 - np.mean(alive) ** 2 - 0.01


def test_two_boats_nobody_knows_anything_of_get_the_same_chance():
    lives = draw_lives({"wire": model(0.3)}, DRAWS, 1)["wire"]
    rows = [r for boat in (1, 2) for r in one(part=boat, boat=boat, age=12.0, since=3.0)]
    found = chances(lives, rows)
    assert found[0] == found[1]


def test_what_adds_boats_up_gives_each_its_own_effect():
    lives = draw_lives({"wire": model(0.3)}, DRAWS, 1, apart=np.array([4, 9]))["wire"]
    first, second = lives.effect(np.array([4, 9]))
    assert abs(np.corrcoef(first, second)[0, 1]) < 0.2
    assert first.std() == pytest.approx(0.3, rel=0.02)


def record(early: tuple[int, ...], boats=6, parts=8) -> BoatRecords:
    """Parts watched from new to 10 years; those of boats in `early` were condemned at 4 to 5."""
    boat = np.repeat(np.arange(boats), parts)
    gone = np.isin(boat, early)
    good = np.where(gone, 4.0, 10.0)
    condemned = np.where(gone, 5.0, np.inf)
    lives = Lives(np.zeros(boat.size), good, condemned, cluster=boat, X=np.empty((boat.size, 0)))
    return BoatRecords(lives, 100 + np.arange(boats))


def test_a_boat_whose_parts_went_early_has_higher_chances_than_its_sister():
    rows = [r for boat in (100, 101, 999) for r in one(part=boat, boat=boat, age=6.0, since=1.0)]
    records = {"wire": record(early=(0,))}
    lives = draw_lives({"wire": model(0.3)}, DRAWS, 3, records=records)["wire"]
    early, late, unknown = chances(lives, rows)
    assert early > 1.5 * unknown
    assert late < unknown
    date = inspect_by_of({"wire": lives}, table(rows, ())).years
    assert date[0] < date[2] < date[1]


def test_boats_under_other_names_and_in_another_order_get_the_same_chances():
    records = record(early=(0, 3))
    lives, boats = records.lives, records.boats
    other = np.array([50, 20, 90, 10, 70, 30])  # new codes, of another order
    order = np.random.default_rng(2).permutation(len(lives))
    renamed = replace(lives.take(order), cluster=other[lives.cluster][order])
    pairs = (records, boats), (BoatRecords(renamed, np.sort(other)), other)
    found = []
    for record_of, codes in pairs:
        drawn = draw_lives({"wire": model(0.25)}, DRAWS, 5, records={"wire": record_of})["wire"]
        rows = [r for code in codes for r in one(part=code, boat=code, age=8.0, since=1.0)]
        chance = chances(drawn, rows)
        found.append(chance[np.argsort(np.argsort(codes))])
    np.testing.assert_allclose(found[0], found[1], atol=1e-9)


def test_old_parts_often_seen_good_look_better_once_they_count():
    """60 wires of three spots good at 12 years: no death is needed for them to count."""
    boat = np.repeat(np.arange(12), 15)
    spot = np.tile(np.eye(3)[:, 1:], (60, 1))
    names = ("run", "upper")
    lives = Lives(np.zeros(180), np.full(180, 12.0), cluster=boat, X=spot, names=names)
    counted = model_by_deaths(lives, COMMON_PRACTICE["wire"]).outcome
    rows = wire(part=1, boat=99, age=13.0, since=(1.0, 1.0, 1.0))
    thumb = rule_of_thumb(replace(COMMON_PRACTICE["wire"], slopes={}))
    before, after = (
        outlook_of(draw_lives({"wire": each}, DRAWS, 6), table(rows), horizons=(1.0,))
        for each in (thumb, counted)
    )
    assert after.part_condemned.mean[0, 0] < 0.6 * before.part_condemned.mean[0, 0]
    assert after.remaining[0, 1] > before.remaining[0, 1]


@pytest.mark.parametrize("family", ["lognormal", "loglogistic"])
def test_other_families_take_the_effect_the_same_way(family):
    shorter = np.full(DRAWS, np.log(0.8))
    lives = replace(draws(0.2, boats=[7], effects=[shorter]), family=family)
    alone = replace(draws(0.0, scale=18 * 0.8), family=family)
    rows = wire(part=1, boat=7, age=10.0, since=(1.0, 2.0, 2.0))
    assert chances(lives, rows) == pytest.approx(chances(alone, rows), rel=1e-9)


def test_single_precision_keeps_every_chance_to_a_ten_thousandth():
    rng = np.random.default_rng(4)
    ages = rng.uniform(0.1, 30, 240)
    rows = [
        row
        for part, age in enumerate(ages)
        for row in wire(
            part=part, boat=part // 6, age=age, spread=age / 2 * (part % 6 == 5),
            since=tuple(rng.choice([0.0, 0.3 * age, age], 3)),
        )
    ]  # fmt: skip
    thumb = rule_of_thumb(kind="wire")
    lives = draw_lives({"wire": thumb}, DRAWS, 2)
    standing = table(rows, ("run", "upper", *thumb.names[3:-1]))
    options = {"horizons": (0.0, 0.5, 5.0), "inspections": {"deck": 0.0, "aloft": 1.0}}
    exact = outlook_of(lives, standing, dtype=np.float64, **options)
    quick = outlook_of(lives, standing, dtype=np.float32, **options)
    for name in ("mean", "low", "high"):
        for one_way, other in (
            (exact.part_condemned, quick.part_condemned),
            (exact.boat_condemned, quick.boat_condemned),
            *((exact.boat_found[level], quick.boat_found[level]) for level in quick.boat_found),
        ):
            np.testing.assert_allclose(getattr(one_way, name), getattr(other, name), atol=1e-4)
    finite = np.isfinite(exact.remaining)
    np.testing.assert_allclose(exact.remaining[finite], quick.remaining[finite], atol=0.05)
