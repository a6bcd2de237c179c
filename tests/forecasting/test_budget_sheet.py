"""The budget as a file for the accountant."""

import csv
import datetime as dt
import io
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Fleet
from forecasting import budget_sheet
from forecasting.models import BudgetFigure
from tests import builders

pytestmark = pytest.mark.django_db
BOATS = {
    ("Anchor", "Tern"): (61_251, 10_000),
    ("Anchor", "Skua"): (3, 0),
    ("Mill", "Dunlin"): (40_000, 7),
}


def budgeted(slug: str = "harbour", **rules) -> Fleet:
    """Return a fleet with two years of budget whose means add."""
    fleet = builders.empty_fleet(slug, **rules)
    figure(fleet, [sum(means) for means in zip(*BOATS.values(), strict=True)])
    for name in ("Anchor", "Mill"):
        base = builders.base(fleet, name)
        own = [means for (at, _), means in BOATS.items() if at == name]
        figure(fleet, [sum(means) for means in zip(*own, strict=True)], base=base)
    for (at, name), means in BOATS.items():
        base = fleet.bases.get(name=at)
        figure(fleet, means, base=base, boat=builders.boat(fleet, name, base=base))
    return fleet


def figure(fleet: Fleet, means, **scope) -> None:
    for year, mean in zip((2027, 2028), means, strict=True):
        BudgetFigure.objects.create(
            fleet=fleet, year=year, mean_minor=mean, planned_minor=mean // 2, p10_minor=0,
            p50_minor=mean, p90_minor=2 * mean, renewals=1.256, **scope,
        )  # fmt: skip


def lines(fleet: Fleet) -> list[dict]:
    """Return the file's lines as a spreadsheet would read them, without the note at its end."""
    client = Client()
    user = builders.person(f"joana-{fleet.slug}", fleet, "accountant")
    client.force_login(user, "django.contrib.auth.backends.ModelBackend")
    answer = client.get(reverse("budget_csv", kwargs={"fleet": fleet.slug}))
    assert answer.headers["Content-Type"] == "text/csv; charset=utf-8"
    assert f'filename="{fleet.slug}-budget-2026-10-14.csv"' in answer.headers["Content-Disposition"]
    read = list(csv.DictReader(io.StringIO(answer.content.decode())))
    assert read[-1]["fleet"] == "note"
    assert "Percentiles are each total's own" in read[-1]["as of"]
    return read[:-1]


def total(rows: list[dict], year: str, scope: str, base: str = "") -> Decimal:
    return sum(
        Decimal(row["mean"])
        for row in rows
        if (row["scope"], row["fiscal year"]) == (scope, year) and base in ("", row["base"])
    )


@pytest.mark.parametrize("year", ["2027", "2028"])
def test_boats_add_to_their_base_and_bases_to_the_fleet_to_the_cent(year):
    rows = lines(budgeted())
    assert len(rows) == 2 * (1 + 2 + 3)
    for base in ("Anchor", "Mill"):
        assert total(rows, year, "boat", base) == total(rows, year, "base", base) > 0
    assert total(rows, year, "base") == total(rows, year, "fleet")
    assert total(rows, "2027", "fleet") == Decimal("1012.54")


def test_every_line_says_whose_it_is_and_as_of_when():
    row = lines(budgeted())[-1]
    assert row["fleet"] == "Harbour"
    assert (row["as of"], row["currency"]) == ("2026-10-14", "EUR")
    assert (row["scope"], row["base"], row["boat"]) == ("boat", "Mill", "Dunlin")
    assert (row["mean"], row["of which planned"], row["P90"]) == ("0.07", "0.03", "0.14")
    assert row["parts renewed"] == "1.26"


def test_a_currency_without_cents_has_none_in_the_file():
    """ISO 4217 gives the yen no minor unit."""
    rows = lines(budgeted(currency="JPY"))
    assert total(rows, "2027", "fleet") == Decimal("101254")


def test_a_fiscal_year_that_straddles_two_is_named_after_both():
    fleet = budgeted(fiscal_year_start=11)
    assert {row["fiscal year"] for row in lines(fleet)} == {"2027/28", "2028/29"}
    assert budget_sheet.year_label(2099, fleet) == "2099/00"


@pytest.mark.parametrize("name", ["=1+1", "+Tern", "-Tern", "@SUM(A1)", "\tTern"])
def test_a_name_is_never_read_as_a_formula(name):
    fleet = builders.empty_fleet("harbour")
    boat = builders.boat(fleet, name)
    figure(fleet, (1, 2), base=boat.base, boat=boat)
    assert {row["boat"] for row in lines(fleet)} == {f"'{name}"}


def test_a_fleet_without_a_budget_gives_a_file_that_says_only_so():
    assert lines(builders.empty_fleet("harbour")) == []


def test_rows_of_the_page_are_each_boats_years_and_their_sum():
    fleet = budgeted()
    rows = budget_sheet.by_year(BudgetFigure.objects.filter(boat__isnull=False).order_by("year"))
    sums = {row["of"].name: (len(row["figures"]), row["total"]) for row in rows}
    assert sums == {"Tern": (2, 71_251), "Skua": (2, 3), "Dunlin": (2, 40_007)}
    chart = budget_sheet.chart_rows(BudgetFigure.objects.filter(base=None), fleet)
    assert chart[0] == {"year": "2027", "mean": 1012.54, "p10": 0.0, "p50": 1012.54, "p90": 2025.08}


def test_the_file_is_of_its_own_fleet_alone():
    budgeted("estuary")
    assert {row["fleet"] for row in lines(budgeted("harbour"))} == {"Harbour"}


def test_the_date_of_the_file_is_the_fleets_own():
    assert {row["as of"] for row in lines(budgeted())} == {str(dt.date(2026, 10, 14))}
