"""What orders cost: invoices that name them, work in progress, the audit, papers and files."""

import csv
import datetime as dt
import io
from decimal import Decimal

import pytest
from django.test import Client

from forecasting.accounts import audit, invoicing, progress, register, versions
from forecasting.models import Invoice, WorkOrder, WorkOrderLine
from forecasting.orders import reading, steps
from forecasting.papers.order_paper import contents, order_paper
from forecasting.papers.orders_sheet import LINES, ORDERS, orders_rows_csv, orders_workbook
from tests import builders
from tests.forecasting.papers.reading import Sheets, text_of
from tests.work_orders import WHO, finish, given, job

pytestmark = pytest.mark.django_db
TODAY = builders.TODAY


def signed_in(fleet, role: str) -> Client:
    client = Client()
    client.force_login(
        builders.person(role, fleet, role), "django.contrib.auth.backends.ModelBackend"
    )
    return client


def test_an_invoice_of_work_under_way_is_work_in_progress_until_the_work_is_done(boat, under_way):
    (row,) = progress.in_progress(boat.fleet, TODAY)
    assert (row.order, row.begun, row.waiting) == (under_way, True, 50_001)
    assert row.not_invoiced == 160_000 - 50_001
    before = TODAY - dt.timedelta(days=1)
    (ahead,) = progress.in_progress(boat.fleet, before)
    assert (ahead.begun, ahead.waiting) == (False, 50_001), "paid ahead of work not begun"
    invoice = under_way.invoices.get()
    assert not invoice.shares.exists()
    finish(under_way)
    share = invoice.shares.get()
    assert (share.cost_minor, share.installation.fitter) == (50_001, "Ilse")
    assert progress.in_progress(boat.fleet, TODAY) == []
    assert register.register_of(boat.fleet, 2026).total.added == 50_001
    under_way.refresh_from_db()
    steps.take_back(under_way, TODAY, why="the mast is not up", **WHO)
    assert not invoice.shares.exists()
    assert progress.in_progress(boat.fleet, TODAY)[0].waiting == 50_001


def test_work_begun_without_any_invoice_is_named_for_the_year_end(boat, pair):
    order = given(boat, *map(job, pair))
    steps.take(order, "under_way", TODAY, **WHO)
    (row,) = progress.in_progress(boat.fleet, TODAY)
    assert (row.invoices, row.waiting, row.not_invoiced) == ([], 0, 160_000)


def test_one_line_leads_from_the_find_through_the_order_to_the_release(boat, under_way):
    finish(under_way)
    under_way.supplies.create(supplier="Wire", number="S-7", on=TODAY)
    (line,) = audit.lines(boat.fleet, TODAY, TODAY + dt.timedelta(days=1))
    assert (line.work_order, line.job, line.order) == (under_way, "Past the age rule.", "S-7")
    assert (line.invoice, line.cost, line.part.fitter) == ("A-1", 50_001, "Ilse")
    assert (line.released_by, line.released_on, line.whole) == ("Odd", TODAY, True)
    told = signed_in(boat.fleet, "accountant").get("/harbour/audit/?year=2026").content.decode()
    assert "2026-001" in told
    assert "1 of 1 renewals" in told


def test_an_accountant_puts_the_invoice_to_its_order_and_the_frozen_budget_sees_it(boat, under_way):
    builders.BudgetFigure.objects.create(
        fleet=boat.fleet, year=2026, mean_minor=60_000, planned_minor=0, p10_minor=0,
        p50_minor=60_000, p90_minor=90_000, renewals=1,
    )  # fmt: skip
    version = versions.freeze(boat.fleet, "board", None, "Jo")
    client = signed_in(boat.fleet, "accountant")
    other = builders.boat(boat.fleet, "Gannet")
    sent = {"work_order": under_way.pk, "boat": other.pk, "number": "B-2", "on": str(TODAY),
            "net": "100", "tax": "0", "recovered": "0"}  # fmt: skip
    wrong = client.post("/harbour/invoices/add/", sent).content.decode()
    assert "Order 2026-001 is of Tern: choose that boat" in wrong
    begun = client.get(f"/harbour/invoices/add/?order={under_way.pk}").content.decode()
    assert f'value="{under_way.pk}" selected' in begun
    client.post("/harbour/invoices/add/", sent | {"boat": boat.pk})
    assert under_way.invoices.count() == 2
    assert not Invoice.objects.get(number="B-2").shares.exists()
    (row,) = reading.rows([under_way], TODAY)
    assert (row.invoiced, row.over) == (60_001, 60_001 - 160_000)
    (variance,) = versions.by_year(version, TODAY)
    assert variance.actual == 60_001
    finish(under_way)
    assert sum(s.cost_minor for i in under_way.invoices.all() for s in i.shares.all()) == 60_001


