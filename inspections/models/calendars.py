"""What calendars outside are told, and who subscribes to what."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from fleet.models import Base, Boat, Fleet

from .record import OfBoat


class CalendarEntry(models.Model):
    """One thing due, as calendars know it: the same UID for as long as it is the same thing.

    The clock writes these rows; a feed only reads them. ``sequence`` goes up with every
    change, and an entry that is due no more is kept, cancelled, until calendars have heard of it.
    """

    FOLLOWS = Q()

    boat = models.ForeignKey(Boat, on_delete=models.CASCADE, related_name="calendar_entries")
    kind = models.CharField(max_length=10)
    about = models.CharField(max_length=60, blank=True)
    uid = models.CharField(max_length=80, unique=True)
    on = models.DateField()
    reason = models.CharField(max_length=300)
    advice = models.CharField(max_length=200, blank=True, help_text="What bookings leave free.")
    sequence = models.PositiveIntegerField(default=0)
    changed_at = models.DateTimeField()
    cancelled_at = models.DateTimeField(null=True, blank=True)

    objects = OfBoat.as_manager()

    class Meta:
        verbose_name_plural = "calendar entries"
        ordering = ["on", "boat", "kind", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["boat", "kind", "about"], name="one_calendar_entry_a_thing"
            )
        ]

    def __str__(self) -> str:
        return f"{self.boat}, {self.kind}, {self.on}"


class CalendarRound(models.Model):
    """When the entries of a fleet were last brought in line with what is due."""

    fleet = models.OneToOneField(Fleet, on_delete=models.CASCADE, related_name="calendar_round")
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.fleet}, {self.at}"


class FeedQuerySet(models.QuerySet):
    def of(self, fleet: Fleet) -> "FeedQuerySet":
        return self.filter(fleet=fleet)

    def in_force(self) -> "FeedQuerySet":
        return self.filter(revoked_at__isnull=True)


class CalendarFeed(models.Model):
    """One secret address of a calendar: a member's, of all boats or one base, or that of one boat.

    The address itself is shown once; only a digest of its secret is kept.
    """

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="calendar_feeds")
    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.CASCADE,
        related_name="calendar_feeds",
    )  # fmt: skip
    boat = models.ForeignKey(
        Boat, null=True, blank=True, on_delete=models.CASCADE, related_name="calendar_feeds"
    )
    base = models.ForeignKey(
        Base, null=True, blank=True, on_delete=models.CASCADE, related_name="calendar_feeds"
    )
    digest = models.CharField(max_length=64, unique=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    made_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)

    objects = FeedQuerySet.as_manager()

    class Meta:
        ordering = ["-made_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(user__isnull=False, boat__isnull=True)
                | Q(user__isnull=True, boat__isnull=False),
                name="feed_of_a_person_or_a_boat",
            )
        ]

    def __str__(self) -> str:
        return f"calendar of {self.boat or self.user}"
