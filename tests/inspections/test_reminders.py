"""What is due on a boat, by when and why, and who is told."""

import datetime as dt

import pytest

from fleet.models import Stay
from inspections import delivery, recording
from inspections.due import due, months_after
from inspections.models import SKIPPED, InspectBy, Inspection, Reminder
from inspections.reminders import queue, step
from tests import builders
from tests.inspections.docks import day, inspect, part, rigged_boat, saw

pytestmark = pytest.mark.django_db
TODAY = builders.TODAY
NOW = dt.datetime(2026, 10, 14, 6, tzinfo=dt.UTC)


def days(number: int) -> dt.timedelta:
    return dt.timedelta(days=number)


def looked(boat, ago: int, level: str) -> Inspection:
    return inspect(boat, TODAY - days(ago), level=level)


def dates(boat, today: dt.date = TODAY) -> dict[str, dt.date]:
    return {each.kind: each.on for each in due(boat.fleet, today)}


def reason(boat, kind: str) -> str:
    return next(each.reason for each in due(boat.fleet, TODAY) if each.kind == kind)


def queued(boat, **which) -> list[Reminder]:
    return list(Reminder.objects.filter(boat=boat, state="queued", **which).order_by("pk"))


def test_a_deck_check_is_due_six_months_after_the_last_one():
    boat = rigged_boat()
    inspect(boat, dt.date(2026, 8, 31), level="deck")
    assert dates(boat)["deck"] == dt.date(2027, 2, 28)


def test_the_last_of_a_month_stays_the_last_of_a_shorter_month():
    assert months_after(dt.date(2024, 2, 29), 12) == dt.date(2025, 2, 28)
    assert months_after(dt.date(2026, 12, 31), 6) == dt.date(2027, 6, 30)
    assert months_after(dt.date(2026, 10, 31), 48) == dt.date(2030, 10, 31)
    assert months_after(dt.date(2026, 1, 15), 11) == dt.date(2026, 12, 15)


def test_a_mast_down_inspection_does_for_the_look_aloft_and_the_deck_check_too():
    boat = rigged_boat()
    looked(boat, 10, "mast_down")
    assert dates(boat) == {
        "deck": months_after(TODAY - days(10), 6),
        "aloft": months_after(TODAY - days(10), 12),
        "mast_down": months_after(TODAY - days(10), 48),
    }


def test_a_deck_check_does_not_put_off_the_look_aloft():
    boat = rigged_boat()
    looked(boat, 400, "aloft")
    looked(boat, 5, "deck")
    assert dates(boat)["aloft"] == months_after(TODAY - days(400), 12) < TODAY


def test_a_look_aloft_at_one_stay_does_not_put_off_the_boats_own():
    boat = rigged_boat()
    inspect(boat, day(0))
    inspect(boat, day(90), saw(part(boat), "not_seen", "whole", note=SKIPPED))
    assert dates(boat)["aloft"] == months_after(day(0), 12)


def test_a_boat_never_looked_at_is_due_from_the_day_it_joined():
    boat = rigged_boat()
    assert dates(boat)["mast_down"] == dt.date(2018, 4, 1)
    assert "None on record since the boat joined" in reason(boat, "mast_down")


def test_a_forestay_inside_its_foil_is_a_reason_for_the_mast_down_interval():
    boat = rigged_boat()
    stay = builders.wire(boat, stay="forestay", side="")
    assert "furler foil" not in reason(boat, "mast_down")
    Stay.objects.filter(pk=stay.stay_id).update(in_foil=True)
    assert "furler foil" in reason(boat, "mast_down")


def test_the_risk_date_counts_when_it_is_earlier_than_the_interval():
    boat = rigged_boat()
    look = looked(boat, 10, "mast_down")
    risk = {"date": TODAY + days(40), "level": "aloft", "as_of": TODAY}
    InspectBy.objects.create(boat=boat, rests_on=look, reason="It reaches 1 in 7.", **risk)
    assert dates(boat)["aloft"] == TODAY + days(40)
    assert reason(boat, "aloft") == "It reaches 1 in 7."


