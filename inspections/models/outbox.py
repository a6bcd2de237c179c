"""What the sender says of itself: rounds, its heartbeat, and notices to the person in charge."""

from django.db import models

from fleet.models import Fleet
from fleet.models.boats import OfFleet

from .reminding import Reminder


class RoundRun(models.Model):
    """One round of one fleet. One that has no end is under way, or was cut off."""

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="rounds")
    begun_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    queued = models.PositiveIntegerField(default=0)
    sent = models.PositiveIntegerField(default=0)
    mails = models.PositiveIntegerField(default=0)
    failed = models.PositiveIntegerField(default=0)
    words = models.CharField(max_length=300, blank=True)

    objects = OfFleet.as_manager()

    class Meta:
        ordering = ["-begun_at", "-pk"]

    def __str__(self) -> str:
        return f"Round of {self.fleet} at {self.begun_at}"


class Heartbeat(models.Model):
    """When something that should run by itself was last heard of; the whole installation's."""

    name = models.CharField(max_length=20, unique=True)
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.name} at {self.at}"


class Notice(models.Model):
    """A message to a person in charge about the sending itself: a row before it is mail."""

    class Kind(models.TextChoices):
        ADDRESS = "address", "an address that does not work"
        MISSED = "missed", "reminders that were missed"
        STUCK = "stuck", "a message that is stuck"
        SILENCE = "silence", "nothing ran for a day"

    State = Reminder.State

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="notices")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    key = models.CharField(max_length=200, unique=True)
    to_name = models.CharField(max_length=120)
    to_email = models.EmailField()
    subject = models.CharField(max_length=200)
    text = models.TextField()
    at = models.DateTimeField()
    state = models.CharField(max_length=10, choices=State.choices, default=State.QUEUED)
    attempts = models.PositiveSmallIntegerField(default=0)
    next_try_at = models.DateTimeField(null=True, blank=True)
    claimed_at = models.DateTimeField(null=True, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    message_id = models.CharField(max_length=120)
    failure = models.CharField(max_length=300, blank=True)

    objects = OfFleet.as_manager()

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return self.subject
