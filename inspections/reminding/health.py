"""Whether reminders run: rounds, the clock's heartbeat, the queue, what is stuck.

Who notices when the scheduler itself is dead? The pages ask (they are served without it), the
command ``check_health`` asks (from cron, with an exit code and, if told to, a mail), and whatever
ticks next tells the managers that nothing ran in between.
"""

import datetime as dt
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from django.db.models import Count, Q

from fleet.models import Fleet, WorkRow
from fleet.templatetags.wording import day

from .. import delivery
from ..models import Heartbeat, Notice, Reminder, ReminderRules, RoundRun
from . import notices

State = Reminder.State
CLOCK = "clock"
BEAT_EVERY = dt.timedelta(minutes=1)
DEAD_AFTER = dt.timedelta(minutes=10)
SILENT_AFTER = dt.timedelta(hours=25)  # A day, and the hour the clocks may be put back by.
STUCK_AFTER = dt.timedelta(hours=1)
STUCK_TRIES = 3
KEPT = dt.timedelta(days=90)


# -- what runs says so


def end(run: RoundRun, at: dt.datetime, words: str, queued: int, done: delivery.Delivered) -> None:
    """Record that a round came to its end and what it did."""
    RoundRun.objects.filter(pk=run.pk).update(
        ended_at=at, words=words[:300], queued=queued, sent=done.reminders,
        mails=done.mails, failed=done.failed,
    )  # fmt: skip


def beat(now: dt.datetime) -> dt.timedelta:
    """Record that the clock ticks; return for how long it had not been heard of."""
    row, new = Heartbeat.objects.get_or_create(name=CLOCK, defaults={"at": now})
    silence = dt.timedelta() if new else now - row.at
    if abs(silence) >= BEAT_EVERY:  # Also one from before the clock was put back.
        Heartbeat.objects.filter(pk=row.pk).update(at=now)
        RoundRun.objects.filter(begun_at__lt=now - KEPT).delete()
    return silence


def tell_of_silence(now: dt.datetime, silence: dt.timedelta) -> None:
    """Tell every fleet whose reminders should have run that nothing did."""
    if silence < SILENT_AFTER:
        return
    for fleet in Fleet.objects.filter(as_of=None, reminder_rules__approved_at__isnull=False):
        since = (now - silence).astimezone(ZoneInfo(fleet.time_zone))
        text = (
            f"No reminder could go out between {since:%d %b %Y %H:%M} and now: the program that "
            "sends them did not run. It runs again; what is due goes out. Ask who runs the server."
        )
        notices.tell(fleet, Notice.Kind.SILENCE, f"{since.isoformat()}",
                     "no reminder went out for a day", text, now)  # fmt: skip


def tell_of_stuck(fleet: Fleet, now: dt.datetime) -> int:
    """Tell who is in charge of messages nobody could finish; each once."""
    told = 0
    for row in stuck(fleet, now):
        text = (
            f"A message to {row['to_name']}, {row['to_email']}, with {row['number']} reminders has "
            f"been begun {row['tries']} times, and whatever sent it was ended each time. It is "
            "tried again under the same Message-ID. Ask who runs the server, and tell them by "
            "another way what is due."
        )
        told += notices.tell(fleet, Notice.Kind.STUCK, row["message_id"],
                             f"a message to {row['to_email']} is stuck", text, now)  # fmt: skip
    return told


# -- what is asked


def stuck(fleet: Fleet, now: dt.datetime) -> list[dict]:
    """Return the messages nobody could finish: begun three times, or in hand for an hour."""
    sending = Reminder.objects.of(fleet).filter(state=State.SENDING)
    long = Q(claimed_at__lt=now - STUCK_AFTER) | Q(attempts__gte=STUCK_TRIES)
    rows = sending.filter(long).values("message_id", "to_name", "to_email", "attempts")
    named = {}
    for row in rows.annotate(number=Count("pk")).order_by("message_id"):
        named[row["message_id"]] = row | {"tries": row["attempts"]}
    return list(named.values())


@dataclass(frozen=True)
class Health:
    """How the reminders of one fleet stand. ``faults`` are sentences; none means all is well."""

    fleet: Fleet
    last: RoundRun | None
    clock: dt.datetime | None
    queue: dict[str, int]
    stuck: list[dict]
    next_due: Reminder | None
    last_failure: Reminder | None
    approved: bool
    faults: tuple[str, ...]


def of(fleet: Fleet, now: dt.datetime) -> Health:
    """Return how the reminders of a fleet stand at that moment; writes nothing."""
    rows, runs = Reminder.objects.of(fleet), RoundRun.objects.of(fleet)
    heard = Heartbeat.objects.filter(name=CLOCK).values_list("at", flat=True).first()
    counts = dict(rows.values_list("state").annotate(Count("pk")).order_by())
    failed = rows.exclude(failure="").exclude(state=State.WITHDRAWN)
    last = runs.exclude(ended_at=None).first()
    rules, still = ReminderRules.of(fleet), stuck(fleet, now)
    return Health(
        fleet=fleet,
        last=last,
        clock=heard,
        queue={state: counts.get(state, 0) for state in State.values},
        stuck=still,
        next_due=rows.filter(state=State.QUEUED).order_by("send_on", "pk").first(),
        last_failure=failed.select_related("boat").order_by("-claimed_at", "-pk").first(),
        approved=rules.approved_at is not None,
        faults=tuple(_faults(fleet, now, heard, last, rules, still)),
    )


def _faults(fleet, now, heard, last, rules, still) -> list[str]:
    said = []
    if still:
        said.append(f"{len(still)} message{'' if len(still) == 1 else 's'} stuck.")
    if fleet.as_of is not None:
        return said  # A demonstration's day never comes round: nothing has to run by itself.
    if heard is None or abs(now - heard) > DEAD_AFTER:
        since = f"since {day(heard.date())}, {heard:%H:%M} UTC" if heard else "ever"
        said.append(f"Nothing has ticked {since}: serve, or a worker with beat, is not running.")
    if rules.approved_at is None:
        return [*said, "The first sending waits for somebody to look at it and let it go."]
    begun = max(filter(None, (last.begun_at if last else None, rules.approved_at)))
    if now - begun > SILENT_AFTER:
        said.append(f"No round since {day(begun.date())}, {begun:%H:%M} UTC.")
    return said


def hour_has_come(fleet: Fleet, now: dt.datetime) -> bool:
    """Whether it is late enough in the fleet's day for its round, by the clock on its wall."""
    return now.astimezone(ZoneInfo(fleet.time_zone)).hour >= fleet.reminders_from


def open_work(fleet: Fleet) -> bool:
    """Whether a round is under way or waits for a worker."""
    return WorkRow.objects.of(fleet).filter(kind=WorkRow.Kind.REMINDERS).unfinished().exists()
