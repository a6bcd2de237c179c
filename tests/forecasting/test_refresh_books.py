"""What a refresh leaves for the accountant: parts, payers, ways, tax, boats that join later."""

import datetime as dt

import pytest

from forecasting import refresh
from forecasting.models import (
    AccountsPolicy,
    BoatOutlook,
    BudgetDraws,
    BudgetFigure,
    PartMoney,
    PolicyCost,
    RefitJob,
)

from .history import AS_OF, History
from .test_refresh_money import eight_mm, price_list, run

pytestmark = pytest.mark.django_db


@pytest.fixture
def history() -> History:
    """Two old boats, one paid for by its owner, and one that joins in three years."""
    history = History(age_rule_years=10)
    price_list(history)
    later, long_ago = AS_OF.replace(year=AS_OF.year + 3), dt.date(2005, 6, 1)
    boats = (("Alder", "", long_ago), ("Birch", "owner", long_ago), ("Cedar", "", later))
    for name, payer, joined in boats:
        boat = history.boat(name, paid_by=payer, joined=joined)
        for stay in ("backstay", "forestay"):
            eight_mm(history, boat, fitted="2012-01-01", stay=stay)
    return history


def means(history: History, name: str) -> list[int]:
    figures = BudgetFigure.objects.of(history.fleet).filter(boat__name=name).order_by("year")
    return list(figures.values_list("mean_minor", flat=True))


def test_a_refresh_leaves_the_books_what_is_behind_its_totals(history):
    run(history)
    fleet = history.fleet
    whole = BudgetFigure.objects.of(fleet).filter(base=None, boat=None).order_by("year")
    total = list(whole.values_list("mean_minor", flat=True))
    draws = {row.payer: row for row in BudgetDraws.objects.of(fleet)}
    assert set(draws) == {"operator", "owner"}
    assert draws["owner"].mean == means(history, "Birch")
    paid = [row.mean for row in draws.values()]
    assert [sum(column) for column in zip(*paid, strict=True)] == total
    assert {len(row.draws[0]) for row in draws.values()} == {len(total)}
    assert [row.way for row in PolicyCost.objects.of(fleet)] == ["plan", "condition", "age"]
    assert PolicyCost.objects.get(way="age").age_rule == 10
    money = PartMoney.objects.of(fleet).filter(boat__name="Birch")
    parts = [sum(column) for column in zip(*(row.means for row in money), strict=True)]
    assert all(part <= mean for part, mean in zip(parts, means(history, "Birch"), strict=True))
    assert all(row.remaining < 1 for row in money)  # past the age rule, due this off season
    assert refresh.plan(fleet, AS_OF).rewritten == 0


def test_a_boat_counts_in_the_budget_from_the_day_she_joins_and_nowhere_else(history):
    run(history)
    years = means(history, "Cedar")
    assert sum(years) > 0
    assert years[:2] == [0, 0]
    assert means(history, "Alder")[0] > 0
    assert not BoatOutlook.objects.filter(boat__name="Cedar").exists()
    assert not RefitJob.objects.filter(boat__name="Cedar").exists()


def test_tax_that_is_not_recovered_raises_every_price_and_what_is_recovered_none(history):
    run(history)
    before = {row.installation_id: row.cost_minor for row in PartMoney.objects.all()}
    policy = AccountsPolicy.objects.create(
        fleet=history.fleet, since=dt.date(2015, 1, 1), decided_by="Jo", tax_rate="0.2",
        tax_recovered="1",
    )  # fmt: skip
    refresh.plan(history.fleet, AS_OF)
    assert before == {row.installation_id: row.cost_minor for row in PartMoney.objects.all()}
    policy.tax_recovered = "0.5"
    policy.save()
    refresh.plan(history.fleet, AS_OF)
    for row in PartMoney.objects.all():
        assert row.cost_minor == pytest.approx(before[row.installation_id] * 1.1, abs=2)
