"""The tasks of three people, start to finish, in Chromium on the demonstration."""

import csv
import io
import re
from collections import defaultdict
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import pytest
from playwright.sync_api import expect
from python_calamine import CalamineWorkbook

from tests.demonstration import ROOT, Demo, Served, copied, served, sign_in

PHONE, DESK = 390, 1280
WORKBOOK = ROOT / "fixtures" / "demo" / "vessmark.xlsx"
# A boat that sails, with a backstay that has neither pair nor foil.
SAILS = """SELECT b.id, p.id FROM fleet_boat b JOIN fleet_fleet f ON f.id = b.fleet_id
    JOIN fleet_stay s ON s.boat_id = b.id JOIN fleet_installation p ON p.stay_id = s.id
    WHERE f.slug = 'vessmark' AND b.left IS NULL AND s.name = 'backstay' AND p.kind = 'wire'
    AND p.removed_on IS NULL AND p.condemned_on IS NULL AND b.id NOT IN
    (SELECT boat_id FROM inspections_hold WHERE lifted_on IS NULL) ORDER BY b.id"""
RECORDED_SINCE = """SELECT count(*) FROM inspections_inspection i JOIN fleet_boat b
    ON b.id = i.boat_id JOIN fleet_fleet f ON f.id = b.fleet_id
    WHERE f.slug = 'vessmark' AND i.recorded_by_id IS NOT NULL"""
# What is looked at, as a reminder names it; the rest is signed, tensioned or answered for.
LOOK = "deck check|inspection aloft|mast-down inspection|look again|inspection now|look at parts"
HELD_NOW = "SELECT count(*) FROM inspections_hold WHERE boat_id = ? AND lifted_on IS NULL"


def at_home(page_at, server, who: str, width: int):
    """Return the page after signing in by the form."""
    page = page_at(width, base_url=server.url, accept_downloads=True)
    sign_in(page, who)
    return page


def go(page, section: str) -> None:
    page.get_by_role("navigation", name="Main").get_by_role("link", name=section).click()


def said(page, where: str, pattern: str) -> re.Match:
    """Return what the pattern finds there, once it is there, and all of its page below it: a click
    does not wait for its page.
    """
    expect(page.locator(where)).to_have_text(re.compile(pattern), use_inner_text=True)
    page.wait_for_load_state()
    return re.search(pattern, page.locator(where).inner_text())


def downloaded(page, link: str) -> bytes:
    with page.expect_download() as waiting:
        page.get_by_role("link", name=link).click()
    return Path(waiting.value.path()).read_bytes()


