"""Blocks of the yard from a sheet: from, to, what, and of which base or boat."""

from collections.abc import Iterator, Sequence

from fleet.models import Base, Boat, Fleet
from fleet.sheets import Choice, Column, Day, Fault, Layout, Number, Row, Text, Whole, folded
from fleet.sheets.faults import nearest, shown
from fleet.spreadsheets.files import NamedFile
from inspections.bookings.sheet import table_of, wrong_days

from .models import YardBlock

NAME = "days taken"
NOTE = YardBlock._meta.get_field("note").max_length
SHUT = YardBlock.What.SHUT
LAYOUT = Layout(
    NAME,
    "Days on which the yard is taken.",
    (
        Column("from", Day(future=True), "First day.", True, "2026-12-21"),
        Column("to", Day(future=True), "Last day.", True, "2027-01-03"),
        Column("what", Choice(dict(YardBlock.What.choices), {"shut": SHUT}), "What is on.",
               example="the yard is shut"),
        Column("base", Text(80), "Blank: as chosen for the file.", example="Hollow Quay"),
        Column("boat", Text(80), "Work on that boat alone.", example="Sea Pink"),
        Column("hours", Number("h", 0, 10_000, blank=0.0), "Riggers' hours it takes a week."),
        Column("berths", Whole("berths", 0, 1_000, blank=0), "Berths it takes."),
        Column("note", Text(NOTE), "What it is.", example="between the years"),
    ),
)  # fmt: skip


def read(fleet: Fleet, files: Sequence[NamedFile]) -> tuple[list[YardBlock], list[Fault]]:
    """Return the blocks of a sheet, unsaved, and what is wrong with it.

    ``base`` and ``what`` stay blank where a row says neither.
    """
    table = table_of(files, LAYOUT, fleet.today())
    faults, blocks = list(table.faults), []
    boats = {folded(boat.name): boat for boat in Boat.objects.of(fleet).select_related("base")}
    bases = {folded(row.name): row for row in Base.objects.of(fleet)}
    for row in table.rows:
        problems = list(_problems(row, bases, boats))
        faults += [Fault(NAME, row.number, *each) for each in problems]
        if not problems:
            blocks.append(_block(fleet, row, bases, boats))
    return blocks, sorted(faults, key=lambda fault: fault.row)


def _named(row: Row, column: str, known: dict) -> Base | Boat | None:
    return known.get(folded(row.get(column, "")))


def _block(
    fleet: Fleet, row: Row, bases: dict[str, Base], boats: dict[str, Boat]
) -> YardBlock:  # fmt: skip
    return YardBlock(
        fleet=fleet, base=_named(row, "base", bases), boat=_named(row, "boat", boats),
        first=row["from"], last=row["to"], what=row.get("what", ""), hours=row.get("hours", 0.0),
        berths=row.get("berths", 0), note=row.get("note", ""),
    )  # fmt: skip


def _problems(row: Row, bases: dict[str, Base], boats: dict[str, Boat]) -> Iterator[tuple]:
    yield from wrong_days((row["from"], row["to"]))
    for column, known in (("base", bases), ("boat", boats)):
        said = row.get(column, "")
        if said and _named(row, column, known) is None:
            hint = nearest(said, [each.name for each in known.values()])
            yield (column, shown(said), f"No {column} of this fleet is called so.",
                   hint or "Write its name as on the fleet's pages.")  # fmt: skip
    boat, base = _named(row, "boat", boats), _named(row, "base", bases)
    if boat and base and boat.base_id != base.pk:
        yield ("base", base.name, f"{boat.name} is kept at {boat.base}.", "Leave the base blank.")
    if boat and row.get("what") == SHUT:
        yield ("what", SHUT.label, "A yard is not shut for one boat.", "Say what is done on it.")
