"""A brand-new fleet from nothing to a forecast, without any spreadsheet, in real Chromium."""

import re

import pytest
from django.core.management import call_command

from fleet.models import Fleet, Installation
from forecasting.models import BoatOutlook
from tests.test_pages import too_small, too_wide

PHONE, DESK = 390, 1280


@pytest.mark.parametrize("width", [PHONE, DESK])
def test_base_boat_and_whole_rig_are_entered_by_hand_and_the_fleet_is_forecast(
    live_server, page_at, accessibility_faults, transactional_db, width, capsys
):
    call_command("new_fleet", "Quiet Haven", "mara@example.org")
    password = re.search(r"password (\S+)\.", capsys.readouterr().out)[1]
    page, faults = page_at(width), []

    def look():
        faults.extend(accessibility_faults(page) + too_wide(page) + too_small(page))

    page.goto("/account/login/")
    page.locator("#id_login").fill("mara@example.org")
    page.locator("#id_password").fill(password)
    page.locator("button.button").click()
    page.get_by_role("heading", name="No boats yet").wait_for()
    look()
    page.get_by_role("link", name="Boats", exact=True).click()
    page.get_by_role("link", name="Add the first base").click()
    page.get_by_label("Name").fill("Hollow Quay")
    page.get_by_label("Cruising ground").fill("Inner Sound")
    look()
    page.get_by_role("button", name="Add the base").click()
    page.get_by_role("alert").get_by_text("Say how corrosive the new ground is.").wait_for()
    look()
    page.get_by_label("Corrosivity of the ground").select_option("C4")
    page.get_by_label("Rigger hours in one off season").fill("200")
    page.get_by_role("button", name="Add the base").click()
    page.get_by_text("Add the first boat kept there.").wait_for()
    page.get_by_label("Name", exact=False).first.fill("Tern")
    page.get_by_label("Length of the hull, m").fill("11.6")
    page.get_by_label("Year built").fill("2009")
    look()
    page.get_by_role("button", name="Add it, then its rig").click()
    page.get_by_text("Tern is in the fleet. Say what its rig is made of.").wait_for()
    page.get_by_label("Diameter, mm").fill("8")
    page.get_by_label("Fitted:", exact=True).fill("2016")
    look()
    page.get_by_role("button", name="Show the parts").click()
    page.get_by_text("wire inside a furler foil").wait_for()
    look()
    page.get_by_role("button", name="Put 24 parts on record").click()
    page.get_by_text("Parts put on record: Tern 24.").wait_for()
    look()
    assert Installation.objects.filter(kind="wire", stay__in_foil=True).count() == 1
    call_command("refresh", verbosity=0)
    page.goto(f"/{Fleet.objects.get().slug}/")
    page.get_by_text("Hollow Quay").first.wait_for()
    look()
    assert BoatOutlook.objects.count() == 1
    assert faults == []
