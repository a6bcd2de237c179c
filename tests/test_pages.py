"""Every page on the demonstration, as its people see it: real server, real Chromium."""

import pytest
from playwright.sync_api import expect

from tests.demonstration import Served

PHONE, DESK = 390, 1280
AS_OF = "as of 14 Oct 2026"
TARGET = 44  # px; Web Content Accessibility Guidelines 2.2, success criterion 2.5.5 (AAA)
# Of a boat that is held, the one with the longest record.
HELD = """SELECT b.id FROM fleet_boat b JOIN fleet_fleet f ON f.id = b.fleet_id
    JOIN inspections_hold h ON h.boat_id = b.id AND h.lifted_on IS NULL
    WHERE f.slug = ? GROUP BY b.id
    ORDER BY (SELECT count(*) FROM inspections_inspection i WHERE i.boat_id = b.id) DESC"""
FREE = """SELECT b.id FROM fleet_boat b JOIN fleet_fleet f ON f.id = b.fleet_id
    WHERE f.slug = ? AND b.left IS NULL AND b.id NOT IN
    (SELECT boat_id FROM inspections_hold WHERE lifted_on IS NULL)
    ORDER BY (SELECT count(*) FROM fleet_stay s WHERE s.boat_id = b.id) DESC, b.id"""
GONE = """SELECT b.id FROM fleet_boat b JOIN fleet_fleet f ON f.id = b.fleet_id
    WHERE f.slug = ? AND b.left IS NOT NULL"""
CONDEMNING = """SELECT v.inspection_id FROM inspections_partverdict v
    JOIN inspections_inspection i ON i.id = v.inspection_id JOIN fleet_boat b ON b.id = i.boat_id
    JOIN fleet_fleet f ON f.id = b.fleet_id
    WHERE f.slug = ? AND v.value = 'replace' ORDER BY i."on" DESC, i.id"""
CONDEMNED = """SELECT p.id FROM fleet_installation p JOIN fleet_stay s ON s.id = p.stay_id
    JOIN fleet_boat b ON b.id = s.boat_id JOIN fleet_fleet f ON f.id = b.fleet_id
    WHERE f.slug = ? AND p.condemned_on IS NOT NULL AND p.removed_on IS NULL"""
PIN = """SELECT d.id FROM inspections_finding d JOIN inspections_inspection i
    ON i.id = d.inspection_id JOIN fleet_boat b ON b.id = i.boat_id
    JOIN fleet_fleet f ON f.id = b.fleet_id
    WHERE f.slug = ? AND d.sign LIKE '%pin%' ORDER BY d.id DESC"""
REMINDER = """SELECT r.id FROM inspections_reminder r JOIN fleet_boat b ON b.id = r.boat_id
    JOIN fleet_fleet f ON f.id = b.fleet_id WHERE f.slug = ? AND r.state = 'queued'"""
DEMAND = """SELECT d.id FROM inspections_demand d JOIN fleet_fleet f ON f.id = d.fleet_id
    WHERE f.slug = ? ORDER BY d.id"""
INVOICE = """SELECT i.id FROM forecasting_invoice i JOIN fleet_boat b ON b.id = i.boat_id
    JOIN fleet_fleet f ON f.id = b.fleet_id WHERE f.slug = ? ORDER BY i.\"on\" DESC, i.id"""
ORDER = """SELECT o.id FROM forecasting_workorder o JOIN fleet_fleet f ON f.id = o.fleet_id
    WHERE f.slug = ? AND o.state = 'under_way'"""
LATEST = """SELECT x.id FROM inspections_{} x JOIN fleet_boat b ON b.id = x.boat_id
    JOIN fleet_fleet f ON f.id = b.fleet_id WHERE f.slug = ? ORDER BY x."on" DESC"""
EVENT = """SELECT h.inspection_id FROM inspections_hold h JOIN fleet_boat b ON b.id = h.boat_id
    JOIN fleet_fleet f ON f.id = b.fleet_id WHERE f.slug = ? AND h.cause = 'event'
    AND h.lifted_on IS NULL"""
