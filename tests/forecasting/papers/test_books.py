"""The books: invoices shared to the cent, the register on page and in files, lives, the audit."""

import csv
import datetime as dt
import io
from decimal import Decimal

import pytest

from fleet.templatetags.wording import exact_money
from forecasting.accounts import audit, invoicing, life_review, progress, register, years
from forecasting.accounts.book_forms import AccountsForm
from forecasting.accounts.part_books import part_in_books
from forecasting.models import AccountsPolicy, Invoice, InvoiceShare, LifeReview, PartMoney
from forecasting.papers.actuals_sheet import audit_csv_rows, invoices_csv_rows
from forecasting.papers.register_sheet import (
    EXPENSED,
    MISSING,
    MOVEMENTS,
    NAME,
    register_csv_rows,
    register_workbook,
)
from inspections.models import Finding, Hold, Inspection, PartVerdict
from tests import builders

from .conftest import CODE
from .formulas import computed
from .reading import Sheets

FITTED = dt.date(2020, 4, 10)


@pytest.fixture
def books(rows):
    """A boat of that fleet with a renewal of 2020 on two stays, and parts nobody has a bill for."""
    Invoice.objects.all().delete()
    boat = builders.boat(rows.fleet, CODE)
    new = {"fitted_on": FITTED, "invoice": "R-20", "fitter": "Ilse"}
    wires = [builders.wire(boat, side=side, **new) for side in ("port", "starboard")]
    screw = builders.wire(
        boat, kind="turnbuckle", construction="", pin_mm=16, length_mm=None, **new
    )
    invoice = Invoice(boat=boat, number="R-20", on=FITTED, net_minor=100_001, tax_minor=20_000,
                      recovered_minor=20_000, order="+49 order")  # fmt: skip
    invoicing.record(invoice, [*wires, screw])
    AccountsPolicy.objects.create(fleet=rows.fleet, since=dt.date(2015, 1, 1), decided_by="Jo",
                                  account_cost="=0420")  # fmt: skip
    return {"fleet": rows.fleet, "boat": boat, "wires": wires, "screw": screw, "invoice": invoice}


def test_an_invoice_is_shared_by_price_and_the_cent_left_goes_to_the_dearest(books):
    shares = {share.installation_id: share.cost_minor for share in InvoiceShare.objects.all()}
    assert sum(shares.values()) == 100_001  # the tax that comes back is not in the cost
    port, starboard = (shares[wire.pk] for wire in books["wires"])
    assert 0 <= port - starboard <= 2
    assert port > shares[books["screw"].pk]


def test_the_parts_that_name_an_invoice_are_offered_before_those_fitted_around_its_day(books):
    InvoiceShare.objects.all().delete()
    boat = books["boat"]
    assert set(invoicing.parts_of(boat, "R-20", dt.date(2000, 1, 1))) == {
        *books["wires"], books["screw"]
    }  # fmt: skip
    assert invoicing.parts_of(boat, "other", FITTED + dt.timedelta(days=60)).count() == 3
    assert invoicing.parts_of(boat, "other", FITTED + dt.timedelta(days=100)).count() == 0


def test_an_invoice_entered_on_the_page_finds_its_parts_and_can_be_shared_anew(books, client):
    Invoice.objects.all().delete()
    sent = {"boat": books["boat"].pk, "number": "R-20", "on": "2020-05-01", "net": "1000.01",
            "tax": "200", "recovered": "50"}  # fmt: skip
    client.post("/harbour/invoices/add/", sent)
    invoice = Invoice.objects.get()
    assert invoice.cost_minor == 115_001
    assert sum(share.cost_minor for share in invoice.shares.all()) == 115_001
    client.post(f"/harbour/invoices/{invoice.pk}/", {"part": [books["screw"].pk]})
    assert [share.cost_minor for share in invoice.shares.all()] == [115_001]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"recovered": "201"}, "Not more than the tax on the invoice"),
        ({"on": "2027-01-01"}, "a day to come"),
        ({"net": "-1"}, "greater than or equal to 0"),
        ({"number": "R-20"}, "has an invoice of that supplier and number already"),
    ],
)
def test_an_invoice_that_cannot_be_is_refused_with_a_sentence(books, client, change, said):
    sent = {"boat": books["boat"].pk, "number": "X", "on": "2020-05-01", "net": "10", "tax": "200",
            "recovered": "0"} | change  # fmt: skip
    assert said in client.post("/harbour/invoices/add/", sent).content.decode()
    assert Invoice.objects.count() == 1


