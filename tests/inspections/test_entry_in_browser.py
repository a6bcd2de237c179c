"""Entry without typing in real Chromium, at the width of a phone and of a desk."""

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from fleet.models import Installation
from inspections.importing import import_workbook
from inspections.models import HandIn
from tests import builders
from tests.inspections.docks import address
from tests.test_pages import too_small, too_wide
from tests.workbooks import small, xlsx

PHONE, DESK = 390, 1280


@pytest.fixture
def boat(transactional_db):
    fleet = builders.empty_fleet("harbour")
    import_workbook(fleet, xlsx(small()), dry_run=False)
    boat = fleet.boats.get(name="Tern")
    for kind in ("wire", "turnbuckle", "chainplate"):
        builders.wire(boat, kind=kind, stay="backstay", side="")
    HandIn.objects.create(boat=boat, on=builders.TODAY, note="kink in the cap shroud")
    return boat


@pytest.fixture
def manager(boat):
    return builders.person("mara", boat.fleet)


@pytest.mark.parametrize("width", [PHONE, DESK])
def test_every_page_of_entry_fits_the_screen_and_the_thumb_and_shuts_nobody_out(
    live_server, page_at, accessibility_faults, boat, manager, width
):
    names = ("rig", "parts_table", "boat_edit", "boat")
    urls = [address(boat, name, boat.pk) for name in names]
    urls += [
        reverse(name, kwargs={"fleet": boat.fleet.slug})
        for name in ("hand_ins", "boat_add", "import", "fleet")
    ]
    page, faults = page_at(width, user=manager), []
    for url in urls:
        assert page.goto(url).status == 200, url
        found = accessibility_faults(page) + too_wide(page) + too_small(page)
        faults += [f"{url}: {fault}" for fault in found]
    assert faults == []


@pytest.mark.parametrize("width", [PHONE, DESK])
def test_a_manager_puts_up_a_rig_on_two_sisters(
    live_server, page_at, accessibility_faults, boat, manager, width
):
    page = page_at(width, user=manager)
    page.goto(address(boat, "boat", boat.pk))
    page.get_by_role("link", name="Whole rig").click()
    page.get_by_label("Diameter, mm").fill("8")
    page.get_by_label("Fitted:", exact=True).fill("2016")
    page.get_by_label("Skua").check()
    page.get_by_role("button", name="Show the parts").click()
    expect(page.get_by_text("Left as they are")).to_have_count(2)
    assert accessibility_faults(page) + too_wide(page) + too_small(page) == []
    page.get_by_role("button", name="on record").click()
    page.get_by_text("Parts put on record: Tern 24, Skua 29.").wait_for()
    assert Installation.objects.filter(fitted_certainty="year", stay__boat__name="Skua").exists()


@pytest.mark.parametrize("width", [PHONE, DESK])
def test_a_wrong_line_is_put_right_on_the_spot(
    live_server, page_at, accessibility_faults, boat, manager, width
):
    page = page_at(width, user=manager)
    page.goto(reverse("hand_ins", kwargs={"fleet": boat.fleet.slug}))
    page.get_by_label("Miles this season, Skua").fill("many")
    page.get_by_label("Damage, or anything odd in the rig, Skua").fill("chafe at the spreader")
    page.get_by_role("button", name="Save the changed lines").click()
    expect(page.get_by_role("alert").get_by_text("Skua: Miles are")).to_be_visible()
    assert accessibility_faults(page) + too_wide(page) + too_small(page) == []
    page.get_by_label("Miles this season, Skua").fill("1200")
    page.get_by_role("button", name="Save the changed lines").click()
    expect(page.get_by_text("Saved: Skua.")).to_be_visible()
    expect(page.get_by_text("chafe at the spreader")).to_be_visible()


def test_a_corrected_part_and_a_wrong_one_in_the_table(
    live_server, page_at, accessibility_faults, boat, manager
):
    page = page_at(PHONE, user=manager)
    page.goto(address(boat, "parts_table", boat.pk))
    page.get_by_label("Fitted, Backstay", exact=True).fill("soon")
    page.get_by_role("button", name="Save the corrections").click()
    fault = page.get_by_role("alert").get_by_text("Backstay, fitted: This is not a date")
    expect(fault).to_be_visible()
    assert accessibility_faults(page) + too_wide(page) == []
    page.get_by_label("Fitted, Backstay", exact=True).fill("2019")
    page.get_by_role("button", name="Save the corrections").click()
    expect(page.get_by_text("1 part corrected.")).to_be_visible()
