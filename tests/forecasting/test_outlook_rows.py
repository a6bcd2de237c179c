"""By when to look, why to renew, and what drives a life, in words a bosun would use."""

import datetime as dt
from dataclasses import replace

import pytest

from fleet.models import Installation
from forecasting import refresh
from forecasting.models import BoatOutlook, PartOutlook
from forecasting.planning.drivers import Driver
from forecasting.steps import wording
from forecasting.survival import rule_of_thumb
from inspections.models import InspectBy

from .history import ALL_GOOD, AS_OF, History

STAYS = ("forestay", "backstay", "inner_forestay", "running_backstay")


def rigged(history: History, fitted: str, seen: str | None, **fields):
    boat = history.boat(complete_since="2005-01-01", **fields)
    wires = [history.part(boat, fitted, stay=stay) for stay in STAYS]
    if seen:
        history.look(seen, *((wire, ALL_GOOD) for wire in wires), level="mast_down")
    return boat


def inspect_by(history: History, as_of: dt.date = AS_OF) -> InspectBy:
    history.fleet.refresh_from_db()
    refresh.run(history.fleet, as_of)
    return InspectBy.objects.of(history.fleet).get()


@pytest.mark.django_db
def test_an_old_rig_long_unseen_is_to_be_looked_at_today_with_the_reason():
    history = History()
    rigged(history, "2008-01-01", "2016-05-01")
    asked = inspect_by(history)
    assert asked.date == AS_OF
    assert "past the fleet's limit of 15%" in asked.reason
    assert asked.rests_on.on == dt.date(2016, 5, 1)


@pytest.mark.django_db
def test_a_new_rig_is_looked_at_by_the_fleets_rule():
    history = History(aloft_months=12)
    rigged(history, "2026-03-01", "2026-03-01")
    asked = inspect_by(history)
    assert (asked.date, asked.level) == (dt.date(2027, 3, 1), "aloft")
    assert "every 12 months, due 1 Mar 2027" in asked.reason


@pytest.mark.django_db
def test_a_lower_limit_asks_sooner():
    dates = []
    for slug, limit in (("strict", 0.02), ("usual", 0.15)):
        history = History(slug, risk_limit=limit, aloft_months=120, mast_down_months=120)
        rigged(history, "2018-03-01", "2026-03-01")
        dates.append(inspect_by(history, dt.date(2026, 3, 2)).date)
    assert dates[0] < dates[1]


@pytest.mark.django_db
def test_hidden_tops_ask_for_the_mast_down():
    history = History(mast_down_months=120, aloft_months=120)
    boat = history.boat(complete_since="2005-01-01")
    wires = [history.part(boat, "2008-01-01", stay=stay, in_foil=True) for stay in STAYS]
    history.look("2026-10-25", *((wire, {"lower": "good"}) for wire in wires))
    assert inspect_by(history).level == "mast_down"


@pytest.mark.django_db
def test_a_never_inspected_boat_rests_on_no_inspection():
    history = History()
    rigged(history, "2008-01-01", None)
    assert inspect_by(history).rests_on is None


@pytest.mark.django_db
def test_a_wire_of_unknown_age_is_to_be_renewed_as_if_as_old_as_the_boat():
    history = History(age_rule_years=10)
    history.part(history.boat(build_year=2012), None, certainty="unknown")
    refresh.run(history.fleet, AS_OF)
    outlook = PartOutlook.objects.of(history.fleet).get()
    assert outlook.renew_by <= dt.date(2022, 1, 2)
    assert "as old as it can be" in outlook.renew_reason


@pytest.mark.django_db
def test_the_fleets_age_rule_is_for_wires_alone():
    history = History(age_rule_years=4)
    boat = history.boat()
    for kind in ("wire", "turnbuckle"):
        history.part(boat, "2024-01-01", kind=kind)
    refresh.run(history.fleet, AS_OF)
    why = dict(
        PartOutlook.objects.of(history.fleet).values_list("installation__kind", "renew_reason")
    )
    assert why["wire"] == "the fleet's rule: 4 years"
    assert why["turnbuckle"] == ""  # and a rule of thumb renews nothing for its cost


