"""The inspection pages in real Chromium, at the width of a phone and of a desk."""

import datetime as dt

import pytest
from playwright.sync_api import expect

from inspections import rounds
from inspections.models import Hold, Reminder
from tests import builders
from tests.inspections.dock_phone import picture
from tests.inspections.docks import address, day, inspect, part, rigged_boat, saw

NOW = dt.datetime(2026, 10, 14, 6, 0, tzinfo=dt.UTC)
PHONE, DESK = 390, 1280


@pytest.fixture
def boat(transactional_db):
    return rigged_boat()


def overflow(page) -> int:
    return page.evaluate(
        "document.documentElement.scrollWidth - document.documentElement.clientWidth"
    )


def test_a_bosun_without_scripts_records_a_broken_wire_with_its_photo_and_sees_the_boat_held(
    live_server, page_at, boat
):
    page = page_at(PHONE, user=builders.person("bo", boat.fleet, "bosun"),
                   java_script_enabled=False)  # fmt: skip
    page.goto(address(boat, "dock"))
    expect(page.locator("noscript p")).to_be_visible()
    expect(page.get_by_text("Getting the form ready")).not_to_be_visible()
    page.get_by_role("link", name="Tern").click()
    page.get_by_role("link", name="Deck check").click()
    page.get_by_label("Who looked").fill("Bo Sun")
    page.get_by_text("Cap shroud, port", exact=True).click()
    shroud = page.get_by_role("group", name="Lower end, swaged").first
    shroud.get_by_label("Found").select_option("broken_wire")
    shroud.get_by_label("Measured").fill("2")
    notes = {"name": "notes.txt", "mimeType": "text/plain", "buffer": b"nothing to see"}
    shroud.get_by_label("Photos").set_input_files([picture(640, 480), notes])
    page.get_by_label("I looked at what this record says was seen").check()
    page.get_by_role("button", name="Save and see the verdicts").click()
    expect(page.get_by_text("notes.txt: This is no photo")).to_be_visible()
    expect(page.get_by_label("Photo 1 is kept")).to_be_checked()
    assert overflow(page) == 0
    page.get_by_role("button", name="Save and see the verdicts").click()
    expect(page.locator(".photos img")).to_have_count(1)
    expect(page.get_by_text("This inspection holds the boat")).to_be_visible()
    expect(page.locator(".verdict.replace")).to_have_count(1)
    assert overflow(page) == 0
    assert set(Hold.objects.standing().values_list("cause", flat=True)) == {"replace", "pair"}


@pytest.mark.parametrize("width", [PHONE, DESK])
def test_no_inspection_page_is_wider_than_the_screen_or_shuts_anybody_out(
    live_server, page_at, accessibility_faults, settings, tmp_path, boat, width
):
    settings.EMAIL_FOLDER = tmp_path
    user = builders.person("bo", boat.fleet, "bosun")
    look = inspect(
        boat, day(0), saw(part(boat), "broken_wire", measure=1),
        saw(part(boat, "starboard"), "split_pin_missing"), competence="crew",
    )  # fmt: skip
    rounds.queue_and_send(boat.fleet, NOW)
    form = address(boat, "inspect", boat.pk)
    pages = {
        address(boat, "inspections"),
        address(boat, "inspection", look.pk),
        form,
        f"{form}?level=aloft",
        address(boat, "make_good", look.findings.get(sign="split_pin_missing").pk),
        address(boat, "renew", part(boat).pk),
        address(boat, "reminders"),
        address(boat, "reminder", Reminder.objects.first().pk),
    }
    page, faults = page_at(width, user=user), []
    for url in sorted(pages):
        page.goto(url)
        faults += [f"{url}: {fault}" for fault in accessibility_faults(page)]
        faults += [f"{url}: {overflow(page)} px too wide"] if overflow(page) > 0 else []
    assert faults == []
