"""What follows for work and money, and what is sent of it."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from fleet.models import Base, Boat, Fleet, Installation
from inspections.models import Reminder

from .questions import OfBoat, RunQuerySet


class PlanBasis(models.Model):
    """Which rules and prices the refit list and the budget in place were made by."""

    fleet = models.OneToOneField(Fleet, on_delete=models.CASCADE, related_name="plan_basis")
    as_of = models.DateField()
    digest = models.CharField(max_length=64, help_text="SHA-256 of the rules and prices.")

    objects = RunQuerySet.as_manager()

    def __str__(self) -> str:
        return f"{self.fleet}, planned as of {self.as_of}"


class RefitJob(models.Model):
    """One part to renew in the coming off season, or the mast-down set-up its boat shares."""

    FOLLOWS = Q()

    boat = models.ForeignKey(Boat, on_delete=models.CASCADE, related_name="refit_jobs")
    installation = models.OneToOneField(
        Installation, null=True, blank=True, on_delete=models.CASCADE, related_name="refit_job"
    )
    season = models.CharField(max_length=9, help_text="Off season, e.g. 2026/27.")
    code = models.CharField(max_length=20)
    reason = models.CharField(max_length=300)
    must = models.BooleanField(default=False)
    hours = models.FloatField(default=0)
    cost_minor = models.BigIntegerField()
    put_off_minor = models.BigIntegerField(help_text="Expected cost of putting it off a season.")
    chance = models.FloatField(default=0, help_text="Chance condemned by the end of that season.")

    objects = OfBoat.as_manager()

    class Meta:
        ordering = ["boat__base", "boat", "-must", "-put_off_minor", "pk"]

    def __str__(self) -> str:
        return f"{self.boat}, {self.season}: {self.reason}"


class BudgetFigure(models.Model):
    """Money for one fiscal year: of a boat, a base or the fleet (the narrower ones blank).

    Means add: a base's is the sum of its boats'. Percentiles are each total's own and do not.
    """

    FOLLOWS = Q()

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="budget")
    base = models.ForeignKey(Base, null=True, blank=True, on_delete=models.CASCADE)
    boat = models.ForeignKey(Boat, null=True, blank=True, on_delete=models.CASCADE)
    year = models.PositiveSmallIntegerField(help_text="The year in which the fiscal year begins.")
    mean_minor = models.BigIntegerField()
    planned_minor = models.BigIntegerField(help_text="Share of the mean that is planned work.")
    expensed_minor = models.BigIntegerField(
        default=0, help_text="Share of the mean that is expensed; the rest is capitalised."
    )
    p10_minor = models.BigIntegerField()
    p50_minor = models.BigIntegerField()
    p90_minor = models.BigIntegerField()
    renewals = models.FloatField(help_text="Expected number of parts renewed.")

    objects = RunQuerySet.as_manager()

    class Meta:
        ordering = ["fleet", "year", "base", "boat"]

    def __str__(self) -> str:
        return f"{self.boat or self.base or self.fleet} {self.year}"

    @property
    def capital_minor(self) -> int:
        """Return the share of the mean that is capitalised."""
        return self.mean_minor - self.expensed_minor


class SummaryMail(models.Model):
    """A summary somebody asked to have by mail: a row before it is a message. Only to members."""

    State = Reminder.State

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="summary_mails")
    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    on = models.DateField(help_text="The fleet's day when it was asked for.")
    number = models.PositiveSmallIntegerField(help_text="Which of this person's that day.")
    to_name = models.CharField(max_length=120)
    to_email = models.EmailField()
    state = models.CharField(max_length=10, choices=State.choices, default=State.QUEUED)
    claimed_at = models.DateTimeField(null=True, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    message_id = models.CharField(max_length=120, unique=True)
    failure = models.CharField(max_length=300, blank=True)

    objects = RunQuerySet.as_manager()

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["fleet", "user", "on", "number"], name="one_summary_mail_of_a_number"
            )
        ]

    def __str__(self) -> str:
        return f"Summary of {self.fleet} to {self.to_email}, {self.on}"
