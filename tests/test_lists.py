"""Lists order, page, narrow and forgive: every table of every page."""

import re

import pytest
from django.db import transaction
from django.test import Client
from django.urls import reverse

from fleet.models import Boat, Installation
from forecasting.models import RefitJob
from forecasting.tables import BoatTable, OutlookTable, RefitTable
from inspections.criteria import RANK
from inspections.models import Hold, Inspection, Reminder
from inspections.tables import DueTable, HoldTable, InspectionTable, ReminderTable
from tests import builders
from tests.crowds import BASES, crowd

pytestmark = pytest.mark.django_db
BOATS = 68  # more than a page of any list
PAGES = ("boats", "outlook", "refit", "inspections", "reminders", "reminders_outbox")
# Page and the name of a table in the page's context -> the table.
TABLES = {
    ("boats", "table"): BoatTable,
    ("outlook", "table"): OutlookTable,
    ("refit", "table"): RefitTable,
    ("inspections", "table"): InspectionTable,
    ("inspections", "holds"): HoldTable,
    ("reminders_outbox", "table"): ReminderTable,
    ("reminders", "due_table"): DueTable,
}


@pytest.fixture(scope="module")
def fleet(django_db_setup, django_db_blocker):
    """A fleet for reading; undone when this file is done."""
    with django_db_blocker.unblock(), transaction.atomic():
        yield crowd("harbour", BOATS)
        transaction.set_rollback(True)


@pytest.fixture
def mara(fleet) -> Client:
    client = Client()
    client.force_login(builders.person("mara", fleet), "django.contrib.auth.backends.ModelBackend")
    return client


def page(client: Client, fleet, name: str, /, **query):
    response = client.get(reverse(name, kwargs={"fleet": fleet.slug}), query)
    assert response.status_code == 200
    return response


def sortable() -> list[tuple[str, str, str]]:
    """Return (page, table, column) of every column whose header is a link."""
    return [
        (*place, column)
        for place, table in TABLES.items()
        for column, kind in table.base_columns.items()
        if kind.orderable is not False
    ]


def whole_list(client: Client, fleet, place: tuple[str, str], order: str):
    """Return the rows of all pages in that order, and the table of the last."""
    name, key = place
    prefix = {"holds": "held-", "due_table": "due-"}.get(key, "")
    rows, number, table = [], 0, None
    while table is None or table.page.has_next():
        number += 1
        query = {f"{prefix}sort": order, f"{prefix}page": number}
        table = page(client, fleet, name, **query).context[key]
        rows += [row.record for row in table.paginated_rows]
    return rows, table


def value(table, column: str, record):
    found = table.columns[column].accessor.resolve(record, quiet=True)
    if isinstance(found, Boat):
        return found.name
    return (found.stay.name, found.stay.side) if isinstance(found, Installation) else found


@pytest.mark.parametrize(("name", "key", "column"), sortable())
def test_every_header_orders_its_list_both_ways_and_no_row_is_lost(mara, fleet, name, key, column):
    up, table = whole_list(mara, fleet, (name, key), column)
    down, _ = whole_list(mara, fleet, (name, key), f"-{column}")
    assert len(up) == len(down) == table.paginator.count > table.paginator.per_page
    assert len(set(map(identity, up))) == len(set(map(identity, down))) == len(up)
    upwards, downwards = ([value(table, column, each) for each in rows] for rows in (up, down))
    assert len(set(upwards)) > 1, "one value alone says nothing about order"
    assert upwards in (sorted(upwards), sorted(upwards, reverse=True))
    assert downwards == upwards[::-1]
    if key != "due_table":  # rows by hand: Python's sort keeps the order of ties
        assert ends_on_key(table), "rows that tie may come on two pages, or on none"


def ends_on_key(table) -> bool:
    return table.data.data.query.order_by[-1].lstrip("-") == "pk"


def identity(record) -> object:
    return getattr(record, "pk", None) or (record.boat.pk, record.kind, record.on)


def test_the_verdicts_of_one_inspection_are_ordered_worst_first(mara, fleet):
    look = Inspection.objects.of(fleet).filter(verdicts__value="replace").first()
    url = reverse("inspection", kwargs={"fleet": fleet.slug, "pk": look.pk})
    builders.wire(look.boat, stay="backstay", side="").verdicts.create(
        inspection=look, value="keep", lower="good", run="good", upper="good"
    )
    for order, worst_first in (("verdict", True), ("-verdict", False)):
        rows = mara.get(url, {"sort": order}).context["table"].rows
        ranks = [RANK[row.record.value] for row in rows]
        assert ranks == sorted(ranks, reverse=worst_first)
        assert len(set(ranks)) == 2


def test_of_boats_due_on_one_day_the_likeliest_comes_first(mara, fleet):
    boats = [row.record for row in page(mara, fleet, "outlook").context["table"].rows]
    keys = [(boat.inspect_by.date, -boat.outlook.chance_now) for boat in boats]
    assert keys == sorted(keys)