def test_the_register_depreciates_every_part_over_its_own_life(books):
    # By hand: placed in April 2020, 9 months of the year; wires over 10 years, turnbuckle over 15.
    found = register.register_of(books["fleet"], 2020)
    for entry in found.entries:
        life = 120 if entry.part.kind == "wire" else 180
        cost = entry.component.cost
        assert entry.year.charge == int(Decimal(cost * 9) / life + Decimal("0.5"))
    assert found.total.added == 100_001
    assert found.total.carrying_closing == 100_001 - found.total.charge


def test_a_part_below_the_threshold_is_expensed_and_not_in_the_register(books):
    """By hand: the wires cost more than 300.00 each, the turnbuckle less; the part decides."""
    found = register.register_of(books["fleet"], 2020)
    costs = {entry.part.kind: entry.component.cost for entry in found.entries}
    AccountsPolicy.objects.update(capital_from_minor=costs["turnbuckle"] + 1)
    found = register.register_of(books["fleet"], 2020)
    assert {entry.part.kind for entry in found.entries} == {"wire"}
    assert found.expensed == costs["turnbuckle"]
    assert found.total.added + found.expensed == 100_001
    (row,) = [row for row in Sheets(register_workbook(found)).rows[EXPENSED] if row[3] == "R-20"]
    assert (row[2], row[5]) == ("turnbuckle", costs["turnbuckle"] / 100)
    (book,) = part_in_books(books["fleet"], books["screw"])
    assert not book.capitalised
    # Of all its invoices together: a second one lifts the turnbuckle over the threshold.
    more = Invoice(boat=books["boat"], number="R-21", on=FITTED, net_minor=1)
    invoicing.record(more, [books["screw"]])
    assert register.register_of(books["fleet"], 2020).expensed == 0


def test_a_part_is_in_the_books_from_its_fitting_though_the_invoice_came_in_the_next_year(books):
    """Closing of a year is the opening of the next (IAS 16.73(e), from memory)."""
    Invoice.objects.filter(number="R-20").update(on=dt.date(2021, 1, 20))
    closing = register.register_of(books["fleet"], 2020).total
    opening = register.register_of(books["fleet"], 2021).total
    assert closing.added == 100_001
    assert (opening.cost_opening, opening.worn_opening) == (
        closing.cost_closing, closing.worn_closing
    )  # fmt: skip


def test_a_part_without_an_invoice_is_counted_and_never_guessed(books, client):
    found = register.register_of(books["fleet"], 2020)
    assert found.no_cost == 2  # of the other boat, whose invoice is gone
    page = client.get("/harbour/register/?year=2020").content.decode()
    assert "2 parts have no cost on record" in page


def test_the_page_of_a_part_and_the_register_agree_on_an_invoice_before_the_first_decision(books):
    AccountsPolicy.objects.update(since=dt.date(2026, 1, 1), life_wire=8)
    for entry in register.register_of(books["fleet"], 2023).entries:
        (book,) = part_in_books(books["fleet"], entry.part)
        assert dict(book.lines)["2023"] == entry.year


def test_boats_others_pay_for_are_not_in_the_fleets_books(books):
    books["boat"].paid_by = "lessor"
    books["boat"].save()
    assert register.register_of(books["fleet"], 2020).entries == []


def test_a_wire_that_comes_off_leaves_the_books_with_its_loss_and_its_scrap(books, client):
    wire = books["wires"][0]
    wire.removed_on, wire.removal_reason = dt.date(2024, 6, 3), "condemned"
    wire.save()
    client.post(f"/harbour/register/parts/{wire.pk}/", {"minor": "12.50"})
    found = register.register_of(books["fleet"], 2024)
    (entry,) = found.derecognised
    months = 8 + 12 * 3 + 6 - 1 + 1 - 0  # April 2020 to May 2024, both counted
    assert entry.year.carrying_gone == entry.component.cost - int(
        Decimal(entry.component.cost * months) / 120 + Decimal("0.5")
    )
    assert entry.year.gain == 1_250 - entry.year.carrying_gone
    assert register.register_of(books["fleet"], 2025).total.cost_opening == 100_001 - (
        entry.component.cost
    )


def foreseen(books, remaining: float) -> None:
    for wire in books["wires"]:
        PartMoney.objects.create(
            boat=books["boat"], installation=wire, as_of=builders.TODAY, age=6.5, cost_minor=1,
            remaining=remaining,
        )  # fmt: skip


