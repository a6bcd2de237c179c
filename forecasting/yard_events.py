"""The board of the yard as a calendar file (RFC 5545): a boat's weeks as one event of whole days.

All days from the Monday to the Friday of its weeks (VALUE=DATE, DTEND the day after, 3.6.1). The
UID is the board's and the boat's, so a file taken again moves the event. DTSTAMP is when the boat
was last moved or the weeks were worked out: equal rows give equal bytes. What the planner chose is
TENTATIVE, what somebody keeps by hand CONFIRMED (3.8.1.11). SEQUENCE (3.8.7.4) only has to go up
with every change: it is the seconds from the board's making to that moment.
"""

import datetime as dt

from django.conf import settings
from django.urls import reverse
from django.utils.crypto import salted_hmac

from fleet.models import Base
from fleet.templatetags.wording import day
from inspections.calendar_file import CAUTION

from . import yard_board
from .models import YardPlan, YardVisit
from .papers.yard_rows import about_plan, alongside, parts_words
from .yard_board import Alongside

PRODUCT = "-//Stayward//The yard of an off season//EN"
DAY = dt.timedelta(days=1)


def yard_ics(plan: YardPlan, base: Base | None = None) -> bytes:
    """Return the calendar of every boat with a week, of one base or all; its lines end by CRLF."""
    import icalendar  # Loads its time zones: only where a calendar file is read or written.

    calendar = icalendar.Calendar()
    called = icalendar.vText(title(plan, base))  # Else its commas stay bare (RFC 5545, 3.3.11).
    for name, value in (("prodid", PRODUCT), ("version", "2.0"), ("calscale", "GREGORIAN"),
                        ("method", "PUBLISH"), ("name", called), ("x-wr-calname", called),
                        ("description", f"{about_plan(plan)} {CAUTION}")):  # fmt: skip
        calendar.add(name, value)
    for a in alongside(yard_board.boards(plan, base and base.pk)):
        if a.monday:
            calendar.add_component(_event(icalendar.Event(), plan, a))
    return calendar.to_ical()


def title(plan: YardPlan, base: Base | None) -> str:
    return f"{plan.fleet.name}: yard {plan.season}{f', {base.name}' if base else ''}"


def _event(event, plan: YardPlan, a: Alongside):
    stamp = _changed(plan, a.visit)
    event.add("uid", uid_of(plan, a.visit))
    event.add("dtstamp", stamp)
    event.add("last-modified", stamp)
    event.add("sequence", max(0, int((stamp - plan.made_at).total_seconds())))
    event.add("dtstart", a.monday)
    event.add("dtend", a.last_day + DAY)
    event.add("summary", f"{a.visit.boat.name}: in the yard, mast {_mast(a.visit)}")
    event.add("description", description(plan, a))
    event.add("location", a.visit.base.name)
    event.add(
        "url", settings.STAYWARD_SITE + reverse("boat", args=[plan.fleet.slug, a.visit.boat_id])
    )
    event.add("transp", "TRANSPARENT")
    event.add("status", "CONFIRMED" if a.visit.kept_at else "TENTATIVE")
    return event


def _mast(visit: YardVisit) -> str:
    return "down" if visit.mast_down else "up"


def description(plan: YardPlan, a: Alongside) -> str:
    """Return hours, parts, when they can be here and which board this is, a line each."""
    ready = a.visit.parts_ready
    return "\n".join(filter(None, [
        f"{yard_board.number(a.visit.hours)} hours.", parts_words(a),
        f"Parts ready {day(ready)}." if ready else "", a.visit.why, about_plan(plan), CAUTION,
    ]))  # fmt: skip


def uid_of(plan: YardPlan, visit: YardVisit) -> str:
    """Return the UID of a boat on a board: the same for life, and telling nothing."""
    said = f"{plan.fleet_id}/{plan.pk}/{visit.boat_id}"
    found = salted_hmac("calendar uid of the yard", said, algorithm="sha256").hexdigest()
    return f"{found[:32]}@stayward"


def _changed(plan: YardPlan, visit: YardVisit) -> dt.datetime:
    latest = max(filter(None, [plan.planned_at, visit.kept_at]))
    return latest.astimezone(dt.UTC).replace(microsecond=0)
