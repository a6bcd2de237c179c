"""What was entered by hand or imported, by whom, so that it can be answered for and undone."""

from django.conf import settings
from django.core.serializers.json import DjangoJSONEncoder
from django.db import models

from .boats import Boat, OfFleet
from .fleets import Fleet


def person() -> models.ForeignKey:
    return models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )


class Change(models.Model):
    """One thing somebody entered or corrected. ``before`` and ``after`` hold values by field."""

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="changes")
    boat = models.ForeignKey(
        Boat, null=True, blank=True, on_delete=models.CASCADE, related_name="changes"
    )
    what = models.CharField(max_length=300, help_text="In words, as it is shown.")
    by = person()
    at = models.DateTimeField(auto_now_add=True)
    before = models.JSONField(default=dict, encoder=DjangoJSONEncoder)
    after = models.JSONField(default=dict, encoder=DjangoJSONEncoder)

    objects = OfFleet.as_manager()

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return self.what


class ImportRecord(models.Model):
    """One import as it was written, with what undoing it takes.

    ``rows`` holds, for each table in the order written: ``new`` as {id: digest} and ``changed`` as
    {id: {"digest": of the row as the import left it, "before": {field: value}}}. It is emptied
    when the import is undone, and when newer imports have made it too old to be undone.
    """

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="imports")
    by = person()
    at = models.DateTimeField(auto_now_add=True)
    files = models.CharField(max_length=500, blank=True)
    new = models.PositiveIntegerField()
    changed = models.PositiveIntegerField()
    boats = models.JSONField(default=list, help_text="Ids of the boats it touched.")
    rows = models.JSONField(default=list, encoder=DjangoJSONEncoder)
    undone_at = models.DateTimeField(null=True, blank=True)
    undone_by = person()

    objects = OfFleet.as_manager()

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return self.files
