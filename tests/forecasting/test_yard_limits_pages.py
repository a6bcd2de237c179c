"""The pages of what the yard has a week, days that are taken, and lead times."""

import datetime as dt

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.test import Client
from django.urls import reverse

from fleet.models import WorkRow
from forecasting.models import LeadTime, YardBaseWeeks, YardBlock
from tests import builders
from tests.yard_plans import yard_plan

CALENDAR = b"""BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//yard//EN\r\nBEGIN:VEVENT\r\nUID:1\r
DTSTART;VALUE=DATE:20261221\r\nDTEND;VALUE=DATE:20270104\r\nSUMMARY:Between the years\r
END:VEVENT\r\nBEGIN:VEVENT\r\nUID:2\r\nDTSTART;VALUE=DATE:20261109\r\nDTEND;VALUE=DATE:20261114\r
SUMMARY:Tern: new keel bolts\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n"""
SHEET = """from,to,what,base,boat,hours,berths,note
2026-11-09,2026-11-09,,,tern,,1,keel bolts
2026-11-16,2026-11-16,other yard work,{base},,6.5,,
2026-12-21,2027-01-03,,,,,,between the years
"""
WRONG_SHEET = b"""from,to,what,base,boat
2026-11-09,2026-11-01,,,
2026-11-09,2026-11-09,,Nowhere,Turn
2026-11-09,2026-11-09,shut,,Tern
,2026-11-09,,,
"""
REPEATS = CALENDAR.replace(b"SUMMARY:Between", b"RRULE:FREQ=YEARLY\r\nSUMMARY:Between")


@pytest.fixture(scope="module")
def made(django_db_setup, django_db_blocker):
    """A fleet with a board of six weeks and its manager, made once."""
    with django_db_blocker.unblock(), transaction.atomic():
        fleet = builders.empty_fleet("harbour")
        plan = yard_plan(builders.boat(fleet))
        client = Client()
        client.force_login(
            builders.person("mona", fleet), "django.contrib.auth.backends.ModelBackend"
        )
        yield plan, client
        transaction.set_rollback(True)


@pytest.fixture
def yard(made, db):
    return made


def address(name: str, *pk: int) -> str:
    return reverse(name, args=["harbour", *pk])


def test_limits_are_shown_as_typed_and_saving_them_asks_for_the_weeks_anew(yard):
    plan, client = yard
    base = plan.bases.get().base_id
    shown = client.get(address("yard_limits", plan.pk)).content.decode()
    assert "6 weeks, from 2 Nov 2026 to the week of 7 Dec 2026" in shown
    typed = {"hours_a_boat": "30", f"hours_{base}": "40", f"masts_{base}": "2 0 2 0 2 0",
             f"berths_{base}": "", f"until_{base}": "2026-12-24"}  # fmt: skip
    answer = client.post(address("yard_limits", plan.pk), typed)
    row = YardBaseWeeks.objects.get()
    assert (row.hours, row.masts, row.berths) == ([40] * 6, [2, 0, 2, 0, 2, 0], [])
    assert row.by_hand
    assert row.until == dt.date(2026, 12, 24)
    work = WorkRow.objects.get(kind="yard")
    assert answer.url == address("work", work.pk)
    assert work.arguments == {"plan": plan.pk}


def test_too_few_numbers_and_words_are_told_and_nothing_is_saved(yard):
    plan, client = yard
    base = plan.bases.get().base_id
    typed = {"hours_a_boat": "30", f"hours_{base}": "40 20", f"masts_{base}": "two",
             f"until_{base}": "2020-12-24"}  # fmt: skip
    said = client.post(address("yard_limits", plan.pk), typed).content.decode()
    assert "2 numbers: give one for every week, or 6, one for each week the base is open." in said
    assert "“two” is no number of 0 or more." in said
    assert "Choose a day in the year from 2 Nov 2026 on." in said
    assert YardBaseWeeks.objects.get().hours == [20.0] * 6


def test_a_contractors_days_are_entered_by_hand_and_taken_off(yard):
    plan, client = yard
    boat = plan.visits.get().boat
    typed = {"step": "one", "what": "contractor", "boat": boat.pk, "first": "2026-11-09",
             "last": "2026-11-13", "hours": "8", "berths": "1", "note": "keel"}  # fmt: skip
    assert client.post(address("yard_blocks"), typed).status_code == 302
    row = YardBlock.objects.get()
    assert (row.base, row.boat, row.hours) == (boat.base, boat, 8)
    assert "keel" in client.get(address("yard_blocks")).content.decode()
    client.post(address("yard_block_off", row.pk))
    assert not YardBlock.objects.exists()


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"last": "2026-11-01"}, "It ends before it begins, 9 Nov 2026."),
        ({"last": "2029-11-01"}, "It is longer than a year: check the year."),
        ({"what": "shut"}, "A yard is not shut for one boat"),
    ],
)
def test_days_that_do_not_go_together_are_refused_in_words(yard, change, sentence):
    plan, client = yard
    typed = {"step": "one", "what": "other", "boat": plan.visits.get().boat_id, "hours": "0",
             "first": "2026-11-09", "last": "2026-11-13", "berths": "0"}  # fmt: skip
    assert sentence in client.post(address("yard_blocks"), typed | change).content.decode()
    assert not YardBlock.objects.exists()