def test_an_invoice_entered_wrongly_is_withdrawn_counts_nowhere_and_stays_readable(boat, under_way):
    finish(under_way)
    client = signed_in(boat.fleet, "accountant")
    invoice = under_way.invoices.get()
    at = f"/harbour/invoices/{invoice.pk}/"
    none = client.post(f"{at}withdraw/", {"why": " "}, follow=True).content.decode()
    assert "Say why it is withdrawn" in none
    assert signed_in(boat.fleet, "bosun").post(f"{at}withdraw/", {"why": "x"}).status_code == 403
    client.post(f"{at}withdraw/", {"why": "of another boat"})
    assert register.register_of(boat.fleet, 2026).total.added == 0
    assert progress.in_progress(boat.fleet, TODAY) == []
    assert reading.rows([under_way], TODAY)[0].invoiced is None
    shown = client.get(at).content.decode()
    assert "Withdrawn" in shown
    assert "of another boat" in shown
    assert "of another boat" in client.get("/harbour/invoices/?year=2026").content.decode()
    again = Invoice(boat=boat, number="A-1", on=TODAY, net_minor=7, work_order=under_way)
    invoicing.record(again, list(invoicing.parts_for(again)))
    assert reading.rows([under_way], TODAY)[0].invoiced == 7


# -- its papers


def test_the_printed_order_has_its_number_who_signs_and_what_came_of_each_line(boat, under_way):
    finish(under_way)
    order = WorkOrder.objects.get()
    told = text_of(order_paper(order))
    for words in ("Work order 2026-001: Tern", "Given to harbour yard", "released by Odd",
                  "Not done: not delivered", "Accepted by the yard or contractor", "Mona",
                  "800.00"):  # fmt: skip
        assert words in told, words
    assert contents(order)["cost"] == "800.00", "what is not done is in no sum"


def test_the_files_of_all_orders_are_the_page_to_the_cent(boat, under_way):
    finish(under_way)
    gannet = builders.boat(boat.fleet, "=1+1")
    given(gannet, job(builders.wire(gannet), 12_345))
    book = Sheets(orders_workbook(boat.fleet))
    header, *rows = book.rows[ORDERS]
    cells = {row[0]: dict(zip(header, row, strict=True)) for row in rows}
    assert cells["2026-001"]["ordered"] == 800.0
    assert cells["2026-001"]["invoiced less ordered"] == -299.99
    assert cells["Together"]["ordered"] == 923.45
    lines = book.rows[LINES]
    for row, label in ((1, "2026-002"), (2, "2026-001")):
        formula = book.formulas(ORDERS)[row, header.index("ordered")]
        assert "SUMPRODUCT" in formula
        asked = sum(
            Decimal(str(line[8])) for line in lines[1:] if line[0] == label and not line[12]
        )
        assert float(asked) == cells[label]["ordered"]
    text = orders_rows_csv(boat.fleet).decode()
    found = list(csv.DictReader(io.StringIO(text, newline="")))
    prices = [Decimal(row["price when drawn up"]) for row in found if row["what"]]
    assert sum(prices) == Decimal("1723.45")
    assert all(row["boat"] != "=1+1" for row in found), "no text of a user is a formula"
    client = signed_in(boat.fleet, "accountant")
    assert "923.45" in Sheets(orders_workbook(boat.fleet)).rows[ORDERS][-1].__str__()
    shown = client.get("/harbour/orders/?state=all").content.decode()
    for amount in ("800.00", "123.45", "500.01"):
        assert amount in shown
    assert WorkOrderLine.objects.of(boat.fleet).count() == 3
