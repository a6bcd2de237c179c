"""What an insurer, owner, flag or class asks of boats, until it is answered and accepted."""

import datetime as dt

from django.conf import settings
from django.core.serializers.json import DjangoJSONEncoder
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q

from fleet.models import Boat, Fleet, Installation, Stay

NAME = 120


def person() -> models.ForeignKey:
    return models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )


class DemandQuerySet(models.QuerySet):
    def of(self, fleet: Fleet) -> "DemandQuerySet":
        return self.filter(fleet=fleet)

    def waiting(self) -> "DemandQuerySet":
        """Return those nobody has accepted an answer to yet, sent or not."""
        return self.filter(state__in=(Demand.State.OPEN, Demand.State.SENT))


class Demand(models.Model):
    """One demand on one boat or several: clause, deadline, and what satisfies it.

    Whether a boat satisfies it is worked out from the record, never entered.
    """

    class Asker(models.TextChoices):
        INSURER = "insurer", "insurer"
        OWNER = "owner", "owner"
        FLAG = "flag", "flag state"
        CLASS = "class", "classification society"
        OTHER = "other", "somebody else"

    class Wanted(models.TextChoices):
        RENEW = "renew", "parts renewed"
        REPORT = "report", "a rigger's or surveyor's report"
        MAST_OUT = "mast_out", "an inspection with the mast out"

    class State(models.TextChoices):
        OPEN = "open", "open"
        SENT = "sent", "answered, not accepted yet"
        ACCEPTED = "accepted", "accepted"
        WITHDRAWN = "withdrawn", "no longer asked"

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="demands")
    boats = models.ManyToManyField(Boat, related_name="demands")
    asker = models.CharField("who asks", max_length=10, choices=Asker.choices)
    asker_name = models.CharField("their name", max_length=NAME)
    reference = models.CharField(max_length=80, blank=True, help_text="Policy or file number.")
    clause = models.CharField("what they ask, in their words", max_length=600)
    asked_on = models.DateField("asked on")
    since = models.DateField(
        "counts from",
        null=True,
        blank=True,
        help_text="What was done from this day on answers it; blank: from the day it was asked.",
    )
    deadline = models.DateField()
    wanted = models.CharField("what satisfies it", max_length=10, choices=Wanted.choices)
    part_kind = models.CharField(
        "which parts",
        max_length=12,
        blank=True,
        choices=[("", "the whole rig"), *Installation.Kind.choices],
    )
    stay_name = models.CharField(
        "of which stay", max_length=20, blank=True, choices=[("", "all"), *Stay.Name.choices]
    )
    older_than_years = models.FloatField(
        "only parts older than, years",
        null=True,
        blank=True,
        validators=[MinValueValidator(0.5)],
        help_text="For parts to be renewed at an age; blank: all of them.",
    )
    letter = models.TextField(
        "letter that goes with the answer",
        max_length=4000,
        blank=True,
        help_text="Blank: a short one is written from what is on record.",
    )
    notes = models.TextField(max_length=2000, blank=True)
    state = models.CharField(max_length=10, choices=State.choices, default=State.OPEN)
    sent_on = models.DateField(null=True, blank=True)
    sent_by = models.CharField(max_length=NAME, blank=True)
    sent_how = models.CharField(max_length=200, blank=True)
    closed_on = models.DateField("accepted or dropped on", null=True, blank=True)
    closed_by = models.CharField("by whom of theirs", max_length=NAME, blank=True)
    by = person()
    at = models.DateTimeField(auto_now_add=True)

    objects = DemandQuerySet.as_manager()

    class Meta:
        ordering = ["deadline", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(state="sent") | (Q(sent_on__isnull=False) & ~Q(sent_by="")),
                name="demand_sent_says_when_and_by_whom",
            ),
            models.CheckConstraint(
                condition=~Q(state__in=["accepted", "withdrawn"])
                | (Q(closed_on__isnull=False) & ~Q(closed_by="")),
                name="demand_closed_says_when_and_by_whom",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.asker_name}, {self.reference or self.asked_on}"

    @property
    def counts_from(self) -> dt.date:
        return self.since or self.asked_on

    @property
    def is_waiting(self) -> bool:
        return self.state in (self.State.OPEN, self.State.SENT)


class DemandChange(models.Model):
    """What was changed of a demand, by whom; values by field, in words, before and after."""

    demand = models.ForeignKey(Demand, on_delete=models.CASCADE, related_name="changes")
    what = models.CharField(max_length=300)
    before = models.JSONField(default=dict, encoder=DjangoJSONEncoder)
    after = models.JSONField(default=dict, encoder=DjangoJSONEncoder)
    by = person()
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return self.what