@pytest.fixture(scope="module")
def written_server(demo: Demo, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """One that the bosun writes to. What a test leaves there must not matter to those below it."""
    with served(copied(demo.folder, tmp_path_factory.mktemp("written") / "var")) as server:
        yield server


# -- the manager


def test_the_manager_finds_what_is_held_and_what_the_refit_costs(page_at, demo_server):
    page = at_home(page_at, demo_server, "maren", DESK)
    go(page, "Boats")
    held = int(said(page, "h1", r"^\s*(\d+) of \d+ boats are held")[1])
    page.get_by_label("State").select_option("held")
    page.get_by_role("button", name="Show").click()
    rows = page.locator("tbody tr")
    expect(rows).to_have_count(held)
    assert page.locator("tbody .held").count() == held > 0
    name = rows.first.get_by_role("link").inner_text()
    rows.first.get_by_role("link").click()
    said(page, "h1", rf"^\s*{re.escape(name)}")
    expect(page.locator(".lead .held").first).to_be_visible()
    go(page, "Refit")
    for order in ("ascending", "descending"):
        header = page.locator(".table-container th", has_text=re.compile(r"^\s*Cost\s*$"))
        header.get_by_role("link").click()
        expect(header).to_have_attribute("aria-sort", order)
    cells = page.locator('td[data-label="Cost"]:has(.cell)')
    expect(cells).to_have_count(100)
    costs = [amount(text) for text in cells.all_inner_texts()]
    assert costs == sorted(costs, reverse=True)
    page.get_by_label("Jobs").select_option("what cannot wait")
    page.get_by_role("button", name="Show").click()
    jobs = page.locator(".table-container tbody tr")
    cannot_wait = int(said(page, ".lead", r"(\d+) cannot wait")[1])
    expect(jobs).to_have_count(cannot_wait)
    assert page.locator("tbody .held").count() == cannot_wait > 0


def amount(text: str) -> int:
    return int(re.sub(r"[^\d]", "", text))


# -- the bosun


def test_the_bosun_reads_the_mail_that_went_out(page_at, written_server):
    server = written_server
    page = at_home(page_at, server, "oskar", DESK)
    page.get_by_role("link", name="Vessmark Charter").click()
    go(page, "Reminders")
    late = said(page, "h1", r"^\s*(\d+) boats late for a look")
    done = server.manage("send_reminders", "--let-go", "--fleet", "vessmark")
    assert done.returncode == 0, done.stderr
    page.get_by_role("link", name="Outbox").click()
    page.get_by_label("State").select_option("sent")
    page.get_by_role("button", name="Show").click()
    row = page.locator("#table-box tbody tr", has_text="Oskar Eikemoen").first
    row.get_by_role("link", name="sent").click()
    boat = said(page, "h1", r"^\s*(.+) · ")[1]
    mail = page.locator(".mail").inner_text()
    assert boat in mail
    late_lines = re.findall(r"^(.+): (.+) LATE$", mail, re.M)
    looks = {boat for boat, what in late_lines if re.match(LOOK, what)}
    assert len(looks) == int(late[1])
    assert len(late_lines) > len(looks), "a recommendation of others is late too"
    expect(page.get_by_text(f"{len(late_lines)} late")).to_be_visible()
    assert "not promise a life" in mail


def test_the_bosun_hands_the_workbook_in_again_and_nothing_changes(page_at, written_server):
    page = at_home(page_at, written_server, "oskar", DESK)
    page.get_by_role("link", name="Vessmark Charter").click()
    page.get_by_role("link", name="Import and export").click()
    page.get_by_label("One workbook (XLSX)").set_input_files(WORKBOOK)
    page.get_by_role("button", name="Check it").click()
    expect(page.locator("h1")).to_have_text("All good: 0 new rows, 0 changed")
    expect(page.get_by_text("There is nothing to write.")).to_be_visible()
    expect(page.get_by_role("button", name="Write it")).to_have_count(0)


def test_the_bosun_takes_the_fleet_out_as_a_workbook(page_at, written_server):
    page = at_home(page_at, written_server, "oskar", PHONE)
    page.get_by_role("link", name="Vessmark Charter").click()
    page.get_by_role("link", name="Import and export").click()
    page.get_by_role("button", name="Make a workbook of this fleet").click()
    page.get_by_role("link", name="Download").wait_for(timeout=120_000)
    content = downloaded(page, "Download")
    taken, given = (
        CalamineWorkbook.from_filelike(io.BytesIO(content)),
        CalamineWorkbook.from_path(WORKBOOK),
    )
    for sheet in ("boats", "use"):
        assert len(rows(taken, sheet)) == len(rows(given, sheet)) > 100
    # What the demonstration's people put on record after the import is taken out too.
    since = written_server.one(RECORDED_SINCE)
    assert len(rows(taken, "inspections")) == len(rows(given, "inspections")) + since
    assert since > 3


def rows(book: CalamineWorkbook, sheet: str) -> list:
    return book.get_sheet_by_name(sheet).to_python()


def test_the_bosun_condemns_a_backstay_and_the_boat_is_held_until_it_is_renewed(
    page_at, written_server
):
    server = written_server
    boat, part = server.ask(SAILS)[0]
    page = at_home(page_at, server, "oskar", PHONE)
    expect(page.locator("h1")).to_have_text("Which fleet?")
    page.get_by_role("link", name="Vessmark Charter").click()
    go(page, "Boats")
    page.get_by_label("Name has").fill(server.one("SELECT name FROM fleet_boat WHERE id = ?", boat))
    page.get_by_role("button", name="Show").click()
    page.locator("tbody tr").first.get_by_role("link").click()
    expect(page.get_by_text("Not held.")).to_be_visible()
    condemn_the_backstay(page)
    expect(page.get_by_text("This inspection holds the boat")).to_be_visible()
    verdict = page.locator("tr", has=page.locator(".verdict.replace"))
    expect(verdict).to_have_count(1)
    expect(verdict.get_by_text("Backstay")).to_be_visible()
    expect(verdict.get_by_text("broken", exact=False).first).to_be_visible()
    assert server.one(HELD_NOW, boat) == 1
    page.get_by_role("link", name="Record the renewal").click()
    page.get_by_label("Fitted by").fill("Quay Riggers")
    page.get_by_label("Invoice or log reference").fill("QR 118")
    page.get_by_role("button", name="Record the renewal").click()
    expect(page.get_by_text("is on record as renewed")).to_be_visible()
    expect(page.get_by_text("Not held.")).to_be_visible()
    assert server.one(HELD_NOW, boat) == 0
    assert server.one("SELECT removal_reason FROM fleet_installation WHERE id = ?", part) == (
        "condemned"
    )


def condemn_the_backstay(page) -> None:
    page.get_by_role("link", name="Record an inspection").click()
    page.get_by_role("link", name="Deck check").click()
    expect(page.get_by_label("Who looked")).to_have_value("Oskar Eikemoen")
    stay = page.locator("details", has=page.locator("summary", has_text=re.compile("^Backstay")))
    stay.locator("summary").click()
    spot = stay.get_by_role("group", name="Lower end")
    spot.get_by_label("Found").select_option("broken_wire")
    spot.get_by_label("Measured").fill("2")
    page.get_by_label("I looked at what this record says was seen").check()
    page.get_by_role("button", name="Save and see the verdicts").click()


# -- the accountant


def test_the_accountants_figures_add_up_and_are_those_of_the_page(page_at, demo_server):
    page = at_home(page_at, demo_server, "joana", DESK)
    page.get_by_role("link", name="Vessmark Charter").click()
    go(page, "Budget")
    content = downloaded(page, "Download as CSV").decode()
    lines = [line for line in csv.DictReader(io.StringIO(content)) if line["fleet"] != "note"]
    means = defaultdict(lambda: defaultdict(Decimal))
    for line in lines:
        means[line["scope"], line["base"] if line["scope"] != "fleet" else ""][
            line["fiscal year"]
        ] += Decimal(line["mean"])
    fleet = means["fleet", ""]
    bases = {base for scope, base in means if scope == "base"}
    assert (len(fleet), len(bases)) == (10, 3)
    for year, total in fleet.items():
        assert sum(means["base", base][year] for base in bases) == total
        for base in bases:
            assert means["boat", base][year] == means["base", base][year]
    shown = page.locator("tr", has=page.get_by_role("rowheader", name="Mean", exact=True))
    expect(shown.locator("td")).to_have_text([f"{total:,.0f}" for total in fleet.values()])
    for base in bases:
        row = page.locator("tr", has=page.get_by_role("rowheader", name=base, exact=True))
        cells = row.locator("td").all_inner_texts()
        figures = means["base", base].values()
        assert cells == [f"{figure:,.0f}" for figure in [*figures, sum(figures)]]


SEND = """([url, token]) => fetch(url, {method: "POST", body: new URLSearchParams(
    {csrfmiddlewaretoken: token})}).then(async (answer) => [answer.status, await answer.text()])"""


def test_the_accountant_reads_and_writes_nothing(page_at, demo_server):
    boat, part = demo_server.ask(SAILS)[0]
    page = at_home(page_at, demo_server, "joana", DESK)
    page.goto(f"/vessmark/boats/{boat}/")
    assert page.get_by_role("link", name="Record an inspection").count() == 0
    token = page.locator("[name=csrfmiddlewaretoken]").first.input_value()
    for path in (
        f"boats/{boat}/inspect/?level=deck",
        f"parts/{part}/renew/",
        "settings/",
        "import/",
    ):
        status, text = page.evaluate(SEND, [f"/vessmark/{path}", token])
        assert (status, "Your role does not open this page" in text) == (403, True), path
