"""Taking the good rows alone: what is left out with a bad row, and what must be."""

import datetime as dt

import pytest

from fleet.models import Boat
from inspections.importing import import_workbook
from inspections.models import Finding, Inspection
from tests import builders
from tests.workbooks import changed, contents, small, xlsx

pytestmark = pytest.mark.django_db
D = dt.date


@pytest.fixture
def fleet():
    return builders.empty_fleet("harbour")


def load(fleet, tables, **options):
    return import_workbook(fleet, xlsx(tables), **{"dry_run": False, **options})


def counts(report, state):
    return {name: getattr(count, state) for name, count in report.counts.items()}


def test_with_faults_nothing_is_written_unless_the_good_rows_are_taken(fleet):
    tables = changed("prices", 2, price="a lot")
    report = load(fleet, tables)
    assert not report.written
    assert report.can_take_good_rows
    assert not any(contents(fleet).values())
    taken = load(fleet, tables, take_good_rows=True)
    assert taken.written
    assert counts(taken, "left_out")["prices"] == 1
    assert fleet.prices.count() == 1


def test_rows_that_depend_on_a_bad_row_are_left_out_with_it(fleet):
    report = load(fleet, changed("boats", 3, length_m=-1), take_good_rows=True)
    assert report.written
    assert set(Boat.objects.values_list("name", flat=True)) == {"Tern"}
    assert counts(report, "left_out") == {
        "grounds": 0, "bases": 0, "boats": 1, "parts": 1, "use": 0, "inspections": 1,
        "findings": 1, "prices": 0,
    }  # fmt: skip
    assert all("row 3" in f.wrong for f in report.faults if f.sheet in ("parts", "inspections"))


def test_an_inspection_is_not_taken_without_all_its_findings(fleet):
    """Without the bad row the wire would stand as seen good that day."""
    report = load(fleet, changed("findings", 2, sign="crakc"), take_good_rows=True)
    assert report.written
    assert not Inspection.objects.filter(on=D(2015, 3, 2)).exists()
    assert Inspection.objects.count() == 2
    fault = next(f for f in report.faults if f.sheet == "inspections")
    assert "Row 2 of its findings" in fault.wrong


def test_findings_of_an_inspection_left_out_go_with_it(fleet):
    tables = small()
    tables["findings"].append(list(tables["findings"][2]))
    tables["findings"][4][8] = "crakc"
    report = load(fleet, tables, take_good_rows=True)
    assert not Inspection.objects.filter(on=D(2024, 3, 2)).exists()
    assert not Finding.objects.filter(sign="lock_missing").exists()
    assert {(f.sheet, f.row) for f in report.faults} == {
        ("findings", 5), ("inspections", 3), ("findings", 3),
    }  # fmt: skip


def test_a_finding_of_nobody_knows_which_boat_stops_every_inspection_it_may_belong_to(fleet):
    report = load(fleet, changed("findings", 3, boat="Turn"), take_good_rows=True)
    assert report.written
    left = set(Inspection.objects.values_list("boat__name", "on"))
    assert left == {("Tern", D(2015, 3, 2)), ("Skua", D(2024, 3, 3))}


def test_a_missing_sheet_is_no_case_for_taking_the_good_rows(fleet):
    tables = small()
    del tables["parts"]
    report = load(fleet, tables, take_good_rows=True)
    assert (report.written, report.can_take_good_rows) == (False, False)
    assert not any(contents(fleet).values())
