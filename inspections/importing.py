"""The whole workbook into a fleet: its sheets, and the verdicts and holds that follow."""

from collections.abc import Callable

from django.db import transaction

from fleet import importing, undoing
from fleet.importing import Report, Sheet
from fleet.models import Fleet, ImportRecord
from fleet.spreadsheets.drafts import Draft
from fleet.spreadsheets.part_sheet import Parts
from fleet.spreadsheets.sheet_definitions import Bases, Boats, Grounds, Prices, Use
from fleet.spreadsheets.spare_sheet import Spares
from fleet.spreadsheets.workbooks import Source
from fleet.spreadsheets.written_only import note_what_stays

from .judgement.projection import forget_proof
from .recording import judge
from .spreadsheets.asked_sheets import Bookings, Demands, put_boats
from .spreadsheets.finding_sheet import Findings, condemned_where
from .spreadsheets.happening_sheets import Failures, HandIns, YardMoves
from .spreadsheets.kept_sheets import EarlierVersions, Limits, Photos
from .spreadsheets.renewals import note_renewals_without_proof
from .spreadsheets.sheet_definitions import Inspections
from .spreadsheets.signed_sheets import Orders, Recommendations, Reports, SecondLooks, Steppings

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
    Failures(),
    YardMoves(),
    HandIns(),
    Spares(),
    Bookings(),
    Demands(),
)
# What somebody signed, decided or attached: the export writes it, no file brings it in.
WRITTEN_ONLY: tuple[Sheet, ...] = (
    SecondLooks(),
    Steppings(),
    Reports(),
    Recommendations(),
    Orders(),
    Limits(),
    EarlierVersions(),
    Photos(),
)
EVERY_SHEET = (*SHEETS, *WRITTEN_ONLY)


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
    return importing.run(fleet, source, EVERY_SHEET, **how, after=follow, checked=noted)


def noted(draft: Draft) -> None:
    """Add what should be known before the file is written, and is no fault."""
    note_renewals_without_proof(draft)
    note_what_stays(WRITTEN_ONLY, draft)


@transaction.atomic
def undo_import(record: ImportRecord, by) -> None:
    """Take the last import back and judge its boats again. See ``fleet.undoing.undo``."""
    boats = undoing.undo(record, by)
    judge(boats)
    forget_proof(boats)


def follow(draft: Draft) -> None:
    """Write what rests on rows just written, and judge the boats they touch."""
    put_boats(draft)
    judge([boat.pk for boat in draft.touched.values()])
