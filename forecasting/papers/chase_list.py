"""The chase list: what is due, owner by owner, for people who do not read mail.

Printed and carried round, or handed out a page an owner: boat, what, by when, why, a box to tick
and a line to sign.
"""

import datetime as dt
from collections.abc import Iterable
from itertools import groupby

from fleet.models import Boat, Fleet
from fleet.templatetags.wording import day
from inspections.calendar.months import Row, with_advice
from inspections.due import Due
from inspections.models import Reminder
from inspections.reminders import step
from inspections.spans import span_words

from .masthead import CAUTION, WORK
from .press import press

NOBODY = "No owner on record"
HOW = (
    "Sign for what you were told. What was done is put on record with its day and who did it; a "
    "tick here is not that record."
)


def chase_list(fleet: Fleet, dues: Iterable[Due]) -> bytes:
    """Return the PDF of those of these dues that are late or within two months."""
    return press("chase-list", contents(fleet, dues), fleet.today())


def contents(fleet: Fleet, dues: Iterable[Due]) -> dict:
    """Return what the paper says, as words."""
    today = fleet.today()
    soon = [each for each in dues if step(each.on, today) is not None]
    rows = sorted(with_advice(fleet, soon, today), key=_order)
    owners = {whose(row.due.boat) for row in rows}
    return {
        "title": "Chase list",
        "answer": answer(rows, len(owners), today),
        "fleet": fleet.name,
        "as_of": day(today),
        "caution": CAUTION,
        "cautions": list(WORK),
        "how": HOW,
        "owners": [
            owner(list(own), today) for _, own in groupby(rows, key=lambda row: _order(row)[:3])
        ],
    }


def _order(row: Row) -> tuple:
    boat = row.due.boat
    owned = (boat.base.name, not boat.owner_name, whose(boat))
    return (*owned, boat.name, row.due.on, row.due.kind, row.due.about)


def whose(boat: Boat) -> str:
    return boat.owner_name.strip() or NOBODY


def answer(rows: list[Row], owners: int, today: dt.date) -> str:
    if not rows:
        return "Nothing is late, and nothing is due within two months."
    boats = {row.due.boat.pk for row in rows}
    late = {row.due.boat.pk for row in rows if row.due.on < today}
    return (
        f"{len(boats)} boat{'' if len(boats) == 1 else 's'} of {owners} "
        f"owner{'' if owners == 1 else 's'}: {len(late) or 'none'} with something late or held, "
        "the rest due within two months."
    )


def owner(rows: list[Row], today: dt.date) -> dict:
    boat = rows[0].due.boat
    return {
        "base": boat.base.name,
        "name": whose(boat),
        "mail": "" if any(row.due.boat.owner_email for row in rows) else "no mail address",
        "rows": [line(row, today) for row in rows],
    }


def line(row: Row, today: dt.date) -> dict:
    each = row.due
    late = each.on < today
    when = f"held since {day(each.on)}" if row.held else day(each.on)
    return {
        "boat": each.boat.name,
        "what": Reminder.Kind(each.kind).label,
        "when": when,
        "late": late,
        "ago": "" if row.held or not late else f"{span_words((today - each.on).days)} late",
        "why": each.reason,
        "advice": row.advice.words if row.advice else "",
    }
