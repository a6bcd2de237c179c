"""Parts kept in store at a base, ready to be fitted."""

from django.db import models
from django.db.models import Q

from .boats import Base
from .fleets import Fleet
from .parts import POSITIVE, Installation, described
from .records import person


class SpareQuerySet(models.QuerySet):
    def of(self, fleet: Fleet) -> "SpareQuerySet":
        return self.filter(base__fleet=fleet)

    def in_store(self) -> "SpareQuerySet":
        return self.filter(taken_on__isnull=True)


class Spare(models.Model):
    """One part in store, described as a fitted one is, with what an order needs besides."""

    base = models.ForeignKey(Base, on_delete=models.CASCADE, related_name="spares")
    kind = models.CharField(
        max_length=12, choices=Installation.Kind.choices, default=Installation.Kind.WIRE
    )
    construction = models.CharField(
        max_length=12, choices=Installation.Construction.choices, blank=True
    )
    alloy = models.CharField(max_length=30, blank=True)
    diameter_mm = models.FloatField("diameter, mm", null=True, blank=True, validators=POSITIVE)
    length_mm = models.PositiveIntegerField("pin to pin, mm", null=True, blank=True)
    lower_terminal = models.CharField(
        max_length=12, choices=Installation.Terminal.choices, blank=True
    )
    upper_terminal = models.CharField(
        max_length=12, choices=Installation.Terminal.choices, blank=True
    )
    pin_mm = models.FloatField("pin, mm", null=True, blank=True, validators=POSITIVE)
    thread = models.CharField(max_length=40, blank=True)
    hand = models.CharField(
        "hand of the thread", max_length=10, choices=Installation.Hand.choices, blank=True
    )
    mast_end = models.CharField("mast end fitting", max_length=60, blank=True)
    batch = models.CharField(max_length=60, blank=True)
    invoice = models.CharField(max_length=60, blank=True)
    place = models.CharField("where it lies", max_length=80, blank=True)
    stored_on = models.DateField("in store since")
    taken_on = models.DateField(null=True, blank=True)
    taken_by = models.CharField(max_length=120, blank=True)
    taken_for = models.CharField(max_length=200, blank=True)
    withdrawn = models.BooleanField(
        default=False, help_text="Not taken for a use: lost, unfit, or never there."
    )
    fitted_as = models.ForeignKey(
        Installation, null=True, blank=True, on_delete=models.SET_NULL, related_name="from_store"
    )
    by = person()

    objects = SpareQuerySet.as_manager()

    class Meta:
        ordering = ["base", "kind", "construction", "diameter_mm", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(taken_on__isnull=True) | ~Q(taken_by=""), name="spare_taken_by_somebody"
            ),
            models.CheckConstraint(
                condition=Q(withdrawn=False)
                | (Q(taken_on__isnull=False, fitted_as__isnull=True) & ~Q(taken_for="")),
                name="spare_withdrawn_says_why",
            ),
        ]

    def __str__(self) -> str:
        return self.description

    @property
    def description(self) -> str:
        """Return what it is, e.g. ``8 mm 1x19, swaged / T- or ball-end``."""
        return described(self)
