"""The truth is what it says it is, and the lives drawn from it follow it."""

import math
import statistics
from datetime import date
from random import Random

import pytest

from forecasting.demo_fleet.boats import Boat
from forecasting.demo_fleet.designs import CHARTER
from forecasting.demo_fleet.making import make
from forecasting.demo_fleet.plans import CHARTER_PLAN
from forecasting.demo_fleet.truth import DAYS, SPOTS, TRUTH
from forecasting.demo_fleet.wear import Wear


def test_one_wire_in_ten_is_condemnable_by_nine_years_on_the_reference_boat():
    """Weibull: the spots' survivals multiply to exp(-(t/eta)^k), k = 3, B10 = 9 (closed form)."""
    spots = [TRUTH.scale("wire", spot) for spot in SPOTS["wire"]]
    whole = math.prod(math.exp(-((9 / scale) ** TRUTH.shape)) for scale in spots)
    assert whole == pytest.approx(0.9, abs=1e-12)


def test_the_reference_boat_has_no_factor_and_salt_shortens_life():
    def years(ground: str, miles: float = 3000, down: bool = False, charter: bool = False) -> float:
        return TRUTH.boat_years(ground, miles, unstepped=down, charter=charter)

    assert years("C4") == 0
    assert years("CX") == pytest.approx(-0.38)
    assert years("C4", miles=6000, down=True, charter=True) == pytest.approx(-0.10)
    assert years("C4", miles=0) == years("C4", miles=200)


def test_a_clock_goes_on_at_each_years_rate():
    wear = Wear({2020: 0.0, 2021: math.log(2.0)})
    start = _new_year(2020)
    assert wear.at(start + 366) - wear.at(start) == pytest.approx(366 / DAYS)
    assert wear.at(_new_year(2023)) - wear.at(_new_year(2022)) == pytest.approx(0.5 * 365 / DAYS)
    assert wear.reach(start + 100, 1.4) == pytest.approx(_day_of(wear, start + 100, 1.4), abs=0.01)


def test_the_share_of_wires_gone_by_nine_years_is_a_tenth():
    """Binomial: 4,000 wires, standard error of the share .0047; three of them either way."""
    boat, rng = _reference_boat(), Random("wires")
    stay = next(stay for stay in CHARTER[0].stays() if stay.name == "backstay")
    wires = [make(boat, stay, "wire", boat.built, TRUTH, rng, "") for _ in range(4000)]
    gone = sum(bool(wire.gone(boat.built + 9 * DAYS)) for wire in wires)
    assert abs(gone / 4000 - 0.1) < 3 * math.sqrt(0.1 * 0.9 / 4000)


def test_a_condemnable_wire_lets_go_within_thirty_years_in_the_mean():
    """Exponential from the day a spot goes; the spots race, so the mean of the first is less."""
    boat, rng = _reference_boat(), Random("breaks")
    stay = CHARTER[0].stays()[1]
    wires = [make(boat, stay, "wire", boat.built, TRUTH, rng, "") for _ in range(3000)]
    hit = sum(wire.breaks[0] < min(wire.goes.values()) + DAYS for wire in wires)
    expected = 1 - math.exp(-1 / 30)  # in the first year only the first spot to go counts, nearly
    assert abs(hit / 3000 - expected) < 3 * math.sqrt(expected / 3000) + 0.003


def test_a_defect_begins_a_year_before_in_the_mean_and_never_before_fitting():
    """Exponential, mean and deviation of a year; those cut off at fitting are under 1 %."""
    boat, rng = _reference_boat(), Random("begins")
    stay = CHARTER[0].stays()[1]
    wires = [make(boat, stay, "wire", boat.built, TRUTH, rng, "") for _ in range(3000)]
    delays = [(w.goes[s] - w.begins[s]) / DAYS for w in wires for s in w.goes]
    assert all(w.fitted <= w.begins[s] <= w.goes[s] for w in wires for s in w.goes)
    assert statistics.mean(delays) == pytest.approx(TRUTH.delay, abs=3 / math.sqrt(9000))
    assert statistics.stdev(delays) == pytest.approx(TRUTH.delay, rel=0.06)


def _reference_boat() -> Boat:
    base = CHARTER_PLAN.bases[0]
    boat = Boat(
        "Reference", base, CHARTER[0], _new_year(2010), _new_year(2010), _new_year(2010), None,
        None, True, True, "private", False, "owner", "owner", "", "", None,
    )  # fmt: skip
    boat.wear = Wear({2010: 0.0})
    return boat


def _new_year(year: int) -> int:
    return date(year, 1, 1).toordinal()


def _day_of(wear: Wear, since: int, amount: float) -> float:
    """The same by stepping through the days."""
    day = float(since)
    while wear.at(day) - wear.at(since) < amount:
        day += 0.01
    return day
