"""The sentence of each chart is the one its numbers say, also where there is next to nothing."""

import math

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Fleet
from forecasting import chart_titles
from forecasting.models import BudgetFigure
from tests import builders

FLEET = Fleet(name="Harbour", currency="EUR", fiscal_year_start=1)
YEN = Fleet(name="Harbour", currency="JPY", fiscal_year_start=4)


def years(*money: tuple[int, int, int]) -> list[BudgetFigure]:
    """Return figures from 2027 on, each of P10, P50 and P90 in minor units."""
    return [
        BudgetFigure(
            year=2027 + n, p10_minor=p10, p50_minor=p50, p90_minor=p90, mean_minor=p50,
            planned_minor=0, renewals=1,
        )
        for n, (p10, p50, p90) in enumerate(money)
    ]  # fmt: skip


BUDGETS = {
    "Rigging will cost most in 2028, most likely 15,000 to 21,000 EUR, "
    "and least in 2027, 900 to 2,400 EUR": (
        years((90_000, 120_000, 240_000), (1_500_000, 1_700_000, 2_100_000)), FLEET),
    "Rigging will most likely cost 900 to 2,400 EUR in 2027": (
        years((90_000, 120_000, 240_000)), FLEET),
    "Rigging will most likely cost about 900 EUR in each year from 2027 to 2029": (
        years(*[(90_000, 90_000, 90_000)] * 3), FLEET),
    "No rigging cost is forecast from 2027 to 2028": (years((0, 0, 0), (0, 0, 0)), FLEET),
    "No rigging cost is forecast in 2027": (years((0, 0, 0)), FLEET),
    "Rigging will cost most in 2028, most likely 0 to 1,500 EUR, and least in 2027, about 0 EUR": (
        years((0, 0, 0), (0, 0, 150_000)), FLEET),
    "Rigging will most likely cost 1,000,000,000 to 9,100,000,000 EUR in 2027": (
        years((100_000_000_000, 300_000_000_000, 912_345_678_901)), FLEET),
    "Rigging will cost most in 2027/28, most likely 91,000 to 105,000 JPY, "
    "and least in 2028/29, 50,000 to 60,000 JPY": (
        years((91_000, 100_000, 105_000), (50_000, 55_000, 60_000)), YEN),
}  # fmt: skip


@pytest.mark.parametrize("said", BUDGETS)
def test_the_budget_says_its_dearest_and_its_cheapest_year(said):
    figures, fleet = BUDGETS[said]
    assert chart_titles.budget(figures, fleet, thumb=False) == said


def test_of_years_that_cost_alike_the_first_is_named():
    figures = years(
        (0, 10_000, 20_000), (0, 50_000, 90_000), (0, 50_000, 90_000), (0, 10_000, 20_000)
    )
    said = chart_titles.budget(figures, FLEET, thumb=False)
    assert "most in 2028" in said
    assert "least in 2027" in said


def test_what_rests_on_a_rule_of_thumb_says_so_first():
    said = chart_titles.budget(years((90_000, 120_000, 240_000)), FLEET, thumb=True)
    assert said == "By rule of thumb, rigging will most likely cost 900 to 2,400 EUR in 2027"


@pytest.mark.parametrize(
    ("b10", "low", "high", "said"),
    [
        (9.12, 8.46, 9.8, "One wire in ten is condemned by 9.1 years (8.5 to 9.8) on the"),
        (24.9, 20, 31.2, "One wire in ten is condemned by 24.9 years (20.0 to 31.2) on the"),
        (24.9, 20, math.inf, "by 24.9 years (20.0 to over 99) on the"),
        (25.1, 20, 31, "Fewer than one wire in ten is condemned by 25 years on the"),
        (math.inf, 20, math.inf, "Fewer than one wire in ten is condemned by 25 years on the"),
        (math.nan, 20, math.inf, "Fewer than one wire in ten is condemned by 25 years on the"),
    ],
)
def test_the_life_says_by_when_one_wire_in_ten_is_condemned(b10, low, high, said):
    headline = {"b10": b10, "low": low, "high": high}
    assert said in chart_titles.survival(headline, 25.0, thumb=False)
    thumb = chart_titles.survival(headline, 25.0, thumb=True)
    assert thumb.startswith("By rule of thumb, ")


@pytest.mark.django_db
def test_pages_and_titles_of_a_currency_without_cents_do_not_divide_by_a_hundred():
    """ISO 4217 gives the yen no minor unit."""
    rows = builders.one_of_each("harbour")
    rows.fleet.currency = "JPY"
    rows.fleet.save()
    client = Client()
    user = builders.person("mona", rows.fleet)
    client.force_login(user, "django.contrib.auth.backends.ModelBackend")
    budget, refit, home = (
        client.get(reverse(page, args=["harbour"])).content.decode()
        for page in ("budget", "refit", "fleet")
    )
    assert "Rigging will most likely cost 0 to 130,000 JPY in 2027" in budget
    assert "By rule of thumb, rigging will most likely cost 0 to 130,000 JPY in 2027" in budget
    assert '<td class="num">61,250</td>' in budget
    assert ">61,250</td>" in refit
    assert ">61,250</td>" in home
