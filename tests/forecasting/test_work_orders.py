"""Work orders: numbered without gaps, ticked through the record, paid by their invoices."""

import csv
import datetime as dt
import io
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.test import Client

from fleet.models import Installation
from forecasting.accounts import audit, invoicing, progress, register, versions
from forecasting.models import Invoice, RefitJob, ScenarioJob, WorkOrder, WorkOrderLine
from forecasting.orders import drawing_up, reading, sources, steps, ticking
from forecasting.papers.order_paper import contents, order_paper
from forecasting.papers.orders_sheet import LINES, ORDERS, orders_rows_csv, orders_workbook
from inspections.models import Hold
from tests import builders
from tests.forecasting.papers.reading import Sheets, text_of
from tests.inspections.docks import day, inspect, part, rigged_boat, saw
from tests.season_plans import season_plan
from tests.work_orders import WHO, drawn_up, given, job

pytestmark = pytest.mark.django_db
TODAY = builders.TODAY
RENEWAL = {"fitted_on": str(TODAY), "fitter": "Ilse", "released_by": "Odd", "invoice": "R-9",
           "reason": "age_rule", "kind": "wire", "construction": "1x19", "diameter_mm": "8",
           "lower_terminal": "swaged", "upper_terminal": "t_ball"}  # fmt: skip


@pytest.fixture
def boat():
    fleet = builders.empty_fleet("harbour")
    own = builders.boat(fleet)
    builders.base(fleet)
    return own


@pytest.fixture
def pair(boat):
    return [builders.wire(boat, side=side) for side in ("port", "starboard")]


def signed_in(fleet, role: str) -> Client:
    client = Client()
    client.force_login(
        builders.person(role, fleet, role), "django.contrib.auth.backends.ModelBackend"
    )
    return client


def page(client: Client, order: WorkOrder) -> str:
    return client.get(f"/harbour/orders/{order.pk}/").content.decode()


# -- drawn up


def test_orders_are_numbered_in_their_fleet_and_year_and_a_mistake_keeps_its_number(boat, pair):
    first = drawn_up(boat, job(pair[0]))
    steps.take(first, "withdrawn", TODAY, words="the wrong boat", **WHO)
    assert first.lines.get().not_done == "Order withdrawn: the wrong boat"
    (row,) = reading.rows([first], TODAY)
    assert (row.ordered, row.waiting) == (0, 0)
    steps.take_back(first, TODAY, why="the right one after all", **WHO)
    assert first.lines.get().waits
    steps.take(first, "withdrawn", TODAY, words="no: the wrong one", **WHO)
    second = drawn_up(boat, job(pair[0]), job(pair[1]))
    assert (first.label, second.label) == ("2026-001", "2026-002")
    other = builders.boat(builders.empty_fleet("estuary"))
    assert drawn_up(other, job(builders.wire(other))).label == "2026-001"
    assert drawing_up.next_number(boat.fleet, 2027) == 1
    assert reading.missing_numbers(boat.fleet) == []
    first.delete()
    assert reading.missing_numbers(boat.fleet) == ["2026-001"]


def test_the_refit_list_becomes_orders_boat_by_boat_and_no_job_is_ordered_twice(boat, pair):
    manager, facts = signed_in(boat.fleet, "manager"), {"season": "2026/27", "hours": 3}
    other = builders.boat(boat.fleet, "Gannet")
    for own, wire in ((boat, pair[0]), (boat, pair[1]), (other, builders.wire(other))):
        RefitJob.objects.create(boat=own, installation=wire, code="rule_age", reason="Past 12.",
                                cost_minor=61_250, put_off_minor=1, **facts)  # fmt: skip
    RefitJob.objects.create(boat=boat, code="mast_down", reason="Once.", cost_minor=90_000,
                            put_off_minor=0, **facts)  # fmt: skip
    shown = manager.get("/harbour/orders/new/").content.decode()
    assert shown.count('name="job"') == 4
    ticked = [f"{boat.pk}-{pair[0].pk}", f"{boat.pk}-mast_down",
              f"{other.pk}-{other.stays.get().installations.get().pk}"]  # fmt: skip
    manager.post("/harbour/orders/new/", {"job": ticked})
    second, first = WorkOrder.objects.order_by("number")  # by name: Gannet before Tern
    assert [line.what for line in first.lines.all()] == ["Cap shroud, port",
                                                         "Mast down and up again"]  # fmt: skip
    assert (first.source, first.season, second.boat) == ("refit list", "2026/27", other)
    assert sum(line.price_minor for line in first.lines.all()) == 151_250
    offers = sources.offers(boat.fleet, sources.chosen(boat.fleet, None))
    assert [[each.part for each in offer.jobs] for offer in offers] == [[], [pair[1]]]
    with pytest.raises(ValidationError, match="on order 2026-002 already"):
        drawn_up(boat, job(pair[0]))
    RefitJob.objects.all().delete()
    assert first.lines.count() == 2, "an order keeps its lines when the list is made anew"