CONFLICT = """SELECT substr(u.id, 1, 8) || '-' || substr(u.id, 9, 4) || '-' || substr(u.id, 13, 4)
    || '-' || substr(u.id, 17, 4) || '-' || substr(u.id, 21) FROM inspections_dockupload u
    JOIN fleet_boat b ON b.id = u.boat_id JOIN fleet_fleet f ON f.id = b.fleet_id
    WHERE f.slug = ? AND u.state = 'conflict'"""
PHOTOGRAPHED = """SELECT p.inspection_id FROM inspections_photo p JOIN fleet_fleet f
    ON f.id = p.fleet_id WHERE f.slug = ? AND p.finding_id IS NOT NULL ORDER BY p.taken_on DESC"""
YARD = """SELECT y.id FROM forecasting_yardplan y JOIN fleet_fleet f ON f.id = y.fleet_id
    WHERE f.slug = ?"""
FAILED = """SELECT x.id FROM inspections_failure x JOIN fleet_installation p
    ON p.id = x.installation_id JOIN fleet_stay s ON s.id = p.stay_id
    JOIN fleet_boat b ON b.id = s.boat_id JOIN fleet_fleet f ON f.id = b.fleet_id
    WHERE f.slug = ?"""
SCENARIO = """SELECT s.id FROM forecasting_seasonscenario s JOIN fleet_fleet f
    ON f.id = s.fleet_id WHERE f.slug = ? ORDER BY s.id"""
SCENARIOS = """SELECT group_concat('plan=' || s.id, '&') FROM forecasting_seasonscenario s
    JOIN fleet_fleet f ON f.id = s.fleet_id WHERE f.slug = ?"""