def test_a_calendar_file_gives_days_of_the_base_and_of_the_boats_it_names_once(yard):
    plan, client = yard
    base = plan.bases.get().base
    for _ in range(2):
        file = SimpleUploadedFile("yard.ics", CALENDAR)
        client.post(address("yard_blocks"), {"file": file, "base": base.pk, "what": "shut"})
    keel, between = YardBlock.objects.all()
    assert (between.boat, between.last, between.what) == (None, dt.date(2027, 1, 3), "shut")
    assert (keel.boat.name, keel.what, keel.note) == ("Tern", "contractor", "Tern: new keel bolts")


def test_a_sheet_gives_days_of_bases_and_boats_once_as_a_calendar_file_does(yard):
    plan, client = yard
    base = plan.bases.get().base
    said = {"base": "", "what": "shut"}
    for _ in range(2):
        file = SimpleUploadedFile("yard.csv", SHEET.format(base=base.name).encode())
        client.post(address("yard_blocks"), {"file": file} | said)
    rows = YardBlock.objects.order_by("first").values_list(
        "base", "boat__name", "first", "last", "what", "hours", "berths", "note"
    )
    keel, paint, shut = dt.date(2026, 11, 9), dt.date(2026, 11, 16), dt.date(2026, 12, 21)
    assert list(rows) == [
        (base.pk, "Tern", keel, keel, "contractor", 0, 1, "keel bolts"),
        (base.pk, None, paint, paint, "other", 6.5, 0, ""),
        (None, None, shut, dt.date(2027, 1, 3), "shut", 0, 0, "between the years"),
    ]


def test_what_is_wrong_in_a_sheet_of_days_is_told_by_row_and_column_and_nothing_is_written(yard):
    _, client = yard
    file = SimpleUploadedFile("yard.csv", WRONG_SHEET)
    page = client.post(address("yard_blocks"), {"file": file, "what": "shut"}).content.decode()
    for words in ("5 things to put right", "row 2, to (2026-11-01): It ends before it begins",
                  "row 3, boat (Turn): No boat of this fleet is called so.",
                  "row 3, base (Nowhere): No base of this fleet is called so.",
                  "row 4, what (the yard is shut): A yard is not shut for one boat.",
                  "row 5, from"):  # fmt: skip
        assert words in page, words
    assert not YardBlock.objects.exists()


def test_an_event_that_repeats_is_told_by_its_number_and_nothing_is_written(yard):
    _, client = yard
    file = SimpleUploadedFile("yard.ics", REPEATS)
    said = client.post(address("yard_blocks"), {"file": file, "what": "shut"}).content.decode()
    assert "Nothing was written: 1 thing to put right." in said
    assert "Enter each time by itself." in said
    assert not YardBlock.objects.exists()


def test_a_lead_time_is_added_shown_and_taken_off(yard):
    _, client = yard
    typed = {"weeks": "6", "kind": "wire", "construction": "rod", "diameter_from": "8",
             "supplier": "North Wire", "order_by": "by Thursday"}  # fmt: skip
    assert client.post(address("lead_times"), typed).status_code == 302
    row = LeadTime.objects.get(weeks=6)
    assert "8 and more" in client.get(address("lead_times")).content.decode()
    client.post(address("lead_time_off", row.pk))
    assert not LeadTime.objects.filter(weeks=6).exists()


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"diameter_from": "10", "diameter_to": "6"}, "It is less than 10, where the sizes begin."),
        ({"kind": "chainplate", "construction": "rod"}, "Only a wire has one: leave it at any."),
        ({"weeks": "90"}, "It is longer than a year: give weeks, not days."),
    ],
)
def test_lead_times_that_cannot_be_are_refused_in_words(yard, change, sentence):
    _, client = yard
    said = client.post(address("lead_times"), {"weeks": "3", "kind": "wire"} | change)
    assert sentence in said.content.decode()


def test_a_bosun_does_not_set_the_limits(yard):
    plan, _ = yard
    client = Client()
    client.force_login(
        builders.person("bo", plan.fleet, "bosun"), "django.contrib.auth.backends.ModelBackend"
    )
    assert client.get(address("yard_limits", plan.pk)).status_code == 403
