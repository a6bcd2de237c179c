"""Outlook per part and per boat, against scipy's distributions and closed forms."""

import numpy as np
import pytest
from scipy import stats
from scipy.integrate import quad, simpson

from forecasting.planning import prospect as prospect_module
from forecasting.planning.drivers import drivers
from forecasting.planning.outlook import outlook, summary
from forecasting.survival import rule_of_thumb
from tests.forecasting.planning.rigs import life, one, table, weibull, wire

WEIBULL_3_18 = stats.weibull_min(3, scale=18)


def forecast(rows, models=None, columns=("run", "upper"), **options):
    models = models or {"wire": weibull(3, 18)}
    return outlook(models, table(rows, columns), draws=options.pop("draws", 2), **options)


def test_the_chance_is_conditioned_on_the_last_sight_never_on_today():
    # One spot, Weibull 3/18, last seen good at 11, today 11.8, inspected at 13. By hand:
    # 1 - exp((11^3 - 13^3) / 18^3) = .1380; conditioned on standing today it would be .0906.
    found = forecast(one(age=11.8, since=0.8), inspections={"deck": 1.2}).part_found["deck"]
    assert found.mean[0] == pytest.approx(0.1380, abs=5e-5)
    assert abs(found.mean[0] - 0.0906) > 0.04
    assert found.mean[0] == pytest.approx(1 - WEIBULL_3_18.sf(13) / WEIBULL_3_18.sf(11), rel=1e-12)


@pytest.mark.parametrize(
    ("age", "remaining", "within_5"),
    [(0, 16.073631, 0.021205), (10, 7.694566, 0.334513), (20, 3.626592, 0.729489)],
)
def test_a_conditional_life_table(age, remaining, within_5):
    # Conditional life of a Weibull 3/18: computed by scipy and by own quadrature.
    years = np.linspace(0, 60, 2401)
    prospect = forecast(one(age=float(age)), horizons=(5.0, *years)).part_condemned.mean[0]
    assert prospect[0] == pytest.approx(within_5, abs=5e-7)
    assert simpson(1 - prospect[1:], x=years) == pytest.approx(remaining, abs=5e-7)


@pytest.mark.parametrize(
    ("family", "law"),
    [
        ("weibull", stats.weibull_min(2.5, scale=np.exp(2.7))),
        ("lognormal", stats.lognorm(0.4, scale=np.exp(2.7))),
        ("loglogistic", stats.fisk(2.5, scale=np.exp(2.7))),
    ],
)
def test_a_part_is_the_product_of_its_spots_in_every_family(family, law):
    slopes = {"run": 0.5, "upper": 0.3}
    model = life(family, 2.7, 0.4, slopes)
    result = forecast(wire(age=9.0, since=(0.5, 2.0, 9.0)), {"wire": model}, horizons=(0.0, 3.0))
    seen_at = np.array([8.5, 7.0, 0.0])
    stretch = np.exp([0.0, 0.5, 0.3])
    for column, b in enumerate((9.0, 12.0)):
        alive = np.prod(law.sf(b / stretch) / law.sf(seen_at / stretch))
        assert result.part_condemned.mean[0, column] == pytest.approx(1 - alive, rel=1e-10)


def test_a_deck_check_finds_what_is_below_and_aloft_finds_more():
    model = weibull(3, 18, {"run": 0.4, "upper": 0.2})
    rows = wire(age=12.0, since=(0.5, 2.0, 2.0))
    result = forecast(rows, {"wire": model}, inspections={"deck": 0.5, "aloft": 0.5})
    lower = 1 - WEIBULL_3_18.sf(12.5) / WEIBULL_3_18.sf(11.5)
    assert result.part_found["deck"].mean[0] == pytest.approx(lower, rel=1e-12)
    assert result.part_found["aloft"].mean[0] > lower


def test_twelve_parts_at_five_percent_make_a_boat_at_forty_six():
    alive_95 = 18 * (-np.log(0.95)) ** (1 / 3)
    rows = [r for part in range(12) for r in one(part=part, age=alive_95, since=alive_95)]
    result = forecast(rows, horizons=(0.0,))
    assert result.part_condemned.mean[:, 0] == pytest.approx(0.05)
    assert result.boat_condemned.mean[0, 0] == pytest.approx(1 - 0.95**12)
    assert round(result.boat_condemned.mean[0, 0], 2) == 0.46


