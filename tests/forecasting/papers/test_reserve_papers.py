"""The reserve on page, PDF, XLSX and CSV: asked first, then one schedule to the cent."""

import csv
import io
from decimal import Decimal

import numpy as np
import pytest

from fleet.spreadsheets.csv_files import unguard
from fleet.templatetags.wording import exact_money
from forecasting.accounts.reserve import reserve_of
from forecasting.models import BudgetDraws, PartMoney, ReservePlan, ReturnTerms
from forecasting.papers.reserve_paper import reserve_paper
from forecasting.papers.reserve_sheet import NAME, reserve_csv_rows, reserve_workbook
from tests import builders

from .formulas import computed
from .reading import Sheets, dense, text_of

HOSTILE = '=HYPERLINK("x")'


def kept(rows, **plan):
    """A fleet that answered, and 200 draws of what its owner pays over three years."""
    fleet = rows.fleet
    ReturnTerms.objects.create(fleet=fleet, on=builders.TODAY, answered_by=HOSTILE,
                               owned_by="owner", paid_by="owner", obliged="no")  # fmt: skip
    drawn = np.random.default_rng(1).gamma(4, 25_000, (200, 3)).round().astype(int)
    BudgetDraws.objects.create(
        fleet=fleet, payer="operator", years=[2027, 2028, 2029], first_length=1.2,
        mean=drawn.mean(axis=0).round().astype(int).tolist(), draws=drawn.tolist(),
    )  # fmt: skip
    PartMoney.objects.create(boat=rows.boat, installation=rows.part, as_of=builders.TODAY, age=6.0,
                             cost_minor=90_000, set_up_minor=30_000, remaining=6.0)  # fmt: skip
    usual = {"payer": "operator", "opening_minor": 40_001, "interest": Decimal("0.0175")}
    ReservePlan.objects.create(fleet=fleet, on=builders.TODAY, decided_by="Jo", **(usual | plan))
    return fleet


@pytest.fixture
def found(rows):
    return reserve_of(kept(rows))


def test_no_figure_is_shown_before_it_is_asked_who_owns_and_pays(rows, client):
    page = client.get("/harbour/reserve/").content.decode()
    assert "First: who owns the boats, who pays" in page
    assert "Expenditure" not in page
    assert reserve_of(rows.fleet) is None
    assert "answer who owns the boats" in text_of(reserve_paper(rows.fleet, None))
    assert "answer who owns" in Sheets(reserve_workbook(rows.fleet, None)).rows[NAME][1][0]
    assert b"answer who owns" in reserve_csv_rows(rows.fleet, None)


def test_a_contract_that_obliges_has_to_be_named_and_is_answered_by_somebody(rows, client):
    answer = {"owned_by": "lessor", "paid_by": "operator", "obliged": "yes", "contract": ""}
    assert (
        "Name the contract" in client.post("/harbour/reserve/questions/", answer).content.decode()
    )
    client.post("/harbour/reserve/questions/", answer | {"contract": "Lease of 2024"})
    terms = ReturnTerms.objects.get()
    assert (terms.on, terms.answered_by, terms.by.username) == (builders.TODAY, "anna", "anna")


@pytest.mark.parametrize(("obliged", "said"), [("no", "no liability"), ("yes", "provision under")])
def test_it_is_no_liability_unless_a_contract_of_return_may_make_one(rows, client, obliged, said):
    fleet = kept(rows)
    ReturnTerms.objects.update(obliged=obliged, contract="Lease")
    for text in (client.get("/harbour/reserve/").content.decode(),
                 text_of(reserve_paper(fleet, reserve_of(fleet)))):  # fmt: skip
        assert said in text
        assert ("provision under" in text) == (obliged == "yes")


def test_the_level_contribution_found_keeps_to_the_chance(found):
    assert found.dry_by[-1] <= 0.1
    assert found.contribution == found.level == found.lines[0].contribution
    assert found.fully_funded == 60_000  # 1,200 x 6 / 12 years
    assert found.funded == pytest.approx(40_001 / 60_000)


def test_workbook_csv_paper_and_page_carry_one_schedule_to_the_cent(found, client):
    fleet, printed = found.fleet, dense(reserve_paper(found.fleet, found))
    page = client.get("/harbour/reserve/").content.decode()
    book = Sheets(reserve_workbook(fleet, found)).rows[NAME]
    text = reserve_csv_rows(fleet, found).decode()
    lines = list(csv.DictReader(io.StringIO(text, newline="")))
    for number, line in enumerate(found.lines):
        columns = {"opening": 1, "contribution": 2, "interest": 4, "expenditure": 5, "closing": 6}
        for name, column in columns.items():
            minor = getattr(line, name)
            header = "expenditure, mean" if name == "expenditure" else name
            assert book[number + 1][column] == float(Decimal(minor) / 100)
            assert Decimal(lines[number][header]) == Decimal(minor) / 100
            assert exact_money(minor, "EUR") in page
            assert exact_money(minor, "EUR") in printed
        assert (lines[number]["fleet"], lines[number]["currency"]) == (fleet.name, "EUR")
        assert lines[number]["as of"] == "2026-10-14"


def test_every_formula_of_the_schedule_has_the_value_it_computes(found):
    book = Sheets(reserve_workbook(found.fleet, found))
    formulas = book.formulas(NAME)
    assert len(formulas) == 3 + 3 + 2 + 3  # interest, closing, opening after the first, sums
    for (row, column), formula in formulas.items():
        exact = computed(book, NAME, formula)
        assert book.rows[NAME][row][column] == pytest.approx(float(exact), abs=1e-9), formula


def test_words_of_people_stay_words_in_every_file(found):
    lines = list(csv.reader(io.StringIO(reserve_csv_rows(found.fleet, found).decode(), newline="")))
    assert len({len(line) for line in lines}) == 1
    assert not any(cell.startswith(("=", "+", "@")) for line in lines for cell in line)
    assert HOSTILE in " ".join(unguard(cell) for line in lines for cell in line)
    assert HOSTILE in str(Sheets(reserve_workbook(found.fleet, found)).rows["About"])


def test_another_way_to_keep_it_is_a_new_row_and_the_old_one_stays(found, client):
    sent = {"payer": "operator", "opening": "1000.50", "interest": "2", "chance": "5",
            "contribution": ""}  # fmt: skip
    client.post("/harbour/reserve/", sent)
    assert ReservePlan.objects.count() == 2
    newest = reserve_of(found.fleet)
    assert (newest.plan.opening_minor, newest.plan.chance) == (100_050, 0.05)
    assert newest.level > 0
    wrong = client.post("/harbour/reserve/", sent | {"interest": "-1"}).content.decode()
    assert "Not saved yet" in wrong


def test_a_bosun_sees_the_reserve_and_does_not_change_it(found, client):
    membership = found.fleet.memberships.get(user__username="anna")
    membership.role = "bosun"
    membership.save()
    assert client.get("/harbour/reserve/").status_code == 200
    assert client.post("/harbour/reserve/", {}).status_code == 403
    assert client.post("/harbour/reserve/questions/", {}).status_code == 403


def test_a_party_that_pays_for_no_boat_needs_no_reserve(rows):
    fleet = kept(rows, payer="insurer", opening_minor=0)
    found = reserve_of(fleet)
    assert found.level == 0
    assert found.answer.startswith("Nothing is forecast to be spent")
    assert reserve_paper(fleet, found).startswith(b"%PDF")
