"""What pages and files show of work orders."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Count, F, Prefetch, Q, QuerySet, Sum

from fleet.models import Fleet

from ..models import Invoice, WorkOrder, WorkOrderLine
from . import steps

State = WorkOrder.State
TO_COME = (State.DRAWN_UP, State.GIVEN, State.UNDER_WAY)


@dataclass(frozen=True)
class Row:
    """An order with its sums. ordered: price of the lines but those not done, minor units;
    invoiced: cost of its invoices, None without one."""

    order: WorkOrder
    lines: int
    done: int
    not_done: int
    hours: float
    ordered: int
    invoiced: int | None
    since: dt.date
    late: bool

    @property
    def waiting(self) -> int:
        return self.lines - self.done - self.not_done

    @property
    def over(self) -> int | None:
        """Return invoiced less ordered; negative where it cost less."""
        return None if self.invoiced is None else self.invoiced - self.ordered


def orders(fleet: Fleet) -> QuerySet[WorkOrder]:
    rows = WorkOrder.objects.of(fleet).select_related("boat__base", "fleet")
    return rows.prefetch_related("steps")


def rows(found: Iterable[WorkOrder], today: dt.date) -> list[Row]:
    """Return each order with its sums, in its order; what it asks does not grow with them."""
    found = list(found)
    of_lines = {row["order"]: row for row in _of_lines(found)}
    invoiced = dict(
        Invoice.objects.standing().filter(work_order__in=found).order_by().values_list("work_order")
        .annotate(cost=Sum(F("net_minor") + F("tax_minor") - F("recovered_minor")))
    )  # fmt: skip
    return [_row(order, of_lines[order.pk], invoiced.get(order.pk), today) for order in found]


def _of_lines(found: list[WorkOrder]) -> QuerySet:
    counted = Q(not_done="")
    return WorkOrderLine.objects.filter(order__in=found).order_by().values("order").annotate(
        lines=Count("pk"),
        done=Count("pk", filter=Q(done_on__isnull=False)),
        left=Count("pk", filter=~counted),
        hours=Sum("hours", filter=counted, default=0.0),
        ordered=Sum("price_minor", filter=counted, default=0),
    )  # fmt: skip


def _row(order: WorkOrder, sums: dict, invoiced: int | None, today: dt.date) -> Row:
    facts = {name: sums[name] for name in ("lines", "done", "hours", "ordered")}
    return Row(
        order=order, invoiced=invoiced, since=steps.days(order)[order.state],
        late=is_late(order, today), not_done=sums["left"], **facts,
    )  # fmt: skip


def with_orders(jobs: QuerySet) -> QuerySet:
    """Return jobs whose part knows, as ``on_order``, the lines of open orders that wait for it."""
    lines = WorkOrderLine.objects.filter(done_on=None, not_done="").select_related("order")
    return jobs.prefetch_related(Prefetch("installation__ordered", lines, to_attr="on_order"))


def is_late(order: WorkOrder, today: dt.date) -> bool:
    return bool(order.due_by and order.due_by < today and order.state in TO_COME)


def missing_numbers(fleet: Fleet) -> list[str]:
    """Return the numbers of each year that are not on record: there should be none."""
    taken = defaultdict(set)
    for year, number in WorkOrder.objects.of(fleet).values_list("year", "number"):
        taken[year].add(number)
    return [
        WorkOrder(year=year, number=number).label
        for year, numbers in sorted(taken.items())
        for number in range(1, max(numbers))
        if number not in numbers
    ]
