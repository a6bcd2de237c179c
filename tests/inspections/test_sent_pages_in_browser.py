"""What phones sent, photos and corrections in real Chromium: a person decides at the desk."""

import json

import pytest
from playwright.sync_api import expect

from inspections.models import Finding, Inspection
from tests import builders
from tests.builders import TODAY
from tests.inspections.docks import address, day, inspect, part, rigged_boat, saw, signed_in
from tests.inspections.drafts import draft, kit_of, send, sight

PHONE, DESK = 390, 1280


@pytest.fixture
def boat(transactional_db):
    return rigged_boat()


def faults_of(page, url: str, accessibility_faults) -> list[str]:
    page.goto(url)
    wide = page.evaluate("document.documentElement.scrollWidth - innerWidth")
    too_wide = [f"{wide} px too wide"] if wide > 0 else []
    return [f"{url}: {each}" for each in [*accessibility_faults(page), *too_wide]]


def test_a_conflict_is_decided_and_corrected_and_no_page_of_it_shuts_anybody_out(
    live_server, page_at, accessibility_faults, boat
):
    user, client, kit = builders.person("mara", boat.fleet), signed_in(boat), kit_of(boat)
    inspect(boat, day(0), saw(part(boat), "small_spots", "run", measure=3))
    builders.photo(Finding.objects.get())
    body = draft(boat, kit, sights=[sight(part(boat), "barrel_bent")], note="gusty")
    assert send(client, boat, body).status_code == 409
    conflict = address(boat, "dock_upload", body["id"])

    page, faults = page_at(DESK, user=user), []
    faults += faults_of(page, conflict, accessibility_faults)
    phone = page_at(PHONE, user=user)
    for url in (conflict, address(boat, "dock_uploads")):
        faults += faults_of(phone, url, accessibility_faults)
    page.get_by_role("button", name="Record it as well").click()
    expect(page.get_by_text("On record beside the other look.")).to_be_visible()
    page.get_by_role("link", name="Correct or withdraw it").click()
    page.get_by_label("Note:", exact=True).fill("gusty, rain later")
    page.get_by_label("This is what was seen, and I answer for the correction").check()
    page.get_by_label("Why it is corrected").fill("the rain was left out")
    page.get_by_role("button", name="Put this in its place").click()
    expect(page.get_by_text("Corrected. What it said before stays readable.")).to_be_visible()

    look = Inspection.objects.get(on=TODAY)
    assert look.note == "gusty, rain later"
    with_photo = address(boat, "inspection", Inspection.objects.get(on=day(0)).pk)
    pages = [address(boat, name, look.pk) for name in ("inspection_correct", "inspection_versions")]
    for each in (page, phone):
        for url in [*pages, with_photo]:
            faults += faults_of(each, url, accessibility_faults)
    assert phone.locator(".photos img").evaluate("image => image.naturalWidth") == 64
    assert faults == []


def test_a_photo_that_is_a_script_is_refused_and_one_shown_runs_nothing(live_server, page_at, boat):
    """The phone sends with fetch and its cookie, as the page on the dock does."""
    page = page_at(PHONE, user=builders.person("bo", boat.fleet, "bosun"))
    page.goto(address(boat, "inspections"))
    answer = page.evaluate(
        """async ([kit, photos]) => {
            await fetch(kit);
            const token = /csrftoken=([^;]+)/.exec(document.cookie)[1];
            const form = new FormData();
            form.append("id", crypto.randomUUID());
            form.append("file", new Blob(["<script>alert(1)</script>"]), "a.jpg");
            const asked = { method: "POST", body: form, headers: { "X-CSRFToken": token } };
            const answer = await fetch(photos, asked);
            return [answer.status, await answer.text()];
        }""",
        [address(boat, "dock_kit"), address(boat, "dock_photos")],
    )
    assert answer[0] == 422
    assert json.loads(answer[1])["faults"][0]["sentence"].startswith("This is no photo")