def test_the_risk_date_is_void_once_somebody_has_looked_again():
    boat = rigged_boat()
    look = looked(boat, 10, "mast_down")
    risk = {"date": TODAY + days(40), "level": "aloft", "as_of": TODAY}
    InspectBy.objects.create(boat=boat, rests_on=look, reason="It reaches 1 in 7.", **risk)
    looked(boat, 1, "deck")
    assert dates(boat)["aloft"] == months_after(TODAY - days(10), 12)


def test_a_late_risk_date_does_not_put_off_the_interval():
    boat = rigged_boat()
    look = looked(boat, 10, "mast_down")
    risk = {"date": TODAY + days(4000), "level": "mast_down", "as_of": TODAY}
    InspectBy.objects.create(boat=boat, rests_on=look, reason="Late.", **risk)
    assert dates(boat)["mast_down"] == months_after(TODAY - days(10), 48)


def test_a_wire_to_watch_is_due_by_the_day_its_verdict_names():
    boat = rigged_boat()
    inspect(boat, TODAY - days(20), saw(part(boat), "rust_at_mouth", "upper", cleaned=True))
    looked(boat, 5, "deck")
    assert dates(boat)["recheck"] == TODAY + days(8)
    assert "Cap shroud, port: watch" in reason(boat, "recheck")


def test_a_look_at_that_spot_ends_the_watch():
    boat = rigged_boat()
    inspect(boat, TODAY - days(20), saw(part(boat), "rust_at_mouth", "upper", cleaned=True))
    looked(boat, 5, "aloft")
    assert "recheck" not in dates(boat)


def test_renewing_the_wire_ends_the_watch():
    boat = rigged_boat()
    inspect(boat, TODAY - days(20), saw(part(boat), "rust_at_mouth", cleaned=True))
    recording.record_renewal(part(boat), fitted_on=TODAY - days(9), fitter="R", reason="age_rule")
    assert "recheck" not in dates(boat)


def test_a_held_boat_is_due_since_the_day_it_is_held():
    boat = rigged_boat()
    inspect(boat, TODAY - days(3), saw(part(boat), "split_pin_missing"))
    assert dates(boat)["held"] == TODAY - days(3)
    assert "split pin" in reason(boat, "held")


def test_no_boat_that_left_is_reminded_of():
    boat = rigged_boat()
    boat.left = TODAY - days(1)
    boat.save()
    assert due(boat.fleet, TODAY) == []


STEPS = {61: None, 60: 60, 31: 60, 30: 30, 7: 7, 1: 7, 0: 0, -1: 0, -6: 0, -7: -7, -20: -14}


@pytest.mark.parametrize(("left", "reached"), STEPS.items())
def test_people_are_told_at_60_30_and_7_days_on_the_day_and_weekly_when_late(left, reached):
    assert step(TODAY + days(left), TODAY) == reached


def boat_due_in(number: int, **fleet_rules):
    """Return a boat whose deck check alone is due in so many days, and its owner's address."""
    boat = rigged_boat()
    boat.owner_name, boat.owner_email = "Ida Holm", "ida@example.org"
    boat.save()
    looked(boat, 10, "mast_down")
    InspectBy.objects.create(
        boat=boat, date=TODAY + days(number), level="deck", reason="Soon.", as_of=TODAY,
        rests_on=Inspection.objects.get(),
    )  # fmt: skip
    return boat


def test_an_owner_who_is_also_the_bosun_is_told_once():
    boat = boat_due_in(7)
    builders.person("ida", boat.fleet, "bosun")
    queue(boat.fleet, TODAY)
    assert len(queued(boat)) == 1


def test_queueing_again_on_the_same_day_queues_nothing():
    boat = boat_due_in(7)
    first, again = queue(boat.fleet, TODAY), queue(boat.fleet, TODAY)
    assert (first.new, again.new, again.withdrawn) == (1, 0, 0)


def test_a_fleet_just_imported_hears_of_a_late_boat_once_and_not_of_every_week():
    boat = boat_due_in(-100)
    queue(boat.fleet, TODAY)
    [row] = queued(boat)
    assert (row.days_before, row.send_on) == (-98, TODAY - days(2))


