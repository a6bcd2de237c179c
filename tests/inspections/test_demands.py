"""Demands of insurers, owners and flag: due until accepted; what satisfies them is worked out."""

import datetime as dt

import pytest
from django.core.exceptions import ValidationError
from django.db import transaction

from fleet.models import Installation
from inspections.aftermath import advice, happenings
from inspections.demands import evidence, keeping
from inspections.due import due
from inspections.models import Demand, Reminder
from tests import builders
from tests.inspections.docks import address, inspect, part, read, rigged_boat, saw, signed_in

pytestmark = pytest.mark.django_db
TODAY = builders.TODAY
DAY = dt.timedelta(days=1)
ASKED = TODAY - 60 * DAY


def demand(*boats, **facts) -> Demand:
    usual = {
        "asker": "insurer", "asker_name": "Grimsund Mutual", "clause": "New wires, please.",
        "asked_on": ASKED, "deadline": TODAY + 30 * DAY, "wanted": "renew",
    }  # fmt: skip
    return keeping.add(boats[0].fleet, boats, **(usual | facts))


def answer(row: Demand, boat) -> evidence.Answer:
    return evidence.of_demands([row])[row.pk][boat.pk]


def fitted(boat, **facts) -> None:
    Installation.objects.filter(stay__boat=boat).update(**facts)


def dues(boat) -> list:
    return [e for e in due(boat.fleet, TODAY) if e.kind == Reminder.Kind.DEMAND and e.boat == boat]


def test_it_is_due_by_its_deadline_on_each_of_its_boats():
    boat = rigged_boat()
    sister = builders.boat(boat.fleet, "Gull")
    row = demand(boat, sister)
    for each in (boat, sister):
        [found] = dues(each)
        assert (found.on, found.about) == (row.deadline, str(row.pk))
    assert dues(boat)[0].reason == (
        "Grimsund Mutual (insurer) asks for parts renewed: “New wires, please.” "
        "Still to be renewed: Cap shroud, port; Cap shroud, starboard."
    )


def test_wires_are_renewed_only_when_each_was_fitted_since_by_invoice_or_log():
    boat = rigged_boat()
    row = demand(boat, part_kind="wire")
    assert answer(row, boat).missing.startswith("Still to be renewed: Cap shroud, port")
    fitted(boat, fitted_on=ASKED, invoice="F-12")
    found = answer(row, boat)
    assert found.satisfied
    assert found.shown[0] == "Cap shroud, port: fitted 15 Aug 2026, invoice F-12"
    assert "On record as done: send the answer." in dues(boat)[0].reason
    fitted(boat, fitted_certainty="estimated")
    assert not answer(row, boat).satisfied


def test_a_clause_about_age_spares_what_is_young_on_the_deadline_and_no_other():
    boat = rigged_boat()
    row = demand(boat, older_than_years=10, part_kind="wire")
    ten_before = row.deadline.replace(year=row.deadline.year - 10)
    fitted(boat, fitted_on=ten_before + DAY)
    assert answer(row, boat).satisfied
    fitted(boat, fitted_on=ten_before - 2 * DAY)
    assert not answer(row, boat).satisfied
    # Known to the year: it may have been January.
    fitted(boat, fitted_on=dt.date(ten_before.year, 12, 1), fitted_certainty="year")
    assert not answer(row, boat).satisfied
    fitted(boat, fitted_on=None, fitted_certainty="unknown")
    assert "no date of fitting is on record" in answer(row, boat).missing


def test_a_place_left_empty_and_a_part_condemned_again_are_still_to_be_renewed():
    boat = rigged_boat()
    row = demand(boat, part_kind="wire")
    fitted(boat, fitted_on=ASKED)
    assert answer(row, boat).satisfied
    happenings.record_failure(part(boat), TODAY, "lower", "It let go.", "Skipper")
    assert answer(row, boat).missing == "Still to be renewed: Cap shroud, port."
    inspect(boat, TODAY, saw(part(boat, "starboard"), "barrel_crack_along"))
    assert "Cap shroud, port; Cap shroud, starboard" in answer(row, boat).missing


def test_a_boat_without_the_parts_asked_for_satisfies_nothing():
    boat = builders.boat(builders.empty_fleet("harbour"))
    row = demand(boat, part_kind="wire")
    assert not answer(row, boat).satisfied
    assert answer(row, boat).missing.startswith("No such part is on record")


