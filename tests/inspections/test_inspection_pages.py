"""The pages of inspections and reminders, as a bosun, a manager and an accountant meet them."""

import datetime as dt

import pytest

from fleet.models import Installation, Stay
from inspections import recording, rounds
from inspections.models import Finding, Hold, Inspection, PartVerdict, Reminder
from inspections.reminders import queue
from tests import builders
from tests.inspections.docks import address, day, inspect, part, read, rigged_boat, saw, signed_in

pytestmark = pytest.mark.django_db
NOW = dt.datetime(2026, 10, 14, 6, 0, tzinfo=dt.UTC)


# -- one inspection, and what ends a hold


def test_a_crew_check_says_that_it_is_no_survey_and_a_riggers_does_not():
    boat = rigged_boat()
    crew = inspect(boat, day(0), competence="crew", level="deck")
    rigger = inspect(boat, day(1))
    client = signed_in(boat, "accountant")
    words = "A visual check in place by a lay person, not a survey"
    assert words in read(client, address(boat, "inspection", crew.pk))
    assert words not in read(client, address(boat, "inspection", rigger.pk))


def test_the_worst_part_comes_first():
    boat = rigged_boat()
    look = inspect(
        boat,
        day(0),
        saw(part(boat, "starboard"), "broken_wire", measure=1),
        saw(part(boat), "tea_stain", "run", cleaned=True),
    )
    text = read(signed_in(boat), address(boat, "inspection", look.pk))
    assert text.index("Cap shroud, starboard <small>") < text.index("Cap shroud, port <small>")
    assert "2 parts: 1 to replace, not to be loaded." in text


def test_a_pin_made_good_is_recorded_with_its_hand_and_day():
    boat = rigged_boat()
    look = inspect(boat, day(0), saw(part(boat), "split_pin_missing"))
    finding = look.findings.get()
    client = signed_in(boat)
    client.post(address(boat, "make_good", finding.pk), {"on": "2026-04-02", "by": "Bo Sun"})
    finding.refresh_from_db()
    assert (finding.done_on, finding.done_by) == (day(1), "Bo Sun")
    assert not Hold.objects.standing().exists()


def test_parts_nobody_meant_to_look_at_are_named_in_a_line_and_fill_no_table():
    boat = rigged_boat()
    out = saw(part(boat, "starboard"), "not_seen", "whole", note="not looked at")
    look = inspect(boat, day(0), saw(part(boat), "rust_at_mouth", cleaned=True), out)
    text = read(signed_in(boat), address(boat, "inspection", look.pk))
    assert "2 parts: 1 to watch; 1 not looked at." in text
    assert "<p>Cap shroud, starboard.</p>" in text
    assert "Found beside the parts" not in text


def test_a_pin_made_good_before_it_was_found_is_refused_on_the_page():
    boat = rigged_boat()
    look = inspect(boat, day(0), saw(part(boat), "split_pin_missing"))
    url = address(boat, "make_good", look.findings.get().pk)
    response = signed_in(boat).post(url, {"on": "2026-03-01", "by": "Bo Sun"})
    assert "It was found on 1 Apr 2026" in response.content.decode()
    assert Hold.objects.standing().exists()


def test_a_renewal_recorded_on_the_page_releases_the_boat():
    boat = rigged_boat()
    backstay = builders.wire(boat, stay="backstay", side="")
    inspect(boat, day(0), saw(backstay, "broken_wire", measure=1))
    client, url = signed_in(boat), address(boat, "renew", backstay.pk)
    assert "Why the old one came off" not in read(client, url)
    data = {"fitted_on": "2026-04-20", "fitter": "Loft Yard", "invoice": "INV 7", "batch": "",
            "construction": "1x19", "alloy": "", "diameter_mm": "10", "length_mm": "14000",
            "lower_terminal": "mechanical", "upper_terminal": "t_ball", "pin_mm": ""}  # fmt: skip
    response = client.post(url, data)
    assert response.status_code == 302
    new = part(boat, "", stay="backstay")
    assert (new.diameter_mm, new.lower_terminal, new.invoice) == (10, "mechanical", "INV 7")
    assert not Hold.objects.standing().exists()


def test_a_sound_part_is_not_renewed_without_saying_why():
    boat = rigged_boat()
    url = address(boat, "renew", part(boat).pk)
    client = signed_in(boat)
    assert "Why the old one came off" in read(client, url)
    client.post(url, {"fitted_on": "2026-04-20", "fitter": "Loft Yard"})
    assert Installation.objects.count() == 2


# -- lists


def test_the_boats_not_released_are_named_with_what_ends_it():
    boat = rigged_boat()
    inspect(boat, day(0), saw(part(boat), "broken_wire", measure=1))
    text = read(signed_in(boat), address(boat, "inspections"))
    assert "1 boat not released" in text
    assert address(boat, "renew", part(boat).pk) in text
    assert "An inspection that sees it, on a later day" in text


def test_a_boat_that_left_is_not_on_the_list_of_those_not_released():
    boat = rigged_boat()
    inspect(boat, day(0), saw(part(boat), "broken_wire", measure=1))
    boat.left = day(5)
    boat.save()
    assert "Every boat is released" in read(signed_in(boat), address(boat, "inspections"))


