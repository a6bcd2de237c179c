"""How a fleet's own sheets are read, kept from one import to the next."""

from django.conf import settings
from django.db import models
from django.utils import timezone

from .boats import OfFleet
from .fleets import Fleet


class SheetMatch(models.Model):
    """The match of one form of file, told by its headers. ``match`` is ``Match.to_dict()``."""

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="sheet_matches")
    name = models.CharField(max_length=120)
    fingerprint = models.CharField(max_length=64)
    match = models.JSONField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    made_at = models.DateTimeField(default=timezone.now)
    used_at = models.DateTimeField(
        null=True, blank=True, help_text="When a file was last written by it."
    )

    objects = OfFleet.as_manager()

    class Meta:
        ordering = ["fleet", "name", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["fleet", "fingerprint"], name="one_match_for_the_same_headers"
            )
        ]

    def __str__(self) -> str:
        return self.name
