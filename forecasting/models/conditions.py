"""What becomes of a watch, how often looking costs least, how often what is condemned breaks."""

from django.db import models
from django.db.models import Q

from fleet.models import Base, Fleet
from inspections.models import Inspection

from .questions import RunQuerySet


class ConditionRun(models.Model):
    """What becomes of a watch: one reading of the fleet's watches, or its refusal.

    At most one a fleet is in force: the latest that was not refused.
    """

    class State(models.TextChoices):
        FITTED = "fitted", "from the fleet's own watches"
        REFUSED = "refused", "refused"

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="condition_runs")
    as_of = models.DateField()
    made_at = models.DateTimeField(auto_now_add=True)
    state = models.CharField(max_length=10, choices=State.choices)
    in_force = models.BooleanField(default=False)
    sentence = models.TextField(help_text="What was found, or why it was refused, in words.")
    watches = models.PositiveIntegerField(default=0)
    followed = models.PositiveIntegerField(default=0)
    went = models.PositiveIntegerField(default=0)
    result = models.JSONField(default=dict)
    fingerprint = models.CharField(max_length=64)
    code_version = models.CharField(max_length=64)

    objects = RunQuerySet.as_manager()

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["fleet"], condition=Q(in_force=True), name="one_condition_in_force"
            )
        ]

    def __str__(self) -> str:
        return f"{self.fleet}, {self.as_of}: {self.get_state_display()}"


class LookInterval(models.Model):
    """The interval of looks that costs least, at one base from one level; months."""

    FOLLOWS = Q()

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="look_intervals")
    base = models.ForeignKey(Base, on_delete=models.CASCADE, related_name="+")
    level = models.CharField(max_length=10, choices=Inspection.Level.choices)
    low = models.FloatField(help_text="5 % point.")
    middle = models.FloatField()
    high = models.FloatField(help_text="95 % point.")
    flat_from = models.FloatField(help_text="From here to flat_until within 2 % of the least.")
    flat_until = models.FloatField()
    bounded = models.BooleanField(help_text="The least lies within the intervals tried.")
    defects = models.FloatField(help_text="Expected a boat and year.")
    cost_minor = models.BigIntegerField(help_text="Expected a boat and year, at the least.")

    objects = RunQuerySet.as_manager()

    class Meta:
        ordering = ["base__name", "level", "pk"]

    def __str__(self) -> str:
        return f"{self.base}, {self.level}: {self.low:.0f} to {self.high:.0f} months"


class FailingRate(models.Model):
    """How often what stands condemned breaks in a season, and what follows for the boats."""

    FOLLOWS = Q()

    fleet = models.OneToOneField(Fleet, on_delete=models.CASCADE, related_name="failing_rate")
    breakages = models.FloatField(help_text="On record; the prior's not in it.")
    seasons = models.FloatField(help_text="Expected to have stood condemned, unseen.")
    rate = models.FloatField(help_text="Breakages a condemned season, common practice in it.")
    chance = models.FloatField(help_text="Mean over the boats that a stay fails in a season.")

    objects = RunQuerySet.as_manager()

    def __str__(self) -> str:
        return f"{self.fleet}: {self.chance:.4f} a boat and season"