def test_a_life_reviewed_from_the_forecast_changes_the_years_after_and_says_what_it_was(
    books, client
):
    foreseen(books, 1.0)  # until 14 October 2027, not April 2030
    before = register.register_of(books["fleet"], 2025)
    changes = life_review.proposed(books["fleet"], before)
    assert {(c.was, c.ends) for c in changes} == {(dt.date(2030, 4, 1), dt.date(2027, 10, 1))}
    page = client.get("/harbour/register/review/?year=2025").content.decode()
    assert "0 lives become longer and 2 shorter" in page
    client.post("/harbour/register/review/?year=2025")
    after = register.register_of(books["fleet"], 2025)
    assert after.total == before.total
    later = register.register_of(books["fleet"], 2026)
    charges = sum(change.charge for change in changes)
    assert charges == sum(e.year.charge for e in later.entries if e.part.kind == "wire")
    assert LifeReview.objects.count() == 2
    assert life_review.proposed(books["fleet"], before) == changes  # the same day anew, no pile
    client.post("/harbour/register/review/?year=2025")
    assert LifeReview.objects.count() == 2


def test_a_part_expected_to_go_at_once_is_depreciated_over_a_month_at_least(books):
    foreseen(books, 0.0)
    changes = life_review.proposed(books["fleet"], register.register_of(books["fleet"], 2026))
    assert {change.ends for change in changes} == {dt.date(2027, 2, 1)}


def test_the_workbook_and_csv_of_the_register_are_the_page_to_the_cent(books, client):
    found = register.register_of(books["fleet"], 2025)
    book = Sheets(register_workbook(found))
    page = client.get("/harbour/register/?year=2025").content.decode()
    lines = list(csv.DictReader(io.StringIO(register_csv_rows(found).decode(), newline="")))
    header = book.rows[NAME][0]
    together = dict(zip(header, book.rows[NAME][-1], strict=True))
    for name, words in (("cost_closing", "cost, closing"), ("charge", "charge of the year"),
                        ("carrying_closing", "carrying amount, closing")):  # fmt: skip
        minor = getattr(found.total, name)
        assert together[words] == float(Decimal(minor) / 100)
        parts = [Decimal(row[words]) for row in lines if row["invoice"] == "R-20"]
        assert sum(parts) == Decimal(minor) / 100
        assert exact_money(minor, "EUR") in page
    assert book.rows[MISSING][1][0] == "harbour one"
    unknown = [row["cost, opening"] for row in lines if row["boat"] == "harbour one"]
    assert unknown == ["not on record"] * 2


def test_every_formula_of_the_register_has_the_value_it_computes(books):
    wire = books["wires"][0]
    wire.removed_on, wire.removal_reason = dt.date(2024, 6, 3), "condemned"
    wire.save()
    book = Sheets(register_workbook(register.register_of(books["fleet"], 2024)))
    for name, count in ((NAME, 3 * 4 + 11), (MOVEMENTS, 4 + 3)):
        formulas = book.formulas(name)
        assert len(formulas) == count
        for (row, column), formula in formulas.items():
            exact = float(computed(book, name, formula))
            assert book.rows[name][row][column] == pytest.approx(exact, abs=1e-9), formula


def test_text_in_the_books_is_never_a_formula(books):
    found = register.register_of(books["fleet"], 2025)
    book = Sheets(register_workbook(found))
    assert CODE in [row[0] for row in book.rows[NAME]]
    assert any("=0420" in str(row) for row in book.rows["About"])
    first, after = years.bounds(books["fleet"], 2020)
    lines = audit.lines(books["fleet"], first, after)
    for content in (register_csv_rows(found), invoices_csv_rows(books["fleet"], 2020),
                    audit_csv_rows(books["fleet"], lines)):  # fmt: skip
        cells = [cell for row in csv.reader(io.StringIO(content.decode(), newline=""))
                 for cell in row]  # fmt: skip
        assert f"'{CODE}" in cells
        assert not any(cell.startswith(("=", "+")) for cell in cells)


def test_what_was_invoiced_and_not_in_service_at_a_year_end_is_work_in_progress(books):
    invoicing.record(
        Invoice(boat=books["boat"], number="A-1", on=dt.date(2020, 3, 1), net_minor=7_000), []
    )
    waiting = progress.in_progress(books["fleet"], dt.date(2020, 4, 9))
    assert [(row.invoices[0].number, row.waiting) for row in waiting] == [("A-1", 7_000)]
    Invoice.objects.filter(number="R-20").update(on=dt.date(2020, 4, 1))
    waiting = progress.in_progress(books["fleet"], dt.date(2020, 4, 9))
    assert {row.waiting for row in waiting} == {7_000, 100_001}
    assert sum(row.waiting for row in progress.in_progress(books["fleet"], FITTED)) == 7_000


