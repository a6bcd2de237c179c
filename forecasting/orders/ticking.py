"""A line ticked: the part renewed by the record's own verb, or why it was not done."""

import datetime as dt

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from fleet.models import Installation
from inspections.aftermath import fitting

from ..models import WorkOrder, WorkOrderLine
from . import steps

State = WorkOrder.State
OPEN = (State.GIVEN, State.UNDER_WAY)
# Why the old part came off, by why it was to be renewed; what was condemned says so itself.
REMOVAL = {
    "rule_age": Installation.Removal.AGE_RULE,
    "due": Installation.Removal.AGE_RULE,
    "cost_age": Installation.Removal.AGE_RULE,
    "pair": Installation.Removal.WITH_SET,
    "with_condemned": Installation.Removal.WITH_SET,
    "with_mast": Installation.Removal.WITH_SET,
}


def successor(line: WorkOrderLine) -> Installation | None:
    """Return the part that is on record in the place of the old one already, if any."""
    old = line.installation
    if old is None or old.removed_on is None:
        return None
    after = Installation.objects.filter(stay=old.stay_id, kind=old.kind)
    after = after.filter(fitted_on__gte=old.removed_on).exclude(pk=old.pk)
    return after.order_by("fitted_on", "pk").first()


@transaction.atomic
def renew(line: WorkOrderLine, form, released_by: str, by, by_name: str) -> WorkOrderLine:
    """Record the renewal as the form says, and tick the line. form: a valid FittingForm.

    Raises ValidationError of the record, or where the order is not given out or the line is not
    open.
    """
    line = _open(line)
    new = fitting.fitted(line.installation, form)
    return _tick(line, new, new.fitted_on, new.fitter, released_by, by, by_name)


@transaction.atomic
def link(line: WorkOrderLine, released_by: str, by, by_name: str) -> WorkOrderLine:
    """Tick a line whose new part was put on record elsewhere."""
    line, new = _open(line), successor(line)
    if new is None:
        raise ValidationError("No part is on record in its place: record the renewal here.")
    return _tick(line, new, new.fitted_on, new.fitter or by_name, released_by, by, by_name)


@transaction.atomic
def done(line: WorkOrderLine, on: dt.date, who: str, released_by: str, by, by_name: str):  # noqa: ANN201
    """Tick the line of the mast down and up, which renews nothing."""
    line = _open(line)
    if on > line.order.fleet.today():
        raise ValidationError("A day to come cannot be on record yet.")
    return _tick(line, None, on, who, released_by, by, by_name)


@transaction.atomic
def not_done(line: WorkOrderLine, why: str, by) -> WorkOrderLine:
    """Say why a line is not done; it can still be done until the order is closed."""
    line = _open(line)
    if not why.strip():
        raise ValidationError("Say why it is not done.")
    line.not_done, line.ticked_by, line.ticked_at = why.strip(), by, timezone.now()
    line.save()
    return line


def _open(line: WorkOrderLine) -> WorkOrderLine:
    """Return the line, held. Raises ValidationError where it may not be ticked."""
    lines = WorkOrderLine.objects.select_for_update(of=("self",))
    line = lines.select_related("order__fleet", "installation__stay__boat__fleet").get(pk=line.pk)
    if line.done_on:
        raise ValidationError("This line is ticked already.")
    if line.order.state not in OPEN:
        raise ValidationError(
            f"Order {line.order} is {line.order.get_state_display()}: its lines are ticked after "
            "it was given out and before it is done."
        )
    return line


def _tick(
    line: WorkOrderLine, new: Installation | None, on: dt.date, who: str, released_by: str, by,
    by_name: str,
) -> WorkOrderLine:  # fmt: skip
    """Tick it; the first line ticked begins the work, on the day it was done."""
    order = line.order
    if order.state == State.GIVEN:
        begun = max(on, steps.days(order)[State.GIVEN])
        steps.take(order, State.UNDER_WAY, begun, by, by_name, f"By its first line: {line.what}")
    line.renewed, line.done_on, line.not_done = new, on, ""
    line.fitted_by, line.released_by = who, released_by.strip()
    line.ticked_by, line.ticked_at = by, timezone.now()
    line.save()
    return line