def test_a_season_of_a_plan_becomes_an_order_too(boat, pair):
    plan = season_plan(boat, pair[0])
    ScenarioJob.objects.create(scenario=plan, boat=boat, season=1, code="mast_down", hours=9,
                               reason="Once.", cost_minor=20_000)  # fmt: skip
    source = sources.chosen(boat.fleet, f"{plan.pk}-1")
    (offer,) = sources.offers(boat.fleet, source)
    assert (source.season, offer.price, offer.hours) == ("2027/28", 100_000, 12.5)
    assert sources.offers(boat.fleet, sources.chosen(boat.fleet, f"{plan.pk}-0")) == []


def test_a_line_says_what_was_found_by_whom_and_is_ticked_through_the_record():
    tern = rigged_boat()
    inspect(tern, day(0), saw(part(tern), "broken_wire", measure=1), person="A Rigger")
    order = given(tern, job(part(tern), code="condemned", must=True))
    line = order.lines.get()
    assert line.look.on == day(0)
    assert "broken" in line.rests_on.lower()
    assert "A Rigger" in line.rests_on
    bosun = signed_in(tern.fleet, "bosun")
    address = f"/{tern.fleet.slug}/orders/lines/{line.pk}/"
    missing = bosun.post(address, RENEWAL | {"invoice": "-"}).content.decode()
    assert "Give the number of the invoice, or the page of the log" in missing
    assert Hold.objects.standing().filter(boat=tern, cause="replace").exists()
    bosun.post(address, RENEWAL | {"fitted_on": str(day(30))})
    line.refresh_from_db()
    assert (line.fitted_by, line.released_by, line.done_on) == ("Ilse", "Odd", day(30))
    assert line.renewed.stay == line.installation.stay
    line.installation.refresh_from_db()
    assert line.installation.removal_reason == "condemned"
    assert not Hold.objects.standing().filter(boat=tern, cause="replace").exists()
    order.refresh_from_db()
    assert order.state == "under_way", "the first line ticked begins the work"


# -- its steps


def test_an_order_goes_from_step_to_step_by_those_whose_it_is(boat, pair):
    order = drawn_up(boat, *map(job, pair))
    manager, bosun, accountant = (
        signed_in(boat.fleet, role) for role in ("manager", "bosun", "accountant")
    )
    at = f"/harbour/orders/{order.pk}/"
    plan = {"given_to": "Loft Yard", "due_by": "2026-12-01", "week": "2026-11-16"}
    assert bosun.post(f"{at}give/", plan).status_code == 403
    assert accountant.post(f"{at}step/", {"to": "under_way"}).status_code == 403
    past = manager.post(f"{at}give/", plan | {"due_by": "2026-10-01"}, follow=True)
    assert "This day is past" in past.content.decode()
    manager.post(f"{at}give/", plan)
    assert "Given to Loft Yard, to be done by 1 Dec 2026" in page(accountant, order)
    bosun.post(f"{at}step/", {"to": "under_way"})
    first, second = order.lines.order_by("pk")
    bosun.post(f"/harbour/orders/lines/{first.pk}/", RENEWAL)
    refused = bosun.post(f"{at}step/", {"to": "done"}, follow=True).content.decode()
    assert "Tick these lines, or say why not: Cap shroud, starboard." in refused
    bosun.post(f"/harbour/orders/lines/{second.pk}/not-done/", {"why": "wire not delivered"})
    bosun.post(f"{at}step/", {"to": "done"})
    assert bosun.post(f"{at}step/", {"to": "closed"}).status_code == 403
    no_invoice = manager.post(f"{at}step/", {"to": "closed"}, follow=True).content.decode()
    assert "No invoice names it" in no_invoice
    manager.post(f"{at}step/", {"to": "closed", "words": "own riggers, no invoice"})
    order.refresh_from_db()
    assert order.state == "closed"
    told = page(accountant, order)
    for words in ("wire not delivered", "own riggers, no invoice", "1 of 2 lines done", "Ilse"):
        assert words in told
    assert [step.state for step in order.steps.all()] == [
        "drawn_up", "given", "under_way", "done", "closed"
    ]  # fmt: skip


