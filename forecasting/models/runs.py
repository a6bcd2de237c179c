"""The models in force for each kind of part, what they rest on, and how past ones fared."""

from django.db import models
from django.db.models import Q

from fleet.models import Fleet, Installation

from .questions import RunQuerySet


class ModelRun(models.Model):
    """One fit of one kind of part, or its refusal. At most one a kind is in force."""

    class State(models.TextChoices):
        FITTED = "fitted", "fitted to the fleet's own record"
        POSTERIOR = "posterior", "own record and common practice together"
        RULE_OF_THUMB = "rule_of_thumb", "rule of thumb"
        REFUSED = "refused", "refused"

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="model_runs")
    kind = models.CharField(max_length=12, choices=Installation.Kind.choices)
    as_of = models.DateField()
    made_at = models.DateTimeField(auto_now_add=True)
    state = models.CharField(max_length=14, choices=State.choices)
    in_force = models.BooleanField(default=False)
    sentence = models.TextField(help_text="What was done, or why it was refused, in words.")
    lives = models.FloatField(default=0)
    deaths = models.FloatField(default=0)
    left_out = models.JSONField(default=dict)
    warnings = models.JSONField(default=list)
    inputs = models.JSONField(default=dict)
    model = models.JSONField(default=dict)
    fingerprint = models.CharField(max_length=64)
    code_version = models.CharField(max_length=64)

    objects = RunQuerySet.as_manager()

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["fleet", "kind"],
                condition=Q(in_force=True),
                name="one_model_in_force_per_kind",
            )
        ]

    def __str__(self) -> str:
        return f"{self.fleet}, {self.kind}, {self.as_of}: {self.get_state_display()}"


class ForecastPractice(models.Model):
    """What a fleet puts in the place of common practice for a kind of part, from a day on.

    data: the fields of ``survival.Prior`` that differ from common practice. Never changed: a new
    row takes over, and the old ones tell what was believed when.
    """

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="practices")
    kind = models.CharField(max_length=12, choices=Installation.Kind.choices)
    since = models.DateField()
    reason = models.CharField(max_length=200)
    decided_by = models.CharField(max_length=120)
    data = models.JSONField()

    objects = RunQuerySet.as_manager()

    class Meta:
        ordering = ["-since", "-pk"]

    def __str__(self) -> str:
        return f"{self.fleet}, {self.kind}, since {self.since}"


class BackTest(models.Model):
    """How the last years' forecasts of one kind of part fared against what was found since.

    result: what the test found, year by year, in groups and against simpler forecasts; seen: the
    curve in force beside what was seen. ``fingerprint``: of what both were made from.
    """

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="back_tests")
    kind = models.CharField(max_length=12, choices=Installation.Kind.choices)
    as_of = models.DateField()
    made_at = models.DateTimeField(auto_now=True)
    fingerprint = models.CharField(max_length=64)
    result = models.JSONField(default=dict)
    seen = models.JSONField(default=dict)

    objects = RunQuerySet.as_manager()

    class Meta:
        ordering = ["fleet", "kind"]
        constraints = [
            models.UniqueConstraint(fields=["fleet", "kind"], name="one_back_test_per_kind")
        ]

    def __str__(self) -> str:
        return f"{self.fleet}, {self.kind}, {self.as_of}"
