"""Which boat is due for a look when, as one chart for the page, the bosun's mail and paper.

A bar to the left of today is time gone by, one to the right time left; each ends in words.
"""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from fleet import chart_spec
from fleet.templatetags.wording import day

from .spans import span_words

FEWEST = 3  # Below that a sentence says as much.
MOST = 15  # Beyond that the rows are too thin to read; the list beside the chart has them all.
ROW = 24  # px
DUE = "due for a look"
IN_MESSAGE = "in this message"  # A message tells what is new to its reader, not all that is due.


@dataclass(frozen=True, order=True)
class BoatDue:
    """The earliest look due on one boat."""

    on: dt.date
    boat: str
    pk: int


def soonest(dues: Iterable[tuple[int, str, dt.date]]) -> list[BoatDue]:
    """Return the earliest of each boat, longest late first. ``dues``: key, name, day."""
    earliest: dict[int, BoatDue] = {}
    for pk, name, on in dues:
        if pk not in earliest or on < earliest[pk].on:
            earliest[pk] = BoatDue(on, name, pk)
    return sorted(earliest.values())


def chart(boats: list[BoatDue], today: dt.date, which: str) -> dict | None:
    """Return the spec; None below three boats."""
    if len(boats) < FEWEST:
        return None
    drawn = boats[:MOST]
    rows = [row(boat, today) for boat in drawn]
    spec = chart_spec.base(rows, layers(), 0, title(boats, today, which))
    return spec | {
        "height": {"step": ROW},
        "padding": {"right": 12, "left": 5, "top": 5, "bottom": 5},
    }


def shown(dues: Iterable[tuple[int, str, dt.date]], today: dt.date, which: str = DUE) -> dict:
    """Return the chart of these dues, if any, and how many boats it draws and leaves out."""
    boats = soonest(dues)
    drawn = min(len(boats), MOST)
    return {"chart": chart(boats, today, which), "drawn": drawn, "undrawn": len(boats) - drawn}


def row(boat: BoatDue, today: dt.date) -> dict:
    days = (boat.on - today).days
    name = "".join(letter if letter.isprintable() else " " for letter in boat.boat)
    return {"boat": name, "days": days, "late": days < 0, "words": words(days), "on": day(boat.on)}


def words(days: int) -> str:
    if days == 0:
        return "today"
    return f"{span_words(-days)} late" if days < 0 else f"in {span_words(days)}"


def layers() -> list[dict]:
    names = {"labelLimit": 150, "title": None, "domain": False, "ticks": False, "labelPadding": 8}
    y = {"field": "boat", "type": "nominal", "sort": None, "axis": names}
    x = {"field": "days", "type": "quantitative", "title": "days from today",
         "axis": {"tickMinStep": 1, "tickCount": 6}}  # fmt: skip
    today = {"datum": 0, "type": "quantitative"}
    tip = [{"field": "boat"}, {"field": "on", "title": "due"}, {"field": "words"}]
    said = {"y": y, "text": {"field": "words"}}
    found = []
    for which, colour, at in (("datum.late", "alert", today), ("!datum.late", "ink", x)):
        some = [{"filter": which}]
        found += [
            {"transform": some, "mark": {"type": "bar", "height": 9, "color": colour},
             "encoding": {"y": y, "x": x, "x2": {"datum": 0}, "tooltip": tip}},
            {"transform": some, "mark": {"type": "text", "align": "left", "dx": 7, "color": "ink"},
             "encoding": said | {"x": at}},
        ]  # fmt: skip
    return [*found, {"mark": {"type": "rule", "color": "ink"}, "encoding": {"x": today}}]


def title(boats: list[BoatDue], today: dt.date, which: str = DUE) -> str:
    """Return how many are late and by how much, and who is next; in one sentence without a stop."""
    if not boats:
        return "No boat is due for a look within two months"
    late = [boat for boat in boats if boat.on < today]
    next_ones = [boat for boat in boats if boat.on >= today]
    if not late:
        first = "next" if len(boats) == 1 else f"first of {len(boats)}"
        return f"No boat {which} is late; {first} is {upcoming(next_ones, today)}"
    longest = span_words((today - late[0].on).days)
    if len(boats) == 1:
        return f"{late[0].boat} is late for a look by {longest}"
    many = f"All {len(late)}" if not next_ones else f"{len(late)} of {len(boats)}"
    verb = "is" if len(late) == 1 else "are"
    said = f"{many} boats {which} {verb} late, {first_of(late)} by {longest}"
    return said + (f"; next is {upcoming(next_ones, today)}" if next_ones else "")


def upcoming(boats: list[BoatDue], today: dt.date) -> str:
    """Return the first to come, with its day: ``Tern, by 3 Nov 2026``."""
    when = "today" if boats[0].on == today else f"by {day(boats[0].on)}"
    return f"{first_of(boats)}, {when}"


def first_of(boats: list[BoatDue]) -> str:
    """Return the boat that comes first, and how many share its day."""
    alike = sum(boat.on == boats[0].on for boat in boats) - 1
    return boats[0].boat + (f" and {alike} more" if alike else "")
