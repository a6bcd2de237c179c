"""An order drawn up: its lines copied as they stand, under the next number of its fleet."""

import datetime as dt
from collections.abc import Sequence

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Max

from fleet.models import Boat, Fleet, Installation
from fleet.templatetags.wording import day
from inspections.judgement import standing_verdicts
from inspections.models import Inspection, VerdictValue

from ..accounts import audit
from ..models import WorkOrder, WorkOrderLine, WorkOrderStep
from ..papers import part_words
from .sources import MAST, Job, gone, on_order

State = WorkOrder.State
SAYS_NOTHING = (VerdictValue.KEEP, VerdictValue.NOT_SEEN)
MOST_WORDS = 400


@transaction.atomic
def draw_up(
    boat: Boat, jobs: Sequence[Job], *, season: str, source: str, on: dt.date, by, by_name: str
) -> WorkOrder:
    """Draw up an order of these jobs; return it. Raises ValidationError, in words, where there is
    no part among them, one is off the boat since, or on another order that waits."""
    fleet = Fleet.objects.select_for_update().get(pk=boat.fleet_id)
    _check(fleet, boat, jobs, on)
    order = WorkOrder.objects.create(
        fleet=fleet, boat=boat, year=on.year, number=next_number(fleet, on.year), season=season,
        source=source,
    )  # fmt: skip
    WorkOrderStep.objects.create(order=order, state=State.DRAWN_UP, on=on, by=by, by_name=by_name)
    rests = rests_on([job.part for job in jobs if job.part])
    WorkOrderLine.objects.bulk_create(line_of(order, job, rests) for job in jobs)
    return order


def _check(fleet: Fleet, boat: Boat, jobs: Sequence[Job], on: dt.date) -> None:
    if not any(job.part for job in jobs):
        raise ValidationError(f"Tick at least one part of {boat} to renew.")
    ordered = on_order(fleet, [boat]).get(boat.pk, {})
    for job in jobs:
        if job.key in ordered:
            raise ValidationError(
                f"{boat}, {what(job)}: on order {ordered[job.key]} already. Withdraw that one, or "
                "say there why it is not done."
            )
        if job.part and gone(job.part) and job.part.removed_on <= on:
            raise ValidationError(
                f"{boat}, {what(job)}: off the boat since {day(job.part.removed_on)}. Make the "
                "list anew."
            )


def next_number(fleet: Fleet, year: int) -> int:
    """Return the next number; the caller holds the fleet, so that nobody else takes it."""
    last = WorkOrder.objects.of(fleet).filter(year=year).aggregate(last=Max("number"))["last"]
    return (last or 0) + 1


def line_of(order: WorkOrder, job: Job, rests: dict[int, tuple]) -> WorkOrderLine:
    look, words = rests.get(job.part.pk, (None, "")) if job.part else (None, "")
    return WorkOrderLine(
        order=order, installation=job.part, what=what(job),
        size=job.part.description[:200] if job.part else "", code=job.code, reason=job.reason,
        must=job.must, hours=round(job.hours, 2), price_minor=job.price, look=look, rests_on=words,
    )  # fmt: skip


def what(job: Job) -> str:
    return part_words.name(job.part) if job.part else MAST


def rests_on(parts: Sequence[Installation]) -> dict[int, tuple[Inspection, str]]:
    """Return part id -> (look, what was found and by whom), where a look asked for something."""
    keys = [part.pk for part in parts]
    found = {
        part: (verdict.inspection, _words(verdict.get_value_display(),
                                          "; ".join(verdict.reasons), verdict.inspection))
        for part, verdict in standing_verdicts.of_parts(keys).items()
        if verdict.value not in SAYS_NOTHING
    }  # fmt: skip
    for part, (look, words) in audit.finds(keys).items():
        found[part] = (look, _words(VerdictValue.REPLACE.label, words, look))
    return found


def _words(verdict: str, reasons: str, look: Inspection) -> str:
    who = f"{day(look.on)}, {look.person}, {look.get_competence_display()}"
    said = f"{verdict.capitalize()}: {reasons}" if reasons else verdict.capitalize()
    return f"{said[: MOST_WORDS - len(who) - 3]} ({who})"