def test_a_later_step_takes_the_place_of_one_that_has_not_gone_out():
    boat = boat_due_in(30)
    queue(boat.fleet, TODAY)
    queue(boat.fleet, TODAY + days(23))
    assert [row.days_before for row in queued(boat)] == [7]


def test_an_inspection_done_in_time_withdraws_the_reminder():
    boat = boat_due_in(7)
    queue(boat.fleet, TODAY)
    looked(boat, 0, "deck")
    result = queue(boat.fleet, TODAY)
    assert (result.withdrawn, queued(boat)) == (1, [])


def test_a_boat_that_leaves_withdraws_its_reminders():
    boat = boat_due_in(7)
    queue(boat.fleet, TODAY)
    boat.left = TODAY
    boat.save()
    queue(boat.fleet, TODAY)
    assert queued(boat) == []


def risk_date_moves_to(boat, number: int, today: dt.date) -> list[int]:
    """Refresh the forecast, queue and send on that day; return the steps that went out."""
    InspectBy.objects.filter(boat=boat).update(date=today + days(number))
    queue(boat.fleet, today)
    rows = Reminder.objects.filter(state="queued").order_by("pk")
    steps = [row.days_before for row in rows]
    sent_at = dt.datetime.combine(today, dt.time(9), tzinfo=dt.UTC)
    rows.update(state="sent", sent_at=sent_at)
    return steps


def test_a_risk_date_that_moves_from_day_to_day_is_no_reason_to_write_daily():
    boat = boat_due_in(0)
    steps = [risk_date_moves_to(boat, 0, TODAY + days(number)) for number in range(15)]
    assert [number for number, sent in enumerate(steps) if sent] == [0, 7, 14]


def test_a_risk_date_that_comes_nearer_is_said_at_once():
    boat = boat_due_in(30)
    assert risk_date_moves_to(boat, 30, TODAY) == [30]
    assert risk_date_moves_to(boat, 30, TODAY + days(1)) == []
    assert risk_date_moves_to(boat, 5, TODAY + days(2)) == [7]


def test_a_reminder_that_was_sent_is_never_withdrawn():
    boat = boat_due_in(7)
    queue(boat.fleet, TODAY)
    Reminder.objects.update(state="sent")
    looked(boat, 0, "deck")
    queue(boat.fleet, TODAY)
    assert Reminder.objects.get().state == "sent"


def test_a_reminder_whose_answer_was_lost_is_tried_again_as_the_same_message():
    boat = boat_due_in(7)
    queue(boat.fleet, TODAY)
    Reminder.objects.update(state="failed", failure="no answer", message_id="<x@y>")
    queue(boat.fleet, TODAY)
    [row] = Reminder.objects.all()
    assert (row.state, row.message_id) == ("failed", "<x@y>")
    assert delivery.claim(boat.fleet, row.to_email, TODAY, NOW)[0].message_id == "<x@y>"


def test_one_that_failed_until_a_later_step_came_is_missed_and_not_hidden():
    boat = boat_due_in(30)
    queue(boat.fleet, TODAY)
    Reminder.objects.update(state="failed", failure="451 try later")
    assert queue(boat.fleet, TODAY + days(23)).missed == 1
    old = Reminder.objects.get(days_before=30)
    assert old.state == "missed"
    assert old.failure.startswith("A later step took its place before it could be sent. 451")


def test_one_that_failed_and_was_done_meanwhile_is_withdrawn():
    boat = boat_due_in(7)
    queue(boat.fleet, TODAY)
    Reminder.objects.update(state="failed")
    looked(boat, 0, "deck")
    assert (queue(boat.fleet, TODAY).withdrawn, Reminder.objects.get().state) == (1, "withdrawn")


def test_forty_more_boats_cost_no_more_queries(django_assert_max_num_queries):
    fleet = builders.empty_fleet("harbour")
    for number in range(40):
        boat = builders.boat(fleet, f"Tern {number}")
        Inspection.objects.create(
            boat=boat, on=day(number), level="aloft", person="R", competence="rigger"
        )
    builders.person("mona", fleet)
    with django_assert_max_num_queries(32):
        assert queue(fleet, TODAY).new == 80
