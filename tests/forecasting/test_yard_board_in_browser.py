"""The board by keyboard and mouse, in Chromium."""

import pytest
from django.urls import reverse

from forecasting.models import YardVisit
from tests import builders


@pytest.mark.django_db
def test_by_keyboard_a_boat_moves_two_weeks_and_is_still_there_after_a_reload(live_server, page_at):
    from playwright.sync_api import expect

    rows = builders.one_of_each("harbour")
    mona = builders.person("mona", rows.fleet)
    page = page_at(1280, user=mona)
    page.goto(reverse("yard_board", args=["harbour", rows.yard_plan.pk]))
    place = f"#boat-{rows.boat.pk}"
    expect(page.locator(f".week[data-week='1'] {place}")).to_be_visible()
    page.locator(f"{place} summary").focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    expect(page.locator("#said")).to_contain_text("kept in the week of 23 Nov 2026")
    expect(page.locator(f"{place} summary")).to_be_focused()
    page.reload()
    expect(page.locator(f".week[data-week='3'] {place}")).to_contain_text("by hand")
    page.drag_and_drop(f"{place} summary", ".week[data-week='4']")
    expect(page.locator("#said")).to_contain_text("30 Nov 2026")
    page.locator("#undo").click()
    expect(page.locator(f".week[data-week='3'] {place}")).to_be_visible()
    assert YardVisit.objects.get(plan=rows.yard_plan, boat=rows.boat).first_week == 3
