"""A budget frozen as it stands, found again unchanged, and held against what it really cost."""

import datetime as dt
import hashlib
import json
from collections import defaultdict
from dataclasses import dataclass

from django.db import transaction

from fleet.models import Fleet

from .. import reads
from ..chart_titles import year_label
from ..models import BudgetFigure, BudgetVersion, Invoice, ModelRun, PlanBasis
from .years import bounds

SCOPES = ("fleet", "base", "boat")
MONEY = ("mean", "planned", "expensed", "p10", "p50", "p90")


def fingerprint(content: object) -> str:
    """Return the SHA-256 of plain data, however its keys are ordered."""
    return hashlib.sha256(json.dumps(content, sort_keys=True).encode()).hexdigest()


def lines_of(fleet: Fleet) -> list[dict]:
    """Return every line of the budget in place as plain data."""
    usual = fleet.rigging_paid_by
    return [
        {
            "scope": scope,
            "base": figure.base.name if figure.base else "",
            "boat": figure.boat.name if figure.boat else "",
            "boat_id": figure.boat_id,
            "payer": (figure.boat.paid_by or usual) if figure.boat else "",
            "year": figure.year,
            **{name: getattr(figure, f"{name}_minor") for name in MONEY},
            "renewals": round(figure.renewals, 4),
        }
        for scope in SCOPES
        for figure in reads.budget(fleet, scope)
    ]


@transaction.atomic
def freeze(fleet: Fleet, name: str, user, by: str) -> BudgetVersion:
    """Keep the budget in place under the next number, with what it rests on.

    Raises ValueError where no budget has been forecast.
    """
    Fleet.objects.select_for_update().get(pk=fleet.pk)
    figures = lines_of(fleet)
    if not figures:
        raise ValueError("There is no budget to freeze: make a forecast first.")
    runs = ModelRun.objects.of(fleet).in_force().order_by("kind")
    rests_on = {run.kind: run.fingerprint for run in runs}
    plan = PlanBasis.objects.of(fleet).first()
    latest = BudgetVersion.objects.of(fleet).first()
    marks = [rests_on, plan.digest if plan else "", str(plan.as_of) if plan else ""]
    return BudgetVersion.objects.create(
        fleet=fleet, number=latest.number + 1 if latest else 1, name=name, on=fleet.today(),
        by=user, frozen_by=by, currency=fleet.currency, growth=fleet.price_growth,
        planned_as_of=plan.as_of if plan else None, rests_on=rests_on,
        data_mark=fingerprint(marks), figures_mark=fingerprint(figures), figures=figures,
    )  # fmt: skip


def is_whole(version: BudgetVersion) -> bool:
    """Return whether the lines are still those that were frozen."""
    return fingerprint(version.figures) == version.figures_mark


def lines(version: BudgetVersion, scope: str) -> list[dict]:
    return [line for line in version.figures if line["scope"] == scope]


@dataclass(frozen=True)
class Variance:
    """A budgeted year, or one boat's of it, against its invoices; minor units.

    budget, p10, p90: of the version; actual: None where the year has not begun.
    """

    of: str
    budget: int
    p10: int
    p90: int
    actual: int | None
    under_way: bool = False

    @property
    def over(self) -> int | None:
        """Return actual less budget; negative where it cost less."""
        return None if self.actual is None else self.actual - self.budget

    @property
    def within(self) -> str:
        """Return how the actual lies to the frozen range, in words."""
        if self.actual is None:
            return "not begun"
        if self.under_way:
            return "so far"
        if self.actual > self.p90:
            return "above P90"
        return "below P10" if self.actual < self.p10 else "between P10 and P90"


def by_year(version: BudgetVersion, today: dt.date) -> list[Variance]:
    """Return each year of the version against the invoices dated in it.

    What was invoiced after the day it was frozen and before its first year begins counts in that
    year, as the work does in the budget.
    """
    spent = _spent(version, today)
    rows = []
    for line in lines(version, "fleet"):
        first, after = _days(version, line["year"])
        actual = sum(spent[line["year"]].values()) if first <= today else None
        rows.append(Variance(year_label(line["year"], version.fleet), line["mean"], line["p10"],
                             line["p90"], actual, after > today))  # fmt: skip
    return rows


def by_boat(version: BudgetVersion, year: int, today: dt.date) -> list[Variance]:
    """Return that year boat by boat, those furthest from their budget first.

    Boats invoiced without a budget are there too: the rows add to the year's actual.
    """
    first, after = _days(version, year)
    spent = dict(_spent(version, today)[year])
    begun = first <= today
    rows = []
    for line in lines(version, "boat"):
        if line["year"] == year:
            actual = spent.pop(line["boat_id"], 0) if begun else None
            rows.append(Variance(line["boat"], line["mean"], line["p10"], line["p90"], actual,
                                 after > today))  # fmt: skip
    names = dict(version.fleet.boats.filter(pk__in=spent).values_list("pk", "name"))
    rows += [Variance(names[boat], 0, 0, 0, actual, after > today)
             for boat, actual in spent.items()]  # fmt: skip
    return sorted(rows, key=lambda row: (-abs(row.over or 0), row.of))


def _days(version: BudgetVersion, year: int) -> tuple[dt.date, dt.date]:
    """Return the first day whose invoices count in a year, and the first after it."""
    first, after = bounds(version.fleet, year)
    opens = min(line["year"] for line in lines(version, "fleet"))
    frozen = version.on + dt.timedelta(days=1)
    return (min(first, frozen) if year == opens else first), after


def _spent(version: BudgetVersion, today: dt.date) -> dict[int, dict[int, int]]:
    """Return year -> boat -> what its invoices of that year came to."""
    found: dict[int, dict[int, int]] = defaultdict(lambda: defaultdict(int))
    invoices = list(Invoice.objects.of(version.fleet).standing().filter(on__lte=today))
    for line in lines(version, "fleet"):
        first, after = _days(version, line["year"])
        for invoice in invoices:
            if first <= invoice.on < after:
                found[line["year"]][invoice.boat_id] += invoice.cost_minor
    return found


def changed_since(version: BudgetVersion) -> list[Variance]:
    """Return each year of the version beside the budget in place now, as its actual."""
    now = dict(
        BudgetFigure.objects.of(version.fleet)
        .filter(base=None, boat=None)
        .values_list("year", "mean_minor")
    )
    return [
        Variance(year_label(line["year"], version.fleet), line["mean"], line["p10"], line["p90"],
                 now.get(line["year"]))
        for line in lines(version, "fleet")
    ]  # fmt: skip
