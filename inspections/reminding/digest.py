"""One person's message of a day: everything that is due, in their language, with its picture."""

import datetime as dt
from collections.abc import Mapping, Sequence
from email.utils import formataddr

from django.conf import settings
from django.template.loader import render_to_string
from django.urls import reverse

from fleet.models import Fleet

from .. import calendar_file, due_chart
from ..bookings import keeping as bookings
from ..bookings.free_days import Span
from ..calendar.months import advice_of
from ..due import LOOKS, Due
from ..letters import Letter, picture
from ..models import Reminder
from . import addressees, phrases, stopping, wordings

Kind = Reminder.Kind
# Where it is done, if not on the form of an inspection of that boat.
LISTED = {
    Kind.HELD: "not_released", Kind.DEMAND: "demands", Kind.ADVICE: "recommendations",
}  # fmt: skip
BY_BOAT = {Kind.AGE: "boat", Kind.SIGNATURE: "stepped", Kind.RETENSION: "stepped"}
UNDATED = (Kind.HELD, Kind.EVENT)  # Since a day, not by one: nothing for a calendar.


def letter(fleet: Fleet, rows: Sequence[Reminder], today: dt.date) -> Letter:
    """Return the message that says these reminders, all of one person.

    With three boats or more due it shows them in a chart: only where mail is sent.
    """
    first, language = rows[0], addressees.of(fleet, rows[0].to_email).language
    about = content(fleet, rows, today, language) | _chart(rows, today)
    drawn = {"n": about["undrawn"], "drawn": about["drawn"]}
    about["more_drawn"] = phrases.say("more_drawn", language, **drawn) if drawn["n"] else ""
    message = Letter(
        subject=about["subject"],
        body=render_to_string("mail/reminders.txt", about),
        to=[formataddr((first.to_name, first.to_email))],
        headers=_headers(fleet, first),
        pictures=[about["picture"]] if about["picture"] else [],
        calendar=_events(fleet, rows, today),
    )
    message.attach_alternative(render_to_string("mail/reminders.html", about), "text/html")
    return message


def _events(fleet: Fleet, rows: Sequence[Reminder], today: dt.date) -> bytes | None:
    """Return what has a day as a calendar file; the same for a message tried again on its day."""
    dated = [row for row in rows if row.kind not in UNDATED]
    stamp = dt.datetime.combine(today, dt.time(), tzinfo=dt.UTC)
    return calendar_file.attachment(fleet, dated, stamp) if dated else None


def _headers(fleet: Fleet, first: Reminder) -> dict[str, str]:
    ours = {"Auto-Submitted": "auto-generated"}
    if first.message_id:
        ours["Message-ID"] = first.message_id
    return ours | stopping.headers(fleet, first.to_email, first.told_as)


def content(
    fleet: Fleet,
    rows: Sequence[Reminder],
    today: dt.date,
    language: str,
    texts: Mapping[str, str] | None = None,
) -> dict:
    """Return what the templates say of these reminders, all but the picture.

    ``texts``: the fleet's own subject, opening and closing; by default those in force.
    """
    first = rows[0]
    away = bookings.away(fleet, today)
    lines = [_line(fleet, row, today, language) for row in sorted(rows, key=_urgency)]
    for line in lines:
        line["booked"] = _booked(line["row"], today, away)
    late = sum(line["late"] for line in lines)
    values = {
        "fleet": fleet.name,
        "name": first.to_name,
        "date": phrases.date(today, language),
        "count": len(lines),
        "late": late,
        "boats": ", ".join(dict.fromkeys(line["boat"] for line in lines)),
    }
    own = wordings.filled(texts or wordings.in_force(fleet, language), values)
    subject = own["subject"] or _subject(fleet, lines, late, language)
    stop = stopping.link(fleet, first.to_email) if first.told_as == Reminder.As.OWNER else ""
    return {
        "fleet": fleet, "name": first.to_name, "lines": lines, "late": late, "today": today,
        "language": language, "date": values["date"], "subject": " ".join(subject.split()),
        "opening": own["opening"], "closing": own["closing"], "stop": stop,
        "why": _why(fleet, first, language), "words": _words(language), "picture": None,
        "more_drawn": "",
    }  # fmt: skip


def _words(language: str) -> dict[str, str]:
    keys = ("late", "record", "what_holds", "open", "fixed_date", "caution", "stop")
    return {key: phrases.say(key, language) for key in keys}


def _subject(fleet: Fleet, lines: Sequence[dict], late: int, language: str) -> str:
    if len(lines) == 1:
        line = lines[0]
        return f"{fleet.name}: {line['boat']}, {line['what']} {line['when']}"
    rest = f", {phrases.say('of_it_late', language, n=late)}" if late else ""
    return f"{fleet.name}: {phrases.say('things', language, n=len(lines))}{rest}"


def _why(fleet: Fleet, first: Reminder, language: str) -> str:
    if first.told_as == Reminder.As.OWNER:
        return phrases.say("why_owner", language, fleet=fleet.name)
    role = phrases.say(first.told_as, language)
    return phrases.say("why_in_charge", language, fleet=fleet.name, role=role)


def _chart(rows: Sequence[Reminder], today: dt.date) -> dict:
    """Return the picture of which boat is due when, and how many boats it leaves out."""
    looks = [row for row in rows if row.kind in LOOKS]
    dues = ((row.boat_id, row.boat.name, row.due_on) for row in looks)
    shown = due_chart.shown(dues, today, due_chart.IN_MESSAGE)
    return shown | {"picture": picture(shown["chart"]) if shown["chart"] else None}


def _page(fleet: Fleet, row: Reminder) -> str:
    """Return where what is due gets done: the boat's own form, or the page of that kind."""
    if row.kind in LISTED:
        return reverse(LISTED[row.kind], kwargs={"fleet": fleet.slug})
    page = BY_BOAT.get(row.kind, "inspect")
    address = reverse(page, kwargs={"fleet": fleet.slug, "pk": row.boat_id})
    return f"{address}?level={row.kind}" if row.kind in calendar_file.LEVELS else address


def _booked(row: Reminder, today: dt.date, away: Mapping[int, Sequence[Span]]) -> str:
    """Return what the boat's bookings leave before the day, in the record's language; or blank."""
    each = Due(row.boat, row.kind, row.due_on, row.reason)
    advice = advice_of(each, today, away.get(row.boat_id, ()))
    return advice.words if advice else ""


def _urgency(row: Reminder) -> tuple:
    return row.kind != Kind.HELD, row.due_on, row.boat.name, row.kind


def _line(fleet: Fleet, row: Reminder, today: dt.date, language: str) -> dict:
    """Return what a template says of one reminder: boat, what, when in words, reason, link."""
    held = row.kind == Kind.HELD
    since = phrases.say("since", language, on=phrases.date(row.due_on, language))
    return {
        "row": row,
        "boat": row.boat.name,
        "what": phrases.kind(row.kind, language),
        "held": held,
        "looked": row.kind not in LISTED and row.kind not in BY_BOAT,
        "late": not held and row.due_on < today,
        "when": since if held else phrases.when(row.due_on, today, language),
        "reason": row.reason,
        "link": f"{settings.STAYWARD_SITE}{_page(fleet, row)}",
    }
