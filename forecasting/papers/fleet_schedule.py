"""The rigging schedule of the whole fleet, for a surveyor: every part up, boat after boat."""

from itertools import groupby

from django.db.models import QuerySet

from fleet.models import Boat, Fleet, Installation

from .. import reads
from . import part_words
from .masthead import masthead
from .press import press
from .rig_schedule import NOTE, answer
from .workbook import Book, made, rows_of, written

MOST = 150  # Boats in one paper: some 240 pages, which is all that a page can wait for.
YEAR_DAYS = part_words.YEAR_DAYS
COLUMNS = (
    ("base", 16, "plain"), ("boat", 20, "plain"), ("part", 26, "plain"), ("kind", 11, "plain"),
    ("inside foil", 8, "plain"), ("construction", 15, "plain"), ("alloy", 8, "plain"),
    ("diameter mm", 10, "plain"), ("pin to pin mm", 10, "plain"), ("lower terminal", 13, "plain"),
    ("upper terminal", 13, "plain"), ("pin mm", 8, "plain"), ("thread", 10, "plain"),
    ("thread hand", 12, "plain"), ("mast end fitting", 16, "plain"),
    ("adjuster setting", 18, "plain"), ("fitted", 12, "plain"), ("date certainty", 15, "plain"),
    ("age years", 9, "hours"), ("invoice", 14, "plain"),
    ("all of it last seen good", 13, "plain"), ("last seen good, by spot", 40, "plain"),
    ("verdict", 12, "plain"), ("verdict note", 22, "plain"),
)  # fmt: skip
BOATS = (
    ("base", 16, "plain"), ("boat", 20, "plain"), ("design", 16, "plain"), ("rig", 10, "plain"),
    ("length m", 9, "hours"), ("build year", 9, "plain"), ("parts up", 9, "plain"),
    ("condemned", 10, "plain"), ("never seen good", 10, "plain"),
)  # fmt: skip
SUMMED = (6, 7, 8)
EMPTY = "No part is on record as standing in this fleet."


def by_boat(boats: QuerySet[Boat]) -> list[tuple[Boat, list[Installation]]]:
    """Return boats by base and name, each with its parts up."""
    parts = part_words.with_record(reads.parts_up_on(boats))
    up = {key: list(own) for key, own in groupby(parts, key=lambda part: part.stay.boat_id)}
    ordered = boats.select_related("base", "fleet").order_by("base__name", "name", "pk")
    return [(boat, up.get(boat.pk, [])) for boat in ordered]


def fleet_schedule(fleet: Fleet, boats: QuerySet[Boat]) -> bytes:
    """Return the PDF of these boats of the fleet."""
    return press("fleet-schedule", contents(fleet, boats), fleet.today())


def contents(fleet: Fleet, boats: QuerySet[Boat]) -> dict:
    """Return what the paper says, as words."""
    found = by_boat(boats)
    everything = [part for _, parts in found for part in parts]
    title = f"Rigging schedule of {len(found)} boat{'' if len(found) == 1 else 's'}"
    return masthead(fleet, title, answer(everything) if everything else EMPTY) | {
        "boats": [of_boat(boat, parts) for boat, parts in found],
        "note": NOTE,
    }


def of_boat(boat: Boat, parts: list[Installation]) -> dict:
    facts = [boat.design, boat.get_rig_display(), f"{boat.length_m:.1f} m", f"{boat.build_year}"]
    return {
        "name": boat.name,
        "facts": ", ".join(filter(None, [boat.base.name, *facts])),
        "answer": answer(parts),
        "parts": [row(part, boat) for part in parts],
    }


def row(part: Installation, boat: Boat) -> dict:
    size = part_words.size(part)
    foil = "inside the furler foil" if part.stay.in_foil and part.kind == part.Kind.WIRE else ""
    return {
        "name": part_words.name(part),
        "what": part.description,
        "foil": foil,
        "length": size.get("length", ""),
        "pin": size["pin"],
        "age": part_words.age_words(part, boat.fleet.today()),
        "fitted": part_words.fitted(part),
        "certainty": part.get_fitted_certainty_display(),
        "seen": part_words.seen_words(part),
        "verdict": part_words.verdict(part),
    }


def fleet_schedule_workbook(fleet: Fleet, boats: QuerySet[Boat]) -> bytes:
    """Return the same as XLSX: every part with its sizes, and the boats with how many they have."""
    found = by_boat(boats)
    notes = ("Sizes are the record's; where a cell is empty, measure before ordering.", NOTE)
    with made(fleet, f"Rigging schedule of {fleet.name}", notes) as book:
        rows = [cells(part, boat) for boat, parts in found for part in parts]
        written(book, "Parts", COLUMNS, rows, EMPTY)
        boat_sheet(book, found)
    return book.content


def cells(part: Installation, boat: Boat) -> tuple:
    known = part.fitted_on and part.fitted_certainty != Installation.Certainty.UNKNOWN
    age = (boat.fleet.today() - part.fitted_on).days / YEAR_DAYS if known else None
    verdict = part_words.verdict(part)
    foil = "yes" if part.stay.in_foil and part.kind == Installation.Kind.WIRE else ""
    return (
        boat.base.name, boat.name, part.stay.label, part.get_kind_display(), foil,
        part.get_construction_display(), part.alloy, part.diameter_mm, part.length_mm,
        part.get_lower_terminal_display(), part.get_upper_terminal_display(), part.pin_mm,
        part.thread, part.get_hand_display(), part.mast_end, part.adjuster,
        part.fitted_on if known else None, part.get_fitted_certainty_display(),
        None if age is None else round(age, 2), part.invoice, part_words.least_seen(part),
        part_words.seen_words(part), verdict["word"], verdict["note"],
    )  # fmt: skip


def boat_sheet(book: Book, boats: list[tuple[Boat, list[Installation]]]) -> None:
    rows = [
        (boat.base.name, boat.name, boat.design, boat.get_rig_display(), boat.length_m,
         boat.build_year, len(parts), sum(part.condemned_on is not None for part in parts),
         sum(not part.good for part in parts))
        for boat, parts in boats
    ]  # fmt: skip
    page = written(book, "Boats", BOATS, rows, "No boat is in this fleet.")
    if rows:
        book.write(page, len(rows) + 2, 0, "Together", "words")
        for column in SUMMED:
            total = sum(row[column] for row in rows)
            book.add(page, len(rows) + 2, column, rows_of(column, 1, len(rows)), total, "count")