# Who, in which fleet, at what address; `{}` is the first answer of the query.
PAGES = {
    "fleet": ("maren", "vessmark", "", ""),
    "boats": ("maren", "vessmark", "boats/", ""),
    "boats, further": ("maren", "vessmark", "boats/?page=2", ""),
    "boats, none found": ("maren", "vessmark", "boats/?name=nowhere", ""),
    "a held boat": ("maren", "vessmark", "boats/{}/", HELD),
    "a boat that sails": ("maren", "vessmark", "boats/{}/", FREE),
    "a boat that left": ("maren", "vessmark", "boats/{}/", GONE),
    "outlook": ("maren", "vessmark", "outlook/", ""),
    "how": ("maren", "vessmark", "outlook/how/", ""),
    "hours": ("oskar", "vessmark", "outlook/hours/", ""),
    "hours, many": ("oskar", "vessmark", "outlook/hours/?hours=60", ""),
    "practice": ("maren", "vessmark", "outlook/practice/", ""),
    "practice, read": ("joana", "vessmark", "outlook/practice/?kind=chainplate", ""),
    "refit": ("maren", "vessmark", "refit/", ""),
    "the board of the yard": ("oskar", "lysnevik", "refit/yard/{}/", YARD),
    "what to order by when": ("oskar", "lysnevik", "refit/yard/{}/orders/", YARD),
    "what the yard has": ("maren", "vessmark", "refit/yard/{}/limits/", YARD),
    "days of the yard taken": ("maren", "vessmark", "refit/yard/blocks/", ""),
    "lead times": ("maren", "vessmark", "refit/lead-times/", ""),
    "ages": ("joana", "vessmark", "refit/ages/", ""),
    "looks": ("joana", "vessmark", "refit/ages/looks/", ""),
    "season plans": ("maren", "vessmark", "refit/seasons/", ""),
    "a season plan": ("maren", "vessmark", "refit/seasons/{}/", SCENARIO),
    "what there is": ("maren", "vessmark", "refit/seasons/{}/limits/", SCENARIO),
    "season plans compared": ("joana", "vessmark", "refit/seasons/compare/?{}", SCENARIOS),
    "budget": ("maren", "vessmark", "budget/", ""),
    "reserve": ("joana", "vessmark", "reserve/", ""),
    "register": ("joana", "vessmark", "register/", ""),
    "an invoice": ("joana", "vessmark", "invoices/{}/", INVOICE),
    "a work order": ("maren", "vessmark", "orders/{}/", ORDER),
    "inspections": ("oskar", "vessmark", "inspections/", ""),
    "an inspection": ("oskar", "vessmark", "inspections/{}/", CONDEMNING),
    "choose a level": ("oskar", "vessmark", "boats/{}/inspect/", FREE),
    "inspect aloft": ("oskar", "vessmark", "boats/{}/inspect/?level=aloft", HELD),
    "inspect mast-down": ("oskar", "vessmark", "boats/{}/inspect/?level=mast_down", FREE),
    "made good": ("oskar", "vessmark", "findings/{}/made-good/", PIN),
    "renew": ("oskar", "vessmark", "parts/{}/renew/", CONDEMNED),
    "reminders": ("oskar", "vessmark", "reminders/", ""),
    "a reminder": ("oskar", "vessmark", "reminders/{}/", REMINDER),
    "outbox": ("oskar", "vessmark", "reminders/outbox/", ""),
    "do reminders run": ("joana", "vessmark", "reminders/health/", ""),
    "who gets what": ("oskar", "vessmark", "reminders/preview/", ""),
    "people written to": ("maren", "vessmark", "reminders/people/", ""),
    "words of messages": ("maren", "vessmark", "reminders/words/", ""),
    "import": ("oskar", "vessmark", "import/", ""),
    "works": ("maren", "vessmark", "work/", ""),
    "rules": ("maren", "vessmark", "settings/", ""),
    "signs": ("maren", "vessmark", "signs/", ""),
    "signs, read": ("joana", "lysnevik", "signs/", ""),
    "change a sign": ("maren", "vessmark", "signs/change/?sign=wire_drawn_out", ""),
    "rules, read": ("joana", "vessmark", "settings/", ""),
    "import, read": ("joana", "vessmark", "import/", ""),
    "hand-ins": ("oskar", "vessmark", "hand-ins/", ""),
    "add a boat": ("maren", "vessmark", "boats/add/", ""),
    "edit a boat": ("maren", "vessmark", "boats/{}/edit/", FREE),
    "whole rig": ("maren", "vessmark", "boats/{}/rig/", FREE),
    "correct parts": ("maren", "vessmark", "boats/{}/parts/", FREE),
    "not released": ("oskar", "vessmark", "not-released/", ""),
    "with the mast down": ("oskar", "vessmark", "boats/{}/mast-down/", HELD),
    "something happened": ("oskar", "vessmark", "happened/", ""),
    "a second look": ("oskar", "vessmark", "parts/{}/second-look/", CONDEMNED),
    "small things to order": ("oskar", "vessmark", "to-order/", ""),
    "calendar": ("oskar", "vessmark", "calendar/?month=late", ""),
    "a demand": ("maren", "vessmark", "demands/{}/", DEMAND),
    "enter a demand": ("maren", "vessmark", "demands/add/", ""),
    "bookings": ("oskar", "vessmark", "bookings/", ""),
    "calendar addresses": ("oskar", "vessmark", "calendar/addresses/", ""),
    "an event": ("oskar", "vessmark", "inspections/{}/", EVENT),
    "an inspection with photos": ("oskar", "vessmark", "inspections/{}/", PHOTOGRAPHED),
    "a conflict": ("oskar", "vessmark", "dock/sent/{}/", CONFLICT),
    "a part that let go": ("oskar", "vessmark", "failures/{}/", FAILED),
    "a mast stepped": ("oskar", "vessmark", "steppings/{}/", LATEST.format("stepping")),
    "a report": ("maren", "vessmark", "reports/{}/", LATEST.format("report")),
    "recommendations": ("maren", "vessmark", "recommendations/", ""),
    "parts in store": ("maren", "vessmark", "store/", ""),
    "club: boats": ("oskar", "lysnevik", "boats/", ""),
    "club: inspections": ("oskar", "lysnevik", "inspections/", ""),
    "club: how": ("oskar", "lysnevik", "outlook/how/", ""),
    "club: hours": ("oskar", "lysnevik", "outlook/hours/?hours=none", ""),
    "club: budget": ("joana", "lysnevik", "budget/", ""),
}
CLUB = [name for name in PAGES if name.startswith("club")]  # as the charter's: on a phone only
AFTER = ("an event", "an inspection with photos", "a conflict", "a part that let go",
         "a mast stepped", "a report", "recommendations", "parts in store")  # fmt: skip
