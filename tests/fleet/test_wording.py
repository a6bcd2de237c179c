"""Numbers in words, as people on a dock say them."""

import datetime as dt
from decimal import Decimal

import pytest

from fleet.templatetags import wording


@pytest.mark.parametrize(
    ("chance", "words"),
    [
        (0.99, "almost certain"), (0.8, "8 in 10"), (0.5, "5 in 10"), (0.39, "1 in 3"),
        (1 / 3, "1 in 3"), (0.083, "1 in 12"), (0.021, "1 in 50"), (0.007, "1 in 140"),
        (0.0031, "1 in 300"), (0.0001, "under 1 in 2,000"), (None, ""),
    ],
)  # fmt: skip
def test_a_chance_is_said_as_one_in_so_many(chance, words):
    assert wording.one_in(chance) == words


def test_a_rate_that_somebody_fixed_is_said_as_it_was_given_and_nothing_is_nothing():
    """As value added tax and price growth are fixed: to two decimals of a percent."""
    fixed = ("0", "0.03", "0.077", "0.1925", "1.0000")
    said = ["0%", "3%", "7.7%", "19.25%", "100%"]
    assert [wording.rate(Decimal(each)) for each in fixed] == said
    assert wording.percent(0.0) == "under 0.1%", "a chance is never said to be none"


def test_a_smaller_chance_is_one_in_more():
    said = [wording.one_in(c)[5:].replace(",", "") for c in (0.35, 0.2, 0.05, 0.01, 0.002)]
    assert [float(s) for s in said] == sorted(float(s) for s in said)


@pytest.mark.parametrize(
    ("years", "words"), [(9.34, "9 y 4 m"), (0.99, "1 y 0 m"), (0, "0 y 0 m"), (None, "not known")]
)
def test_an_age_is_said_in_years_and_months(years, words):
    assert wording.age(years) == words


@pytest.mark.parametrize(
    ("minor", "currency", "words"),
    [(123456, "EUR", "1,235 EUR"), (123456, "", "1,235"), (5000, "JPY", "5,000 JPY"),
     (None, "EUR", "")],
)  # fmt: skip
def test_money_is_said_in_whole_units_of_its_currency(minor, currency, words):
    assert wording.money(minor, currency) == words


@pytest.mark.parametrize("date", [dt.date(2026, 6, 3), "2026-06-03"])
def test_a_date_is_written_as_people_write_it(date):
    assert wording.day(date) == "3 Jun 2026"


def test_no_date_is_written_as_nothing():
    assert wording.day(None) == ""


@pytest.mark.parametrize(
    ("minor", "words"),
    [(9471200, "95,000 EUR"), (10512200, "105,000 EUR"), (20838155, "208,000 EUR"), (0, "0 EUR")],
)
def test_a_forecast_of_money_has_no_false_digits(minor, words):
    assert wording.about(minor, "EUR") == words
