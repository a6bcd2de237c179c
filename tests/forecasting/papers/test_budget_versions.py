"""What is behind a budget, versions frozen, and what it really cost, on page and in files."""

import csv
import datetime as dt
import io
from decimal import Decimal

import pytest

from fleet.templatetags.wording import exact_money
from forecasting import reads
from forecasting.accounts import behind, versions
from forecasting.models import (
    BudgetDraws,
    BudgetFigure,
    BudgetVersion,
    Invoice,
    PartMoney,
    PolicyCost,
)
from forecasting.papers.budget_behind_sheets import CAPITAL, PARTS, PAYERS, WAYS
from forecasting.papers.budget_paper import budget_paper
from forecasting.papers.budget_workbook import budget_workbook
from forecasting.papers.version_sheet import FIGURES, VARIANCE, version_csv_rows, version_workbook
from tests import builders

from .conftest import CODE, YEARS
from .formulas import computed
from .reading import Sheets, dense

LATER = dt.date(2028, 3, 1)


@pytest.fixture
def version(fleet) -> BudgetVersion:
    """The fleet's budget of 2027 to 2029, frozen on 14 October 2026 beside the one made with it."""
    return versions.freeze(fleet, CODE, None, "=Jo")


@pytest.fixture
def told(fleet):
    """Parts, payers and ways behind that budget."""
    for boat in fleet.boats.all():
        part = boat.stays.first().installations.filter(removed_on=None).first()
        means = [figure.mean_minor * 2 // 3 for figure in reads.budget(fleet, "boat")
                 if figure.boat_id == boat.pk]  # fmt: skip
        PartMoney.objects.create(boat=boat, installation=part, as_of=builders.TODAY, cost_minor=1,
                                 means=means)  # fmt: skip
    totals = [figure.mean_minor for figure in reads.budget(fleet, "fleet")]
    own = [mean // 3 for mean in totals]
    rest = [mean - share for mean, share in zip(totals, own, strict=True)]
    for payer, mean in (("owner", own), ("operator", rest)):
        BudgetDraws.objects.create(fleet=fleet, payer=payer, years=list(YEARS), mean=mean,
                                   draws=[mean])  # fmt: skip
    for way, mean in (("plan", 900_000), ("condition", 700_001), ("age", 1_100_000)):
        PolicyCost.objects.create(
            fleet=fleet, way=way, mean_minor=mean, p10_minor=mean // 2, p90_minor=mean * 2,
            by_year=[mean // 3, mean // 3, mean - 2 * (mean // 3)], renewals=9.0,
            failures=1.25 if way == "plan" else 2.5, chance_failing=0.4,
        )  # fmt: skip
    BudgetFigure.objects.of(fleet).update(expensed_minor=1_234)
    return fleet


def test_the_parts_behind_a_boat_add_to_its_budget_to_the_cent(told, client):
    for boat in told.boats.all():
        rows = behind.of_boat(boat)
        figures = BudgetFigure.objects.filter(boat=boat).order_by("year")
        assert [sum(column) for column in zip(*(row.means for row in rows), strict=True)] == list(
            figures.values_list("mean_minor", flat=True)
        )
        page = client.get(f"/harbour/budget/boats/{boat.pk}/").content.decode()
        assert exact_money(rows[0].means[1], "EUR") in page
        assert behind.SET_UP in page


def test_the_workbook_carries_parts_payers_and_ways_with_sums_that_compute(told):
    book = Sheets(budget_workbook(told))
    totals = [figure.mean_minor for figure in reads.budget(told, "fleet")]
    for name, first in ((PARTS, 3), (PAYERS, 1)):
        assert book.rows[name][-1][first : first + 3] == [float(Decimal(m) / 100) for m in totals]
    assert {row[0] for row in book.rows[PAYERS][1:]} == {"owner", "operator", "Together"}
    assert [row[5] for row in book.rows[WAYS][1:]] == [9_000.0, 7_000.01, 11_000.0]
    assert book.rows[CAPITAL][1][1:] == [float(Decimal(totals[0] - 1_234) / 100), 12.34,
                                         float(Decimal(totals[0]) / 100)]  # fmt: skip
    assert [row[0] for row in book.rows[CAPITAL][1:]] == [*book.rows[PAYERS][0][1:-1], "Together"]
    for name in (PARTS, PAYERS, WAYS, CAPITAL):
        for (row, column), formula in book.formulas(name).items():
            exact = float(computed(book, name, formula))
            assert book.rows[name][row][column] == pytest.approx(exact, abs=1e-9)


def test_page_and_paper_say_who_pays_and_what_another_way_would_cost(told, client):
    page = client.get("/harbour/budget/").content.decode()
    printed = dense(budget_paper(told))
    for row in behind.by_payer(told):
        assert exact_money(row.total, "EUR") in printed
    said = "On condition alone rigging costs 2,000 EUR less over 3 years, and 2.5 stays"
    assert said in page
    assert dense(said) in printed


def test_a_frozen_version_says_who_when_and_from_what_and_never_changes(version, fleet):
    before = version_csv_rows(version)
    BudgetFigure.objects.of(fleet).update(mean_minor=1)
    version.refresh_from_db()
    assert version_csv_rows(version) == before
    assert (version.number, version.name, version.on) == (2, CODE, builders.TODAY)
    assert versions.is_whole(version)
    assert versions.freeze(fleet, "next", None, "Jo").figures_mark != version.figures_mark
    assert versions.freeze(fleet, "again", None, "Jo").number == 4


def test_the_same_budget_has_the_same_fingerprints_and_a_rule_changed_another(version, fleet):
    again = versions.freeze(fleet, "again", None, "Jo")
    assert (again.figures_mark, again.data_mark) == (version.figures_mark, version.data_mark)
    fleet.plan_basis.delete()
    assert versions.freeze(fleet, "third", None, "Jo").data_mark != version.data_mark


def test_figures_changed_behind_our_back_are_told(version, client):
    version.figures[0]["mean"] += 1
    version.save()
    assert (
        "somebody changed the database"
        in client.get(f"/harbour/budget/versions/{version.pk}/").content.decode()
    )
    assert b"CHANGED SINCE" in version_csv_rows(version)


def invoices(fleet) -> None:
    boat = fleet.boats.first()
    days = {
        "a": (dt.date(2026, 12, 31), 1_001),
        "b": (dt.date(2027, 12, 31), 2_000),
        "c": (dt.date(2028, 1, 1), 5_000),
        "d": (builders.TODAY, 70_000),
        "e": (dt.date(2028, 3, 2), 11),
    }
    for number, (on, net) in days.items():
        Invoice.objects.create(boat=boat, number=number, on=on, net_minor=net, tax_minor=200,
                               recovered_minor=200)  # fmt: skip


def test_invoices_count_in_their_year_and_those_before_the_first_one_in_it(version, fleet):
    invoices(fleet)
    rows = versions.by_year(version, LATER)
    assert [row.actual for row in rows] == [3_001, 5_000, None]
    assert [row.under_way for row in rows] == [False, True, True]
    assert rows[0].over == 3_001 - rows[0].budget
    assert rows[0].within == "below P10"
    assert rows[2].within == "not begun"


def test_the_boats_of_a_year_add_to_its_actual_a_boat_without_a_budget_too(version, fleet):
    invoices(fleet)
    late = builders.boat(fleet, "Late")
    Invoice.objects.create(boat=late, number="x", on=dt.date(2027, 5, 5), net_minor=999)
    rows = versions.by_boat(version, 2027, LATER)
    assert sum(row.actual for row in rows) == versions.by_year(version, LATER)[0].actual == 4_000
    assert {row.of: row.budget for row in rows}["Late"] == 0
    assert abs(rows[0].over) == max(abs(row.over) for row in rows)


def test_the_files_of_a_version_reconcile_with_it_to_the_cent_and_hold_no_formula_of_users(
    version, fleet
):
    invoices(fleet)
    book = Sheets(version_workbook(version, LATER))
    assert book.rows[VARIANCE][-1][1] == pytest.approx(
        sum(line["mean"] for line in versions.lines(version, "fleet")) / 100
    )
    assert book.rows[VARIANCE][-1][4] == 80.01
    for (row, column), formula in book.formulas(VARIANCE).items():
        exact = float(computed(book, VARIANCE, formula))
        assert book.rows[VARIANCE][row][column] == pytest.approx(exact, abs=1e-9)
    assert not book.formulas(FIGURES)
    text = version_csv_rows(version).decode()
    rows = [row for row in csv.DictReader(io.StringIO(text, newline="")) if row["scope"]]
    for scope in ("base", "boat"):
        means = [Decimal(row["mean"]) for row in rows if row["scope"] == scope]
        assert sum(means) == sum(Decimal(r["mean"]) for r in rows if r["scope"] == "fleet")
    assert rows[0]["version"] == "2"
    cells = [cell for row in csv.reader(io.StringIO(text, newline="")) for cell in row]
    assert not any(cell.startswith(("=", "+")) for cell in cells)


def test_freezing_needs_a_name_a_budget_and_the_role(fleet, client):
    count = BudgetVersion.objects.count()
    for sent in ({"name": " "}, {}):
        client.post("/harbour/budget/versions/freeze/", sent)
    assert BudgetVersion.objects.count() == count
    client.post("/harbour/budget/versions/freeze/", {"name": "Board"})
    newest = BudgetVersion.objects.first()
    assert (newest.name, newest.frozen_by, newest.by.username) == ("Board", "anna", "anna")
    assert "Board" in client.get("/harbour/budget/versions/").content.decode()
    BudgetFigure.objects.all().delete()
    client.post("/harbour/budget/versions/freeze/", {"name": "nothing"})
    assert BudgetVersion.objects.first() == newest
    with pytest.raises(ValueError, match="no budget to freeze"):
        versions.freeze(fleet, "x", None, "Jo")
    fleet.memberships.filter(user__username="anna").update(role="bosun")
    assert client.post("/harbour/budget/versions/freeze/", {"name": "x"}).status_code == 403


def test_who_pays_for_a_boat_is_asked_and_answers_by_name_and_day(fleet, client):
    assert "Nobody else is asked" in client.get("/harbour/budget/consents/").content.decode()
    boat = fleet.boats.get(name=CODE)
    boat.paid_by = "owner"
    boat.save()
    assert "0 of 1 boats" in client.get("/harbour/budget/consents/").content.decode()
    sent = {"amount": "500.05", "asked_of": "Nia", "asked_on": "2026-10-01", "answer": "given"}
    page = client.post(f"/harbour/budget/consents/{boat.pk}/", sent).content.decode()
    assert "An answer says who gave it and when" in page
    answer = {"answered_on": "2026-10-03", "answered_by": "Nia"}
    client.post(f"/harbour/budget/consents/{boat.pk}/", sent | answer)
    consent = boat.pay_consents.get()
    assert (consent.amount_minor, consent.year, consent.answer) == (50_005, 2027, "given")
    assert "1 of 1 boats" in client.get("/harbour/budget/consents/").content.decode()
    page = client.get(f"/harbour/budget/consents/{boat.pk}/").content.decode()
    assert 'value="2026-10-01"' in page, "as the browser's date field reads it"
    assert 'value="2026-10-03"' in page
    other = fleet.boats.exclude(pk=boat.pk).first()
    assert client.post(f"/harbour/budget/consents/{other.pk}/", sent).status_code == 302
    assert not other.pay_consents.exists()
