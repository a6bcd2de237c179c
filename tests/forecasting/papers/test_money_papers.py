"""Refit list and budget as PDF, XLSX and CSV: every amount is the record's, to the cent."""

import csv
import datetime as dt
import io
from decimal import Decimal

import pytest
from django.db.models import Sum

from fleet.spreadsheets.csv_files import unguard
from fleet.templatetags.wording import exact_money
from forecasting import reads
from forecasting.models import BudgetFigure, PartOutlook, RefitJob
from forecasting.papers.budget_paper import budget_paper
from forecasting.papers.budget_paper import contents as budget_contents
from forecasting.papers.budget_workbook import BASES, BOATS, budget_workbook
from forecasting.papers.refit_list import contents as refit_contents
from forecasting.papers.refit_list import refit_list
from forecasting.papers.refit_sheet import (
    COST,
    HEADERS,
    HOURS,
    NAME,
    refit_rows_csv,
    refit_workbook,
)

from .conftest import CODE, CYRILLIC, GREEK, LONG, YEARS
from .reading import Sheets, dense, text_of

NAMES = (CODE, GREEK, CYRILLIC, LONG)


def total(fleet, field: str):
    return RefitJob.objects.of(fleet).aggregate(total=Sum(field))["total"]


def cents(minor: int) -> float:
    return float(Decimal(minor) / 100)


def test_the_refit_paper_adds_up_to_the_record_and_to_the_page(fleet):
    paper = refit_contents(fleet)
    assert paper["total"]["cost"] == exact_money(total(fleet, "cost_minor"), "EUR")
    for base, on_page in zip(paper["bases"], reads.refit_totals(fleet), strict=True):
        assert base["name"] == on_page["boat__base__name"]
        assert base["total"]["cost"] == exact_money(on_page["cost"], "EUR")
        assert base["total"]["put_off"] == exact_money(on_page["put_off"], "EUR")
        assert base["total"]["parts"] == str(on_page["parts"])
        assert base["total"]["boats"] == str(on_page["boats"])
        costs = [Decimal(job["cost"].replace(",", "")) for boat in base["boats"]
                 for job in boat["jobs"]]  # fmt: skip
        assert sum(costs) == Decimal(on_page["cost"]) / 100


def test_the_refit_paper_prints_every_job_sum_and_name(fleet):
    printed = dense(refit_list(fleet))
    for job in RefitJob.objects.of(fleet):
        assert exact_money(job.cost_minor, "EUR") in printed
        assert dense(job.boat.name) in printed
        assert dense(job.reason) in printed
    assert exact_money(total(fleet, "cost_minor"), "EUR") in printed


def test_no_job_is_still_a_refit_paper_and_workbook_that_say_so(rows):
    RefitJob.objects.all().delete()
    assert "Nothing on the refit list" in text_of(refit_list(rows.fleet))
    assert Sheets(refit_workbook(rows.fleet)).rows[NAME][1][0] == "Nothing on the refit list."
    PartOutlook.objects.all().delete()
    assert "has not been forecast" in text_of(refit_list(rows.fleet))


def test_the_budget_paper_prints_every_figure_to_the_cent(fleet):
    printed = dense(budget_paper(fleet))
    for figure in reads.budget(fleet, "fleet"):
        for field in ("mean", "planned", "p10", "p50", "p90"):
            assert exact_money(getattr(figure, f"{field}_minor"), "EUR") in printed
    for scope in ("base", "boat"):
        for figure in reads.budget(fleet, scope):
            assert exact_money(figure.mean_minor, "EUR") in printed
    assert all(dense(name) in printed for name in NAMES)


def test_a_fleet_without_forecast_has_a_budget_paper_that_says_so(rows):
    BudgetFigure.objects.all().delete()
    assert budget_contents(rows.fleet)["years"] == []
    assert "No budget yet" in text_of(budget_paper(rows.fleet))
    assert "No budget yet" in Sheets(budget_workbook(rows.fleet)).rows["Fleet"][1][0]


@pytest.mark.parametrize("make", [refit_workbook, budget_workbook])
def test_every_formula_has_the_value_it_computes(fleet, make):
    book = Sheets(make(fleet))
    checked = 0
    for name in book.names:
        for (row, column), formula in book.formulas(name).items():
            cached = book.rows[name][row][column]
            assert cached == pytest.approx(book.computed(name, formula), abs=1e-9)
            checked += 1
    assert checked >= 15


