"""Work orders: drawn up, numbered without gaps, step by step, ticked through the record."""

import datetime as dt

import pytest
from django.core.exceptions import ValidationError
from django.test import Client

from fleet.models import Installation
from forecasting.accounts import invoicing
from forecasting.models import (
    Invoice,
    RefitJob,
    ScenarioJob,
    WorkOrder,
    YardPlan,
    YardVisit,
)
from forecasting.orders import drawing_up, reading, sources, steps, ticking
from forecasting.orders.forms import GiveForm
from forecasting.papers.order_paper import contents
from inspections.models import Hold
from tests import builders
from tests.inspections.docks import day, inspect, part, rigged_boat, saw
from tests.season_plans import season_plan
from tests.work_orders import WHO, drawn_up, given, job

pytestmark = pytest.mark.django_db
TODAY = builders.TODAY
RENEWAL = {"fitted_on": str(TODAY), "fitter": "Ilse", "released_by": "Odd", "invoice": "R-9",
           "reason": "age_rule", "kind": "wire", "construction": "1x19", "diameter_mm": "8",
           "lower_terminal": "swaged", "upper_terminal": "t_ball"}  # fmt: skip


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
    listed = manager.get("/harbour/refit/").content.decode()
    assert listed.count("on work order 2026-00") == 2
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


def test_an_order_begins_with_the_days_its_boat_has_on_the_board_of_the_weeks(boat, pair):
    plan = YardPlan.objects.create(fleet=boat.fleet, season="2026/27", weeks=20,
                                   first_monday=dt.date(2026, 11, 2))  # fmt: skip
    YardVisit.objects.create(plan=plan, base=boat.base, boat=boat, first_week=2, weeks=1)
    order = drawn_up(boat, job(pair[0]))
    form = GiveForm(instance=order, fleet=boat.fleet)
    assert form["week"].value() == dt.date(2026, 11, 16)
    assert form["due_by"].value() == dt.date(2026, 11, 20)
    assert contents(order)["boat"][-1][1] == "16 Nov 2026 to 20 Nov 2026 at Hollow Quay"


def test_an_order_given_to_another_yard_while_under_way_has_begun_when_it_did(boat, pair):
    order = given(boat, job(pair[0]))
    begun = steps.take(order, "under_way", TODAY, **WHO)
    plan = {"given_to": "Other Yard", "due_by": TODAY, "week": None}
    order = steps.give(begun, plan, TODAY, **WHO)
    assert (order.state, order.given_to) == ("under_way", "Other Yard")
    assert steps.days(order)["under_way"] == TODAY
    assert "To Other Yard" in order.steps.last().words


def test_an_order_taken_back_from_another_yard_is_again_with_the_first(boat, pair):
    first = {"given_to": "Loft, to be done by 1 May 2026", "due_by": TODAY, "week": TODAY}
    order = steps.give(drawn_up(boat, job(pair[0])), first, TODAY, **WHO)
    second = {"given_to": "Other Yard", "due_by": TODAY + dt.timedelta(days=9), "week": None}
    for begun in (False, True):
        if begun:
            order = steps.take(order, "under_way", TODAY, **WHO)
        order = steps.give(order, second, TODAY, **WHO)
        assert {name: getattr(order, name) for name in second} == second
        order = steps.take_back(order, TODAY, why="to the wrong yard", **WHO)
        order.refresh_from_db()
        assert {name: getattr(order, name) for name in first} == first
        assert order.state == ("under_way" if begun else "given")
    for _ in range(2):
        order = steps.take_back(order, TODAY, why="not yet", **WHO)
    assert (order.state, order.given_to, order.due_by, order.week) == ("drawn_up", "", None, None)


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
