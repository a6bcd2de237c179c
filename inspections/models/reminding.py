"""Who is told what, when: reminders as rows."""

from django.db import models
from django.db.models import Q
from django.utils import timezone

from fleet.models import Boat

from .record import OfBoat


class Reminder(models.Model):
    """One message to one person about one thing due on one boat. A row before it is a mail."""

    class Kind(models.TextChoices):
        DECK = "deck", "deck check"
        ALOFT = "aloft", "inspection aloft"
        MAST_DOWN = "mast_down", "mast-down inspection"
        RECHECK = "recheck", "look again"
        EVENT = "event", "inspection now"
        ALIKE = "alike", "look at parts alike"
        DEMAND = "demand", "demand to answer"
        AGE = "age", "renewal for the insurer"
        ADVICE = "advice", "recommendation"
        SIGNATURE = "signature", "second signature"
        RETENSION = "retension", "re-tension"
        HELD = "held", "boat held"

    class State(models.TextChoices):
        QUEUED = "queued", "queued"
        SENDING = "sending", "being sent"
        SENT = "sent", "sent"
        FAILED = "failed", "failed"
        REFUSED = "refused", "refused"
        BOUNCED = "bounced", "came back"
        MISSED = "missed", "missed"
        WITHDRAWN = "withdrawn", "withdrawn"

    class As(models.TextChoices):
        """Why this person is told."""

        OWNER = "owner", "owner or skipper"
        BOSUN = "bosun", "bosun"
        MANAGER = "manager", "manager"

    FOLLOWS = Q(state__in=[State.QUEUED, State.WITHDRAWN])  # What went out stays on record.

    boat = models.ForeignKey(Boat, on_delete=models.CASCADE, related_name="reminders")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    about = models.CharField(
        max_length=60, blank=True, help_text="Tells things of one kind and boat apart."
    )
    due_on = models.DateField()
    days_before = models.SmallIntegerField(help_text="60, 30, 7, 0; negative when late.")
    send_on = models.DateField()
    to_name = models.CharField(max_length=120)
    to_email = models.EmailField()
    told_as = models.CharField(max_length=10, choices=As.choices, default=As.OWNER)
    reason = models.CharField(max_length=300)
    key = models.CharField(max_length=200, unique=True)
    state = models.CharField(max_length=10, choices=State.choices, default=State.QUEUED)
    queued_at = models.DateTimeField(default=timezone.now)
    attempts = models.PositiveSmallIntegerField(default=0)
    first_tried_at = models.DateTimeField(null=True, blank=True)
    next_try_at = models.DateTimeField(null=True, blank=True)
    claimed_at = models.DateTimeField(null=True, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    message_id = models.CharField(max_length=120, blank=True)
    failure = models.CharField(max_length=300, blank=True)

    objects = OfBoat.as_manager()

    class Meta:
        ordering = ["send_on", "boat", "pk"]
        indexes = [
            models.Index(fields=["state", "send_on"], name="reminder_to_send"),
            models.Index(fields=["message_id"], name="reminder_by_message"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} of {self.boat} due {self.due_on}"
