"""Long work as rows: who asked for what, how far it is, and what came of it in words."""

import datetime as dt

from django.conf import settings
from django.db import models
from django.db.models import Q

from .fleets import Fleet

FAR_AHEAD = dt.timedelta(hours=1)  # Of a lease: they last minutes.


class WorkQuerySet(models.QuerySet):
    def of(self, fleet: Fleet | None) -> "WorkQuerySet":
        """Return a fleet's work; of None, that of the whole installation, which no page shows."""
        return self.filter(fleet=fleet)

    def unfinished(self) -> "WorkQuerySet":
        return self.filter(state__in=(WorkRow.State.WAITING, WorkRow.State.RUNNING))

    def stuck(self, now: dt.datetime) -> "WorkQuerySet":
        """Return what somebody had in hand who has not been heard of since.

        A lease that ends far ahead was taken before the clock was put back: it counts as over.
        """
        over = Q(lease_until__lt=now) | Q(lease_until__gt=now + FAR_AHEAD)
        return self.filter(over, state=WorkRow.State.RUNNING)


class WorkRow(models.Model):
    """One piece of long work. Claimed by a conditional update; its progress is committed apart."""

    class Kind(models.TextChoices):
        IMPORT = "import", "import"
        REFRESH = "refresh", "refresh of the forecast"
        PLAN = "plan", "refit list and budget"
        EXPORT = "export", "export"
        REMINDERS = "reminders", "reminders"
        SUMMARY = "summary", "summary by mail"
        BACKUP = "backup", "backup"
        BACK_TEST = "back_test", "test of past forecasts"
        SEASONS = "seasons", "plan of the seasons"
        YARD = "yard", "plan of the yard's weeks"

    class State(models.TextChoices):
        WAITING = "waiting", "waiting"
        RUNNING = "running", "under way"
        DONE = "done", "done"
        FAILED = "failed", "failed"
        CANCELLED = "cancelled", "cancelled"

    fleet = models.ForeignKey(
        Fleet,
        null=True,
        on_delete=models.CASCADE,
        related_name="work",
        help_text="Blank for work of the whole installation.",
    )
    kind = models.CharField(max_length=12, choices=Kind.choices)
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    asked_at = models.DateTimeField()
    arguments = models.JSONField(default=dict)
    key = models.CharField(max_length=80, blank=True, help_text="Tells works of a kind apart.")
    day = models.DateField(null=True, blank=True, help_text="For work done once a day.")
    state = models.CharField(max_length=10, choices=State.choices, default=State.WAITING)
    steps = models.PositiveSmallIntegerField(default=0, help_text="0: not known yet.")
    steps_done = models.PositiveSmallIntegerField(default=0)
    step = models.CharField(max_length=300, blank=True, help_text="The last step, in words.")
    cancel_asked = models.BooleanField(default=False)
    outcome = models.TextField(blank=True, help_text="Result or failure in words.")
    seen_at = models.CharField(max_length=300, blank=True, help_text="Where the result is seen.")
    made = models.CharField(
        max_length=120, blank=True, help_text="Name of the file it made, while that is kept."
    )
    tries = models.PositiveSmallIntegerField(default=0)
    claim = models.CharField(max_length=32, blank=True, help_text="Token of who has it in hand.")
    claimed_at = models.DateTimeField(null=True, blank=True)
    lease_until = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)

    objects = WorkQuerySet.as_manager()

    class Meta:
        ordering = ["-asked_at", "-pk"]
        indexes = [models.Index(fields=["state", "asked_at"], name="work_to_do")]
        constraints = [
            models.UniqueConstraint(
                fields=["fleet", "kind"],
                condition=Q(state="running"),
                name="one_running_work_of_a_kind",
            ),
            models.UniqueConstraint(
                fields=["fleet", "kind", "key"],
                condition=Q(state="waiting"),
                name="one_waiting_work_alike",
            ),
            models.UniqueConstraint(
                fields=["fleet", "kind", "day"],
                condition=Q(day__isnull=False),
                name="one_work_of_a_day",
            ),
            # The same for the installation's own: no fleet is not equal to no fleet in a table.
            models.UniqueConstraint(
                fields=["kind"],
                condition=Q(state="running", fleet__isnull=True),
                name="one_running_work_of_a_kind_for_all",
            ),
            models.UniqueConstraint(
                fields=["kind", "key"],
                condition=Q(state="waiting", fleet__isnull=True),
                name="one_waiting_work_alike_for_all",
            ),
            models.UniqueConstraint(
                fields=["kind", "day"],
                condition=Q(day__isnull=False, fleet__isnull=True),
                name="one_work_of_a_day_for_all",
            ),
        ]

    def __str__(self) -> str:
        whose = self.fleet or "the whole installation"
        return f"{self.get_kind_display()} of {whose}, {self.get_state_display()}"

    @property
    def is_open(self) -> bool:
        return self.state in (self.State.WAITING, self.State.RUNNING)
