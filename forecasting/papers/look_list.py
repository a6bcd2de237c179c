"""What to look at, for the bosun's wall: late first, base by base, with room to tick."""

import datetime as dt
from itertools import groupby

from fleet import chart_picture
from fleet.models import Fleet
from inspections import due_chart
from inspections.due import LOOKS, Due, due
from inspections.models import Reminder
from inspections.reminders import step
from inspections.spans import when

from .masthead import WORK, masthead
from .press import press
from .workbook import made, written

WIDTH = 380  # px of the plot, as wide as the paper's text with its labels.
HELD = Reminder.Kind.HELD
NAME = "To look at"
COLUMNS = (
    ("base", 16, "plain"), ("boat", 20, "plain"), ("what", 20, "plain"), ("due", 12, "plain"),
    ("days late", 9, "plain"), ("why", 80, "plain"),
)  # fmt: skip
NOTE = "A held boat is late from the day it is held. Days late are blank while there is time."


def dues(fleet: Fleet) -> list[Due]:
    """Return what the page of reminders lists: late, or due within two months."""
    today = fleet.today()
    return [each for each in due(fleet, today) if step(each.on, today) is not None]


def looks(found: list[Due]) -> list[tuple[int, str, dt.date]]:
    return [(each.boat.pk, each.boat.name, each.on) for each in found if each.kind in LOOKS]


def look_list(fleet: Fleet) -> bytes:
    """Return the PDF."""
    return press("look-list", contents(fleet), fleet.today())


def contents(fleet: Fleet) -> dict:
    """Return what the paper says, as words, and the page's chart as SVG."""
    today, found = fleet.today(), dues(fleet)
    shown = due_chart.shown(looks(found), today)
    spec = shown["chart"]
    by_base = sorted(found, key=lambda each: (each.boat.base.name, each.boat.base_id, each.on))
    return masthead(fleet, "Boats to look at", answer(fleet, found)) | {
        "cautions": list(WORK),
        "chart": chart_picture.svg(spec, WIDTH) if spec else "",
        "chart_title": spec["description"] if spec else "",
        "undrawn": shown["undrawn"],
        "bases": [
            {"name": rows[0].boat.base.name, "rows": [row(each, today) for each in rows]}
            for _, own in groupby(by_base, key=lambda each: each.boat.base_id)
            if (rows := list(own))
        ],
    }


def answer(fleet: Fleet, found: list[Due]) -> str:
    """Return how many boats are late, due and held; a boat that is late is not counted as due."""
    today = fleet.today()
    boats = due_chart.soonest(looks(found))
    late = sum(boat.on < today for boat in boats)
    held = len({each.boat.pk for each in found if each.kind == HELD})
    said = [f"{late or 'No'} boat{'' if late == 1 else 's'} late for a look"]
    said.append(f"{len(boats) - late or 'none'} more due within two months")
    return f"{', '.join(said)}; {held or 'none'} held."


def row(each: Due, today: dt.date) -> dict:
    held = each.kind == HELD
    return {
        "boat": each.boat.name,
        "what": Reminder.Kind(each.kind).label,
        "when": "until it is done" if held else when(each.on, today),
        "late": held or each.on < today,
        "why": each.reason,
    }


def look_workbook(fleet: Fleet) -> bytes:
    """Return the same list as XLSX."""
    today = fleet.today()
    rows = [
        (each.boat.base.name, each.boat.name, Reminder.Kind(each.kind).label, each.on,
         max(0, each.late_by(today)) or None, each.reason)
        for each in dues(fleet)
    ]  # fmt: skip
    with made(fleet, f"Boats of {fleet.name} to look at", (NOTE,)) as book:
        written(book, NAME, COLUMNS, rows, "Nothing is due for a look within two months.")
    return book.content