def test_the_held_boats_head_the_list_of_boats(mara, fleet):
    held = [row.record.held for row in page(mara, fleet, "boats").context["table"].rows]
    assert held == sorted(held, reverse=True)
    assert set(held) == {True, False}


# -- filters


def records(client: Client, fleet, name: str, /, **query) -> list:
    return [row.record for row in page(client, fleet, name, **query).context["table"].rows]


@pytest.mark.parametrize("name", ["boats", "outlook"])
def test_boats_are_narrowed_by_name_base_and_hold(mara, fleet, name):
    assert [b.name for b in records(mara, fleet, name, name="tern 07")] == ["Tern 07"]
    mill = fleet.bases.get(name="Mill")
    assert {b.base for b in records(mara, fleet, name, base=mill.pk)} == {mill}
    held = set(Hold.objects.of(fleet).standing().values_list("boat", flat=True))
    assert {b.pk for b in records(mara, fleet, name, state="held")} == held
    free = {b.pk for b in records(mara, fleet, name, state="free")}
    assert free == set(fleet.boats.values_list("pk", flat=True)) - held != set()


def test_the_refit_list_is_narrowed_by_base_and_to_what_cannot_wait(mara, fleet):
    mill = fleet.bases.get(name="Mill")
    jobs = RefitJob.objects.of(fleet)
    found = records(mara, fleet, "refit", base=mill.pk)
    assert {job.pk for job in found} == set(
        jobs.filter(boat__base=mill).values_list("pk", flat=True)
    )
    found = records(mara, fleet, "refit", must="True")
    assert {job.pk for job in found} == set(jobs.filter(must=True).values_list("pk", flat=True))
    assert len(found) < jobs.count()


def test_inspections_are_narrowed_by_boat_base_level_and_verdict(mara, fleet):
    looks = Inspection.objects.of(fleet)
    mill = fleet.bases.get(name="Mill")
    for query, wanted in (
        ({"boat": "tern 07"}, looks.filter(boat__name="Tern 07")),
        ({"base": mill.pk}, looks.filter(boat__base=mill)),
        ({"level": "deck"}, looks.filter(level="deck")),
        ({"verdict": "replace"}, looks.filter(verdicts__value="replace").distinct()),
    ):
        found = {look.pk for look in records(mara, fleet, "inspections", **query)}
        assert found == set(wanted.values_list("pk", flat=True))
        assert 0 < len(found) < looks.count()


def test_reminders_are_narrowed_by_boat_kind_and_state(mara, fleet):
    rows = Reminder.objects.of(fleet)
    for query, wanted in (
        ({"boat": "tern 07"}, rows.filter(boat__name="Tern 07")),
        ({"kind": "deck"}, rows.filter(kind="deck")),
        ({"state": "failed"}, rows.filter(state="failed")),
    ):
        found = {row.pk for row in records(mara, fleet, "reminders_outbox", **query)}
        assert found == set(wanted.values_list("pk", flat=True))
        assert 0 < len(found) < rows.count()


def test_a_filter_survives_sorting_and_paging(mara, fleet):
    mill = fleet.bases.get(name="Mill")
    text = page(mara, fleet, "inspections", base=mill.pk, sort="boat", page=2).content.decode()
    links = re.findall(r'href="(\?[^"]*)"', text)
    assert links
    assert all(f"base={mill.pk}" in link for link in links)


# -- nonsense in the address

NONSENSE = ("0", "-1", "9" * 30, "abc", "", "\x00", "'; --", "⛵" * 50, "nan")
ORDER = ("page", "sort", "held-page", "held-sort", "due-page", "due-sort")
FILTERS = ("name", "boat", "base", "state", "must", "level", "verdict", "kind")


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize("fields", [ORDER, FILTERS], ids=["order", "filters"])
def test_nonsense_in_the_address_still_opens_the_page(mara, fleet, name, fields):
    for text in NONSENSE:
        page(mara, fleet, name, **dict.fromkeys(fields, text))


@pytest.mark.parametrize("name", [name for name in PAGES if name != "reminders"])
def test_a_page_after_the_last_is_the_last(mara, fleet, name):
    table = page(mara, fleet, name, page=999).context["table"]
    assert table.page.number == table.paginator.num_pages > 1


@pytest.mark.parametrize("name", ["boats", "outlook", "refit", "inspections"])
def test_another_fleets_base_narrows_to_nothing_of_that_fleet(mara, fleet, name):
    elsewhere = builders.empty_fleet("estuary")
    other = builders.boat(elsewhere, "Foreign", base=builders.base(elsewhere, "Elsewhere"))
    text = page(mara, fleet, name, base=other.base.pk).content.decode()
    assert "Foreign" not in text
    assert "Elsewhere" not in text
    assert all(base in text for base in BASES)


@pytest.mark.parametrize("name", ["boats", "outlook"])
def test_only_a_long_list_folds_on_a_phone(mara, fleet, name):
    boat = fleet.boats.order_by("name").first().name
    assert "All 50 rows of this page" in page(mara, fleet, name).content.decode()
    assert 'class="rest"' not in page(mara, fleet, name, name=boat).content.decode()