def test_a_condemned_part_is_certain_and_stands_apart_from_the_boats_chance():
    rows = one(part=1, age=9.0, since=1.0) + one(part=2, age=9.0, condemned=True)
    result = forecast(rows, horizons=(0.0, 1.0), inspections={"aloft": 0.5})
    alone = forecast(one(part=1, age=9.0, since=1.0), horizons=(0.0, 1.0))
    assert result.condemned_now.tolist() == [False, True]
    assert result.boat_condemned_now.tolist() == [1]
    assert (result.part_condemned.mean[1] == 1).all()
    assert (result.part_condemned.low[1] == 1).all()
    assert result.part_found["aloft"].mean[1] == 1
    assert result.remaining[1].tolist() == [0, 0, 0]
    assert result.boat_condemned.mean == pytest.approx(alone.boat_condemned.mean)


def test_remaining_life_leaves_ten_fifty_ninety_percent_condemned():
    remaining = forecast(one(age=10.0, since=0.0)).remaining[0]
    alive = np.array([0.9, 0.5, 0.1]) * WEIBULL_3_18.sf(10)
    assert remaining == pytest.approx(WEIBULL_3_18.isf(alive) - 10, abs=0.01)


def test_remaining_life_is_zero_where_the_chance_has_passed_already():
    # Seen good at 4, now 14: 1 - S(14)/S(4) is over 10 %, under 50 %.
    remaining = forecast(one(age=14.0, since=10.0)).remaining[0]
    assert remaining[0] == 0
    assert 0 < remaining[1] < remaining[2]


def test_remaining_life_beyond_sixty_years_is_not_given():
    remaining = forecast(one(age=1.0), {"wire": weibull(3, 300)}).remaining[0]
    assert remaining[0] == np.inf


def test_an_unknown_age_is_averaged_over_its_range():
    # Boat 12 years old, turnbuckle fitted some time since, never seen good: mean of F over 0..12.
    chance = forecast(one(age=6.0, since=6.0, spread=6.0)).part_condemned.mean[0, 0]
    mean = quad(WEIBULL_3_18.cdf, 0, 12)[0] / 12
    assert chance == pytest.approx(mean, rel=0.01)
    at_the_middle = WEIBULL_3_18.cdf(6)
    assert chance > 1.5 * at_the_middle


def test_an_unknown_age_is_shared_by_the_spots_of_a_wire():
    rows = wire(age=6.0, since=(1.0, 1.0, 6.0), spread=5.0)
    chance = forecast(rows).part_condemned.mean[0, 0]

    def condemned(age):
        seen = 2 * (WEIBULL_3_18.logsf(age) - WEIBULL_3_18.logsf(age - 1))
        return 1 - np.exp(seen + WEIBULL_3_18.logsf(age))

    assert chance == pytest.approx(quad(condemned, 1, 11)[0] / 10, rel=0.01)


def test_the_mean_is_over_the_draws_and_the_bounds_hold_ninety_percent_of_them():
    model = weibull(3, 18, covariance=np.diag([0.01, 0.02]))
    rows = one(part=1, age=10.0, since=1.0) + one(part=2, age=12.0, since=3.0)
    result = forecast(rows, {"wire": model}, draws=2000, horizons=(1.0,))
    scale = np.exp(np.random.default_rng(1).normal(np.log(18), 0.1, 200_000))
    shape = 3 * np.exp(np.random.default_rng(2).normal(0, 0.02**0.5, 200_000))
    ratio = np.exp((9 / scale) ** shape - (11 / scale) ** shape)
    other = np.exp((9 / scale) ** shape - (13 / scale) ** shape)
    chance = result.part_condemned
    assert chance.mean[0, 0] == pytest.approx((1 - ratio).mean(), rel=0.02)
    assert [chance.low[0, 0], chance.high[0, 0]] == pytest.approx(
        np.percentile(1 - ratio, (5, 95)), rel=0.06
    )
    # Parts share the draw: the boat's bounds are those of the joint chance.
    assert result.boat_condemned.high[0, 0] == pytest.approx(
        np.percentile(1 - ratio * other, 95), rel=0.06
    )


def test_the_bounds_are_numpys_percentiles():
    chance = np.random.default_rng(0).random((5, 37))
    low, high = np.percentile(chance, (5, 95), axis=1)
    mean = chance.mean(axis=1)
    np.testing.assert_allclose(summary(1 - chance), [mean, low, high])