def test_a_report_is_one_attached_or_a_riggers_whole_look_aloft():
    boat = rigged_boat()
    row = demand(boat, wanted="report")
    inspect(boat, TODAY - 3 * DAY, person="Bo", competence="crew")
    inspect(boat, TODAY - 3 * DAY, level="deck")
    assert not answer(row, boat).satisfied
    inspect(boat, TODAY - 2 * DAY)
    assert answer(row, boat).shown == ("Inspected aloft by A Rigger (rigger), 12 Oct 2026",)
    other = builders.boat(boat.fleet, "Gull")
    second = demand(other, wanted="report")
    advice.attach(other, builders.pdf_file(), on=TODAY, author="S. Vey", competence="surveyor")
    assert answer(second, other).shown == ("Report of S. Vey (surveyor), 14 Oct 2026, attached",)


def test_the_mast_out_is_a_whole_look_with_the_mast_down():
    boat = rigged_boat()
    row = demand(boat, wanted="mast_out")
    inspect(boat, TODAY - 3 * DAY)
    assert answer(row, boat).missing == "No inspection with the mast out since 15 Aug 2026."
    inspect(boat, TODAY - 2 * DAY, level="mast_down")
    assert answer(row, boat).satisfied


def test_sent_it_stays_due_accepted_it_does_not_and_reopened_it_does():
    boat = rigged_boat()
    row = demand(boat)
    keeping.sent(row, TODAY, "Maren", "by mail")
    assert dues(boat)[0].reason.endswith("Answered 14 Oct 2026, not accepted yet.")
    keeping.closed(row, "accepted", TODAY, "Ms Vey")
    assert dues(boat) == []
    with pytest.raises(ValidationError, match="accepted already"):
        keeping.sent(row, TODAY, "Maren", "again")
    keeping.reopen(row)
    assert len(dues(boat)) == 1
    assert [each.what for each in row.changes.all()][-1].startswith("Answer sent 14 Oct 2026")


def test_a_correction_keeps_what_it_said_before_and_who_changed_it():
    boat = rigged_boat()
    row, user = demand(boat), builders.person("maren", boat.fleet)
    facts = {name: getattr(row, name) for name in keeping.FACTS}
    assert keeping.change(row, [boat], user, **facts) is None
    keeping.change(row, [boat], user, **facts | {"deadline": TODAY + 60 * DAY})
    [kept] = row.changes.all()
    assert (kept.before, kept.after) == ({"deadline": "13 Nov 2026"}, {"deadline": "13 Dec 2026"})
    assert kept.by == user


@pytest.mark.parametrize(
    ("facts", "words"),
    [
        ({"deadline": ASKED - DAY}, "before the day it was asked"),
        ({"asked_on": TODAY + DAY}, "still to come"),
        ({"wanted": "report", "older_than_years": 10}, "An age belongs to"),
    ],
)
def test_what_makes_no_sense_is_refused_in_words(facts, words):
    boat = rigged_boat()
    with pytest.raises(ValidationError, match=words), transaction.atomic():
        demand(boat, **facts)
    assert not Demand.objects.exists()


def test_it_is_entered_for_all_boats_of_a_base_on_one_page_answered_and_accepted():
    boat = rigged_boat()
    builders.boat(boat.fleet, "Gull")
    client = signed_in(boat)
    given = {
        "asker": "insurer", "asker_name": "Grimsund Mutual", "clause": "New wires, please.",
        "wanted": "renew", "deadline": "2026-12-01", "asked_on": "2026-10-01",
        "base": boat.base.pk,
    }  # fmt: skip
    refused = client.post(address(boat, "demand_add"), given | {"base": ""})
    assert "Tick at least one boat" in refused.content.decode()
    done = client.post(address(boat, "demand_add"), given)
    row = Demand.objects.get()
    assert done.url == address(boat, "demand", row.pk)
    assert row.boats.count() == 2
    page = address(boat, "demand", row.pk)
    client.post(page, {"step": "sent", "sent-on": "2026-10-14", "sent-by": "Maren"})
    assert "not accepted yet" in read(client, page)
    late = {"step": "closed", "closed-state": "accepted", "closed-on": "2026-10-15"}
    assert "still to come" in client.post(page, late | {"closed-by": "Vey"}).content.decode()
    client.post(page, late | {"closed-by": "Vey", "closed-on": "2026-10-14"})
    row.refresh_from_db()
    assert (row.state, row.closed_by) == ("accepted", "Vey")
    assert "Nobody demands anything" in read(client, address(boat, "demands"))


def test_an_accountant_reads_demands_and_enters_none():
    boat = rigged_boat()
    row = demand(boat)
    client = signed_in(boat, "accountant")
    assert "Put it on record" not in read(client, address(boat, "demand", row.pk))
    assert client.post(address(boat, "demand", row.pk), {"step": "reopen"}).status_code == 403
    assert client.get(address(boat, "demand_add")).status_code == 403
