"""When boats are away with guests, so that a look can be planned around it."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from fleet.models import Boat

from .record import OfBoat


class Booking(models.Model):
    """One charter: the boat is away from its first to its last day, both included."""

    class Source(models.TextChoices):
        SHEET = "sheet", "sheet"
        CALENDAR = "calendar", "calendar file"
        HAND = "hand", "by hand"

    boat = models.ForeignKey(Boat, on_delete=models.CASCADE, related_name="bookings")
    first = models.DateField("from")
    last = models.DateField("to")
    reference = models.CharField(
        max_length=80, blank=True, help_text="A number; guests need not be named here."
    )
    source = models.CharField(max_length=10, choices=Source.choices, default=Source.HAND)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    at = models.DateTimeField(auto_now_add=True)

    objects = OfBoat.as_manager()

    class Meta:
        ordering = ["first", "boat", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["boat", "first", "last"], name="one_booking_of_days"),
            models.CheckConstraint(condition=Q(last__gte=F("first")), name="booking_ends_after"),
        ]

    def __str__(self) -> str:
        return f"{self.boat}, {self.first} to {self.last}"
