"""The demonstration: two invented fleets, taken through the whole job as their people would."""

import datetime as dt
import json
import shutil
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from django.conf import settings
from django.contrib.auth import get_user_model
from django.core.management import call_command
from django.db import transaction
from django.db.models import Sum

from fleet.models import Boat, Fleet, Installation, Membership, WorkRow
from fleet.templatetags.wording import about, money
from fleet.work import asking
from inspections import importing, reminders
from inspections.models import Hold, Inspection, Reminder

from . import (
    demo_asked,
    demo_books,
    demo_orders,
    demo_seasons,
    demo_yard,
    reads,
    refresh,
    trust_words,
)
from .budget_sheet import year_label
from .demo_story import telling
from .models import BackTest, RefitJob

FOLDER = settings.BASE_DIR / "fixtures" / "demo"
PASSWORD = "stayward-demo"  # Published on purpose: `serve` keeps such a database on this computer.
Say = Callable[[str], None]


class Outdated(Exception):
    """The demonstration fleet in the database is not the one in the workbook."""


def run(say: Say, *, fresh: bool = False) -> None:
    """Prepare, import, fit, decide and say what came out. Repeating it changes nothing.

    The test of past forecasts costs more than all the rest: it is asked for, and done beside the
    pages as soon as they are served.

    ``fresh`` takes the demonstration fleets out first. Raises Outdated for another version's.
    """
    with step(say, "Database brought up to date"):
        call_command("migrate", verbosity=0)
    told_of = json.loads((FOLDER / "fleets.json").read_text())["fleets"]
    if fresh:
        take_out([told["fleet"]["slug"] for told in told_of])
    for told in told_of:
        fleet = found(told)
        say(f"\n{fleet.name}, as of {fleet.as_of:%d %b %Y}")
        load(fleet, FOLDER / told["workbook"], say)
        with step(say, "  What its people put on record since") as done:
            done(telling.tell(fleet))
        demo_books.decide(fleet)
        forecast = refresh.run(fleet, fleet.today(), say=lambda text: say(f"  {text}"))
        with step(say, "  Demands and bookings of others") as done:
            done("{} demands, {} bookings added".format(*demo_asked.add(fleet)))
        with step(say, "  Weeks of the yard") as done:
            done(demo_yard.keep(fleet))
        with step(say, "  Books kept") as done:
            done(demo_books.keep(fleet))
        with step(say, "  Work ordered") as done:
            done(demo_orders.keep(fleet))
        with step(say, "  Plans of the coming off seasons") as done:
            done(demo_seasons.plan(fleet, forecast.ahead))
        with step(say, "  Reminders queued") as done:
            reminders.queue(fleet, fleet.today())
            queued = Reminder.objects.of(fleet).filter(state=Reminder.State.QUEUED).count()
            done(f"{queued} waiting to be sent")
        if forecast.rewritten or not BackTest.objects.of(fleet).exists():
            asking.ask(fleet, WorkRow.Kind.BACK_TEST)


def take_out(slugs: Iterable[str]) -> None:
    """Take demonstration fleets out, and the files of photos and reports that lie beside them."""
    for fleet in Fleet.objects.filter(slug__in=slugs, as_of__isnull=False):
        places = [settings.VAR_DIR / kind / str(fleet.pk) for kind in ("photos", "reports")]
        fleet.delete()
        for place in filter(Path.is_dir, places):
            shutil.rmtree(place)


@contextmanager
def step(say: Say, what: str) -> Iterator[Callable[[str], None]]:
    """Say what was done, what came of it and how long it took."""
    start, came_of_it = time.monotonic(), []
    yield came_of_it.append
    result = f": {came_of_it[-1]}" if came_of_it else ""
    say(f"{what}{result} ({time.monotonic() - start:.1f} s)")


@transaction.atomic
def found(told: dict) -> Fleet:
    """Make the fleet and its people as the file tells them, or leave them as they are."""
    facts = told["fleet"] | {"as_of": dt.date.fromisoformat(told["fleet"]["as_of"])}
    fleet, _ = Fleet.objects.get_or_create(slug=facts["slug"], defaults=facts)
    for person in told["members"]:
        user, new = get_user_model().objects.get_or_create(
            username=person["username"],
            defaults={key: person[key] for key in ("email", "first_name", "last_name")},
        )
        if new:
            user.set_password(PASSWORD)
            user.save()
        Membership.objects.get_or_create(fleet=fleet, user=user, defaults={"role": person["role"]})
    return fleet


def load(fleet: Fleet, workbook: Path, say: Say) -> None:
    with step(say, "  Workbook imported") as done:
        report = importing.import_workbook(fleet, workbook, dry_run=False)
        if report.faults:
            raise Outdated(
                f"{fleet.name} is in this database from another version of the demonstration, or "
                f"was changed by hand: {report.faults[0]} Run demo --fresh to begin anew."
            )
        boats = Boat.objects.of(fleet).count()
        looks = Inspection.objects.of(fleet).count()
        done(f"{report.new} new rows, {boats} boats, {looks} inspections")


def result(fleet: Fleet) -> Iterator[str]:
    """Yield what a manager wants to know, a line each."""
    today = fleet.today()
    boats = reads.boats(fleet, today)
    held = Hold.objects.of(fleet).standing().values("boat").distinct().count()
    late = boats.filter(inspect_by__date__lte=today).count()
    yield f"{fleet.name}: {boats.count()} boats, {held} held, {late} to look at now."
    jobs = RefitJob.objects.of(fleet)
    if season := jobs.values_list("season", flat=True).first():
        parts = jobs.exclude(installation=None)
        cost = jobs.aggregate(total=Sum("cost_minor"))["total"]
        on = parts.values("boat").distinct().count()
        yield (
            f"  Off season {season}: renew {parts.count()} parts on {on} boats, "
            f"{money(cost, fleet.currency)}."
        )
    if first := reads.budget(fleet, "fleet").first():
        low, high = about(first.p10_minor), about(first.p90_minor, fleet.currency)
        yield f"  Budget {year_label(first.year, fleet)}: most likely {low} to {high}."
    yield f"  Past forecasts: {past_forecasts(fleet)}"


def past_forecasts(fleet: Fleet) -> str:
    """Say how they did, or when that is known."""
    if WorkRow.objects.of(fleet).filter(kind=WorkRow.Kind.BACK_TEST).unfinished().exists():
        return "their test begins when the pages are served, and takes a minute or two."
    tested = BackTest.objects.of(fleet).filter(kind=Installation.Kind.WIRE).first()
    return f"{trust_words.summary(tested.result)}." if tested else "not tested yet."


def logins() -> Iterator[str]:
    members = Membership.objects.filter(fleet__as_of__isnull=False).order_by("user", "fleet__kind")
    for member in members.select_related("fleet", "user"):
        who = f"{member.user.username} / {PASSWORD}"
        yield f"  {who:<28} {member.get_role_display()} of {member.fleet.name}"
