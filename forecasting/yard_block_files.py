"""Blocks of the yard from a sheet, a row each, or from a calendar file, an event each.

An event that names a boat of the fleet is work on that boat; any other is the base's. It repeats
nothing: a block is pinned days, and each is entered by itself.
"""

from dataclasses import dataclass
from zoneinfo import ZoneInfo

from django.db import transaction

from fleet.models import Base, Fleet
from fleet.sheets import Fault
from fleet.sheets.faults import shown
from fleet.spreadsheets.files import NamedFile
from inspections.bookings import calendar_files
from inspections.bookings.sheet import wrong_days

from . import yard_block_sheet
from .models import YardBlock

SHEET = calendar_files.SHEET
NOTE = YardBlock._meta.get_field("note").max_length


@dataclass(frozen=True)
class Written:
    """Blocks new and known before; or what is wrong with the file, and then none is written."""

    new: int = 0
    known: int = 0
    faults: tuple[Fault, ...] = ()


def take_in(fleet: Fleet, file: NamedFile, base: Base | None, what: str, by=None) -> Written:
    """Write the blocks of a file, all or, with a fault in it, none; twice adds none.

    base, what: of those that name neither a boat nor a base, and do not say what is on.
    """
    if calendar_files.is_calendar(file.name, file.content):
        rows, faults = _of_calendar(fleet, file.content)
    else:
        rows, faults = yard_block_sheet.read(fleet, [file])
    for row in rows:
        row.base = row.boat.base if row.boat else row.base or base
        row.what, row.by = _what(row, row.what or what), by
    return Written(faults=tuple(faults)) if faults else _written(fleet, rows)


def _of_calendar(fleet: Fleet, content: bytes) -> tuple[list[YardBlock], list[Fault]]:
    events, faults = calendar_files.events_of(content)
    names, zone = calendar_files.names_of(fleet), ZoneInfo(fleet.time_zone)
    found = [_block(fleet, number, event, names, zone) for number, event in events]
    faults += [fault for wrong, _ in found for fault in wrong]
    return [row for _, row in found if row is not None], faults


def _what(row: YardBlock, what: str) -> str:
    """What is of a boat is work on it: a yard is not shut for one boat."""
    return YardBlock.What.CONTRACTOR if row.boat and what == YardBlock.What.SHUT else what


def _block(fleet: Fleet, number: int, event, names, zone):
    said = shown(str(event.get("SUMMARY", "")))
    if event.get("RRULE") or event.get("RDATE"):
        right = "Enter each time by itself."
        return [Fault(SHEET, number, "RRULE", said, "It repeats.", right)], None
    span = calendar_files.span_of(event, zone)
    if span is None:
        wrong, right = "Its first or last day cannot be read.", "Give it a DTSTART and a DTEND."
        return [Fault(SHEET, number, "DTSTART", said, wrong, right)], None
    wrongs = [Fault(SHEET, number, *each) for each in wrong_days(span)]
    if wrongs:
        return wrongs, None
    boat = calendar_files.named(event, names)
    note = " ".join(str(event.get("SUMMARY", "")).split())[:NOTE]
    return [], YardBlock(fleet=fleet, boat=boat, first=span[0], last=span[1], what="", note=note)


@transaction.atomic
def _written(fleet: Fleet, rows: list[YardBlock]) -> Written:
    Fleet.objects.select_for_update().get(pk=fleet.pk)
    keys = ("base_id", "boat_id", "first", "last", "what", "note")
    known = set(YardBlock.objects.of(fleet).values_list(*keys))
    wanted = {tuple(getattr(row, key) for key in keys): row for row in rows}
    new = [row for key, row in wanted.items() if key not in known]
    YardBlock.objects.bulk_create(new)
    return Written(len(new), len(wanted) - len(new))
