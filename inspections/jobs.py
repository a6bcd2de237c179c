"""Long work of this app, as rows of ``fleet.work`` ask for it: imports, exports, reminders."""

import datetime as dt
from functools import partial
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from django.urls import reverse
from django.utils import timezone

from fleet.importing import Report
from fleet.models import Fleet, WorkRow
from fleet.templatetags.wording import day
from fleet.work import asking, files
from fleet.work.doing import Done, NotDone, Running

from . import delivery, exporting, rounds
from .models import ReminderRules
from .reminding import health, preview
from .spreadsheets import matched_files, uploads

Kind = WorkRow.Kind
BREATH = dt.timedelta(minutes=5)


def write_import(running: Running) -> Done:
    """Check a file handed in and write it; ask for the forecast that follows from it.

    Begun again after it was written, it finds every row as it is in the file.
    """
    fleet, user, token = running.row.fleet, running.row.asked_by, running.row.arguments["file"]
    running.plan(3)
    handed_in = uploads.kept(fleet, user, token) if user else None
    if handed_in is None:
        hand_in = reverse("import", args=[fleet.slug])
        raise NotDone("The file is not kept here any more: hand it in again.", hand_in)
    match = running.row.arguments["match"]
    made = matched_files.by_match(fleet, match, handed_in)
    if match and made is None:
        where = f"{reverse('import_match', args=[fleet.slug])}?{urlencode({'file': token})}"
        raise NotDone("The match it was read by is not kept any more: match it again.", where)
    good_rows = running.row.arguments["take"] == "good"
    how = {"take_good_rows": good_rows, "dry_run": False, "by": user, "say": running.say}
    report = matched_files.read_with(fleet, handed_in, made, **how)
    if not report.written:
        where = urlencode({"file": token, "match": match})
        raise NotDone(refused(report), f"{reverse('import_check', args=[fleet.slug])}?{where}")
    if match:
        matched_files.note_use(fleet, match)
    asking.ask(fleet, Kind.REFRESH, user)
    words = f"{written(report)} The forecast is being brought up to date."
    return Done(words, reverse("boats", args=[fleet.slug]), partial(uploads.discard, token))


def written(report: Report) -> str:
    left_out = sum(count.left_out for count in report.counts.values())
    rest = f" {left_out} rows with faults were left out." if left_out else ""
    words = f"Written: {report.new} new rows, {report.changed} changed, {report.same} as before."
    return " ".join([words + rest, *report.notes])


def refused(report: Report) -> str:
    number = len(report.faults)
    first = f" The first: {report.faults[0]}" if report.faults else ""
    return f"{number} thing{'' if number == 1 else 's'} to put right; nothing was written.{first}"


def write_export(running: Running) -> Done:
    """Write the whole fleet into a file that its members download; begun again, it is replaced."""
    row, fleet = running.row, running.row.fleet
    running.plan(exporting.STEPS)
    form = row.arguments["form"]
    exporting.write(fleet, files.path_of(row), form, running.say)
    name = f"{fleet.slug}-{fleet.today()}{exporting.FORMS[form]}"
    at = reverse("work_file", args=[fleet.slug, row.pk])
    return Done(f"{fleet.name} as it was on {day(fleet.today())}.", at, made=name)


def remind(running: Running) -> Done:
    """Queue what is due today and send it; what could not be sent says why on its page."""
    row, fleet = running.row, running.row.fleet
    if row.arguments.get("test"):
        return send_test(running)
    running.plan(2)
    if row.arguments.get("try_now"):
        delivery.try_now(fleet)
    done = rounds.queue_and_send(fleet, timezone.now(), say=running.say, pause=running.pause)
    words = f"{done}."
    if done.delivered.failed:
        words += " Each that failed says why."
    return Done(words, reverse("reminders", args=[fleet.slug]))


def send_test(running: Running) -> Done:
    """Send who asked the message they would get today, marked as a test; nothing is recorded."""
    fleet, user = running.row.fleet, running.row.asked_by
    running.plan(1)
    refusal = preview.send_test(fleet, user, running.row.pk)
    if refusal:
        raise NotDone(refusal.words, reverse("reminders_preview", args=[fleet.slug]))
    return Done(f"A test went to {user.email}.", reverse("reminders_preview", args=[fleet.slug]))


def ask_for_reminders(now: dt.datetime) -> None:
    """Say that the clock ticks, and ask for the rounds that are due in each fleet.

    Once a day from the fleet's hour on; and whenever a message can go: one left half-sent, one
    whose next try has come, one whose reader was in quiet hours. The fixed day of a demonstration
    never comes round: its reminders go out when asked for.
    """
    health.tell_of_silence(now, health.beat(now))
    for fleet in Fleet.objects.all():
        if not health.open_work(fleet):
            ask_for_round(fleet, now)


def ask_for_round(fleet: Fleet, now: dt.datetime) -> None:
    if fleet.as_of is not None:
        if delivery.half_sent(fleet, now).exists():
            asking.ask(fleet, Kind.REMINDERS, key="half-sent")
        return
    rules = ReminderRules.of(fleet)
    day = now.astimezone(ZoneInfo(fleet.time_zone)).date()
    of_day = WorkRow.objects.of(fleet).filter(kind=Kind.REMINDERS, day=day)
    due = health.hour_has_come(fleet, now)
    if due and not of_day.exists():
        asking.ask(fleet, Kind.REMINDERS, day=day)
        return
    lost = due and rules.queued_on != day
    can_go = rules.approved_at is not None and delivery.can_go(fleet, now)
    if (lost or can_go) and not broke_off_just_now(fleet, now):
        asking.ask(fleet, Kind.REMINDERS, key="again")


def broke_off_just_now(fleet: Fleet, now: dt.datetime) -> bool:
    """Whether the last round ended badly a moment ago: it is not begun again at once."""
    last = WorkRow.objects.of(fleet).filter(kind=Kind.REMINDERS).order_by("-ended_at").first()
    bad = (WorkRow.State.FAILED, WorkRow.State.CANCELLED)
    return last is not None and last.state in bad and abs(now - last.ended_at) < BREATH
