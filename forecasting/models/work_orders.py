"""Work orders: what is to be renewed on one boat, to whom it was given, what came of each line."""

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q

from fleet.models import Boat, Fleet, Installation
from fleet.models.records import person
from inspections.models import Inspection

from .questions import RunQuerySet


class OrderQuerySet(RunQuerySet):
    def open(self) -> "OrderQuerySet":
        """Return the orders of which something is still to come."""
        return self.exclude(state__in=(WorkOrder.State.CLOSED, WorkOrder.State.WITHDRAWN))

    def standing(self) -> "OrderQuerySet":
        return self.exclude(state=WorkOrder.State.WITHDRAWN)


class WorkOrder(models.Model):
    """One work order of one boat. Never deleted: one that was a mistake is withdrawn.

    Its number is the next of its fleet in the year it is drawn up in, so that none is missing.
    """

    class State(models.TextChoices):
        DRAWN_UP = "drawn_up", "drawn up"
        GIVEN = "given", "given out"
        UNDER_WAY = "under_way", "work under way"
        DONE = "done", "work done"
        CLOSED = "closed", "closed"
        WITHDRAWN = "withdrawn", "withdrawn"

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="work_orders")
    boat = models.ForeignKey(Boat, on_delete=models.CASCADE, related_name="work_orders")
    year = models.PositiveSmallIntegerField(help_text="The year it was drawn up in.")
    number = models.PositiveIntegerField(help_text="From 1 on in each year.")
    season = models.CharField("off season", max_length=9)
    source = models.CharField(max_length=120, help_text="The list or plan its lines are from.")
    state = models.CharField(max_length=10, choices=State.choices, default=State.DRAWN_UP)
    given_to = models.CharField("given to", max_length=120, blank=True)
    due_by = models.DateField("to be done by", null=True, blank=True)
    week = models.DateField("planned week in the yard, from", null=True, blank=True)
    note = models.CharField(max_length=300, blank=True)

    objects = OrderQuerySet.as_manager()

    class Meta:
        ordering = ["-year", "-number"]
        constraints = [
            models.UniqueConstraint(
                fields=["fleet", "year", "number"], name="one_work_order_of_a_number"
            )
        ]

    def __str__(self) -> str:
        return self.label

    @property
    def label(self) -> str:
        """Return its number as it is said and printed, e.g. ``2026-007``."""
        return f"{self.year}-{self.number:03d}"


class OfOrder(models.QuerySet):
    def of(self, fleet: Fleet) -> "OfOrder":
        return self.filter(order__fleet=fleet)


class WorkOrderStep(models.Model):
    """One step of an order: who took it, when. ``back``: it took the step before it back."""

    order = models.ForeignKey(WorkOrder, on_delete=models.CASCADE, related_name="steps")
    state = models.CharField(max_length=10, choices=WorkOrder.State.choices)
    back = models.BooleanField(default=False)
    on = models.DateField()
    by = person()
    by_name = models.CharField(max_length=120)
    at = models.DateTimeField(auto_now_add=True)
    words = models.CharField(max_length=300, blank=True)

    objects = OfOrder.as_manager()

    class Meta:
        ordering = ["order", "pk"]

    def __str__(self) -> str:
        return f"{self.order}: {self.get_state_display()}"


class WorkOrderLine(models.Model):
    """One part to renew, or the mast down and up; as it was when the order was drawn up.

    In the end either done, with the new part and who answers for it, or not done, with the reason.
    """

    order = models.ForeignKey(WorkOrder, on_delete=models.CASCADE, related_name="lines")
    installation = models.ForeignKey(
        Installation, null=True, blank=True, on_delete=models.CASCADE, related_name="ordered"
    )
    what = models.CharField(max_length=120)
    size = models.CharField(max_length=200, blank=True)
    code = models.CharField(max_length=20)
    reason = models.CharField(max_length=300)
    must = models.BooleanField(default=False)
    hours = models.FloatField(default=0, validators=[MinValueValidator(0)])
    price_minor = models.BigIntegerField(validators=[MinValueValidator(0)])
    look = models.ForeignKey(
        Inspection, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    rests_on = models.CharField("found", max_length=400, blank=True)
    renewed = models.ForeignKey(
        Installation, null=True, blank=True, on_delete=models.CASCADE, related_name="order_lines"
    )
    done_on = models.DateField(null=True, blank=True)
    fitted_by = models.CharField(max_length=120, blank=True)
    released_by = models.CharField(max_length=120, blank=True)
    not_done = models.CharField("not done because", max_length=300, blank=True)
    ticked_by = person()
    ticked_at = models.DateTimeField(null=True, blank=True)

    objects = OfOrder.as_manager()

    class Meta:
        ordering = ["order", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["order", "installation"], name="one_line_a_part_and_order"
            ),
            models.CheckConstraint(
                condition=Q(done_on__isnull=True) | Q(not_done=""),
                name="a_line_is_done_or_says_why_not",
            ),
            models.CheckConstraint(
                condition=Q(done_on__isnull=True) | ~Q(fitted_by=""),
                name="a_line_done_says_by_whom",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.order}: {self.what}"

    @property
    def waits(self) -> bool:
        return self.done_on is None and not self.not_done


class SupplierOrder(models.Model):
    """An order placed with a supplier for a work order, by its number; struck out, not deleted."""

    order = models.ForeignKey(WorkOrder, on_delete=models.CASCADE, related_name="supplies")
    supplier = models.CharField(max_length=120)
    number = models.CharField("order number", max_length=60)
    on = models.DateField("ordered on")
    by = person()
    at = models.DateTimeField(auto_now_add=True)
    struck = models.CharField("struck out because", max_length=200, blank=True)

    objects = OfOrder.as_manager()

    class Meta:
        ordering = ["order", "pk"]

    def __str__(self) -> str:
        return f"{self.supplier} {self.number}"
