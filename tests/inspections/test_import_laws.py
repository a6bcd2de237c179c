"""Whatever is done to a good workbook: the import answers in words, and writes what it said."""

import datetime as dt
from itertools import count

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inspections.importing import import_workbook
from tests import builders
from tests.workbooks import small, xlsx

pytestmark = pytest.mark.django_db
NUMBER = count()

CELLS = st.one_of(
    st.none(),
    st.sampled_from([
        "Tern", "tern ", "Skua", "every Sloop 38", "whole rig", "forestay", "cap shroud", "port",
        "both", "mizzen mast", "wire", "turnbuckle", "chainplate", "unknown", "condemned",
        "failed in service", "estimated", "known to the year", "yes", "no", "lower end", "tang",
        "whole part", "not seen", "Tang cracked", "aloft", "none", "Lake", "03/04/2016", "R-1",
    ]),
    st.integers(-5, 3000),
    st.floats(-10, 100, allow_nan=False).map(lambda number: round(number, 2)),
    st.dates(dt.date(2005, 1, 1), dt.date(2027, 1, 1)),
    st.text(st.characters(exclude_categories=["Cs"]), max_size=12),
)  # fmt: skip
EDITS = st.lists(
    st.tuples(st.sampled_from(list(small())), st.integers(1, 5), st.integers(0, 14), CELLS),
    min_size=1,
    max_size=4,
)
UNHURRIED = settings(
    max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


def edited(edits) -> dict[str, list[list]]:
    tables = small()
    for sheet, row, place, cell in edits:
        rows = tables[sheet]
        if row < len(rows) and place < len(rows[0]):
            rows[row][place] = cell
    return tables


def taken_twice(source):
    """Return the reports of taking the good rows, and of checking the same file again."""
    with transaction.atomic():
        fleet = builders.empty_fleet(f"fleet-{next(NUMBER)}")
        report = import_workbook(fleet, source, dry_run=False, take_good_rows=True)
        second = import_workbook(fleet, source, take_good_rows=True)
        transaction.set_rollback(True)
    return report, second


@UNHURRIED
@given(EDITS)
def test_a_spoilt_workbook_is_answered_in_words_and_its_good_rows_fit_the_tables(db, edits):
    report, second = taken_twice(xlsx(edited(edits)))
    assert report.written == report.whole
    for fault in report.faults:
        assert fault.wrong.endswith((".", "?"))
        assert fault.right.endswith((".", "?"))
    if report.written:
        assert (second.new, second.changed) == (0, 0)
        assert second.same == report.new


@UNHURRIED
@given(EDITS)
def test_changes_to_a_fleet_already_there_fit_its_tables_too(db, edits):
    source = xlsx(edited(edits))
    with transaction.atomic():
        fleet = builders.empty_fleet(f"fleet-{next(NUMBER)}")
        assert import_workbook(fleet, xlsx(small()), dry_run=False).written
        check = import_workbook(fleet, source, take_good_rows=True)
        report = import_workbook(fleet, source, dry_run=False, take_good_rows=True)
        transaction.set_rollback(True)
    assert report.written == report.whole
    assert (check.new, check.changed) == (report.new, report.changed)