@pytest.mark.django_db
def test_an_insurer_who_asks_sooner_than_the_fleet_is_named():
    history = History(age_rule_years=12, insurer_age_years=4)
    history.part(history.boat(), "2024-01-01")
    refresh.run(history.fleet, AS_OF)
    outlook = PartOutlook.objects.of(history.fleet).get()
    assert outlook.renew_by == dt.date(2028, 1, 1)
    assert outlook.renew_reason == "the insurer's rule: 4 years"


@pytest.mark.django_db
def test_a_part_has_its_chances_by_date_and_by_look_and_the_years_it_has_left():
    history = History()
    rigged(history, "2014-01-01", "2025-05-01")
    refresh.run(history.fleet, AS_OF)
    part = PartOutlook.objects.of(history.fleet).first()
    later = part.later
    assert part.chance_now < part.chance_1y < later["2y"] < later["3y"] < part.chance_5y
    assert set(part.found) == {"deck", "aloft", "mast_down"}
    tenth, half, most = part.remaining
    assert tenth <= half <= (most or 60)
    boat = BoatOutlook.objects.of(history.fleet).get()
    assert [row[0] for row in boat.chances][:1] == ["now"]
    chances = [row[2] for row in boat.chances]
    assert chances == sorted(chances)
    assert {row[0] for row in boat.found} == {"deck", "aloft", "mast_down"}
    assert boat.after_level["mast_down"] <= boat.after_level["aloft"] <= boat.chance_now


@pytest.mark.django_db
def test_the_next_look_is_the_deepest_of_those_due_that_day():
    history = History()
    rigged(history, "2020-01-01", None, joined=dt.date(2020, 1, 1))
    refresh.run(history.fleet, AS_OF)
    outlook = PartOutlook.objects.of(history.fleet).first()
    assert (outlook.next_level, outlook.next_on) == ("mast_down", AS_OF)
    assert outlook.chance_next == pytest.approx(outlook.chance_now)


@pytest.mark.django_db
def test_drivers_name_the_ground_and_the_use():
    history = History(corrosivity="CX")
    history.part(history.boat(service="charter"), "2018-01-01", construction="rod")
    refresh.run(history.fleet, AS_OF)
    drivers = PartOutlook.objects.get(installation=Installation.objects.get()).drivers
    assert drivers[0].startswith("kept up all winter on a tropical coast: lives 0.6")
    assert any(said.startswith("rod, not 1x19: lives 1.2 times as long") for said in drivers)
    assert any(said.startswith("in charter: lives 0.9") for said in drivers)


def test_a_driver_is_put_as_a_factor_with_its_bounds_in_order():
    units = {"severity": Driver("severity", 0.84, 0.77, 0.92), "rod": Driver("rod", 1.1, 1.1, 1.1)}
    said = wording.driver_words({"severity": -2.0, "rod": 0.0}, units)
    assert said == ["kept up all winter on an inland lake: lives 1.4 times as long, 1.2 to 1.7"]
    assert wording.driver_words({"rod": 1.0}, units) == [
        "rod, not 1x19: lives 1.1 times as long, by common practice"
    ]


def test_hardly_any_effect_is_not_worth_a_line():
    assert (
        wording.driver_words({"charter": 1.0}, {"charter": Driver("charter", 0.99, 0.8, 1.2)}) == []
    )


def test_a_boat_is_set_beside_others_in_words():
    assert wording.boat_words([0.9, 0.7, 1.1]) == (
        "this boat's wires last about 0.9 times as long as others of their kind, 0.7 to 1.1"
    )
    assert "about as long as others" in wording.boat_words([1.01, 0.8, 1.2])


def test_how_much_boats_differ_is_said_where_they_do():
    alike = replace(rule_of_thumb(), boat_spread=0.0)
    assert wording.spread_words(alike) == ""
    differ = replace(alike, boat_spread=0.18, boat_spread_band=(0.05, 0.3))
    assert wording.spread_words(differ).endswith("x/÷ 1.20 from boat to boat (1.05 to 1.35)")