ON_A_PHONE = [
    *CLUB, *AFTER, "something happened", "a second look", "small things to order",
    "enter a demand", "bookings", "calendar addresses", "register", "an invoice", "looks",
    "season plans", "what there is", "season plans compared", "a work order",
    "the board of the yard", "what to order by when",
]  # fmt: skip
# Every kind of table, form, chart and drawing once as on a desk, where nothing is stacked.
COLOURS = ("color-contrast",)  # the dearest of the rules: of every kind of page below once
AT_A_DESK = (
    "fleet", "boats", "a held boat", "how", "hours", "refit", "budget", "an inspection",
    "inspect aloft", "reminders", "import", "rules", "signs", "whole rig", "correct parts",
    "calendar", "reserve",
)  # fmt: skip
WITH_CHART = ("outlook", "how", "budget", "reserve", "club: how")
OUTSIDE = {
    "sign in": ("", "/account/login/", 200),
    "password forgotten": ("", "/account/password/reset/", 200),
    "choose a fleet": ("oskar", "/", 200),
    "no such page": ("maren", "/vessmark/boats/987654321/", 404),
    "not for this role": ("joana", "/vessmark/parts/1/renew/", 403),
}


def address(server: Served, name: str) -> tuple[str, str]:
    """Return who opens the page and its address."""
    who, fleet, path, query = PAGES[name]
    return who, f"/{fleet}/" + path.format(server.one(query, fleet) if query else "")


# What a page that would be empty without the demonstration's plans must show.
CONTENT = {
    "season plans": "What the board set aside",
    "a season plan": "Waiting is expected to cost more",
    "season plans compared": "more than “What the board set aside”",
    "ages": "keeping until condemned costs",
    "looks": "by cost alone",
}


def opened(demo_page, server: Served, name: str, width: int, **context):
    who, url = address(server, name)
    page = demo_page(server, who, width, **context)
    response = page.goto(url)
    assert response.status == 200, url
    return page


# Headers of tables that stack on a phone stay for screen readers, out of sight.
CUT_OFF = """() => [...document.querySelectorAll("body *")]
    .filter(each => each.checkVisibility({visibilityProperty: true}))
    .filter(each => !each.closest(".scrolls table, svg, .skip, .stacks:not(.sorts) thead"))
    .filter(each => each.getBoundingClientRect().right > innerWidth + 1)
    .map(each => each.outerHTML.slice(0, 100))"""


def too_wide(page) -> list[str]:
    """Return what makes a page scroll sideways, or is cut off at its right edge."""
    width = page.evaluate("document.documentElement.scrollWidth")
    scrolls = [f"{width} px wide"] if width > page.viewport_size["width"] else []
    return scrolls + page.evaluate(CUT_OFF)


SMALL = f"""() => [...document.querySelectorAll(
    "button, .button, nav a, summary, select, input:not([type=hidden]), .mark, thead a")]
    .filter(each => each.checkVisibility({{visibilityProperty: true}}) && !each.closest("label"))
    .map(each => [each.getBoundingClientRect(), each])
    .filter(([box]) => box.height && (box.height < {TARGET} - .5 || box.width < {TARGET} - .5))
    .map(([box, each]) => `${{Math.round(box.width)}} x ${{Math.round(box.height)}} `
        + each.outerHTML.slice(0, 80))"""


