"""The whole workbook into a fleet: its sheets, and the verdicts and holds that follow."""

from collections.abc import Callable

from django.db import transaction

from fleet import importing, undoing
from fleet.importing import Report, Sheet
from fleet.models import Fleet, ImportRecord
from fleet.spreadsheets.drafts import Draft
from fleet.spreadsheets.part_sheet import Parts
from fleet.spreadsheets.sheet_definitions import Bases, Boats, Grounds, Prices, Use
from fleet.spreadsheets.workbooks import Source

from .judgement.projection import forget_proof
from .recording import judge
from .spreadsheets.finding_sheet import Findings, condemned_where
from .spreadsheets.renewals import note_renewals_without_proof
from .spreadsheets.sheet_definitions import Inspections

# In the order in which they depend on each other.
SHEETS: tuple[Sheet, ...] = (
    Grounds(),
    Bases(),
    Boats(),
    Parts(located=condemned_where),
    Use(),
    Inspections(),
    Findings(),
    Prices(),
)


def import_workbook(
    fleet: Fleet,
    source: Source,
    *,
    take_good_rows: bool = False,
    dry_run: bool = True,
    by=None,
    say: Callable[[str], None] = lambda step: None,
) -> Report:
    """Check a workbook, or write it and judge the boats it touches. See ``fleet.importing.run``."""
    how = {"take_good_rows": take_good_rows, "dry_run": dry_run, "by": by, "say": say}
    return importing.run(
        fleet, source, SHEETS, **how, after=judge_touched, checked=note_renewals_without_proof
    )


@transaction.atomic
def undo_import(record: ImportRecord, by) -> None:
    """Take the last import back and judge its boats again. See ``fleet.undoing.undo``."""
    boats = undoing.undo(record, by)
    judge(boats)
    forget_proof(boats)


def judge_touched(draft: Draft) -> None:
    judge([boat.pk for boat in draft.touched.values()])
