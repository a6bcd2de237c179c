"""The board and the orders as files: read back, they say what the page says, to the cent."""

import csv
import datetime as dt
import io

import pytest
import vobject
from django.urls import reverse

from fleet.models import Base
from fleet.spreadsheets.csv_files import unguard
from fleet.templatetags.wording import exact_money
from forecasting import yard_board, yard_orders, yard_told
from forecasting.models import RefitJob, WorkOrderLine, YardVisit
from forecasting.papers import order_rows, yard_rows
from forecasting.papers.yard_paper import yard_paper
from forecasting.yard_events import uid_of, yard_ics
from tests import builders
from tests.yard_plans import WEEK, alongside, open_base, shut

from .conftest import CODE, CYRILLIC, GREEK, LONG
from .reading import Sheets, dense, text_of

NAMES = (CODE, GREEK, CYRILLIC, LONG)


@pytest.fixture
def plan(rows, fleet):
    """The board of the fleet whose names try to be code: three bases, one boat without a week."""
    plan = rows.yard_plan
    for base in Base.objects.of(fleet).exclude(pk=rows.boat.base_id):
        open_base(plan, base)
    for week, boat in enumerate(fleet.boats.filter(name__in=NAMES).order_by("pk"), start=1):
        facts = {"hours": 1.1 * week + 9, "mast_down": True, "must": week == 1, "weeks": 2}
        alongside(plan, boat, first_week=None if boat.name == LONG else week, **facts)
    YardVisit.objects.filter(boat__name=GREEK).update(
        kept_by=builders.person("=SUM(1)", fleet), kept_at=builders.NOON
    )
    shut(plan, rows.boat.base, 4, note="=cmd|' /C calc'!A0")
    return plan


def cost(fleet) -> int:
    return sum(RefitJob.objects.of(fleet).values_list("cost_minor", flat=True))


def csv_rows(content: bytes) -> list[dict]:
    lines = csv.DictReader(io.StringIO(content.decode(), newline=""))
    found = [{name: unguard(cell) for name, cell in line.items()} for line in lines]
    return [line for line in found if line["fleet"] != "note"]


def test_every_file_of_the_board_says_the_pages_boats_weeks_hours_and_money(plan, client):
    page = client.get(reverse("yard_board", args=["harbour", plan.pk]))
    boards = page.context["boards"]
    shown = {a.visit.boat.name: a for board in boards for week in board.weeks for a in week.boats}
    without = {a.visit.boat.name for board in boards for a in board.without}
    assert without == {LONG}
    lines = csv_rows(yard_rows.yard_csv(plan))
    assert {line["boat"] for line in lines} == set(shown) | without
    for line in lines:
        a = shown.get(line["boat"])
        assert line["monday"] == (str(a.monday) if a else "")
        assert line["friday"] == (str(a.last_day) if a else "")
    assert sum(float(line["hours"]) for line in lines) == pytest.approx(
        sum(YardVisit.objects.filter(plan=plan).values_list("hours", flat=True))
    )
    assert sum(round(100 * float(line["cost of the jobs"])) for line in lines) == cost(plan.fleet)
    assert {(line["fleet"], line["as of"], line["currency"]) for line in lines} == {
        ("Harbour", "2026-10-14", "EUR")
    }
    assert all("2026/27" in line["board"] for line in lines)
    [kept] = [line for line in lines if line["kept by hand by"]]
    assert (kept["boat"], kept["kept by hand by"]) == (GREEK, "=SUM(1)")


def test_the_workbook_has_the_boards_weeks_and_its_formulas_give_their_values(plan):
    book = Sheets(yard_rows.yard_workbook(plan))
    weeks = book.rows[yard_rows.WEEKS]
    used = [week.at.hours for board in yard_board.boards(plan) for week in board.weeks]
    column = yard_rows.WEEK_HEADERS.index("hours used")
    assert [row[column] for row in weeks[1:]] == pytest.approx(used)
    taken = [row[yard_rows.WEEK_HEADERS.index("taken")] for row in weeks[1:]]
    assert "the yard is shut, 30 Nov 2026 to 4 Dec 2026: =cmd|' /C calc'!A0" in taken
    monday = yard_rows.HEADERS.index("monday")
    assert {type(row[monday]) for row in book.rows[yard_rows.NAME][1:3]} <= {dt.date, str}
    whole = book.rows[yard_rows.NAME][-1][yard_rows.COST]
    assert round(100 * whole) == cost(plan.fleet)
    formulas = 0
    for name in (yard_rows.NAME, "By base"):
        assert book.frozen(name)
        for (row, column), formula in book.formulas(name).items():
            assert book.rows[name][row][column] == pytest.approx(book.computed(name, formula))
            formulas += 1
    assert formulas == 2 + 3 * 2
    assert set(book.formulas(yard_rows.WEEKS)) == set(), "names are text, whatever they begin with"