def test_kinds_have_their_own_models_and_meet_in_the_boat():
    models = {"wire": weibull(3, 18), "chainplate": weibull(2, 40)}
    rows = one(part=1, age=10.0, since=2.0)
    rows += one(part=2, age=10.0, since=10.0, kind="chainplate", spot="chainplate")
    result = forecast(rows, models, horizons=(0.0,), inspections={"aloft": 0.0, "mast_down": 0.0})
    plate = 1 - np.exp(-((10 / 40) ** 2))
    wire_ = 1 - WEIBULL_3_18.sf(10) / WEIBULL_3_18.sf(8)
    assert result.part_condemned.mean[:, 0] == pytest.approx([wire_, plate])
    assert result.boat_condemned.mean[0, 0] == pytest.approx(1 - (1 - wire_) * (1 - plate))
    assert result.part_found["aloft"].mean[1] == 0  # a chainplate is seen when it is drawn
    assert result.part_found["mast_down"].mean[1] == pytest.approx(plate)


def test_each_boat_may_have_its_own_dates_and_none_planned_gives_none():
    rows = one(part=1, boat=1) + one(part=2, boat=2) + one(part=3, boat=3)
    when, season_end = np.array([0.5, 1.5, np.nan]), np.array([0.3, 0.6, 0.9])
    result = forecast(rows, horizons=(season_end,), inspections={"deck": when})
    found, condemned = result.part_found["deck"].mean, result.part_condemned.mean[:, 0]
    assert found[:2] == pytest.approx(1 - WEIBULL_3_18.sf([10.5, 11.5]) / WEIBULL_3_18.sf(10))
    assert np.isnan(found[2])
    assert np.isnan(result.boat_found["deck"].mean[2])
    assert condemned == pytest.approx(1 - WEIBULL_3_18.sf(10 + season_end) / WEIBULL_3_18.sf(10))


def test_shuffled_rows_and_small_chunks_change_nothing(monkeypatch):
    model = rule_of_thumb(kind="wire")
    rng = np.random.default_rng(5)
    rows = [
        row
        for boat in range(6)
        for part in range(4)
        for row in wire(part=10 * boat + part, boat=boat, age=rng.uniform(3, 14), spread=part % 2)
    ]
    columns = ("run", "upper", *model.names[3:-1])
    whole = forecast(rows, {"wire": model}, columns, draws=50, inspections={"deck": 0.5})
    monkeypatch.setattr(prospect_module, "_CELLS", 50 * 24)
    shuffled = [rows[i] for i in rng.permutation(len(rows))]
    pieces = forecast(shuffled, {"wire": model}, columns, draws=50, inspections={"deck": 0.5})
    np.testing.assert_allclose(pieces.part_condemned.mean, whole.part_condemned.mean, atol=1e-12)
    np.testing.assert_allclose(
        pieces.boat_found["deck"].high, whole.boat_found["deck"].high, atol=1e-12
    )
    np.testing.assert_allclose(pieces.remaining, whole.remaining, atol=0.03)


def test_an_empty_fleet_has_an_empty_outlook():
    result = forecast([], inspections={"deck": 1.0})
    assert result.part_condemned.mean.shape == (0, 3)
    assert result.boat_found["deck"].mean.shape == (0,)


def test_a_fleet_all_condemned_leaves_no_unseen_chance():
    result = forecast(one(part=1, condemned=True) + one(part=2, condemned=True))
    assert (result.part_condemned.mean == 1).all()
    assert (result.boat_condemned.mean == 0).all()
    assert result.boat_condemned_now.tolist() == [2]


def test_a_part_without_a_model_or_a_covariate_is_refused():
    with pytest.raises(ValueError, match="No life model for parts of kind chainplate"):
        forecast(one(kind="chainplate"))
    with pytest.raises(ValueError, match="needs severity"):
        forecast(one(), {"wire": weibull(3, 18, {"severity": -0.2})})


def test_drivers_are_factors_on_life_against_the_reference_boat():
    slopes = {"severity": -0.19, "rod": 0.15, "charter": -0.1}
    covariance = np.diag([0, 0.05**2, 0, 0, 0])
    model = weibull(3, 18, slopes, covariance)
    columns = ("run", "severity", "rod", "charter")
    found = drivers(model, columns, np.array([1.0, 2.0, 0.0, 1.0]), draws=4000)
    assert [d.column for d in found] == ["severity", "charter"]
    assert found[0].factor == pytest.approx(np.exp(-0.38), rel=0.01)
    assert found[0].low == pytest.approx(np.exp(-0.38 - 1.645 * 0.1), rel=0.02)
    assert found[1].low == found[1].high == pytest.approx(np.exp(-0.1))