def test_the_refit_workbook_adds_up_to_the_record(fleet):
    book = Sheets(refit_workbook(fleet))
    *jobs, _, together = book.rows[NAME][1:]
    assert len(jobs) == RefitJob.objects.of(fleet).count()
    assert together[COST] == cents(total(fleet, "cost_minor"))
    assert together[HOURS] == pytest.approx(total(fleet, "hours"))
    by_base = {row[0]: row[2] for row in book.rows["By base"][1:-1]}
    for base in reads.refit_totals(fleet):
        assert by_base[base["boat__base__name"]] == cents(base["cost"])


def test_the_budget_workbook_adds_boats_to_bases_to_fleet_and_no_percentile(fleet):
    book = Sheets(budget_workbook(fleet))
    for number, figure in enumerate(reads.budget(fleet, "fleet"), start=1):
        assert book.rows["Fleet"][number][1] == cents(figure.mean_minor)
        assert book.rows[BASES][-1][1 + number] == cents(figure.mean_minor)
        assert book.rows[BOATS][-1][1 + number] == cents(figure.mean_minor)
        percentiles = (figure.p10_minor, figure.p50_minor, figure.p90_minor)
        assert book.rows["Fleet"][number][3:6] == [cents(minor) for minor in percentiles]
    assert book.formulas("Percentiles") == {}
    assert {column for _, column in book.formulas("Fleet")} == {1, 2}
    assert "do not add" in book.rows["Percentiles"][-1][0]
    assert len(book.rows["Percentiles"]) == 1 + BudgetFigure.objects.of(fleet).count() + 2


@pytest.mark.parametrize("make", [refit_workbook, budget_workbook])
def test_text_is_never_a_formula_and_numbers_and_dates_are_real(fleet, make):
    book = Sheets(make(fleet))
    cells = [cell for name in book.names for row in book.rows[name] for cell in row]
    assert all(name in cells for name in NAMES)
    every = [formula for name in book.names for formula in book.formulas(name).values()]
    assert all(formula.startswith("SUM(") for formula in every)
    assert dict(row[:2] for row in book.rows["About"])["As of"] == dt.date(2026, 10, 14)
    assert all(book.frozen(name) for name in book.names if name != "About")
    assert all(isinstance(row[COST], float) for row in book.rows.get(NAME, [])[1:-2])


@pytest.mark.parametrize("make", [refit_workbook, budget_workbook])
def test_a_workbook_names_fleet_day_currency_models_and_the_caution(fleet, make):
    about = dict(row[:2] for row in Sheets(make(fleet)).rows["About"])
    assert (about["Fleet"], about["Currency"]) == (fleet.name, "EUR")
    assert "f" * 12 in about["Models"]
    assert about["Rests on"].startswith("Rule of thumb")
    assert about["Caution"].startswith("A forecast never clears a part")


def test_the_refit_csv_is_rfc_4180_and_reads_back_to_the_cent(fleet):
    content = refit_rows_csv(fleet)
    text = content.decode()
    assert text.count("\r\n") == text.count("\n") == 1 + RefitJob.objects.of(fleet).count() + 2
    lines = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    head, *jobs = lines[:-2]
    assert {len(line) for line in lines} == {len(head)}
    assert head[3:] == list(HEADERS)
    costs = [Decimal(job[head.index("cost")]) for job in jobs]
    assert sum(costs) == Decimal(total(fleet, "cost_minor")) / 100
    boats = [job[head.index("boat")] for job in jobs]
    assert CODE not in boats  # a spreadsheet program would compute it
    assert {unguard(boat) for boat in boats} >= set(NAMES)
    assert {(job[0], job[1], job[2]) for job in jobs} == {(fleet.name, "2026-10-14", "EUR")}


def test_the_budget_csv_guards_names_as_the_export_does(fleet, client):
    lines = client.get(f"/{fleet.slug}/budget.csv").content.decode()
    boats = {row[5] for row in csv.reader(io.StringIO(lines, newline="")) if len(row) > 5}
    assert f"'{CODE}" in boats
    assert len([line for line in lines.splitlines() if ",fleet," in line]) == len(YEARS)


@pytest.mark.parametrize("make", [refit_list, budget_paper, refit_workbook, budget_workbook])
def test_the_same_figures_give_the_same_bytes_and_others_do_not(fleet, make):
    first = make(fleet)
    assert make(fleet) == first
    RefitJob.objects.of(fleet).update(cost_minor=1)
    BudgetFigure.objects.of(fleet).update(mean_minor=1)
    assert make(fleet) != first


def test_a_currency_without_cents_has_none(fleet):
    fleet.currency = "JPY"
    fleet.save()
    book = Sheets(refit_workbook(fleet))
    assert book.rows[NAME][-1][COST] == total(fleet, "cost_minor")
    assert refit_contents(fleet)["total"]["cost"] == f"{total(fleet, 'cost_minor'):,}"