def test_the_calendar_has_whole_days_an_event_a_boat_and_the_same_bytes_again(plan):
    content = yard_ics(plan)
    assert content == yard_ics(plan)
    assert max(map(len, content.split(b"\r\n"))) <= 75
    events = {e.uid.value: e for e in vobject.readOne(content.decode()).contents["vevent"]}
    placed = YardVisit.objects.filter(plan=plan).exclude(first_week=None)
    assert set(events) == {uid_of(plan, visit) for visit in placed}
    for visit in placed:
        event = events[uid_of(plan, visit)]
        first = plan.monday(visit.first_week)
        assert event.dtstart.value == first
        assert event.dtend.value == first + (visit.weeks - 1) * WEEK + dt.timedelta(days=5)
        assert event.summary.value.startswith(visit.boat.name)
        assert "2026/27" in event.description.value
    assert b"DTSTART;VALUE=DATE:" in content
    moved = placed.get(boat__name=GREEK)
    later = plan.planned_at + WEEK
    YardVisit.objects.filter(pk=moved.pk).update(first_week=0, kept_at=later)
    found = vobject.readOne(yard_ics(plan).decode()).contents["vevent"]
    again = {e.uid.value: e for e in found}[uid_of(plan, moved)]
    assert again.dtstart.value == plan.monday(0), "moved, it is the same event"
    assert int(again.sequence.value) > int(events[uid_of(plan, moved)].sequence.value)
    assert (again.status.value, events[uid_of(plan, placed[0])].status.value) == (
        "CONFIRMED", "TENTATIVE",
    )  # fmt: skip


def test_the_calendar_of_one_base_has_the_boats_of_that_base_alone(plan, client):
    where = reverse("yard_ics", args=["harbour", plan.pk])
    page = client.get(reverse("yard_board", args=["harbour", plan.pk]))
    found = []
    for board in page.context["boards"]:
        own = f"{where}?base={board.base.pk}"
        assert f'href="{own}"' in page.content.decode()
        calendar = vobject.readOne(client.get(own).content.decode())
        assert calendar.contents["x-wr-calname"][0].value.endswith(f"2026/27, {board.base.name}")
        uids = {event.uid.value for event in calendar.contents.get("vevent", [])}
        assert uids == {uid_of(plan, a.visit) for week in board.weeks for a in week.boats}
        found.append(uids)
    assert sum(map(bool, found)) > 1
    everything = vobject.readOne(client.get(where).content.decode()).contents["vevent"]
    assert sorted(uid for uids in found for uid in uids) == sorted(e.uid.value for e in everything)
    for wrong in ("0", "x"):
        assert client.get(f"{where}?base={wrong}").status_code == 404


def test_the_paper_prints_every_boat_week_and_limit_that_is_broken(plan):
    printed = dense(yard_paper(plan))
    for board in yard_board.boards(plan):
        assert dense(board.base.name) in printed
        for week in board.weeks:
            assert all(dense(each.words) in printed for each in week.over)
            assert f"{week.at.monday.day}{week.at.monday:%b}" in printed
    assert all(dense(name) in printed for name in NAMES)
    assert "Withoutaweek" in printed
    total = sum(job.cost_minor for job in RefitJob.objects.of(plan.fleet).filter(
        boat__base__name="A*"))  # fmt: skip
    assert exact_money(total, "EUR") in printed


def test_orders_read_back_from_page_paper_workbook_and_csv_are_the_same_to_the_cent(plan, client):
    page = client.get(reverse("yard_orders", args=["harbour", plan.pk]))
    total = page.context["total"]
    assert total.pieces == RefitJob.objects.of(plan.fleet).exclude(installation=None).count()
    assert total.price_minor > 0
    lines = csv_rows(order_rows.order_csv(plan))
    assert sum(int(line["pieces"]) for line in lines) == total.pieces
    assert sum(round(100 * float(line["price"])) for line in lines) == total.price_minor
    book = Sheets(order_rows.order_workbook(plan))
    assert round(100 * book.rows[order_rows.NAME][-1][order_rows.PRICE]) == total.price_minor
    for name in (order_rows.NAME, "By supplier"):
        for (row, column), formula in book.formulas(name).items():
            assert book.rows[name][row][column] == pytest.approx(book.computed(name, formula))
    printed = text_of(order_rows.order_paper(plan))
    assert exact_money(total.price_minor, "EUR") in printed
    for order in yard_orders.orders(plan, plan.fleet.today()):
        assert dense(order.supplier) in dense(printed)
    days = [line["order by"] for line in lines if line["order by"]]
    assert days == sorted(days)
    assert "2026-10-19" in days, "Monday 9 November less three weeks"
    waiting = WorkOrderLine.objects.of(plan.fleet).filter(done_on=None, not_done="").exclude(
        installation__refit_job=None
    )  # fmt: skip
    assert total.on_order == waiting.count() > 0
    assert total.twice in page.content.decode()
    assert dense(total.twice) in dense(printed)
    assert any(f"(on work order {waiting[0].order})" in line["for"] for line in lines)


def test_an_empty_board_makes_files_that_say_so(rows):
    plan = rows.yard_plan
    RefitJob.objects.all().delete()
    plan.visits.all().delete()
    assert Sheets(yard_rows.yard_workbook(plan)).rows[yard_rows.NAME][1][0].startswith("No boat")
    assert Sheets(order_rows.order_workbook(plan)).rows[order_rows.NAME][1][0].startswith("No part")
    assert "No part is on the list" in text_of(order_rows.order_paper(plan))
    assert yard_ics(plan).startswith(b"BEGIN:VCALENDAR")


def test_the_work_order_and_the_boats_page_say_its_week(plan, rows, client):
    answer = client.get(reverse("boat", args=["harbour", rows.boat.pk])).content.decode()
    assert "In the yard" in answer
    assert "9 Nov 2026 to 13 Nov 2026 at Hollow Quay" in answer
    assert yard_told.yard_words(rows.boat) == "9 Nov 2026 to 13 Nov 2026 at Hollow Quay"
    files = ("yard_pdf", "yard_xlsx", "yard_csv", "yard_ics", "orders_pdf", "orders_xlsx",
             "orders_csv")  # fmt: skip
    for name in files:
        response = client.get(reverse(name, args=["harbour", plan.pk]))
        assert response.status_code == 200
        assert "2026-27-2026-10-14." in response["Content-Disposition"]