def test_the_list_is_narrowed_to_the_inspections_that_condemned_something():
    boat = rigged_boat()
    bad = inspect(boat, day(0), saw(part(boat), "broken_wire", measure=1))
    good = inspect(boat, day(-30))
    text = read(signed_in(boat), f"{address(boat, 'inspections')}?verdict=replace")
    assert address(boat, "inspection", bad.pk) in text
    assert address(boat, "inspection", good.pk) not in text


EMPTY = {"inspections": "No inspection is on record yet", "reminders": "No reminder answers"}


@pytest.mark.parametrize(("name", "words"), EMPTY.items())
def test_an_empty_list_says_what_to_do(name, words):
    boat = rigged_boat()
    assert words in read(signed_in(boat), address(boat, name))


def test_late_boats_head_the_reminders_and_the_mail_is_read_as_it_went_out(settings, tmp_path):
    settings.EMAIL_FOLDER = tmp_path
    settings.EMAIL_BACKEND = "inspections.mail_folder.MailFolder"
    boat = rigged_boat()
    client = signed_in(boat)
    rounds.queue_and_send(boat.fleet, NOW)
    text = read(client, address(boat, "reminders"))
    assert "1 boat late for a look" in text
    row = Reminder.objects.filter(kind="aloft").get()
    page = read(client, address(boat, "reminder", row.pk))
    assert "Harbour: 3 things to do, 3 late" in page
    assert "not promise a life" in page


def test_a_reminder_that_waits_says_when_it_goes_out():
    rows = builders.one_of_each("harbour")
    client = signed_in(rows.boat)
    page = read(client, address(rows.boat, "reminder", rows.reminder.pk))
    assert "goes to Owner with the next message from 14 Oct 2026 on" in page


# -- roles and cost


WRITES = ("inspect", "make_good", "renew")


@pytest.mark.parametrize("name", WRITES)
def test_an_accountant_reads_and_does_not_write(name):
    rows = builders.one_of_each("harbour")
    pk = {"inspect": rows.boat, "make_good": rows.finding, "renew": rows.part}[name].pk
    accountant = signed_in(rows.boat, "accountant")
    for method in (accountant.get, accountant.post):
        assert method(address(rows.boat, name, pk)).status_code == 403
    assert "Record the renewal" not in read(accountant, address(rows.boat, "inspections"))


@pytest.mark.parametrize("name", ["inspections", "reminders", "inspect", "make_good", "renew"])
def test_reading_a_page_writes_nothing(name):
    rows = builders.one_of_each("harbour")
    pk = {"inspect": rows.boat, "make_good": rows.finding, "renew": rows.part}.get(name)
    client = signed_in(rows.boat)
    tables = (Finding, Hold, Inspection, PartVerdict, Reminder, Installation, Stay)

    def everything():
        return [list(table.objects.order_by("pk").values()) for table in tables]

    before = everything()
    read(client, address(rows.boat, name, pk.pk if pk else None))
    assert everything() == before


def crowded(fleet, boats: int) -> None:
    for number in range(boats):
        boat = builders.boat(fleet, f"Tern {number}")
        for side in ("port", "starboard"):
            builders.wire(boat, side=side)
        inspect(boat, day(0), saw(part(boat), "broken_wire", measure=1))


@pytest.mark.parametrize("name", ["inspections", "reminders"])
def test_a_longer_list_costs_no_more_queries(name, django_assert_max_num_queries):
    counts = []
    for slug, boats in (("small", 2), ("large", 12)):
        fleet = builders.empty_fleet(slug)
        crowded(fleet, boats)
        queue(fleet, builders.TODAY)
        boat = fleet.boats.first()
        client = signed_in(boat)
        client.get(address(boat, name))
        with django_assert_max_num_queries(30) as captured:
            client.get(address(boat, name))
        counts.append(len(captured))
    assert counts[0] == counts[1]


def test_more_parts_on_a_boat_cost_no_more_queries(django_assert_max_num_queries):
    counts = []
    for slug, more in (("small", ()), ("large", ("intermediate", "lower_aft", "lower_forward"))):
        boat = rigged_boat(slug)
        for stay in more:
            builders.wire(boat, stay=stay)
        look, client = inspect(boat, day(0)), signed_in(boat)
        for url in (
            address(boat, "inspection", look.pk),
            f"{address(boat, 'inspect', boat.pk)}?level=aloft",
        ):
            client.get(url)
            with django_assert_max_num_queries(20) as captured:
                client.get(url)
            counts.append(len(captured))
    assert counts[:2] == counts[2:]


def test_the_record_of_a_condemned_part_survives_its_renewal():
    boat = rigged_boat()
    look = inspect(boat, day(0), saw(part(boat), "broken_wire", measure=1))
    recording.record_renewal(part(boat), fitted_on=day(3), fitter="R")
    text = read(signed_in(boat), address(boat, "inspection", look.pk))
    assert '<span class="verdict replace">replace</span>' in text
    assert "Record the renewal" not in text
