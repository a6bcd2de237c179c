"""What a phone sent, photos, and the versions of an inspection that no longer count."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from fleet.models import Boat, Fleet

from .record import Finding, Inspection, OfBoat


def who() -> models.ForeignKey:
    return models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )


class DockUploadQuerySet(OfBoat):
    def to_decide(self) -> "DockUploadQuerySet":
        return self.filter(state=DockUpload.State.CONFLICT)


class DockUpload(models.Model):
    """One inspection as a phone sent it. Its id is made on the phone: sent twice, it is one.

    ``payload`` is the draft, kept whatever becomes of it; ``answer`` is what the phone was told, so
    that it is told the same again.
    """

    class State(models.TextChoices):
        RECEIVED = "received", "sent back with faults"
        RECORDED = "recorded", "recorded"
        CONFLICT = "conflict", "to be decided"
        DROPPED = "dropped", "set aside"

    id = models.UUIDField(primary_key=True)
    boat = models.ForeignKey(Boat, on_delete=models.CASCADE, related_name="dock_uploads")
    by = who()
    received_at = models.DateTimeField()
    payload = models.JSONField()
    state = models.CharField(max_length=10, choices=State.choices, default=State.RECEIVED)
    inspection = models.ForeignKey(
        Inspection, null=True, blank=True, on_delete=models.SET_NULL, related_name="uploads"
    )
    sentence = models.CharField(max_length=500, blank=True, help_text="Why it is in that state.")
    answer = models.JSONField(default=dict)
    decided_by = who()
    decided_at = models.DateTimeField(null=True, blank=True)
    decided_why = models.CharField(max_length=300, blank=True)

    objects = DockUploadQuerySet.as_manager()

    class Meta:
        verbose_name = "inspection sent from a phone"
        verbose_name_plural = "inspections sent from phones"
        ordering = ["-received_at", "pk"]

    def __str__(self) -> str:
        return f"{self.boat}, sent {self.received_at:%Y-%m-%d}"


class InspectionVersionQuerySet(OfBoat):
    def withdrawn(self) -> "InspectionVersionQuerySet":
        """Return what was taken off the record, the latest first."""
        return self.filter(withdrawn=True).select_related("boat").order_by("-at", "-pk")


class InspectionVersion(models.Model):
    """An inspection as it was before it was corrected or withdrawn. It is read, and never judged.

    ``was`` is the number of the inspection, kept also when it was withdrawn; ``data`` holds the
    look, its findings and the verdicts as they stood (see ``corrections``).
    """

    boat = models.ForeignKey(Boat, on_delete=models.CASCADE, related_name="inspection_versions")
    inspection = models.ForeignKey(
        Inspection, null=True, blank=True, on_delete=models.SET_NULL, related_name="versions"
    )
    was = models.PositiveBigIntegerField()
    number = models.PositiveSmallIntegerField()
    withdrawn = models.BooleanField(default=False)
    data = models.JSONField()
    why = models.CharField(max_length=300)
    by = who()
    by_name = models.CharField(max_length=120)
    at = models.DateTimeField(auto_now_add=True)

    objects = InspectionVersionQuerySet.as_manager()

    class Meta:
        verbose_name = "earlier version of an inspection"
        verbose_name_plural = "earlier versions of inspections"
        ordering = ["was", "-number"]
        constraints = [
            models.UniqueConstraint(fields=["was", "number"], name="one_version_per_number"),
            models.CheckConstraint(condition=~Q(why=""), name="version_says_why"),
        ]

    def __str__(self) -> str:
        return f"version {self.number} of inspection {self.was}"


class PhotoQuerySet(models.QuerySet):
    def of(self, fleet: Fleet) -> "PhotoQuerySet":
        return self.filter(fleet=fleet)

    def unattached(self) -> "PhotoQuerySet":
        """Return those that belong to nothing on record: no look, no version, nothing sent."""
        return self.filter(inspection=None, version=None, upload=None)


class Photo(models.Model):
    """One picture, drawn anew from what was sent. Its id is made on the phone.

    The files lie under the fleet's folder (see ``photos.files``); the row says what they are.
    """

    id = models.UUIDField(primary_key=True)
    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="photos")
    finding = models.ForeignKey(
        Finding, null=True, blank=True, on_delete=models.SET_NULL, related_name="photos"
    )
    inspection = models.ForeignKey(
        Inspection, null=True, blank=True, on_delete=models.SET_NULL, related_name="photos"
    )
    upload = models.ForeignKey(
        DockUpload, null=True, blank=True, on_delete=models.SET_NULL, related_name="photos"
    )
    version = models.ForeignKey(
        InspectionVersion, null=True, blank=True, on_delete=models.SET_NULL, related_name="photos"
    )
    taken_on = models.DateField()
    received_at = models.DateTimeField(auto_now_add=True)
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    bytes = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)
    by = who()

    objects = PhotoQuerySet.as_manager()

    class Meta:
        ordering = ["received_at", "pk"]

    def __str__(self) -> str:
        return f"photo of {self.taken_on}"
