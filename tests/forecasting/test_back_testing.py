"""Past years forecast from the record as it was: nothing recorded later gets in."""

import datetime as dt
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from django.core.management import call_command

from fleet.models import Installation
from forecasting import back_test, life_data
from forecasting.models import BackTest
from forecasting.steps import back_testing
from forecasting.steps.verdict_of_past import result
from forecasting.survival import Prior, rule_of_thumb

from .history import ALL_GOOD, History

# Statistics of many fits: no database makes a difference to them, so they run on one.
pytestmark = [pytest.mark.django_db, pytest.mark.only_on("sqlite")]
TODAY = dt.date(2025, 11, 1)
GONE = {"lower": "condemned"}


@pytest.fixture(autouse=True)
def two_years(monkeypatch):
    monkeypatch.setattr(back_testing, "YEARS", 2)


@pytest.fixture
def history() -> History:
    """Eight boats, a wire of 2010 on each, looked at every year; two condemned in 2022."""
    history = History(age_rule_years=12)
    for k in range(8):
        wire = history.part(history.boat(f"Boat {k}", complete_since="2009-01-01"), "2010-01-01")
        for year in range(2018, 2026):
            gone = k < 2 and year == 2022
            history.look(f"{year}-05-01", (wire, GONE if gone else ALL_GOOD))
            if gone:
                break
    return history


def years(history: History, today: dt.date = TODAY) -> list[back_testing.Year]:
    return back_testing.years_of(history.fleet, today, life_data.read(history.fleet, today))["wire"]


def more_is_condemned(history: History) -> None:
    """Four of the six wires left are condemned in October 2025, after every look there was."""
    for wire in Installation.objects.of(history.fleet).order_by("pk")[2:6]:
        history.look("2025-10-01", (wire, GONE))


def forecasts(history: History) -> dict[int, np.ndarray]:
    """The chances given to the looks of each year that end before October 2025."""
    found = {}
    for each in years(history):
        early = (each.rows["day"] < "2025-09-01").to_numpy()
        found[each.year] = each.predicted.chance[early]
    return found


def leaking(read: Callable) -> Callable:
    """Return a reading that forgets its day: the fault this file is here to find."""
    return lambda fleet, as_of: read(fleet, TODAY)


def test_what_is_recorded_later_changes_no_forecast_and_a_planted_leak_is_found(
    history, monkeypatch
):
    before = forecasts(history)
    more_is_condemned(history)
    after = forecasts(history)
    assert set(before) == set(after) == {2024, 2025}
    for year, chance in before.items():
        np.testing.assert_array_equal(chance, after[year])
    monkeypatch.setattr(back_testing.life_data, "read", leaking(life_data.read))
    leaked = forecasts(history)
    assert any(np.abs(before[year] - leaked[year]).max() > 1e-3 for year in before)


def test_each_year_is_forecast_from_the_deaths_known_the_evening_before(history):
    more_is_condemned(history)
    assert [(each.year, each.known) for each in years(history)] == [(2024, 2.0), (2025, 2.0)]
    later = years(history, dt.date(2026, 6, 1))
    assert [(each.year, each.known) for each in later] == [(2025, 2.0)]


def test_years_before_the_first_look_are_not_tested(history):
    assert years(history, dt.date(2018, 12, 1)) == []
    assert [each.year for each in years(history, dt.date(2019, 12, 1))] == [2019]


def test_the_same_looks_are_put_to_every_rival(history):
    for each in years(history):
        assert set(each.rivals) == {"age_rule", "age_alone", "common_practice", "constant"}
        for chance in each.rivals.values():
            assert chance.shape == each.predicted.chance.shape
            assert ((chance > 0) & (chance < 1)).all()


def test_a_planted_bad_model_expects_far_too_many(history, monkeypatch):
    """Lives a third as long as the common practice it should use."""
    said = result(years(history))["total"]["expected"]
    short = rule_of_thumb(Prior(b10=3.0), "wire")
    short = replace(short, prior=None, covariance=0 * short.covariance)  # and sure of it
    monkeypatch.setattr(back_testing, "model_then", lambda *arguments: short)
    bad = result(years(history))["total"]
    assert bad["expected"] > 3 * said
    assert bad["z"] < -1  # six boats cannot say more than -2.2, were they all alike


def test_it_is_saved_and_made_again_only_when_something_changed(history):
    first = back_test.run(history.fleet, TODAY)
    assert first.changed
    assert {row.kind for row in BackTest.objects.of(history.fleet)} == {
        "wire",
        "turnbuckle",
        "chainplate",
    }
    wires = BackTest.objects.of(history.fleet).get(kind="wire")
    assert [year["year"] for year in wires.result["years"]] == [2024, 2025]
    assert BackTest.objects.of(history.fleet).get(kind="chainplate").result == {}
    assert not back_test.run(history.fleet, TODAY).changed
    more_is_condemned(history)
    assert back_test.run(history.fleet, TODAY).changed
    assert BackTest.objects.of(history.fleet).count() == 3


def test_the_command_says_what_came_out(history, capsys):
    history.fleet.as_of = TODAY
    history.fleet.save()
    call_command("back_test", fleet=history.fleet.slug)
    said = capsys.readouterr().out
    assert "Wires: Over the last two years it expected" in said
    assert "Chainplates: nothing to test yet" in said
