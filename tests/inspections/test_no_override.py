"""A correction of the record releases no boat."""

import datetime as dt

import pytest
from django.core.exceptions import ValidationError
from django.db import transaction

from inspections import recording
from inspections.aftermath import happenings, no_override
from inspections.aftermath.happenings import Event
from tests import builders
from tests.inspections.docks import day, held, inspect, part, rigged_boat, saw
from tests.inspections.part_pages import correct, now

pytestmark = pytest.mark.django_db


def strike(boat, look, **how) -> None:
    with transaction.atomic(), no_override.kept(boat, **how):
        look.delete()
        recording.judge([boat.pk])


def test_striking_the_look_that_condemned_a_stay_does_not_release_its_boat():
    boat = rigged_boat()
    look = inspect(boat, day(0), saw(part(boat), "broken_wire", measure=1))
    with pytest.raises(ValidationError, match="would release Tern"):
        strike(boat, look)
    assert held(boat) == ["replace", "pair"]


def test_striking_an_event_does_not_release_its_boat():
    boat = rigged_boat()
    look = happenings.record_event(boat.fleet, boat, Event("lightning", day(0), "hit", "Skipper"))
    with pytest.raises(ValidationError, match="would release"):
        strike(boat, look)
    assert held(boat) == ["event"]


def test_a_slip_of_ones_own_is_put_right():
    boat = rigged_boat()
    look = inspect(boat, day(0), saw(part(boat), "broken_wire", measure=1))
    strike(boat, look, slip=True)
    assert held(boat) == []


def test_striking_a_look_that_holds_nothing_is_no_release():
    boat = rigged_boat()
    inspect(boat, day(0), saw(part(boat), "broken_wire", measure=1))
    strike(boat, inspect(boat, day(5), saw(part(boat, "starboard"), "split_pin_missing")))
    assert "replace" in held(boat)


def test_only_who_recorded_it_and_only_within_a_day_puts_a_slip_right(db):
    fleet = builders.empty_fleet("harbour")
    bo, mona = builders.person("bo", fleet), builders.person("mona", fleet)
    at = dt.datetime(2026, 4, 1, 9, tzinfo=dt.UTC)
    later = at + dt.timedelta(hours=25)
    assert no_override.own_slip(bo.pk, at, bo, at)
    assert not no_override.own_slip(bo.pk, at, mona, at)
    assert not no_override.own_slip(bo.pk, at, bo, later)
    assert not no_override.own_slip(None, at, None, at)


def test_a_wire_corrected_to_be_thicker_does_not_make_a_deep_notch_a_small_one(manager, boat):
    """A notch of 0.17 mm: a tenth of the single wire is 0.16 mm of 8 mm wire, 0.2 mm of 10 mm."""
    shroud = part(boat)
    inspect(boat, day(0), saw(shroud, "notch", "run", measure=0.17))
    before = held(boat)
    assert "replace" in before
    page = correct(manager, shroud, diameter_mm="10").content.decode()
    assert "This correction would release" in page
    assert 'value="10"' in page, "what was typed is not lost"
    assert held(boat) == before
    assert now(shroud).diameter_mm == 8


def test_a_stay_that_let_go_did_not_come_off_for_its_age_to_release_the_boat(manager, boat):
    shroud = part(boat)
    happenings.record_failure(shroud, day(3), "lower", "parted", "Skipper")
    said = {"removal_reason": "age_rule", "removal_spot": ""}
    page = correct(manager, shroud, row="gone", **said).content.decode()
    assert "This correction would release" in page
    assert now(shroud).removal_reason == "failed_in_service"
    assert "replace" in held(boat)