def test_a_step_taken_by_mistake_is_taken_back_with_a_reason_and_stays_readable(boat, pair):
    order = given(boat, job(pair[0]))
    with pytest.raises(ValidationError, match="Say why the step is taken back"):
        steps.take_back(order, TODAY, why=" ", **WHO)
    order = steps.take_back(order, TODAY, why="to the wrong yard", **WHO)
    assert order.state == "drawn_up"
    assert "given" not in steps.days(order)
    with pytest.raises(ValidationError, match="withdraw it"):
        steps.take_back(order, TODAY, why="again", **WHO)
    assert order.steps.count() == 3


def test_no_order_is_withdrawn_once_part_of_it_is_done_or_an_invoice_names_it(boat, pair):
    order = given(boat, job(pair[0]), job(None, 90_000, code="mast_down"))
    invoice = Invoice.objects.create(boat=boat, number="A-1", on=TODAY, net_minor=5,
                                     work_order=order)  # fmt: skip
    with pytest.raises(ValidationError, match="An invoice names it"):
        steps.take(order, "withdrawn", TODAY, words="off", **WHO)
    invoicing.name_order(invoice, None)
    mast = order.lines.get(installation=None)
    ticking.done(mast, TODAY, "Ilse", "Odd", **WHO)
    with pytest.raises(ValidationError, match="Part of it is done"):
        steps.take(order, "withdrawn", TODAY, words="off", **WHO)


def test_a_part_renewed_elsewhere_meanwhile_is_linked_not_renewed_twice(boat, pair):
    old = pair[0]
    order = given(boat, job(old))
    old.removed_on, old.removal_reason = TODAY, "age_rule"
    old.save()
    with pytest.raises(ValidationError, match="No part is on record in its place"):
        ticking.link(order.lines.get(), "Odd", **WHO)
    new = builders.wire(boat, fitted_on=TODAY, fitter="Ilse")
    bosun = signed_in(boat.fleet, "bosun")
    shown = bosun.get(f"/harbour/orders/lines/{order.lines.get().pk}/").content.decode()
    assert "A new part is on record in its place" in shown
    bosun.post(f"/harbour/orders/lines/{order.lines.get().pk}/", {"released_by": "Odd"})
    assert order.lines.get().renewed == new
    assert Installation.objects.filter(stay=old.stay).count() == 2


# -- what it cost


@pytest.fixture
def under_way(boat, pair):
    """An order with an invoice ahead of it: one of its two lines is done."""
    order = given(boat, *map(job, pair))
    line = order.lines.order_by("pk").first()
    old = line.installation
    old.removed_on, old.removal_reason = TODAY, "age_rule"
    old.save()
    builders.wire(boat, fitted_on=TODAY, fitter="Ilse")
    ticking.link(line, "Odd", **WHO)
    invoice = Invoice(boat=boat, number="A-1", on=TODAY - dt.timedelta(days=9), net_minor=50_001,
                      work_order=order)  # fmt: skip
    invoicing.record(invoice, list(invoicing.parts_for(invoice)))
    return order


def finish(order: WorkOrder) -> WorkOrder:
    order.refresh_from_db()
    ticking.not_done(order.lines.get(done_on=None), "not delivered", None)
    return steps.take(order, "done", TODAY, **WHO)


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
