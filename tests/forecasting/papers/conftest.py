"""A fleet whose names try to be code, with work and money on two bases."""

import datetime as dt
from types import SimpleNamespace

import pytest
from django.test import Client

from fleet.models import Base
from forecasting.models import BudgetFigure, RefitJob
from tests import builders

CODE = '=1+1 #panic("no") $x$ *b* <b> \\ "q"'
GREEK, CYRILLIC = "Ναυσικά", "Чайка"
LONG = "Undividable" * 7
YEARS = (2027, 2028, 2029)


@pytest.fixture
def rows(db) -> SimpleNamespace:
    """One boat with a job, its part and an inspection, as every page test has it."""
    return builders.one_of_each("harbour")


@pytest.fixture
def client(rows) -> Client:
    client = Client()
    client.force_login(
        builders.person("anna", rows.fleet, "accountant"),
        "django.contrib.auth.backends.ModelBackend",
    )
    return client


@pytest.fixture
def fleet(rows):
    """That fleet with four more boats on two more bases, odd cents, and means that add."""
    BudgetFigure.objects.of(rows.fleet).delete()
    far = Base.objects.create(fleet=rows.fleet, name="+2 Ness", ground=rows.boat.base.ground)
    near = Base.objects.create(fleet=rows.fleet, name="A*", ground=rows.boat.base.ground)
    for number, (name, base) in enumerate(
        [(CODE, far), (GREEK, near), (CYRILLIC, far), (LONG, near)], start=1
    ):
        boat = builders.boat(rows.fleet, name, base=base, design=f"-{name[:30]}")
        work(boat, number)
    figures(rows.fleet)
    return rows.fleet


def work(boat, number: int) -> None:
    part = builders.wire(boat, invoice="=HYPERLINK(1)")
    RefitJob.objects.create(
        boat=boat, installation=part, season="2026/27", code="age", must=number == 1, chance=0.25,
        reason="#import '@x' is a reason.", hours=1.1 * number, cost_minor=33_333 * number + 1,
        put_off_minor=1_111 * number,
    )  # fmt: skip
    RefitJob.objects.create(
        boat=boat, season="2026/27", code="mast_down", reason="Once for all the jobs.", hours=9,
        cost_minor=205_607, put_off_minor=0,
    )  # fmt: skip


def figures(fleet) -> None:
    for year in YEARS:
        totals = {None: 0}
        for number, boat in enumerate(fleet.boats.order_by("pk"), start=1):
            mean = 12_345 * number + 7 * year
            totals[None] += mean
            totals[boat.base] = totals.get(boat.base, 0) + mean
            figure(fleet, year, mean, base=boat.base, boat=boat)
        for base, mean in totals.items():
            figure(fleet, year, mean, **({"base": base} if base else {}))


def figure(fleet, year: int, mean: int, **scope) -> None:
    BudgetFigure.objects.create(
        fleet=fleet, year=year, mean_minor=mean, planned_minor=mean // 3, p10_minor=mean // 2,
        p50_minor=mean - 11, p90_minor=mean * 2 + 1, renewals=mean / 40_000, **scope,
    )  # fmt: skip


@pytest.fixture
def rig(rows) -> SimpleNamespace:
    """The boat with a second wire that nobody knows, a turnbuckle, a chainplate, a removed part."""
    unknown = builders.wire(
        rows.boat, "backstay", "", construction="", diameter_mm=None, length_mm=None,
        lower_terminal="", upper_terminal="", fitted_on=None, fitted_certainty="unknown",
    )  # fmt: skip
    facts = {"construction": "", "length_mm": None, "lower_terminal": "", "upper_terminal": ""}
    screw = builders.wire(
        rows.boat, kind="turnbuckle", pin_mm=16, invoice="INV-77", fitted_certainty="year", **facts
    )
    plate = builders.wire(rows.boat, kind="chainplate", fitted_certainty="estimated", **facts)
    builders.wire(
        rows.boat, "forestay", "", removed_on=dt.date(2020, 1, 1), removal_reason="age_rule",
        invoice="GONE-1",
    )  # fmt: skip
    return SimpleNamespace(unknown=unknown, screw=screw, plate=plate, boat=rows.boat)
