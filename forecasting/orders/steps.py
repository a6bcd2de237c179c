"""The steps of an order, each with who took it and when; taken back with a reason, never erased."""

import datetime as dt
import re
from collections.abc import Iterable

from django.core.exceptions import ValidationError
from django.db import transaction

from fleet.templatetags.wording import day

from ..accounts import invoicing
from ..models import WorkOrder, WorkOrderStep

State = WorkOrder.State
NEXT = {
    State.DRAWN_UP: (State.GIVEN, State.WITHDRAWN),
    State.GIVEN: (State.GIVEN, State.UNDER_WAY, State.WITHDRAWN),
    State.UNDER_WAY: (State.GIVEN, State.DONE, State.WITHDRAWN),
    State.DONE: (State.CLOSED,),
    State.CLOSED: (),
    State.WITHDRAWN: (),
}
A_DAY = r"\d{1,2} \w{3} \d{4}"
GIVEN_WORDS = re.compile(
    rf"To (?P<given_to>.+), to be done by (?P<due_by>{A_DAY})"
    rf"(, in the yard from (?P<week>{A_DAY}))?",
    re.DOTALL,
)
NOT_GIVEN = {"given_to": "", "due_by": None, "week": None}
WITHDRAWN_LINE = "Order withdrawn: "
BY_BOSUN = (State.UNDER_WAY, State.DONE)


def stack(steps: Iterable[WorkOrderStep]) -> list[WorkOrderStep]:
    """Return the steps that stand, in order: one taken back stands no more, nor what took it."""
    standing: list[WorkOrderStep] = []
    for step in steps:
        if step.back:
            standing.pop()
        else:
            standing.append(step)
    return standing


def days(order: WorkOrder) -> dict[str, dt.date]:
    """Return state -> the day it was first reached, of the steps that stand."""
    found: dict[str, dt.date] = {}
    for step in stack(order.steps.all()):
        found.setdefault(step.state, step.on)
    return found


@transaction.atomic
def take(order: WorkOrder, to: str, on: dt.date, by, by_name: str, words: str = "") -> WorkOrder:
    """Take an order on to its next state. Raises ValidationError, in words, where it may not go."""
    order = WorkOrder.objects.select_for_update().get(pk=order.pk)
    _check(order, to, on, words)
    # Given again while under way, to another yard or for another day: it stays under way.
    stays = order.state == State.UNDER_WAY and to == State.GIVEN
    state = order.state if stays else to
    WorkOrderStep.objects.create(
        order=order, state=state, on=on, by=by, by_name=by_name, words=words.strip()
    )
    _set(order, {"state": state})
    if to == State.DONE:
        invoicing.share_out_order(order)
    if to == State.WITHDRAWN:
        why = f"{WITHDRAWN_LINE}{words.strip()}"[:300]
        order.lines.filter(not_done="").update(not_done=why)
    return order


def give(order: WorkOrder, plan: dict, on: dt.date, by, by_name: str) -> WorkOrder:
    """Give an order out: to whom, by which date, in which week. plan: those fields of the order."""
    with transaction.atomic():
        order = take(order, State.GIVEN, on, by, by_name, given_words(**plan))
        _set(order, plan)
    return order


def given_words(given_to: str, due_by: dt.date, week: dt.date | None = None) -> str:
    """Return what the step says; ``given_by`` reads it back."""
    planned = f", in the yard from {day(week)}" if week else ""
    return f"To {given_to}, to be done by {day(due_by)}{planned}"


def given_by(step: WorkOrderStep) -> dict | None:
    """Return to whom, by which date and in which week a step gave the order; None if it did not."""
    found = GIVEN_WORDS.fullmatch(step.words)
    if found is None or step.state not in (State.GIVEN, State.UNDER_WAY):
        return None
    return {
        "given_to": found["given_to"],
        "due_by": _read_day(found["due_by"]),
        "week": _read_day(found["week"]),
    }


def _read_day(words: str | None) -> dt.date | None:
    return dt.datetime.strptime(words, "%d %b %Y").date() if words else None


def _set(order: WorkOrder, plan: dict) -> None:
    for name, value in plan.items():
        setattr(order, name, value)
    order.save(update_fields=list(plan))


def _check(order: WorkOrder, to: str, on: dt.date, words: str) -> None:
    if to not in NEXT[order.state]:
        raise ValidationError(
            f"Order {order} is {order.get_state_display()}: it cannot be "
            f"{State(to).label} from there."
        )
    if on > order.fleet.today():
        raise ValidationError("A day to come cannot be on record yet.")
    last = stack(order.steps.all())[-1].on
    if on < last:
        raise ValidationError(f"The step before it was on {day(last)}.")
    if to == State.WITHDRAWN:
        _may_withdraw(order, words)
    if to == State.DONE:
        _may_be_done(order)
    if to == State.CLOSED and not words.strip() and not order.invoices.exists():
        raise ValidationError("No invoice names it: put that on record first, or say why none.")


def _may_withdraw(order: WorkOrder, words: str) -> None:
    if not words.strip():
        raise ValidationError("Say why it is withdrawn.")
    if order.lines.filter(done_on__isnull=False).exists():
        raise ValidationError(
            "Part of it is done: say of each other line why it is not, then it is done."
        )
    if order.invoices.exists():
        raise ValidationError("An invoice names it: take that off it first.")


def _may_be_done(order: WorkOrder) -> None:
    waiting = [line.what for line in order.lines.all() if line.waits]
    if waiting:
        raise ValidationError(f"Tick these lines, or say why not: {'; '.join(waiting)}.")


@transaction.atomic
def take_back(order: WorkOrder, on: dt.date, by, by_name: str, why: str) -> WorkOrder:
    """Take the last step back, with a reason. Raises ValidationError where that may not be.

    Of work done its invoices wait for their parts again; given out anew, it is again given to whom
    it was before.
    """
    order = WorkOrder.objects.select_for_update().get(pk=order.pk)
    standing = stack(order.steps.all())
    if not why.strip():
        raise ValidationError("Say why the step is taken back.")
    if len(standing) < 2:
        raise ValidationError("It was drawn up and no more: withdraw it.")
    before = standing[-2].state
    begun = order.lines.filter(done_on__isnull=False).exists()
    if begun and before in (State.DRAWN_UP, State.GIVEN):
        raise ValidationError("Part of it is done already.")
    if order.state == State.DONE:
        for invoice in order.invoices.all():
            invoicing.share_out(invoice, [])
    if order.state == State.WITHDRAWN:
        order.lines.filter(not_done__startswith=WITHDRAWN_LINE).update(not_done="")
    WorkOrderStep.objects.create(
        order=order, state=before, back=True, on=on, by=by, by_name=by_name, words=why.strip()
    )
    _set(order, {"state": before})
    if given_by(standing[-1]):
        earlier = [plan for plan in map(given_by, standing[:-1]) if plan]
        _set(order, earlier[-1] if earlier else NOT_GIVEN)
    return order