def test_one_line_leads_from_the_finding_to_who_released_the_boat(books, client):
    boat, new = books["boat"], books["wires"][0]
    old = builders.wire(boat, fitted_on=dt.date(2008, 4, 1), removed_on=FITTED,
                        removal_reason="condemned")  # fmt: skip
    look = Inspection.objects.create(boat=boat, on=dt.date(2020, 3, 2), level="aloft",
                                     person="Bo Finder", competence="rigger")  # fmt: skip
    Finding.objects.create(inspection=look, installation=old, place="lower", sign="notch")
    PartVerdict.objects.create(inspection=look, installation=old, value="replace",
                               lower="condemned", run="good", upper="good")  # fmt: skip
    Hold.objects.create(boat=boat, installation=old, cause="replace", reason="condemned",
                        since=look.on, lifted_on=FITTED, lifted_by="Ilse",
                        lifted_how="renewed")  # fmt: skip
    lines = audit.lines(books["fleet"], *years.bounds(books["fleet"], 2020))
    line = next(line for line in lines if line.part == new)
    assert (line.found_on, line.found_by, line.reason) == (look.on, "Bo Finder",
                                                           "condemned at inspection")  # fmt: skip
    assert line.found.endswith(", lower end")
    assert (line.order, line.invoice, line.released_by) == ("+49 order", "R-20", "Ilse")
    assert line.cost == InvoiceShare.objects.get(installation=new).cost_minor
    assert line.whole
    assert not any(each.whole for each in lines if each.part != new)
    assert "1 of 3 renewals of 2020" in client.get("/harbour/audit/?year=2020").content.decode()


def test_a_hold_lifted_long_before_the_renewal_names_nobody_who_released_the_boat_with_it(books):
    boat, new = books["boat"], books["wires"][0]
    old = builders.wire(boat, fitted_on=dt.date(2008, 4, 1), removed_on=FITTED,
                        removal_reason="with_set")  # fmt: skip
    held = Hold.objects.create(boat=boat, installation=old, cause="make_good", reason="pin",
                               since=dt.date(2012, 5, 1), lifted_on=dt.date(2012, 5, 2),
                               lifted_by="Ilse", lifted_how="made good")  # fmt: skip
    year = years.bounds(books["fleet"], 2020)
    line = next(line for line in audit.lines(books["fleet"], *year) if line.part == new)
    assert (line.reason, line.released_on, line.released_by) == ("renewed with its set", None, "")
    Hold.objects.filter(pk=held.pk).update(lifted_on=FITTED)
    line = next(line for line in audit.lines(books["fleet"], *year) if line.part == new)
    assert (line.released_on, line.released_by, line.whole) == (FITTED, "Ilse", True)


def test_how_a_fleet_accounts_is_decided_by_its_accountant_and_kept(books, client):
    sent = {"capital_from": "500", "tax_rate": "20", "tax_recovered": "75", "life_wire": "9",
            "life_turnbuckle": "15", "life_chainplate": "20"}  # fmt: skip
    client.post("/harbour/accounts/", sent)
    policy = register.policy_of(books["fleet"], builders.TODAY)
    assert (policy.capital_from_minor, policy.tax_rate, policy.tax_recovered) == (
        50_000, Decimal("0.2"), Decimal("0.75")
    )  # fmt: skip
    stored = AccountsPolicy.objects.of(books["fleet"]).latest("pk")
    shown = AccountsForm(fleet=books["fleet"], policy=stored)
    again = AccountsForm(
        {name: shown[name].value() for name in shown.fields}, fleet=books["fleet"], policy=stored
    )
    assert again.is_valid(), (again.errors, "what the form shows it also takes")
    assert AccountsPolicy.objects.count() == 2
    membership = books["fleet"].memberships.get(user__username="anna")
    membership.role = "bosun"
    membership.save()
    for path in ("accounts/", "register/review/", "invoices/add/",
                 f"invoices/{books['invoice'].pk}/"):  # fmt: skip
        assert client.get(f"/harbour/{path}").status_code == 200
        assert client.post(f"/harbour/{path}", {}).status_code == 403


def test_empty_books_say_what_to_do(rows, client):
    Invoice.objects.all().delete()
    for path, said in (("register/", "Put the invoices on record"), ("invoices/", "No invoice is"),
                       ("audit/", "No part was fitted")):  # fmt: skip
        assert said in client.get(f"/harbour/{path}").content.decode()
    found = register.register_of(rows.fleet, 2026)
    assert "No part's cost is on record" in Sheets(register_workbook(found)).rows[NAME][1][0]