def too_small(page) -> list[str]:
    """Return what is tapped on a phone and too small for a wet thumb; links in text may be."""
    return page.evaluate(SMALL) if page.viewport_size["width"] == PHONE else []


def fits(page, accessibility_faults, widths=(PHONE, DESK), looked_at=(PHONE, DESK), but=()) -> None:
    """Assert that nothing is cut off or too small at each of the widths, and nothing that axe
    looks at, but by some rules, is shut to anybody."""
    for width in widths:
        page.set_viewport_size({"width": width, "height": 900})
        assert too_wide(page) == [], width
        assert too_small(page) == [], width
        assert width not in looked_at or accessibility_faults(page, but=but) == [], width


def folds(page) -> None:
    """Assert that a phone shows the first twelve rows, paper all, and a key opens the rest."""
    rows = page.locator(".table-container tbody tr")
    shown = page.locator(".table-container tbody tr:visible")
    expect(shown).to_have_count(12)
    page.emulate_media(media="print")
    expect(shown).to_have_count(rows.count())
    page.emulate_media(media="screen")
    page.locator(".rest summary").press("Enter")
    expect(shown).to_have_count(rows.count())
    page.locator(".rest summary").press("Enter")
    expect(shown).to_have_count(12)


@pytest.mark.parametrize("name", PAGES)
def test_a_page_says_its_date_fits_the_screen_and_the_thumb_and_shuts_nobody_out(
    demo_page, demo_server, accessibility_faults, name
):
    page = opened(demo_page, demo_server, name, PHONE)
    assert AS_OF in page.locator(".head").inner_text()
    assert page.locator("h1").count() == 1
    assert CONTENT.get(name, "") in page.locator("main").inner_text()
    if name == "outlook":
        folds(page)
    if name in ("ages", "looks"):
        page.locator(".chart svg .mark-line").last.wait_for(state="attached")
    widths = (PHONE,) if name in ON_A_PHONE else (PHONE, DESK)
    if name in AT_A_DESK:
        fits(page, accessibility_faults, widths)
    else:
        fits(page, accessibility_faults, widths, looked_at=(PHONE,), but=COLOURS)


@pytest.mark.parametrize("name", OUTSIDE)
def test_a_page_outside_any_fleet_fits_and_shuts_nobody_out(
    demo_page, demo_server, accessibility_faults, name
):
    who, url, status = OUTSIDE[name]
    page = demo_page(demo_server, who, PHONE)
    assert page.goto(url).status == status
    fits(page, accessibility_faults)


@pytest.mark.parametrize("name", ["boats", "a held boat", "budget", "inspect aloft"])
def test_the_night_colours_can_be_read_too(demo_page, demo_server, accessibility_faults, name):
    day = opened(demo_page, demo_server, name, PHONE)
    night = opened(demo_page, demo_server, name, PHONE, color_scheme="dark")
    ground = "getComputedStyle(document.documentElement).backgroundColor"
    assert day.evaluate(ground) != night.evaluate(ground)
    assert accessibility_faults(night) == []


POINTS = "paths => paths.map(path => (path.getAttribute('d').match(/[ML]/g) || []).length)"


@pytest.mark.parametrize("width", [PHONE, DESK])
@pytest.mark.parametrize("name", WITH_CHART)
def test_a_chart_is_drawn_and_as_wide_as_its_page(demo_page, demo_server, name, width):
    page = opened(demo_page, demo_server, name, width)
    charts = page.locator(".chart svg")
    charts.last.wait_for()
    assert charts.count() == page.locator(".chart").count() == (4 if "how" in name else 1)
    chart = charts.last
    for kind in ("area", "line"):
        drawn = chart.locator(f".mark-{kind} path").evaluate_all(POINTS)
        assert max(drawn) >= 10, "a band and a line through at least ten years"
    main = page.locator("main").bounding_box()
    box = chart.bounding_box()
    assert box["height"] > 150
    assert 0.7 * (main["width"] - 80) < box["width"] <= main["width"]
